"""A comparison of arrangements: as text for people, as JSON for machines, as CSV for a spreadsheet.

Columns of the CSV
------------------
layout, change          against the first layout; change is appears, vanishes, worse, better or otherwise (which is
                        worse is not known)
study, part_a, part_b, others  what it is about
verdict_before, margin_before, verdict_after, margin_after  empty: not there, or farther off than anything asked
by                      how much the margin grew; negative when it shrank
unit                    of the margins
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from typing import Any, Final

from packcheck.comparison import Alternative, Change, Comparison, Kind
from packcheck.findings import Cell, Finding, Table, Verdict
from packcheck.report.as_csv import csv_text
from packcheck.report.as_json import FORMAT, finding_as_dict
from packcheck.report.text.caution import CAUTION
from packcheck.report.text.figures import Toward, length, rounded
from packcheck.report.text.lines import Line, Style, labelled, wrapped
from packcheck.report.text.measured import Measured
from packcheck.report.text.tables import table_lines

__all__ = [
    "CHANGE_COLUMNS",
    "TITLES",
    "change_words",
    "comparison_csv",
    "comparison_json",
    "comparison_lines",
    "comparison_text",
    "order_words",
    "said",
    "side_by_side",
]

CHANGE_COLUMNS: Final = (
    *("layout", "change", "study", "part_a", "part_b", "others"),
    *("verdict_before", "margin_before", "verdict_after", "margin_after", "by", "unit"),
)

TITLES: Final = {
    Kind.APPEARS: "Appears",
    Kind.VANISHES: "Vanishes",
    Kind.WORSE: "Gets worse",
    Kind.BETTER: "Gets better",
    Kind.OTHERWISE: "Differs, which is worse is not known",
}
STYLES: Final = {Kind.APPEARS: Style.SHORT, Kind.WORSE: Style.OPEN, Kind.OTHERWISE: Style.OPEN}


def comparison_text(comparison: Comparison, width: int = 100) -> str:
    """The comparison as plain text. Same comparison and width, same bytes."""
    return "".join(f"{line.text}\n" for line in comparison_lines(comparison, width))


def comparison_lines(comparison: Comparison, width: int) -> Iterator[Line]:
    """The comparison as styled lines: the order, the figures side by side, then what changes."""
    first = comparison.alternatives[0]
    yield from wrapped(f"{first.report.scene}: {first.report.title}".removesuffix(": "), width, Style.QUIET)
    yield Line("")
    yield from wrapped(order_words(first), width, Style.STRONG)
    for rank in comparison.ranking:
        place = "?" if rank.place is None else f"{rank.place}."
        yield from wrapped(f"{place} {rank.name}: {rank.reason}", width, hang="   ")
    yield Line("")
    yield from table_lines(side_by_side(comparison), width)
    told = dict.fromkeys(text for one in comparison.alternatives for text in one.report.unmeasured)
    for text in told:
        yield from wrapped(text, width, hang="  ")
    for name, changes in comparison.changes.items():
        yield Line("")
        yield from _against(name, first, changes, width)
    yield Line("")
    yield from wrapped(CAUTION, width, Style.QUIET)


def order_words(first: Alternative) -> str:
    """What the order is by."""
    alike = len(first.alike)
    left_out = f" ({alike} findings that are alike in all left out)" if alike else ""
    return f"Best first, by the worst margin of each{left_out}"


def side_by_side(comparison: Comparison) -> Table:
    """The figures of each arrangement, a row each."""
    first = comparison.alternatives[0]
    columns = (
        "layout",
        "fail",
        "unsure",
        "close",
        "pass",
        "not checked",
        "worst margin",
        "mass, kg",
        "more, kg",
        "CG moved",
    )
    rows = tuple(_figures(one, first) for one in comparison.alternatives)
    unweighed = max(one.unweighed for one in comparison.alternatives)
    note = f"Masses are without the parts that have none: up to {unweighed} in a layout." if unweighed else ""
    return Table("side_by_side", "Side by side", columns, rows, note if first.mass is not None else "")


def _figures(one: Alternative, first: Alternative) -> tuple[Cell, ...]:
    counts, worst = one.report.counts, one.worst
    margin = (
        None if worst is None or worst.margin is None else f"{rounded(worst.margin, 1, Toward.DOWN)} {worst.unit}"
    )
    tally = [counts[v] for v in (Verdict.FAIL, Verdict.UNSURE, Verdict.CLOSE, Verdict.PASS, Verdict.NOT_CHECKED)]
    if one.mass is None or first.mass is None or one is first:
        return (one.name, *tally, margin, one.mass, None, None)
    return (one.name, *tally, margin, one.mass, one.mass - first.mass, _moved(one, first))


def _moved(one: Alternative, first: Alternative) -> str | None:
    """How far the centre of gravity moved along x, y and z."""
    if one.centre is None or first.centre is None:
        return None
    return ", ".join(f"{rounded(float(by), 1):+.1f}" for by in one.centre - first.centre) + " mm"


def _against(name: str, first: Alternative, changes: tuple[Change, ...], width: int) -> Iterator[Line]:
    yield from wrapped(f"{name}, against {first.name}", width, Style.STRONG)
    if not changes:
        yield from wrapped("nothing changes", width, indent="  ")
    for kind, title in TITLES.items():
        of_kind = [change for change in changes if change.kind is kind]
        if of_kind:
            yield from wrapped(f"{title}: {len(of_kind)}", width, STYLES.get(kind, Style.PLAIN), indent="  ")
        for change in of_kind:
            yield from _change(change, first.report.units, width)


def _change(change: Change, units: str, width: int) -> Iterator[Line]:
    by = f": margin {words}" if (words := change_words(change, units)) else ""
    yield from wrapped(f"{' - '.join(change.subjects)}{by}", width, indent="    ", hang="      ")
    for label, finding in (("before", change.before), ("after", change.after)):
        for line in labelled(label, said(finding, units), width - 4):
            yield Line(f"    {line.text}", Style.QUIET)


def change_words(change: Change, units: str) -> str:
    """How much the margin of a finding grew or shrank; nothing where one of the two has none."""
    told = change.after or change.before
    if change.by is None or told is None:
        return ""
    amount = length(abs(change.by), units) if told.unit == "mm" else f"{abs(change.by):.1f} {told.unit}"
    return f"{'more' if change.by > 0 else 'less'} by {amount}"


def said(finding: Finding | None, units: str) -> str:
    """A finding in a line, or that there is none."""
    if finding is None:
        return "not there, or farther apart than anything asked"
    said = Measured(finding, units).line() or finding.skipped
    return ": ".join(filter(None, [finding.word or finding.verdict, said]))


def comparison_json(comparison: Comparison, *, version: str) -> str:
    """The comparison as JSON text in ASCII: `layouts` side by side, `changes` by layout, `ranking` best first."""
    first = comparison.alternatives[0]
    made = {
        "packcheck": version,
        "format": FORMAT,
        "scene": first.report.scene,
        "against": first.name,
        "layouts": [_alternative(one) for one in comparison.alternatives],
        "changes": {
            name: [_change_dict(change) for change in changes] for name, changes in comparison.changes.items()
        },
        "ranking": [
            {"layout": rank.name, "place": rank.place, "reason": rank.reason} for rank in comparison.ranking
        ],
        "caution": CAUTION,
    }
    return json.dumps(made, indent=1, allow_nan=False) + "\n"


def _alternative(one: Alternative) -> dict[str, Any]:
    worst = one.worst
    return {
        "layout": one.name,
        "scene": one.report.scene,
        "verdict": one.report.verdict.value,
        "counts": {verdict.value: count for verdict, count in one.report.counts.items()},
        "worst": None if worst is None else finding_as_dict(worst),
        "mass": None if one.mass is None else rounded(one.mass),
        "centre_of_gravity": None if one.centre is None else [rounded(float(x)) for x in one.centre],
        "parts_without_mass": one.unweighed,
    }


def _change_dict(change: Change) -> dict[str, Any]:
    return {
        "change": change.kind.value,
        "study": change.study,
        "subjects": list(change.subjects),
        "by": None if change.by is None else rounded(change.by),
        "before": None if change.before is None else finding_as_dict(change.before),
        "after": None if change.after is None else finding_as_dict(change.after),
    }


def comparison_csv(comparison: Comparison) -> str:
    """One line per change, a header first. Same comparison, same bytes."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(CHANGE_COLUMNS)
    for name, changes in comparison.changes.items():
        for change in changes:
            a, b, *others = [*change.subjects, "", ""]
            told = change.after or change.before
            named = [name, change.kind.value, change.study, a, b, "; ".join(filter(None, others))]
            ends = [*_ends(change.before), *_ends(change.after)]
            by = "" if change.by is None else f"{rounded(change.by):.3f}"
            writer.writerow([*map(csv_text, named), *ends, by, told.unit if told else ""])
    return out.getvalue()


def _ends(finding: Finding | None) -> list[str]:
    if finding is None:
        return ["", ""]
    margin = finding.margin
    return [finding.verdict.value, "" if margin is None else f"{rounded(margin, 3, Toward.DOWN):.3f}"]
