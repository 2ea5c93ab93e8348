"""A report for people: the verdict first, then what falls short, worst first, then what was looked at."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from packcheck.findings import Finding, Report, RuleNote, TapeDoubt, Verdict
from packcheck.report.text.caution import CAUTION
from packcheck.report.text.families import worst_of_rows
from packcheck.report.text.figures import length
from packcheck.report.text.headline import common_part, counted, headline
from packcheck.report.text.lines import Line, Style, labelled, wrapped
from packcheck.report.text.measured import Measured
from packcheck.report.text.tables import table_lines
from packcheck.report.text.tally import at_rest, besides, by_pair, in_motion, tally_words

__all__ = ["PIPED_WIDTH", "account", "as_text", "details", "report_lines", "sections", "source_of_must"]

PIPED_WIDTH: Final = 100
"""Columns of a report that goes to a file or a pipe, so that the same scene gives the same bytes anywhere."""

MOST_PASSING: Final = 20
"""Passing gaps listed in a text report; the rest are counted."""

TIGHT: Final = ("tight", "touching")

STYLES: Final = {
    Verdict.FAIL: Style.SHORT,
    Verdict.UNSURE: Style.OPEN,
    Verdict.NOT_CHECKED: Style.OPEN,
    Verdict.CLOSE: Style.OPEN,
    Verdict.PASS: Style.STRONG,
}


def as_text(report: Report, width: int = PIPED_WIDTH) -> str:
    """The report as plain text. Same report and width, same bytes."""
    return "".join(f"{line.text}\n" for line in report_lines(report, width))


def report_lines(report: Report, width: int = PIPED_WIDTH) -> Iterator[Line]:
    """The report as styled lines, `width` columns wide."""
    yield from wrapped(headline(report), width, STYLES[report.verdict])
    yield from wrapped(common_part(report), width)
    layout = "" if report.layout is None else f"layout {report.layout}"
    yield from wrapped(": ".join(filter(None, [report.scene, report.title, layout])), width, Style.QUIET)
    yield Line("")
    spoken = worst_of_rows(report)
    for title, findings in sections(spoken):
        yield from wrapped(title, width, Style.STRONG)
        for finding in findings:
            yield from _finding(finding, report.units, width)
            yield Line("")
    yield from _likely(report, width)
    yield from _passing(spoken, width)
    yield from account(report, width)
    for table in report.tables:
        yield Line("")
        yield from table_lines(table, width)
    yield Line("")
    yield from wrapped(CAUTION, width, Style.QUIET)


def sections(report: Report) -> Iterator[tuple[str, list[Finding]]]:
    """Everything that does not pass, under its heading, in reading order."""
    fails = [finding for finding in _of(report, Verdict.FAIL) if not finding.looks_joined]
    unsure = [finding for finding in _of(report, Verdict.UNSURE) if not finding.looks_joined]
    clashes = [finding for finding in fails if finding.word == "clash"]
    sections = [
        ("Clashes, deepest first", sorted(clashes, key=_depth)),
        ("Tight, furthest under the limit first", [f for f in fails if f.word in TIGHT]),
        ("Other shortfalls", [f for f in fails if f.word not in {"clash", *TIGHT}]),
        ("Undecided", unsure),
        ("Not checked", _of(report, Verdict.NOT_CHECKED)),
        ("Close: what must be is met, what is wanted is not", _of(report, Verdict.CLOSE)),
    ]
    return ((title, findings) for title, findings in sections if findings)


def _of(report: Report, verdict: Verdict) -> list[Finding]:
    return sorted((f for f in report.findings if f.verdict is verdict), key=lambda finding: finding.sort_key)


def _depth(finding: Finding) -> tuple[float, tuple[int, float, tuple[str, ...], str]]:
    value = finding.low if finding.value is None else finding.value
    return 0.0 if value is None else round(value, 6), finding.sort_key


def _finding(finding: Finding, units: str, width: int) -> Iterator[Line]:
    """One finding: what, between whom and by how much, then the details it has."""
    said = Measured(finding, units).line() or finding.skipped
    first = ": ".join(filter(None, [finding.word or finding.verdict, " - ".join(finding.subjects), said]))
    yield from wrapped(first, width, STYLES[finding.verdict], hang="  ")
    for label, text in details(finding, units):
        yield from labelled(label, text, width)


def details(finding: Finding, units: str) -> Iterator[tuple[str, str]]:
    """Everything a finding has to say beside its numbers: a label and a text each, some of them empty."""
    yield "where", _where(finding)
    yield "when", finding.when
    yield "chance", Measured(finding, units).chance()
    if finding.rule is not None:
        yield "why", _reason(finding.rule)
        yield "source", finding.rule.source
        yield "wanted", _want_source(finding.rule, finding.limit.want)
        yield "limit", finding.rule.lowered
    yield "looks", finding.looks_joined
    yield "move", finding.move.text if finding.move else ""
    yield "no move", "" if finding.move or finding.no_move == finding.note else finding.no_move
    yield "note", finding.note
    if finding.envelope:
        yield "note", "one of these shapes is only an envelope: the true part may leave more room"
    if Measured(finding, "mm").line():
        yield "skipped", finding.skipped
    yield "asked", "" if finding.mark is None else str(finding.mark)


def _where(finding: Finding) -> str:
    if finding.where is not None:
        return finding.where.text
    if finding.points is None:
        return ""
    x, y, z = finding.points.mean(axis=0)
    return f"({x:.1f}, {y:.1f}, {z:.1f}) mm from the car's zero"


def _want_source(rule: RuleNote, want: float | None) -> str:
    """Where the wanted figure comes from, where it is another place than that of what must be."""
    return "" if want is None or rule.want_source == rule.source else rule.want_source


def source_of_must(finding: Finding) -> str:
    """Where the figure that a passing finding keeps comes from, and whether it was lowered."""
    rule = finding.rule
    return "" if rule is None else "; ".join(filter(None, [rule.source, rule.lowered]))


def _reason(rule: RuleNote) -> str:
    """Between whom the rule stands, and for what reason; a default has neither."""
    between = " - ".join(rule.between) if set(rule.between) != {"*"} else ""
    return ": ".join(filter(None, [between, rule.why]))


def _likely(report: Report, width: int) -> Iterator[Line]:
    """Shortfalls that look like joints, two lines each: most of them need a tick, not a look."""
    likely = sorted((finding for finding in report.findings if finding.looks_joined), key=lambda f: f.sort_key)
    if not likely:
        return
    yield from wrapped("They look like joints that the file does not state", width, Style.STRONG)
    for finding in likely:
        said = Measured(finding, report.units).number()
        first = f"{finding.word}: {' - '.join(finding.subjects)}: {said}"
        yield from wrapped(first, width, STYLES[finding.verdict], hang="  ")
        yield from labelled("looks", finding.looks_joined, width)
        yield from labelled("move", finding.move.text if finding.move else "", width)
    yield from wrapped("State the true ones with --joints. The others fall short like any.", width, Style.QUIET)
    yield Line("")


def _passing(report: Report, width: int) -> Iterator[Line]:
    passing = _of(report, Verdict.PASS)
    if not passing:
        return
    yield Line("Passing, closest to their limit first", Style.STRONG)
    for finding in passing[:MOST_PASSING]:
        said = Measured(finding, report.units).line()
        word = "" if finding.word in ("", "clear") else f", {finding.word}"
        note = f" ({finding.note})" if finding.note else ""
        source = f"; {told}" if (told := source_of_must(finding)) else ""
        yield from wrapped(f"{' - '.join(finding.subjects)}: {said}{word}{note}{source}", width, hang="  ")
    if len(passing) > MOST_PASSING:
        more = f"and {len(passing) - MOST_PASSING} more, listed by --json and --csv"
        yield from wrapped(more, width, Style.QUIET)
    yield Line("")


def tape_words(tape: TapeDoubt, units: str) -> str:
    """How many parts do not say how well they are known, and what a tape would leave of the passes."""
    one = len(tape.parts) == 1
    who = "1 part does not say how well it is" if one else f"{len(tape.parts)} parts do not say how well they are"
    gaps = "its gaps are as typed. Were it" if one else "their gaps are as typed. Were each"
    met = "1 limit that is met" if tape.undecided == 1 else f"{tape.undecided} limits that are met"
    more = f", up to {tape.at_most} with those that boxes alone tell" if tape.at_most > tape.undecided else ""
    accuracy = length(tape.accuracy, units, typed=True)
    return (
        f"{who} known (known, tolerance): {gaps} known as with a tape ({accuracy}), {met} at rest would be "
        f"undecided{more}."
    )


def _tallies(report: Report) -> Iterator[str]:
    """What was looked at, and what came of it: pairs, each once, by its worst; its states; what is no pair."""
    pairs, moving = report.pairs, report.moving
    looked = f"{counted(pairs.total, 'pair')}: {pairs.culled} cleared by bounding box, {pairs.measured} measured."
    each = " Each by the worst of its states:" if moving.total else ""
    tally = tally_words(by_pair(report))
    yield f"{looked}{each}{f' {tally}.' if tally else ''}"
    if moving.total:
        swept = f"{moving.culled} cleared by swept box, {moving.measured} searched"
        yield f"At rest: {tally_words(at_rest(report))}."
        yield f"In motion, {counted(moving.total, 'pair')}: {swept}; {tally_words(in_motion(report))}."
    for study, counts in besides(report).items():
        yield f"{study.capitalize()}: {tally_words(counts)}."


def account(report: Report, width: int) -> Iterator[Line]:
    """What was looked at, what the passes rest on, and what the file does not hold."""
    for words in _tallies(report):
        yield from wrapped(words, width)
    if report.envelope_passes:
        passes = "1 of the passes rests" if report.envelope_passes == 1 else f"{report.envelope_passes} passes rest"
        yield from wrapped(f"{passes} on a shape that is only an envelope (fit: encloses or about).", width)
    if report.guess_passes:
        passes = "1 of the passes rests" if report.guess_passes == 1 else f"{report.guess_passes} passes rest"
        yield from wrapped(f"{passes} on what is known by guess only (known: guess).", width)
    if report.tape:
        yield from wrapped(tape_words(report.tape, report.units), width)
    if report.missing:
        absent = (word if word.startswith("no ") else f"no {word}" for word in report.missing)
        yield from wrapped(f"What the model does not hold: {', '.join(absent)} in this file.", width)
    for text in report.unmeasured:
        yield from wrapped(text, width, hang="  ")
    for label, texts in (("Lowered on purpose", report.lowered), ("Note", report.notes)):
        for text in texts:
            yield from wrapped(f"{label}: {text}", width, hang="  ")
