"""What does a geometry file hold, before any scene says a word about it?"""

from __future__ import annotations

import json
import re
from dataclasses import asdict
from pathlib import Path
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from packcheck.arrays import Faces
from packcheck.data import KINDS
from packcheck.looked import FileLook, LookedBody
from packcheck.scene.model.scene import CAR, LengthUnit, Mesh, Triple
from packcheck.solids.core.mend import merged
from packcheck.solids.formats import RawMesh, parse
from packcheck.solids.formats.aside import aside
from packcheck.solids.formats.bodies import with_bodies
from packcheck.solids.formats.gate import read_bytes
from packcheck.solids.meshes.account import UNITS, USUAL
from packcheck.solids.meshes.clean import Surface
from packcheck.solids.meshes.files import naming
from packcheck.solids.meshes.reading import account_of, surface_of

__all__ = ["look", "run"]

_ORDER: Final[tuple[LengthUnit, ...]] = ("mm", "m", "in", "cm")
"""Units as they are likely in files that state none: drawings in mm, phone scans in metres."""

_MOST_BODIES: Final = 200


def look(file: str | Path, unit: LengthUnit | None = None) -> FileLook:
    """What a geometry file holds, read in `unit`, or else in the unit it states, or in the likeliest.

    Raises
    ------
    MeshError
        One fault that names the file.
    """
    with naming(f'geometry file "{file}"'):
        data = read_bytes(Path(file), starts="the folder you are in")
        said = json.loads(aside(__name__, (Path(file), unit, data))["look"].tobytes())
        bodies = tuple(LookedBody(**_tuples(body)) for body in said.pop("bodies"))
        return FileLook(**_tuples(said), bodies=bodies)


def _tuples(said: dict[str, Any]) -> dict[str, Any]:
    return {key: tuple(value) if isinstance(value, list) else value for key, value in said.items()}


def run(question: tuple[Path, LengthUnit | None, bytes]) -> dict[str, npt.NDArray[np.uint8]]:
    """What a process of its own does: everything, told as text."""
    return {"look": np.frombuffer(json.dumps(asdict(_looked(*question))).encode(), dtype=np.uint8)}


def _looked(file: Path, unit: LengthUnit | None, data: bytes) -> FileLook:
    raw = parse(file, data)
    likely = _likely(raw)
    declared: LengthUnit | None = next((name for name in _ORDER if name == raw.unit), None)
    chosen: LengthUnit = unit or declared or (likely[0] if likely else "mm")
    spec = Mesh(file, UNITS[chosen], chosen)
    surface = surface_of(spec, raw)
    account = account_of(spec, raw, surface)
    bodies = _bodies(with_bodies(raw), 1.0 if raw.settled else spec.unit)
    return FileLook(
        file=str(file),
        format=raw.format,
        triangles=len(raw.faces),
        unit=chosen,
        declared=raw.unit,
        sure=raw.settled,
        likely=likely,
        low=_triple(surface.vertices.min(axis=0)),
        high=_triple(surface.vertices.max(axis=0)),
        closed=surface.is_closed,
        error=surface.error,
        bodies=bodies,
        would=account.repaired,
        left=account.unrepaired,
        snippet=_snippet(file, chosen, raw, surface, bodies),
    )


def _likely(raw: RawMesh) -> tuple[LengthUnit, ...]:
    """Units in which the longest side is usual for a part of a car; only the stated one of a sure format."""
    if raw.settled:
        return ("mm",)
    longest = float(np.ptp(raw.vertices[raw.faces.ravel()], axis=0).max())
    return tuple(name for name in _ORDER if USUAL[0] <= longest * UNITS[name] <= USUAL[1])


def _bodies(raw: RawMesh, unit: float) -> tuple[LookedBody, ...]:
    assert raw.body is not None
    return tuple(
        _body(raw, number, raw.faces[raw.body == number], unit)
        for number in range(min(len(raw.names), _MOST_BODIES))
        if (raw.body == number).any()
    )


def _body(raw: RawMesh, number: int, faces: Faces, unit: float) -> LookedBody:
    closed = bool(merged(raw.vertices, faces, soup=True).pieces[1].all())
    size = np.ptp(raw.vertices[faces.ravel()], axis=0) * unit
    return LookedBody(number + 1, raw.names[number], len(faces), _triple(size), closed)


def _triple(values: np.ndarray) -> Triple:
    x, y, z = values.tolist()
    return x, y, z


def _snippet(file: Path, unit: str, raw: RawMesh, surface: Surface, bodies: tuple[LookedBody, ...]) -> str:
    """A part to paste under `parts:`."""
    name = re.sub(r"\W+", "_", file.stem).strip("_").lower() or "part"
    name = f"part_{name}" if name[0].isdigit() or name in {*KINDS, CAR, "none"} else name
    path = file.as_posix()
    said = [f"file: {json.dumps(path, ensure_ascii=not path.isprintable())}"] + (
        [] if raw.settled else [f"units: {unit}"]
    )
    lines = [f"  {name}:", f"    mesh: {{{', '.join(said)}}}", "    at: [0, 0, 0]"]
    if not surface.is_closed:
        lines.insert(2, "    # an open skin: add thickness: 2 mm, side: outer to the mesh (or inner, or middle)")
    if len(bodies) > 1:
        lines.insert(2, f"    # {len(bodies)} bodies: add body: 1 to the mesh to take one of them")
    return "\n".join(lines)
