"""STEP: exact shapes from a drawing program, cut into triangles by a library.

The library hands on metres, whatever the file is in, and triangles of which every face has its own corners. Both
are put right here. How far the triangles may lie off the true faces is asked for, and is carried on whole: on
cylinders half of it was seen.
"""

from __future__ import annotations

import re
import tempfile
from importlib.util import find_spec
from pathlib import Path
from typing import Final

import numpy as np

from packcheck.solids.formats.gate import RawMesh, RefusedError, expect_content, plain_text
from packcheck.solids.formats.glb import read_glb

__all__ = ["INSTALL", "read_step"]

INSTALL: Final = 'in the folder of packcheck run  pip install ".[cad]"'

_SAG: Final = 0.05
"""mm. How far a triangle may lie off a curved face: far less than any tape can tell."""

_ANGLE: Final = 0.3
"""Radians between the normals of neighbours, so that small round things stay round."""

_SINGLE: Final = 2.0**-23
"""Of the size: coordinates arrive in single precision."""

_UNITS: Final = (
    (re.compile(rb"CONVERSION_BASED_UNIT\s*\(\s*'INCH'", re.IGNORECASE), "in"),
    (re.compile(rb"SI_UNIT\s*\(\s*\.MILLI\.\s*,\s*\.METRE\."), "mm"),
    (re.compile(rb"SI_UNIT\s*\(\s*\.CENTI\.\s*,\s*\.METRE\."), "cm"),
    (re.compile(rb"SI_UNIT\s*\(\s*\$\s*,\s*\.METRE\."), "m"),
)

_QUOTED: Final = re.compile(rb"'[^']*'|/\*.*?\*/", re.DOTALL)
_USED: Final = re.compile(rb"#0*(\d+)")
_DEFINED: Final = re.compile(rb"#0*(\d+)\s*=")

_HUGE: Final = re.compile(rb"\d\.?\d*E\+?0*(?:[3-9]\d|[1-9]\d\d+)\b", re.IGNORECASE)
"""From 1E30: such a number was seen to keep the library busy without end."""

_ELSEWHERE: Final = re.compile(rb"\b(?:DOCUMENT_FILE|EXTERNALLY_DEFINED_CLASS)\s*\(", re.IGNORECASE)


def read_step(data: bytes) -> RawMesh:
    """Triangles of every solid of a STEP file, where its assembly puts it, in mm.

    Raises
    ------
    RefusedError
        When the library is not installed, crashes or finds nothing, or the file refers to others.
    """
    expect_content(data, ".step", "a STEP model")
    text = plain_text(data)
    if b"END-ISO-10303-21" not in text[-4096:]:
        raise RefusedError("is cut short: it does not end as a STEP file must")
    if _ELSEWHERE.search(text):
        raise RefusedError("refers to other files", mend="export it as one STEP file that holds everything")
    if huge := _HUGE.search(text):
        raise RefusedError(f"holds a number beyond all measure ({huge.group().decode()[:40]})")
    _refuse_dangling(text)
    if find_spec("cascadio") is None:
        raise RefusedError("is a STEP model, and the extra that reads those is not installed", mend=INSTALL)
    mesh = _cut_up(data)
    vertices = mesh.vertices * 1000.0
    return RawMesh(
        "STEP",
        vertices,
        mesh.faces,
        unit=next((unit for pattern, unit in _UNITS if pattern.search(text)), ""),
        soup=True,
        names=mesh.names,
        body=mesh.body,
        error=_SAG + _SINGLE * float(np.abs(vertices).max(initial=0.0)),
        settled=True,
    )


def _refuse_dangling(text: bytes) -> None:
    """Refuse a file that lacks lines it refers to: the library would leave out the faces they belong to."""
    bare = _QUOTED.sub(b"", text)
    lacking = set(_USED.findall(bare)) - set(_DEFINED.findall(bare))
    if lacking:
        first = min(lacking, key=int).decode()
        raise RefusedError(f"refers to lines it does not have (#{first}, and {len(lacking)} in all)")


def _cut_up(data: bytes) -> RawMesh:
    """The library's work, in metres, and the strict reading of what it writes."""
    import cascadio

    with tempfile.TemporaryDirectory(prefix="packcheck") as folder:
        source, target = Path(folder) / "part.step", Path(folder) / "part.glb"
        source.write_bytes(data)
        code = cascadio.step_to_glb(str(source), str(target), _SAG, _ANGLE, use_parallel=False)
        if code or not target.exists():
            raise RefusedError("holds no solid that the STEP reader understands")
        return read_glb(target.read_bytes())
