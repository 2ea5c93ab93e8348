"""A report as CSV: one line per finding, for a spreadsheet; of a row of repeated parts, the worst.

Behind the findings stand lines with an empty verdict: one for each pair not measured on purpose, skipped saying
why; one that counts the parts that do not say how well they are known; one for each length to cut, and one for what
is to be known of those. What they say is in note.

Columns
-------
study, verdict, word    which study found it, what it comes to, the trade's word
part_a, part_b, others  the parts it is about, scene order
value, low, high, unit  nominal number and the ends of its interval; low rounded down, high up; empty: no such end
bound                   exact, as_typed (exact, if a part that does not say how well it is known is as typed),
                        between, at_least, at_most or unknown
must, want, most        the limits asked
margin                  how far inside the limit the worse end lies; negative is bad
standard_uncertainty    of value, and
chance                  that it misses the limit, at the most, 0 to 1; empty where nothing is only likely
where                   place in the builder's datums
x, y, z                 the same place, mm, car frame
when                    the pose that decides, empty when nothing moves
rule, why, source       the rule that asked: between whom, for what reason, on whose word what must be
want_source             on whose word what is wanted
lowered                 from what to what, when a rule was gone under on purpose
move, no_move           the move that mends it, or why none is offered
envelope                yes when a shape is only an envelope
note, skipped           anything else, such as how many of a row it speaks for; why nothing was measured
mark                    file:line:column that asked
looks_joined            the evidence that the two are joined on purpose, where the file does not say so

A text that a spreadsheet would run as a formula gets an apostrophe in front.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator
from typing import Final

from packcheck.findings import Cell, Finding, Report, Table
from packcheck.report.text.as_text import tape_words
from packcheck.report.text.families import worst_of_rows
from packcheck.report.text.figures import Toward, rounded
from packcheck.report.text.printable import printable
from packcheck.report.text.tables import cell_text, row_words

__all__ = ["COLUMNS", "as_csv", "csv_text", "table_as_csv"]

COLUMNS: Final = (
    *("study", "verdict", "word", "part_a", "part_b", "others"),
    *("value", "low", "high", "unit", "bound", "must", "want", "most", "margin"),
    *("standard_uncertainty", "chance"),
    *("where", "x", "y", "z", "when", "rule", "why", "source", "want_source", "lowered"),
    *("move", "no_move", "envelope", "note", "skipped", "mark", "looks_joined"),
)

FORMULA_STARTS: Final = ("=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20")  # and their wide forms


def as_csv(report: Report) -> str:
    """The findings of a report, a header and a line each. Same report, same bytes."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for finding in sorted(worst_of_rows(report).findings, key=lambda finding: finding.sort_key):
        cells = _names(finding) | _numbers(finding) | _reasons(finding)
        writer.writerow([cells[column] for column in COLUMNS])
    for cells in _without_verdict(report):
        writer.writerow([csv_text(cells.get(column, "")) for column in COLUMNS])
    return out.getvalue()


def _without_verdict(report: Report) -> Iterator[dict[str, str]]:
    """What a reader must know besides, a line each."""
    for text in report.unmeasured:
        yield {"study": "gaps", "word": "not measured", "skipped": text}
    if report.tape:
        yield {"study": "gaps", "word": "as typed", "note": tape_words(report.tape, report.units)}
    for table in report.tables:
        if table.id == "lengths":
            yield from _to_cut(table)


def _to_cut(table: Table) -> Iterator[dict[str, str]]:
    for cells in table.rows:
        row = [cell_text(cell) for cell in cells]
        yield {
            "study": table.id,
            "word": "cut",
            "part_a": row[0],
            "note": row_words(table, row, range(1, len(row))),
        }
    yield {"study": table.id, "word": "cut", "note": table.note}


def table_as_csv(table: Table) -> str:
    """A plain table, a header and a line each row. Same table, same bytes."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(table.columns)
    writer.writerows([_cell(cell) for cell in row] for row in table.rows)
    return out.getvalue()


def _cell(cell: Cell) -> str:
    return _figure(cell) if isinstance(cell, float) else csv_text("" if cell is None else str(cell))


def _names(finding: Finding) -> dict[str, str]:
    subjects = [*finding.subjects, "", ""]
    return {
        "study": csv_text(finding.study),
        "verdict": finding.verdict.value,
        "word": csv_text(finding.word),
        "part_a": csv_text(subjects[0]),
        "part_b": csv_text(subjects[1]),
        "others": csv_text("; ".join(finding.subjects[2:])),
        "unit": csv_text(finding.unit),
        "bound": finding.bound,
        "envelope": "yes" if finding.envelope else "",
    }


def _numbers(finding: Finding) -> dict[str, str]:
    limit = finding.limit
    middle = [None, None, None] if finding.points is None else [float(x) for x in finding.points.mean(axis=0)]
    x, y, z = map(_figure, middle)
    return {
        "value": _figure(finding.value),
        "low": _figure(finding.low, Toward.DOWN),
        "high": _figure(finding.high, Toward.UP),
        "must": _figure(limit.must),
        "want": _figure(limit.want),
        "most": _figure(limit.most),
        "margin": _figure(finding.margin, Toward.DOWN),
        "standard_uncertainty": _figure(finding.standard_uncertainty, Toward.UP),
        "chance": _figure(finding.chance, Toward.UP),
        "x": x,
        "y": y,
        "z": z,
    }


def _reasons(finding: Finding) -> dict[str, str]:
    rule = finding.rule
    return {
        "where": csv_text("" if finding.where is None else finding.where.text),
        "when": csv_text(finding.when),
        "rule": csv_text("" if rule is None else " - ".join(rule.between)),
        "why": csv_text("" if rule is None else rule.why),
        "source": csv_text("" if rule is None else rule.source),
        "want_source": csv_text("" if rule is None else rule.want_source),
        "lowered": csv_text("" if rule is None else rule.lowered),
        "move": csv_text("" if finding.move is None else finding.move.text),
        "no_move": csv_text(finding.no_move),
        "note": csv_text(finding.note),
        "skipped": csv_text(finding.skipped),
        "mark": csv_text("" if finding.mark is None else str(finding.mark)),
        "looks_joined": csv_text(finding.looks_joined),
    }


def _figure(value: float | None, toward: Toward = Toward.NEAREST) -> str:
    if value is None or not math.isfinite(value):
        return ""
    return f"{rounded(value, 3, toward):.3f}"


def csv_text(text: str) -> str:
    """Escaped, and never the start of a formula, blanks before it included."""
    shown = printable(text)
    return f"'{shown}" if shown.lstrip().startswith(FORMULA_STARTS) else shown
