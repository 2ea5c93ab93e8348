"""A measuring sheet: for a pencil, or as CSV to be filled in at a keyboard."""

from __future__ import annotations

import csv
import io
from typing import Final

from packcheck.findings import Table
from packcheck.report.as_csv import csv_text
from packcheck.report.text.printable import printable

__all__ = ["sheet_as_csv", "sheet_as_text"]

RULE: Final = "________"


def sheet_as_csv(sheet: Table) -> str:
    """The sheet as the scene's `readings` reads it."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(sheet.columns)
    writer.writerows([csv_text(str(cell)) for cell in row] for row in sheet.rows)
    return out.getvalue()


def sheet_as_text(sheet: Table, title: str) -> str:
    """The sheet on paper: a rule to write on for each of three readings."""
    width = max((len(str(row[0])) for row in sheet.rows), default=0)
    lines = [printable(title), "", f"{'':4}{'what':{width}}  {'reads':8}  {'again':8}  {'again':8}  with"]
    for place, (what, _, _, _, note) in enumerate(sheet.rows, start=1):
        lines.append(f"{place:3} {printable(str(what)):{width}}  {RULE}  {RULE}  {RULE}  {printable(str(note))}")
    return "\n".join([*lines, "", sheet.note, ""])
