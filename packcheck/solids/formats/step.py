"""STEP: exact shapes from a drawing program, cut into triangles by a library.

The library hands on metres, whatever the file is in, and triangles of which every face has its own corners. Both
are put right here. It is asked to stay near the true faces, and does not quite; what is carried on allows for that.
"""

from __future__ import annotations

import contextlib
import os
import re
import tempfile
from collections.abc import Callable, Iterator
from importlib.util import find_spec
from typing import Any, Final

import numpy as np

from packcheck.solids.formats.gate import RawMesh, RefusedError, expect_content, plain_text
from packcheck.solids.formats.glb import json_of, read_glb, with_json

__all__ = ["INSTALL", "read_step"]

INSTALL: Final = 'in the folder of packcheck run  pip install ".[cad]"'

_ASKED: Final = 0.04
"""mm. How far off a curved face the library is asked to stay."""

_SAG: Final = 0.1
"""mm. How far off it may be: on balls 2.1 times what was asked was seen, on spline surfaces 1.7, on others 1.0."""

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

_FACE: Final = re.compile(rb"=\s*(?:ADVANCED_FACE|FACE_SURFACE)\s*\(")
_FACES: Final = "TM_brep_faces"
_NUMBERED: Final = re.compile(r"(?:NAUO)?\d*", re.IGNORECASE)
"""Names of placings that programs make up."""

_FAULT: Final = re.compile(r"\*{3,} ERR \w+ : (?P<what>[^:\n]*)")
_SKIPPED: Final = re.compile(r"skipped node '([^'\n]*)' without geometry")
_MOST_SAID: Final = 1 << 20
"""What the library prints: bytes that are listened to."""

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
    bare = _QUOTED.sub(b"", text)
    _refuse_dangling(bare)
    if find_spec("cascadio") is None:
        raise RefusedError("is a STEP model, and the extra that reads those is not installed", mend=INSTALL)
    mesh, lost = _cut_up(data, len(_FACE.findall(bare)))
    vertices = mesh.vertices * 1000.0
    return RawMesh(
        "STEP",
        vertices,
        mesh.faces,
        lost=lost,
        unit=next((unit for pattern, unit in _UNITS if pattern.search(text)), ""),
        soup=True,
        names=mesh.names,
        body=mesh.body,
        error=_SAG + _SINGLE * float(np.abs(vertices).max(initial=0.0)),
        settled=True,
    )


def _refuse_dangling(bare: bytes) -> None:
    """Refuse a file that lacks lines it refers to: the library would leave out the faces they belong to."""
    lacking = set(_USED.findall(bare)) - set(_DEFINED.findall(bare))
    if lacking:
        first = min(lacking, key=int).decode()
        raise RefusedError(f"refers to lines it does not have (#{first}, and {len(lacking)} in all)")


def _cut_up(data: bytes, faces: int) -> tuple[RawMesh, str]:
    """The library's work, in metres, strictly read, and what is missing in it of the `faces` that the file has."""
    import cascadio

    with _heard() as words:
        made = cascadio.to_glb_bytes(
            data,
            tol_linear=_ASKED,
            tol_angular=_ANGLE,
            use_parallel=False,
            include_brep=True,  # with the number of faces of each body
            brep_types={"torus"},  # and of their shapes as little as may be asked for
        )
    said = words()
    tree = json_of(made) if made else {}
    if not (understood := _faces_in(tree)):
        raise RefusedError("holds no solid that the STEP reader understands")
    if fault := _FAULT.search(said):
        raise RefusedError(f"is not sound as a STEP file ({fault['what'].strip().lower()})")
    for node in tree["nodes"]:
        if _NUMBERED.fullmatch(node.get("name", "")):
            node["name"] = ""  # that of its part follows
    skipped = ", ".join(dict.fromkeys(name or "one without a name" for name in _SKIPPED.findall(said)))
    missing = faces - understood
    lost = f"has {faces} faces, of which {missing} could not be understood" if missing > 0 else ""
    return read_glb(with_json(made, tree)), f"{lost} (nothing is left of {skipped})" if lost and skipped else lost


def _faces_in(tree: dict[str, Any]) -> int:
    """How many faces of the drawing the bodies have, those that stand several times counted once."""
    held = {}
    for mesh in tree.get("meshes", []):
        sets = mesh.get("primitives", [])
        faces = [len(one.get("extensions", {}).get(_FACES, {}).get("faces", ())) for one in sets]
        sizes = [tree["accessors"][one["indices"]]["count"] for one in sets]
        held[mesh.get("name", ""), *faces, *sizes] = sum(faces)
    return sum(held.values())


@contextlib.contextmanager
def _heard() -> Iterator[Callable[[], str]]:
    """What a library prints meanwhile, itself, past Python: to be asked for afterwards."""
    with tempfile.TemporaryFile() as file:
        before = os.dup(1)
        os.dup2(file.fileno(), 1)
        try:
            yield lambda: said[0]
        finally:
            os.dup2(before, 1)
            os.close(before)
            file.seek(0)
            said = (file.read(_MOST_SAID).decode(errors="replace"),)
