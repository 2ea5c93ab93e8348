"""Feeds spoilt mesh files to the reader: ``python -m tests.fuzz.fuzz_meshes --seconds 300 --seed 1``.

Each input must end in a mesh that is sound or in a `MeshError` that names it and says what is wrong with it. Finds
are the end of the process that reads it, a limit reached, an exception nobody meant. The library that reads STEP
does crash; there it must be told, and is counted.
"""

from __future__ import annotations

import sys
from pathlib import Path
from random import Random
from typing import get_args

import numpy as np

from packcheck.errors import MeshError
from packcheck.scene.model.scene import Mesh, Side
from packcheck.solids.core.topology import edges_of
from packcheck.solids.formats import aside
from packcheck.solids.look import look
from packcheck.solids.meshes import files as mesh_files
from packcheck.solids.meshes.files import LoadedMesh, read_mesh
from tests.fuzz.harness import SECONDS_EACH, Fuzzer, Outcome, caught, main
from tests.fuzz.mesh_mutations import spoilt

HELPER_MEMORY = 2 << 30
"""Bytes, the libraries that read STEP included: 1 GiB over what those take."""

FINDS = ("cannot be worked out", "takes over", "takes more memory")
"""In the reason of a refusal: the reader did not know what was wrong."""


def made(random: Random, _: Path) -> tuple[str, bytes]:
    return spoilt(random)


def tried(path: Path, random: Random) -> Outcome:
    spec = _spec(path, random)
    return caught(lambda: _outcome(spec))


def _spec(file: Path, random: Random) -> Mesh:
    if random.random() < 0.4:
        return Mesh(file, 1.0, "mm")
    if random.random() < 0.4:
        return Mesh(
            file,
            1.0,
            "mm",
            axes=random.choice((("x", "y", "z"), ("-z", "-x", "y"), ("x", "-z", "y"))),
            bodies=random.choice(((), (), ("1",), ("2", "1"), ("part",))),
            crop=random.choice((None, ((-5.0, -5.0, -5.0), (20.0, 20.0, 20.0)))),
            least_piece=random.choice((0.0, 0.0, 1.0, 15.0)),
        )
    side: Side = random.choice(get_args(Side))
    thickness = random.choice((0.5, 3.0, 30.0))
    return Mesh(file, 25.4, "in", thickness, side, scale=0.5, mirror=random.choice(("x", None)))


def _outcome(spec: Mesh) -> Outcome:
    try:
        loaded = read_mesh(spec, use_cache=False)
    except MeshError as error:
        return _judged(error, f'mesh file "{spec.file}" ')
    flaw = _flaw(loaded)
    if flaw:
        return "failed", flaw
    try:
        seen = look(spec.file)
    except MeshError as error:
        what, why = _judged(error, f'geometry file "{spec.file}" ')
        return ("accepted", "") if what == "refused" else (what, why)
    sound = seen.bodies and np.isfinite([*seen.low, *seen.high]).all()
    return ("accepted", "") if sound else ("failed", "looked at: no bodies, or endless ones")


def _judged(error: MeshError, beginning: str) -> Outcome:
    (fault,) = error.faults
    if not fault.what.startswith(beginning):
        return "failed", f"a fault without the file: {error}"
    if any(words in fault.what for words in FINDS):
        return ("ended", "") if ".step" in fault.what else ("failed", fault.what)
    return "refused", ""


def _flaw(loaded: LoadedMesh) -> str:
    """What is wrong with an accepted mesh; "" when it is sound."""
    solid, account = loaded.solid, loaded.account
    if not len(solid.faces) or not np.isfinite(solid.vertices).all():
        return "no faces, or vertices that are no numbers"
    if solid.faces.min() < 0 or solid.faces.max() >= len(solid.vertices):
        return "faces of vertices that are not there"
    fallen_back = bool(account.sheet) and not solid.closed  # a closed surface, too tight to be hollowed
    if not fallen_back and solid.closed != edges_of(solid.faces).balanced:
        return f"closed is {solid.closed}, its edges say otherwise"
    if (
        solid.closed
        and not account.sheet
        and not any("enclose nothing" in doubt for doubt in account.unrepaired)
        and _volume(solid.vertices, solid.faces) < -1e-6 * max(account.extents) ** 3
    ):
        return "a closed solid of negative volume"
    if solid.pieces is None or (not account.sheet and len(solid.pieces) != account.pieces):
        return "pieces do not add up"
    return "" if np.isfinite([solid.radius, solid.error, *account.extents]).all() else "an error that is no number"


def _volume(vertices: np.ndarray, faces: np.ndarray) -> float:
    corners = vertices[faces] - vertices[0]
    return float(np.einsum("mi,mi->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6)


def prepare(_: Path) -> None:
    """A stricter limit of memory than a user has; one of time that a starved process on a loaded machine keeps."""
    aside._idle.append(aside.Helper(HELPER_MEMORY))
    mesh_files._SECONDS = 30.0 * SECONDS_EACH  # type: ignore[misc]


if __name__ == "__main__":
    sys.exit(main(Fuzzer("tests.fuzz.fuzz_meshes", 400, made, tried, prepare), __doc__))
