"""Where each cell of a PLY body stands, when rows may hold lists of any length."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from packcheck.arrays import Faces, Floats
from packcheck.solids.formats.gate import RefusedError

__all__ = ["Body", "Column", "Element", "Located", "locate"]


@dataclass(frozen=True, slots=True)
class Column:
    """One property: its numpy type, and that of the count in front when it is a list."""

    name: str
    type: str
    count_type: str = ""


@dataclass(frozen=True, slots=True)
class Element:
    """`count` rows of the same columns."""

    name: str
    count: int
    columns: list[Column] = field(default_factory=list)


Located: TypeAlias = dict[str, tuple[Column, Faces, Faces | None]]
"""By column: itself, where its values begin in each row, and how many there are (None: one)."""


class Body:
    """What follows the header: numbers for ASCII, bytes for binary. Places count in those."""

    def __init__(self, items: npt.NDArray[np.uint8] | Floats, order: str = "") -> None:
        self._items = items
        self._order = order
        self.item = "byte" if order else "number"

    def __len__(self) -> int:
        return len(self._items)

    def width(self, type_name: str) -> int:
        """Places that one value takes."""
        return int(type_name[1]) if self._order else 1

    def numbers(self, places: Faces, type_name: str) -> Floats:
        """The values (n,) that begin at `places`, all within the body."""
        if not self._order:
            return self._items[places].astype(np.float64)
        cells = self._items[places[:, None] + np.arange(self.width(type_name))]
        values: Floats = cells.view(self._order + type_name)[:, 0].astype(np.float64)
        return values

    def list_at(self, place: int, column: Column) -> tuple[int, int]:
        """Where the list that begins at `place` has its first value, and how many it holds."""
        after = place + self.width(column.count_type)
        if after > len(self):
            raise RefusedError(f"is cut short within a list of {column.name}")
        cell = self._items[place:after]
        length = float(cell.view(self._order + column.count_type)[0] if self._order else cell[0])
        if not (0 <= length <= len(self) and length == int(length)):
            raise RefusedError(f"has a {column.name} list of length {length:g}")
        return after, int(length)


def locate(body: Body, element: Element, start: int, wanted: frozenset[str]) -> tuple[Located, int]:
    """Where the values of the `wanted` columns of `element` stand, and where its rows end.

    Raises
    ------
    RefusedError
        When the rows run past the end of the body, or a list has no valid length.
    """
    if not element.columns or not element.count:
        return {}, start
    if not 0 <= element.count <= len(body):
        raise _short(element)
    rows = _even_rows(body, element, start, wanted)
    return rows if rows is not None else _uneven_rows(body, element, start, wanted)


def _short(element: Element) -> RefusedError:
    return RefusedError(f"is cut short: {element.count} rows of {element.name} declared, fewer follow")


def _row(body: Body, element: Element, start: int) -> tuple[list[tuple[int, int]], int]:
    """Of the row at `start`: where each column's values begin and how many they are, and where the row ends."""
    cells = []
    place = start
    for column in element.columns:
        length = 1
        if column.count_type:
            place, length = body.list_at(place, column)
        cells.append((place, length))
        place += length * body.width(column.type)
    return cells, place


def _even_rows(body: Body, element: Element, start: int, wanted: frozenset[str]) -> tuple[Located, int] | None:
    """Rows as long as the first; None when their lists differ in length."""
    cells, after = _row(body, element, start)
    end = start + (after - start) * element.count
    if end > len(body):
        if any(column.count_type for column in element.columns):
            return None
        raise _short(element)
    steps = (after - start) * np.arange(element.count, dtype=np.int64)
    located: Located = {}
    for column, (begin, length) in zip(element.columns, cells, strict=True):
        if column.count_type:
            counts = body.numbers(begin - body.width(column.count_type) + steps, column.count_type)
            if (counts != length).any():
                return None
        if column.name in wanted:
            many = np.full(element.count, length) if column.count_type else None
            located[column.name] = (column, begin + steps, many)
    return located, end


def _uneven_rows(body: Body, element: Element, start: int, wanted: frozenset[str]) -> tuple[Located, int]:
    """One row after the other, each as long as its own lists say."""
    kept = [k for k, column in enumerate(element.columns) if column.name in wanted]
    rows = []
    place = start
    for _ in range(element.count):
        cells, place = _row(body, element, place)
        if place > len(body):
            raise _short(element)
        rows.append([cells[k] for k in kept])
    table = np.array(rows, dtype=np.int64).reshape(element.count, len(kept), 2)
    columns = [element.columns[k] for k in kept]
    return {
        column.name: (column, table[:, k, 0], table[:, k, 1] if column.count_type else None)
        for k, column in enumerate(columns)
    }, place
