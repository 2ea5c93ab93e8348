"""The bodies of a geometry file: which there are, and the ones that are asked for."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from packcheck.solids.core.mend import merged
from packcheck.solids.formats.gate import RawMesh, RefusedError

__all__ = ["chosen", "with_bodies"]

_LISTED = 12
"""Bodies named in a refusal before the rest are counted."""


def with_bodies(raw: RawMesh) -> RawMesh:
    """The same triangles, told apart: by the bodies the file names, or else by what hangs together by edges."""
    if raw.body is not None and len(raw.names) > 1:
        return raw
    mend = merged(raw.vertices, raw.faces, soup=True)
    piece, closed = mend.pieces
    name = raw.names[0] if len(raw.names) == len(closed) == 1 else ""
    names = (name,) if len(closed) == 1 else ("",) * len(closed)
    return replace(raw, vertices=mend.vertices, faces=mend.faces, names=names, body=piece)


def chosen(raw: RawMesh, wanted: tuple[str, ...]) -> RawMesh:
    """Only the bodies that are `wanted`, by name or by number from 1; all of them when none is.

    Raises
    ------
    RefusedError
        When one is not there, naming those that are.
    """
    if not wanted:
        return raw
    told = with_bodies(raw)
    assert told.body is not None
    numbers = sorted({number for name in wanted for number in _numbers(told.names, name)})
    return replace(told, faces=told.faces[np.isin(told.body, numbers)], body=None, names=())


def _numbers(names: tuple[str, ...], wanted: str) -> list[int]:
    """Numbers, from 0, of the bodies called `wanted`."""
    named = [number for number, name in enumerate(names) if name == wanted]
    if named:
        return named
    if wanted.isdecimal() and 1 <= int(wanted) <= len(names):
        return [int(wanted) - 1]
    listed = [f"{number} {name}".strip() for number, name in enumerate(names[:_LISTED], 1)]
    more = f" and {len(names) - _LISTED} more" if len(names) > _LISTED else ""
    raise RefusedError(f"has no body {wanted!r}", mend=f"its bodies are {', '.join(listed)}{more}")
