"""PLY, ASCII and binary: a header that declares rows, then exactly those rows."""

from __future__ import annotations

import re
from typing import Final

import numpy as np

from packcheck.arrays import Faces, Floats, Points
from packcheck.solids.formats.gate import RawMesh, RefusedError, expect_content, plain_text
from packcheck.solids.formats.numbers import floats
from packcheck.solids.formats.ply_rows import Body, Column, Element, Located, locate
from packcheck.solids.formats.polygons import triangles_of

__all__ = ["read_ply"]

_TYPES: Final = {
    "char": "i1", "int8": "i1", "uchar": "u1", "uint8": "u1", "short": "i2", "int16": "i2",
    "ushort": "u2", "uint16": "u2", "int": "i4", "int32": "i4", "uint": "u4", "uint32": "u4",
    "float": "f4", "float32": "f4", "double": "f8", "float64": "f8",
}  # fmt: skip
_ORDERS: Final = {"ascii": "", "binary_little_endian": "<", "binary_big_endian": ">"}
_END: Final = re.compile(rb"^end_header[ \t]*\r?\n?", re.MULTILINE)
_CORNER_NAMES: Final = ("vertex_indices", "vertex_index")
_WANTED: Final = frozenset({"x", "y", "z", *_CORNER_NAMES})


def read_ply(data: bytes) -> RawMesh:
    """Triangles of a PLY file; polygons are cut into triangles, colours and the like are skipped."""
    expect_content(data, ".ply", "PLY")
    end = _END.search(data, 0, 1 << 16)
    if not end:
        raise RefusedError("is cut short: its header does not end")
    kind, elements = _header(data[: end.start()].decode("latin-1").splitlines())
    body = _body(data[end.end() :], kind)
    tables, filled = {}, 0
    for element in elements:
        tables[element.name], filled = locate(body, element, filled, _WANTED)
    if filled != len(body):
        raise RefusedError(f"has {len(body) - filled} {body.item}s more than its header declares")
    points = _points(body, tables)
    corners, counts = _polygons(body, tables, len(points))
    faces, _, remarks = triangles_of(points, corners, counts)
    return RawMesh("ASCII PLY" if kind == "ascii" else "binary PLY", points, faces, remarks=remarks)


def _header(lines: list[str]) -> tuple[str, list[Element]]:
    """The body's kind and its elements in order."""
    kind = ""
    elements: list[Element] = []
    names: set[str] = set()
    for number, line in enumerate(lines[1:], 2):
        try:
            match line.split():
                case [] | ["comment" | "obj_info", *_]:
                    pass
                case ["format", name, "1.0"] if name in _ORDERS:
                    kind = name
                case ["element", name, count] if name not in names:
                    names.add(name)
                    elements.append(Element(name, int(count)))
                case ["property", "list", count, item, name]:
                    elements[-1].columns.append(Column(name, _TYPES[item], _TYPES[count]))
                case ["property", item, name]:
                    elements[-1].columns.append(Column(name, _TYPES[item]))
                case _:
                    raise ValueError
        except (ValueError, KeyError, IndexError):
            raise RefusedError(f"has a header line it should not have (line {number}: {line[:40]!r})") from None
    if not kind:
        raise RefusedError("does not say whether it is ascii or binary")
    return kind, elements


def _body(data: bytes, kind: str) -> Body:
    if kind == "ascii":
        return Body(floats(plain_text(data).split(), "rows"))
    return Body(np.frombuffer(data, dtype=np.uint8), _ORDERS[kind])


def _points(body: Body, tables: dict[str, Located]) -> Points:
    table = tables.get("vertex", {})
    if not {"x", "y", "z"} <= table.keys():
        raise RefusedError("has no vertices with x, y and z")
    return np.stack([_scalars(body, table, axis) for axis in "xyz"], axis=1)


def _scalars(body: Body, table: Located, name: str) -> Floats:
    column, at, lengths = table[name]
    if lengths is not None:
        raise RefusedError(f"has vertices whose {name} is a list")
    return body.numbers(at, column.type)


def _polygons(body: Body, tables: dict[str, Located], vertices: int) -> tuple[Faces, Faces]:
    """Vertex numbers of all polygons in a row, and how many corners each has."""
    table = tables.get("face", {})
    name = next((name for name in _CORNER_NAMES if name in table), "")
    if not name:
        raise RefusedError(
            "holds triangle strips" if "tristrips" in tables else f"holds {vertices} points but no faces"
        )
    column, at, lengths = table[name]
    if lengths is None or not len(lengths):
        raise RefusedError(f"holds {vertices} points but no faces")
    within = np.arange(int(lengths.sum())) - np.repeat(np.cumsum(lengths) - lengths, lengths)
    corners = body.numbers(np.repeat(at, lengths) + within * body.width(column.type), column.type)
    wrong = ~((corners >= 0) & (corners < vertices) & (corners == np.floor(corners)))
    if wrong.any():
        got = corners[np.argmax(wrong)]
        face = int(np.repeat(np.arange(len(lengths)), lengths)[np.argmax(wrong)]) + 1
        raise RefusedError(
            f"has faces that use vertices it does not have: face {face} asks for {got:g} of {vertices} (from 0)"
        )
    return corners.astype(np.int64), lengths
