"""A report of tables alone, for people: what it is of, the tables, the caution."""

from __future__ import annotations

from collections.abc import Iterator

from packcheck.findings import Report
from packcheck.report.text.caution import CAUTION
from packcheck.report.text.lines import Line, Style, wrapped
from packcheck.report.text.tables import table_lines

__all__ = ["table_report_lines", "table_report_text"]


def table_report_text(report: Report, width: int = 100) -> str:
    """The tables as plain text. Same report and width, same bytes."""
    return "".join(f"{line.text}\n" for line in table_report_lines(report, width))


def table_report_lines(report: Report, width: int) -> Iterator[Line]:
    """The tables as styled lines, `width` columns wide."""
    layout = "" if report.layout is None else f"layout {report.layout}"
    yield from wrapped(": ".join(filter(None, [report.scene, report.title, layout])), width, Style.STRONG)
    for note in report.notes:
        yield from wrapped(note, width)
    for table in report.tables:
        yield Line("")
        yield from table_lines(table, width)
    yield Line("")
    yield from wrapped(CAUTION, width, Style.QUIET)
