"""The list of parts for people: a name, then what is known of it, line by line."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from packcheck.findings import Table
from packcheck.report.text.caution import CAUTION
from packcheck.report.text.lines import Line, Style, labelled, wrapped

__all__ = ["inventory_lines", "inventory_text"]

DETAILS: Final = ("place", "size", "known", "joints", "stage")


def inventory_text(table: Table, width: int = 100) -> str:
    """The list as plain text. Same table and width, same bytes."""
    return "".join(f"{line.text}\n" for line in inventory_lines(table, width))


def inventory_lines(table: Table, width: int) -> Iterator[Line]:
    """The list as styled lines, `width` columns wide."""
    count = len(table.rows)
    yield from wrapped(f"{table.title}: {count} part{'' if count == 1 else 's'}", width, Style.STRONG)
    for row in table.rows:
        cells = {column: str(cell or "") for column, cell in zip(table.columns, row, strict=True)}
        yield Line("")
        hung = "" if cells["in"] == "car" else f"in {cells['in']}"
        about = ", ".join(filter(None, [cells["kind"], hung]))
        yield from wrapped(": ".join(filter(None, [cells["part"], about])), width, Style.STRONG, hang="  ")
        for detail in DETAILS:
            yield from labelled(detail, cells[detail], width)
    if table.note:
        yield Line("")
        yield from wrapped(table.note, width, Style.QUIET)
    yield Line("")
    yield from wrapped(CAUTION, width, Style.QUIET)
