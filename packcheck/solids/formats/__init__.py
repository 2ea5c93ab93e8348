"""Mesh files, read strictly: every byte accounted for, nothing followed outside the file, no silent repair."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final

from packcheck.solids.formats.gate import RawMesh, RefusedError, checked, content_of, refuse_content, renaming
from packcheck.solids.formats.glb import read_glb
from packcheck.solids.formats.obj import read_obj
from packcheck.solids.formats.off import read_off
from packcheck.solids.formats.ply import read_ply
from packcheck.solids.formats.step import read_step
from packcheck.solids.formats.stl import read_stl
from packcheck.solids.formats.threemf import read_3mf

__all__ = ["READERS", "RawMesh", "RefusedError", "parse"]

READERS: Final[dict[str, Callable[[bytes], RawMesh]]] = {
    ".stl": read_stl,
    ".obj": read_obj,
    ".ply": read_ply,
    ".glb": read_glb,
    ".off": read_off,
    ".3mf": read_3mf,
    ".step": read_step,
    ".stp": read_step,
}
"""By the ending of the file name. A plain dict: the list of formats is this."""


def parse(path: Path, data: bytes) -> RawMesh:
    """The triangles of `data`, by the ending of `path`; what the bytes say must agree with it.

    Raises
    ------
    RefusedError
        When the format is not read, or the file is broken, hostile, empty or not what its name says.
    """
    suffix = path.suffix.lower()
    if suffix not in READERS:
        ending = (
            f"ends in {suffix}, which packcheck does not read" if suffix else "has no ending that says what it is"
        )
        export = f"export the part as one of {' '.join(READERS)}"
        raise RefusedError(ending, mend=renaming(content_of(data)) or export)
    if suffix != ".stl" and content_of(data) == "binary STL":
        refuse_content("binary STL", suffix)
    return checked(READERS[suffix](data))
