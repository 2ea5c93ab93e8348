"""OFF: a count line, vertices, then polygons; colours and normals are skipped."""

from __future__ import annotations

import re
from typing import Final

from packcheck.arrays import Faces, Points
from packcheck.solids.formats.gate import RawMesh, RefusedError, expect_content, plain_text
from packcheck.solids.formats.numbers import floats, integers
from packcheck.solids.formats.polygons import triangles_of

__all__ = ["read_off"]

_HEADER: Final = re.compile(rb"(?:ST)?C?N?OFF\b(?![ \t]+BINARY)")


def read_off(data: bytes) -> RawMesh:
    """Triangles of an ASCII OFF file whose counts, vertices and faces add up."""
    text = plain_text(data)
    expect_content(text, ".off", "OFF")
    rows = _rows(text)
    vertices, faces = _counts(rows)
    if not faces:
        raise RefusedError(f"holds {vertices} points but no faces")
    points = _points(rows[1 : 1 + vertices])
    corners, counts = _polygons(rows[1 + vertices :])
    if ((corners < 0) | (corners >= vertices)).any():
        raise RefusedError(f"has faces that use vertices it does not have (0 to {vertices - 1})")
    triangles, _, remarks = triangles_of(points, corners, counts)
    return RawMesh("OFF", points, triangles, remarks=remarks)


def _rows(text: bytes) -> list[list[bytes]]:
    """Words of every line that has some, comments and the header word removed."""
    lines = [line for line in (raw.partition(b"#")[0].strip() for raw in text.split(b"\n")) if line]
    header = _HEADER.match(lines[0])
    if not header:
        raise RefusedError(
            "is an OFF file of a rare kind (binary, or of four coordinates)", mend="export it as PLY"
        )
    lines[0] = lines[0][header.end() :]
    return [row for row in map(bytes.split, lines) if row]


def _counts(rows: list[list[bytes]]) -> tuple[int, int]:
    """Vertices and faces as declared, when that many lines follow."""
    if not rows or len(rows[0]) not in (2, 3):
        raise RefusedError("has no line of vertex and face counts")
    vertices, faces = integers(rows[0][:2], "counts").tolist()
    follow = len(rows) - 1
    if vertices < 0 or faces < 0 or follow != vertices + faces:
        raise RefusedError(
            f"does not add up: {vertices} vertices and {faces} faces declared, {follow} lines follow"
        )
    return vertices, faces


def _points(rows: list[list[bytes]]) -> Points:
    for number, row in enumerate(rows, 1):
        if len(row) < 3:
            raise RefusedError(f"vertex {number} has {len(row)} numbers, needed 3")
    return floats([word for row in rows for word in row[:3]], "vertices").reshape(-1, 3)


def _polygons(rows: list[list[bytes]]) -> tuple[Faces, Faces]:
    """Vertex numbers of all polygons in a row, and how many corners each has."""
    counts = integers([row[0] for row in rows], "faces")
    for number, (row, count) in enumerate(zip(rows, counts.tolist(), strict=True), 1):
        if not 0 < count < len(row):
            raise RefusedError(f"face {number} promises {count} corners and lists {len(row) - 1} numbers")
    words = [word for row, count in zip(rows, counts.tolist(), strict=True) for word in row[1 : 1 + count]]
    return integers(words, "faces"), counts
