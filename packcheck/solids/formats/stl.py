"""STL, binary and ASCII."""

from __future__ import annotations

import re
from typing import Final

import numpy as np

from packcheck.arrays import Faces
from packcheck.solids.formats.gate import (
    MAX_TRIANGLES,
    RawMesh,
    RefusedError,
    content_of,
    plain_text,
    refuse_content,
)
from packcheck.solids.formats.library import through_trimesh
from packcheck.solids.formats.numbers import floats

__all__ = ["read_stl"]

_HEAD: Final = 84  # 80 bytes of anything, then the number of triangles
_TRIANGLE: Final = 50
_NAMES: Final = re.compile(rb"^[ \t]*((?:end)?solid)\b([^\n]*)", re.IGNORECASE | re.MULTILINE)
_FACET: Final = b"facet normal . . . outer loop vertex . . . vertex . . . vertex . . . endloop endfacet".split()
_COORDINATES: Final = tuple(place for start in (8, 12, 16) for place in range(start, start + 3))


def read_stl(data: bytes) -> RawMesh:
    """Triangles of an STL file; binary when its size is what a binary header promises."""
    promised = int.from_bytes(data[80:_HEAD], "little")
    if len(data) >= _HEAD and len(data) == _HEAD + _TRIANGLE * promised:
        return _binary(data, promised)
    found = content_of(data)
    if found == "ASCII STL" and b"\0" not in data:
        return _ascii(plain_text(data))
    if found == "ASCII STL" and not _reads_as_head(data):
        line = data.count(b"\n", 0, data.index(b"\0")) + 1
        raise RefusedError(f"is an ASCII STL with a NUL byte in line {line}", mend="export it again")
    if found not in ("", "ASCII STL"):
        refuse_content(found, ".stl")
    raise _wrong_size(len(data), promised)


def _reads_as_head(data: bytes) -> bool:
    """Whether the first 80 bytes may be the head of a binary file that happens to begin with `solid`."""
    return b"facet" not in data[: _HEAD * 3].replace(b"\0", b"")


def _binary(data: bytes, count: int) -> RawMesh:
    if not count:
        raise RefusedError("holds no triangles")
    if count > MAX_TRIANGLES:
        raise RefusedError(f"holds {count} triangles, the most is {MAX_TRIANGLES}", mend="simplify the mesh")
    vertices, faces, _ = through_trimesh(data, "stl", triangles=count)
    return RawMesh("binary STL", vertices, faces, soup=True)


def _wrong_size(size: int, promised: int) -> RefusedError:
    if size < _HEAD:
        return RefusedError(f"is cut short: {size} bytes, a binary STL has at least {_HEAD}")
    needed = _HEAD + _TRIANGLE * promised
    what = f"has {size - needed} bytes too many" if size > needed else f"is cut short by {needed - size} bytes"
    return RefusedError(f"{what}: its header promises {promised} triangles, that is {needed} bytes, got {size}")


def _ascii(text: bytes) -> RawMesh:
    """Read word by word, every facet the same 21 words; the mesh library drops what it cannot read."""
    pieces = _NAMES.split(text)  # before, solid, name, facets, endsolid, name, between, solid, name, facets, ...
    marks = [mark.lower() for mark in pieces[1::3]]
    if marks != [b"solid", b"endsolid"] * (len(marks) // 2) or any(piece.strip() for piece in pieces[0::6]):
        raise RefusedError("is cut short: all facets must stand between solid and endsolid")
    words = b" ".join(pieces[3::6]).split()
    size = len(_FACET)
    count, rest = divmod(len(words), size)
    for place, expected in enumerate(_FACET):
        column = words[place::size]
        if expected != b"." and {word.lower() for word in set(column)} - {expected}:
            facet = next(k for k, word in enumerate(column, 1) if word.lower() != expected)
            got = column[facet - 1][:20].decode(errors="replace")
            raise RefusedError(f"has {got!r} where {expected.decode()!r} must be (facet {facet})")
    if rest:
        raise RefusedError(f"is cut short within facet {count + 1}")
    numbers = [floats(words[place::size], "vertices") for place in _COORDINATES]
    vertices = np.stack(numbers, axis=1).reshape(-1, 3)
    return RawMesh(
        "ASCII STL",
        vertices,
        np.arange(3 * count).reshape(-1, 3),
        soup=True,
        names=tuple(name.strip().decode(errors="replace") for name in pieces[2::6]),
        body=_solid_of_facets([len(piece.split()) for piece in pieces[3::6]], count),
    )


def _solid_of_facets(words: list[int], count: int) -> Faces:
    """Which solid each facet (count,) stands in, by how many words each solid has."""
    ends = np.cumsum(words) // len(_FACET)
    solids: Faces = np.searchsorted(ends, np.arange(count), side="right")
    return solids
