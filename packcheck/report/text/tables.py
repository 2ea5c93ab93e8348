"""Plain tables as text: columns when they fit, a block of lines for each row when they do not."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from packcheck.findings import Cell, Table
from packcheck.report.text.figures import plain
from packcheck.report.text.lines import Line, Style, wrapped
from packcheck.report.text.printable import printable

__all__ = ["cell_text", "row_words", "table_lines"]

SPACE = 2


def cell_text(cell: Cell) -> str:
    """A cell as a reader sees it; nothing for None."""
    if cell is None:
        return ""
    return plain(cell) if isinstance(cell, float) else printable(str(cell))


def table_lines(table: Table, width: int) -> Iterator[Line]:
    """The table under its title, at most `width` columns wide where its words allow."""
    yield from wrapped(table.title, width, Style.STRONG)
    cells = [[cell_text(cell) for cell in row] for row in table.rows]
    used = [at for at in range(len(table.columns)) if any(row[at] for row in cells)]
    widths = {at: max(len(table.columns[at]), *(len(row[at]) for row in cells)) for at in used}
    fits = sum(widths.values()) + SPACE * (len(used) - 1) <= width
    if cells:
        yield from _columns(table, cells, widths) if fits else _blocks(table, cells, used, width)
    if table.note:
        yield from wrapped(table.note, width, Style.QUIET)


def _columns(table: Table, cells: list[list[str]], widths: dict[int, int]) -> Iterator[Line]:
    numeric = {at for at in widths if all(isinstance(row[at], int | float | None) for row in table.rows)}
    for row, style in [(list(table.columns), Style.QUIET), *((row, Style.PLAIN) for row in cells)]:
        aligned = [f"{row[at]:{'>' if at in numeric else '<'}{width}}" for at, width in widths.items()]
        yield Line((" " * SPACE).join(aligned).rstrip(), style)


def _blocks(table: Table, cells: list[list[str]], used: list[int], width: int) -> Iterator[Line]:
    for row in cells:
        filled = [at for at in used if row[at]]
        said = row_words(table, row, filled[1:])
        yield from wrapped(": ".join([*(row[at] for at in filled[:1]), said]), width, hang="  ")


def row_words(table: Table, row: Sequence[str], places: Iterable[int]) -> str:
    """The cells of a row at some places, each behind the name of its column."""
    return "; ".join(f"{table.columns[at]}: {row[at]}" for at in places if row[at])
