"""OBJ: vertices and polygons; everything that points outside the file (materials, textures) is left alone."""

from __future__ import annotations

import re
from typing import Final

import numpy as np

from packcheck.arrays import Faces, Points
from packcheck.solids.formats.gate import RawMesh, RefusedError, expect_content, plain_text
from packcheck.solids.formats.numbers import floats, integers, words_in_lines
from packcheck.solids.formats.polygons import triangles_of

__all__ = ["read_obj"]

_IGNORED: Final = frozenset(
    b"vn vt vp g o s mg l p usemtl mtllib usemap maplib bevel c_interp d_interp lod shadow_obj trace_obj".split()
)
_TEXTURE: Final = re.compile(rb"/[^ \n]*")
"""What a corner says of texture and normal: 3/7/2 is vertex 3."""

_BLANKS: Final = bytes.maketrans(b"\t\v\f", b"   ")

_CURVED: Final = frozenset(b"cstype deg bmat step curv curv2 surf parm trim hole scrv sp end con".split())


def read_obj(data: bytes) -> RawMesh:
    """Triangles of an OBJ file; its objects (or, without any, its groups) are bodies; polygons are cut."""
    text = plain_text(data)
    expect_content(text, ".obj", "OBJ", "")
    lines = _statements(text)
    vertices = _vertices(lines)
    corners, counts = _corners(lines, len(vertices))
    if not len(counts):
        raise RefusedError(f"holds {len(vertices)} points but no faces" if len(vertices) else "holds no triangles")
    faces, owner, remarks = triangles_of(vertices, corners, counts)
    names, objects = _objects(lines)
    lost = sum(line[:2] in (b"l ", b"p ") for line in lines)
    if lost:
        remarks += (f"left out {lost} lines and points",)
    return RawMesh("OBJ", vertices, faces, remarks=remarks, names=names, body=objects[owner])


def _statements(text: bytes) -> list[bytes]:
    """Lines without comments and indents, tabs turned to spaces, continued lines joined."""
    text = text.translate(_BLANKS).replace(b"\\\n", b" ")
    lines = [line.strip() for line in text.split(b"\n")]
    if b"#" in text:
        lines = [line.partition(b"#")[0].rstrip() for line in lines]
    for word in {line.partition(b" ")[0] for line in lines if line[:2] not in (b"v ", b"f ")} - {b""} - _IGNORED:
        if word in _CURVED:
            raise RefusedError("holds free-form curves or surfaces", mend="export it as a mesh of flat faces")
        number = next(n for n, line in enumerate(lines, 1) if line.partition(b" ")[0] == word)
        raise RefusedError(
            f"line {number} begins with {word[:20].decode(errors='replace')!r}, which OBJ does not know"
        )
    return lines


def _vertices(lines: list[bytes]) -> Points:
    """Three coordinates each; a weight or a colour may follow."""
    words, counts = words_in_lines([line[2:] for line in lines if line[:2] == b"v "])
    wrong = ~np.isin(counts, (3, 4, 6, 7))
    if wrong.any():
        first = int(np.argmax(wrong))
        raise RefusedError(f"vertex {first + 1} has {counts[first]} numbers, needed 3")
    numbers = floats(words, "vertices")
    points: Points = numbers[(np.cumsum(counts) - counts)[:, None] + np.arange(3)]
    return points


def _corners(lines: list[bytes], vertices: int) -> tuple[Faces, Faces]:
    """Vertex numbers from 0 of all polygons in a row, and how many corners each has."""
    text = _TEXTURE.sub(b"", b"\n".join([line[2:] for line in lines if line[:2] == b"f "]))
    words, counts = words_in_lines(text.split(b"\n") if text else [])
    numbers = integers(words, "faces")
    if (numbers < 0).any():
        seen = np.repeat(_vertices_before_faces(lines), counts)
        numbers = np.where(numbers < 0, seen + numbers + 1, numbers)
        if (numbers < 1).any():
            raise RefusedError("has faces that count back beyond the first vertex")
    for wrong, reason in ((numbers == 0, "0 (they count from 1)"), (numbers > vertices, "it does not have")):
        if wrong.any():
            face = int(np.repeat(np.arange(len(counts)), counts)[np.argmax(wrong)]) + 1
            got = int(numbers[np.argmax(wrong)])
            raise RefusedError(
                f"has faces that use vertices {reason}: face {face} asks for vertex {got} of {vertices}"
            )
    return numbers - 1, counts


def _objects(lines: list[bytes]) -> tuple[tuple[str, ...], Faces]:
    """Names of the objects that have faces, and the number of the one each polygon (m,) stands in."""
    key = b"o" if any(line[:2] == b"o " for line in lines) else b"g"
    name, seen, numbers = b"", dict[bytes, int](), []
    for line in lines:
        if line[:2] == b"f ":
            numbers.append(seen.setdefault(name, len(seen)))
        elif line[:2] == key + b" " or line == key:
            name = line[2:].strip()
    return tuple(name.decode(errors="replace") for name in seen), np.array(numbers, dtype=np.int64)


def _vertices_before_faces(lines: list[bytes]) -> Faces:
    """How many vertices stand above each face line: -1 means the last of those."""
    kinds = np.array([line[:2] == b"v " for line in lines if line[:2] in (b"v ", b"f ")], dtype=bool)
    above: Faces = np.cumsum(kinds)[~kinds]
    return above
