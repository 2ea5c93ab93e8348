"""Parts from a table: one line each, as measured, turned into what could have been written in the scene.

Columns, in any order; only `name` must be there:

    name, kind, in, like, known, stage, tolerance, wrap, fit, fixed, mass, material, bolted_to,
                                goes_into, note
                                as in a scene; of several kinds or parts, with / between them
    shape                       box, cylinder, tube, capsule, cone, sphere; empty: told by the sizes given
    length, width, height       of a box: fore and aft, left to right, up and down; length also of what is round
    diameter, bore              of what is round; the bore of a tube
    bottom_diameter, top_diameter   of a cone
    lies                        which way something round lies: aft, left, up (or x, y, z); empty: up
    front, rear, left, right, bottom, top           where its faces stand, as in `faces`: 60 aft
    middle                      where its middle stands: 190 up; on several axes with / between them
    nose_up, nose_down, lean_left, lean_right, swing_left, swing_right      its turn, degrees

A size left empty between two faces that are given, or a face and the middle, is what lies between them.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from packcheck.errors import Fault, SourceMark
from packcheck.scene.model.directions import AXIS_NAMES, FACES, TURNS, WORDS, Ways, axis_of, split_word
from packcheck.scene.quantities.sizes import BY_FACES
from packcheck.scene.text.cells import Cell, cells_of
from packcheck.scene.text.files import Contents, Document, content_of, decoded, digest
from packcheck.scene.text.hints import nearest
from packcheck.scene.text.nodes import NUMBER, Entry, ListNode, MapNode, Node, Number, ScalarNode, Text
from packcheck.scene.text.written import texts_of

__all__ = ["COLUMNS", "TABLES", "read_tables"]

TABLES: Final = (".csv", ".tsv")
"""Endings of the names of tables."""

_PLAIN: Final = ("in", "like", "known", "stage", "tolerance", "wrap", "fit", "fixed", "mass", "material", "note")
_LISTS: Final = ("kind", "bolted_to", "goes_into")
_SIZES: Final = ("length", "width", "height", "diameter", "bore", "bottom_diameter", "top_diameter")
_ROUND: Final[Mapping[str, Mapping[str, str]]] = {
    "cylinder": {"diameter": "diameter", "length": "length"},
    "capsule": {"diameter": "diameter", "length": "length"},
    "tube": {"diameter": "outer", "bore": "inner", "length": "length"},
    "cone": {"bottom_diameter": "bottom", "top_diameter": "top", "length": "length"},
    "sphere": {"diameter": "diameter"},
}
"""Columns of the sizes of each round shape, and the keys they become."""

_BOX: Final = (
    ("length", "front", "rear", "fore"),
    ("width", "left", "right", "left"),
    ("height", "bottom", "top", "up"),
)

COLUMNS: Final = (
    *("name", "kind", "in", "shape", *_SIZES, "lies", *FACES, "middle", *TURNS),
    *(column for column in (*_PLAIN, "bolted_to", "goes_into") if column != "in"),
)
"""Every column that a table may have."""


def read_tables(
    documents: list[Document], ways: Ways, contents: Contents
) -> tuple[list[tuple[Document, Document]], list[str], list[Fault]]:
    """The tables that documents name under `parts_from`, each with that document; every file asked for; faults."""
    tables: list[tuple[Document, Document]] = []
    order: list[str] = []
    faults: list[Fault] = []
    for document in documents:
        for name in texts_of(document.tree.get("parts_from")):
            file = os.path.normpath(document.path.parent / name)
            if file in order:
                continue
            order.append(file)
            made = _document(file, name.mark, ways, contents)
            if isinstance(made, Fault):
                faults.append(made)
            else:
                tables.append((made[0], document))
                faults += made[1]
    return tables, order, faults


def _document(file: str, asked: SourceMark, ways: Ways, contents: Contents) -> tuple[Document, list[Fault]] | Fault:
    if not file.lower().endswith(TABLES):
        return Fault(asked, f"parts_from {file!r} is no table, needs a file that ends in {' or '.join(TABLES)}")
    content = contents.get(os.path.realpath(file)) or content_of(Path(file), asked, what="table")
    text = content if isinstance(content, Fault) else decoded(content, file)
    if isinstance(text, Fault) or isinstance(content, Fault):
        return text if isinstance(text, Fault) else Fault(asked, "cannot be read")
    rows, faults = cells_of(text, file)
    table = _Table(ways, faults)
    parts = MapNode(SourceMark(file, 1, 1), dict(table.parts(rows, file)))
    tree = MapNode(parts.mark, {"parts": Entry(parts.mark, parts)})
    return Document(file, Path(file), tree, digest(content)), faults


@dataclass(slots=True)
class _Table:
    """The rows of one table, as parts."""

    ways: Ways
    faults: list[Fault] = field(default_factory=list)

    def parts(self, rows: list[list[Cell]], file: str) -> Iterator[tuple[str, Entry]]:
        if not rows:
            self._fault(
                SourceMark(file, 1, 1),
                "the table is empty, needs a line of column names",
                "begin with packcheck blank",
            )
            return
        columns = self._columns(rows[0])
        seen: dict[str, SourceMark] = {}
        for row in rows[1:]:
            if len(row) > len(columns) and any(cell.text for cell in row[len(columns) :]):
                what = f"the line has {len(row)} cells, needs at most {len(columns)}, one for each column"
                self._fault(row[len(columns)].mark, what, "a decimal comma begins a new cell: write 12.5")
            cells = {column: cell for column, cell in zip(columns, row, strict=False) if cell.text and column}
            name = cells.pop("name", None)
            if name is None:
                self._fault(row[0].mark, "the line has no name, needs one", "# in front of it leaves it out")
            elif name.text in seen:
                self._fault(name.mark, f"part {name.text!r}: the name is taken in line {seen[name.text].line}")
            else:
                seen[name.text] = name.mark
                yield name.text, Entry(name.mark, self._part(name, cells))

    def _columns(self, head: list[Cell]) -> list[str]:
        """The columns, by their names in the code; nothing where one is at fault."""
        columns = ["_".join(cell.text.lower().replace("-", " ").split()) for cell in head]
        for place, (column, cell) in enumerate(zip(columns, head, strict=True)):
            if not column:
                continue
            if column in columns[:place]:
                self._fault(cell.mark, f"the column {cell.text!r} is there twice", "remove one of the two")
            elif column not in COLUMNS:
                hint = nearest(column, COLUMNS) or f"known are {', '.join(COLUMNS)}"
                self._fault(cell.mark, f"the column {cell.text!r} is not known", hint)
            else:
                continue
            columns[place] = ""
        if "name" not in columns:
            self._fault(
                head[0].mark, "the table has no column name, needs one", "let its first line name the columns"
            )
        return columns

    def _fault(self, mark: SourceMark, what: str, mend: str = "") -> None:
        self.faults.append(Fault(mark, what, mend=mend))

    def _part(self, name: Cell, cells: Mapping[str, Cell]) -> MapNode:
        entries = {key: _entry(cells[key]) for key in _PLAIN if key in cells}
        if "note" in cells:
            entries["note"] = Entry(cells["note"].mark, _prose(cells["note"]))
        entries |= {key: _listed(cells[key]) for key in _LISTS if key in cells}
        for key, group in (("faces", FACES), ("turn", TURNS)):
            given = {column: _entry(cells[column]) for column in group if column in cells}
            if key == "faces" and "middle" in cells:
                given["middle"] = _listed(cells["middle"])
            if given:
                first = next(iter(given.values())).mark
                entries[key] = Entry(first, MapNode(first, given))
        shape = self._shape(name, cells)
        if shape:
            entries[shape[0]] = shape[1]
        return MapNode(name.mark, entries)

    def _shape(self, name: Cell, cells: Mapping[str, Cell]) -> tuple[str, Entry] | None:
        said = cells.get("shape")
        kind = said.text.lower() if said else _told_by_sizes(cells)
        if said and kind not in ("box", *_ROUND):
            needed = f"needs {', '.join(_ROUND)} or box"
            hint = nearest(kind, ("box", *_ROUND)) or "draw other shapes in the scene file"
            self._fault(said.mark, f"part {name.text!r}: shape is {said.text!r}, {needed}", hint)
            return "box", Entry(said.mark, ListNode(said.mark, [ScalarNode(said.mark, Number("1", said.mark))] * 3))
        mark = said.mark if said else name.mark
        self._unused(name, kind, cells)
        if kind == "box":
            return kind, Entry(mark, self._box(name, cells))
        return (kind, Entry(mark, self._round(name, kind, cells))) if kind else None

    def _unused(self, name: Cell, kind: str, cells: Mapping[str, Cell]) -> None:
        """Sizes of another shape: one of the two is a slip."""
        used = [size for size, *_ in _BOX] if kind == "box" else [*_ROUND.get(kind, ()), "lies"]
        for column in (*_SIZES, "lies"):
            if column in cells and column not in used and kind:
                what = f"part {name.text!r}: {column.replace('_', ' ')} is given, but a {kind} has none"
                self._fault(cells[column].mark, what, "leave the cell empty, or mend the shape")

    def _box(self, name: Cell, cells: Mapping[str, Cell]) -> ListNode:
        sizes: list[Node] = [ScalarNode(name.mark, Number("1", name.mark))] * 3
        for column, one, other, way in _BOX:
            if self.ways:
                place = axis_of(self.ways, way).axis  # type: ignore[arg-type]
                sizes[place] = self._size(name, column, cells, (one, other))
        return ListNode(name.mark, sizes)

    def _round(self, name: Cell, kind: str, cells: Mapping[str, Cell]) -> MapNode:
        entries: dict[str, Entry] = {}
        for column, key in _ROUND[kind].items():
            faces = self._along(cells) if column == "length" else ()
            node = self._size(name, column, cells, faces)
            entries[key] = Entry(cells[column].mark if column in cells else name.mark, node)
        if "lies" in cells and kind != "sphere":
            lies = cells["lies"]
            axis = axis_of(self.ways, WORDS[lies.text.lower()]).axis if self._is_word(lies) else None
            text = lies.text if axis is None else AXIS_NAMES[axis]
            entries["along"] = Entry(lies.mark, ScalarNode(lies.mark, Text(text, lies.mark)))
        return MapNode(name.mark, entries)

    def _is_word(self, cell: Cell) -> bool:
        return bool(self.ways) and cell.text.lower() in WORDS

    def _along(self, cells: Mapping[str, Cell]) -> tuple[str, ...]:
        """The two faces between which the length of something round lies."""
        lies = cells.get("lies")
        axis = AXIS_NAMES.index("z") if lies is None else None
        if lies is not None and self._is_word(lies):
            axis = axis_of(self.ways, WORDS[lies.text.lower()]).axis
        elif lies is not None and lies.text.lower() in AXIS_NAMES:
            axis = AXIS_NAMES.index(lies.text.lower())
        return tuple(face for face, way in FACES.items() if self.ways and axis_of(self.ways, way).axis == axis)

    def _size(self, name: Cell, column: str, cells: Mapping[str, Cell], faces: tuple[str, ...]) -> ScalarNode:
        if column in cells:
            return _scalar(cells[column])
        if faces and (all(face in cells for face in faces) or self._from_middle(cells, faces)):
            return ScalarNode(name.mark, Text(BY_FACES, name.mark))
        between = f", or both {' and '.join(faces)}" if faces else ""
        said = column.replace("_", " ")
        self._fault(name.mark, f"part {name.text!r}: {said} is empty, needs a size{between}")
        return ScalarNode(name.mark, Number("1", name.mark))

    def _from_middle(self, cells: Mapping[str, Cell], faces: tuple[str, ...]) -> bool:
        """Whether one of two opposite faces is given, and the middle on their axis."""
        words = [split_word(text)[1] for text in cells["middle"].text.split("/")] if "middle" in cells else []
        ways = {WORDS[word] for word in words if word in WORDS}
        return any(face in cells for face in faces) and any(FACES[face] in ways for face in faces)  # type: ignore[index]


def _told_by_sizes(cells: Mapping[str, Cell]) -> str:
    if "bore" in cells:
        return "tube"
    if "diameter" in cells:
        return "cylinder"
    return "box" if {"length", "width", "height"} & cells.keys() else ""


def _scalar(cell: Cell) -> ScalarNode:
    words = {"true": True, "yes": True, "false": False, "no": False}
    if cell.text.lower() in words:
        return ScalarNode(cell.mark, words[cell.text.lower()])
    made = Number(cell.text, cell.mark) if NUMBER.fullmatch(cell.text) else Text(cell.text, cell.mark)
    return ScalarNode(cell.mark, made)


def _prose(cell: Cell) -> ScalarNode:
    return ScalarNode(cell.mark, Text(cell.text, cell.mark))


def _entry(cell: Cell) -> Entry:
    return Entry(cell.mark, _scalar(cell))


def _listed(cell: Cell) -> Entry:
    names = [name.strip() for name in cell.text.split("/")]
    items: list[Node] = [ScalarNode(cell.mark, Text(name, cell.mark)) for name in names if name]
    return Entry(cell.mark, ListNode(cell.mark, items))
