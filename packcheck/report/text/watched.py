"""What a save changed, as lines: new, gone, worse, better, each with its numbers before and after."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from packcheck.comparison import Change, Kind
from packcheck.errors import Fault
from packcheck.findings import Finding, Report, Verdict
from packcheck.report.text.figures import length
from packcheck.report.text.headline import headline
from packcheck.report.text.lines import LABEL_WIDTH, Line, Style, wrapped
from packcheck.report.text.measured import Measured

__all__ = ["change_lines", "fault_lines", "first_lines", "move_lines"]

WORDS: Final = {
    Kind.APPEARS: "new",
    Kind.VANISHES: "gone",
    Kind.WORSE: "worse",
    Kind.BETTER: "better",
    Kind.OTHERWISE: "differs",
}
STYLES: Final = {Kind.APPEARS: Style.SHORT, Kind.WORSE: Style.SHORT, Kind.OTHERWISE: Style.OPEN}

AT_REST: Final = "; at rest, what moves follows"

MOST: Final = 30
"""Changes told one by one; the rest are counted."""


def first_lines(report: Report, width: int, *, at_rest: bool = False) -> Iterator[Line]:
    """The verdict, and everything that falls short or is undecided in one line each."""
    yield from wrapped(headline(report) + (AT_REST if at_rest else ""), width, Style.STRONG)
    told = [f for f in report.findings if f.verdict not in (Verdict.PASS, Verdict.CLOSE)]
    for finding in sorted(told, key=lambda finding: finding.sort_key)[:MOST]:
        yield from _line("", finding.subjects, _said(finding, report.units), width)
    yield from _more(len(told) - MOST, width)


def change_lines(
    report: Report, changes: Iterable[Change], seconds: float, width: int, *, at_rest: bool = False
) -> Iterator[Line]:
    """What changed since the last save, worst first, then the verdict and how long it took to find."""
    listed = list(changes)
    for change in listed[:MOST]:
        yield from _line(
            WORDS[change.kind], change.subjects, _told(change, report.units), width, STYLES.get(change.kind)
        )
    yield from _more(len(listed) - MOST, width)
    if not listed:
        yield from wrapped("no finding changed", width)
    verdict = headline(report) + (AT_REST if at_rest else "")
    yield from wrapped(f"{verdict} ({seconds:.2f} s)", width, Style.STRONG)


def fault_lines(faults: Iterable[Fault], width: int) -> Iterator[Line]:
    """What is wrong with the files, fault by fault; what was known before stands until it is mended."""
    for fault in faults:
        for text in str(fault).splitlines():
            yield from wrapped(text, width, Style.SHORT if not text.startswith(" ") else Style.PLAIN, hang="    ")
    yield Line("not checked; waiting for the next save", Style.STRONG)


def move_lines(finding: Finding, width: int) -> Iterator[Line]:
    """The move that mends a finding, or why there is none."""
    said = finding.move.text if finding.move else f"no move: {finding.no_move}" if finding.no_move else ""
    if said:
        said = f"{' - '.join(finding.subjects)}: {said}"
        yield from wrapped(said, width, Style.QUIET, indent=" " * LABEL_WIDTH, hang=" " * (LABEL_WIDTH + 2))


def _line(
    label: str, subjects: tuple[str, ...], said: str, width: int, style: Style | None = None
) -> Iterator[Line]:
    lead = f"{label:<{LABEL_WIDTH}}" if label else "  "
    text = f"{lead}{' - '.join(subjects)}: {said}"
    yield from wrapped(text, width, style or Style.PLAIN, hang=" " * (len(lead) + 2))


def _told(change: Change, units: str) -> str:
    if change.kind is Kind.VANISHES:
        return f"was {_said(change.before, units)}" + (
            f", now {_said(change.after, units)}" if change.after else ""
        )
    now = _said(change.after, units)
    if change.by is None or change.before is None:
        return now
    told = change.after or change.before
    amount = length(abs(change.by), units) if told.unit == "mm" else f"{abs(change.by):.1f} {told.unit}"
    return f"{now}, {amount} {'better' if change.by > 0 else 'worse'} than before"


def _said(finding: Finding | None, units: str) -> str:
    if finding is None:
        return "farther apart than anything asked"
    said = Measured(finding, units).line() or finding.skipped
    return ": ".join(filter(None, [finding.word or finding.verdict.value, said]))


def _more(count: int, width: int) -> Iterator[Line]:
    if count > 0:
        yield from wrapped(f"and {count} more, listed by packcheck check", width, Style.QUIET)
