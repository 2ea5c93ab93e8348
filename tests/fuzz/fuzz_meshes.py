"""Feeds spoilt mesh files to the reader: ``python -m tests.fuzz.fuzz_meshes --seconds 300 --seed 1``.

Each input must end in a mesh that is sound or in a `MeshError` that names it, within ten seconds and one GiB over
what an idle process takes. Inputs run in child processes under hard limits, so that a hang or a crash costs one
child; a failing input is kept and named.
"""

from __future__ import annotations

import argparse
import json
import resource
import signal
import subprocess
import sys
import tempfile
import time
import traceback
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from typing import get_args

import numpy as np

from packcheck.errors import MeshError
from packcheck.scene.model import Mesh, Side
from packcheck.solids.look import look
from packcheck.solids.mesh_files import LoadedMesh, read_mesh
from packcheck.solids.topology import edges_of
from tests.fuzz.mesh_mutations import spoilt

BATCH = 400
SECONDS_EACH = 10
MEMORY = 1 << 30


@dataclass
class Tally:
    """What came of the inputs so far."""

    accepted: int = 0
    refused: int = 0
    longest: float = 0.0
    peak: float = 0.0  # MiB
    failures: list[str] = field(default_factory=list)

    def __str__(self) -> str:
        return (
            f"{self.accepted + self.refused + len(self.failures)} inputs, {self.accepted} accepted, "
            f"{self.refused} refused, longest {self.longest:.2f} s, peak {self.peak:.0f} MiB, "
            f"{len(self.failures)} failures"
        )


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--child", type=int, metavar="FIRST", help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.child is not None:
        return _child(options.seed, options.child)
    tally = Tally()
    deadline = time.monotonic() + options.seconds
    first = 0
    while time.monotonic() < deadline:
        first = _batch(options.seed, first, tally)
    sys.stdout.write("".join(f"{failure}\n" for failure in tally.failures) + f"{tally}\n")
    return 1 if tally.failures else 0


def _batch(seed: int, first: int, tally: Tally) -> int:
    """Run one child from input `first`; returns the first input of the next batch."""
    command = [sys.executable, "-m", "tests.fuzz.fuzz_meshes", "--seed", str(seed), "--child", str(first)]
    child = subprocess.run(command, capture_output=True, text=True, check=False)
    done = [json.loads(line) for line in child.stdout.splitlines()]
    for outcome in done:
        tally.accepted += outcome["what"] == "accepted"
        tally.refused += outcome["what"] == "refused"
        tally.longest = max(tally.longest, outcome["seconds"])
        tally.peak = max(tally.peak, outcome["peak"])
        if outcome["what"] == "failed":
            tally.failures.append(_kept(seed, outcome["input"], outcome["why"]))
    if child.returncode == 0:
        return first + BATCH
    culprit = first + len(done)
    tally.failures.append(_kept(seed, culprit, f"child ended with {child.returncode}: {child.stderr[-300:]}"))
    return culprit + 1


def _kept(seed: int, index: int, why: str) -> str:
    name, data = spoilt(_random(seed, index))
    place = Path(tempfile.gettempdir()) / f"fuzz_mesh_{seed}_{index}_{name}"
    place.write_bytes(data)
    return f"{place}: {why}"


def _random(seed: int, index: int) -> Random:
    return Random(f"{seed}/{index}")


def _child(seed: int, first: int) -> int:
    _warm_up()
    idle = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
    resource.setrlimit(resource.RLIMIT_AS, (idle + MEMORY, idle + MEMORY))
    with tempfile.TemporaryDirectory() as folder:
        for index in range(first, first + BATCH):
            random = _random(seed, index)
            name, data = spoilt(random)
            spec = _spec(Path(folder) / name, random)
            spec.file.write_bytes(data)
            signal.setitimer(signal.ITIMER_PROF, SECONDS_EACH)  # of work; ends the process
            began = time.monotonic()
            what, why = _outcome(spec)
            seconds = time.monotonic() - began
            signal.setitimer(signal.ITIMER_PROF, 0)
            peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            outcome = {"input": index, "what": what, "why": why, "seconds": seconds, "peak": peak}
            sys.stdout.write(json.dumps(outcome) + "\n")
            sys.stdout.flush()
    return 0


def _warm_up() -> None:
    """Load what is loaded lazily, so that the limit is over an idle process."""
    import mapbox_earcut
    import scipy.sparse.csgraph
    import scipy.spatial
    import trimesh

    assert all((mapbox_earcut, scipy.sparse.csgraph, scipy.spatial, trimesh))


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


def _outcome(spec: Mesh) -> tuple[str, str]:
    try:
        loaded = read_mesh(spec, use_cache=False)
    except MeshError as error:
        named = len(error.faults) == 1 and error.faults[0].what.startswith(f'mesh file "{spec.file}" ')
        return ("refused", "") if named else ("failed", f"a fault without the file: {error}")
    except BaseException:  # whatever else comes out is what the fuzzer looks for
        return "failed", traceback.format_exc(limit=-4)
    flaw = _flaw(loaded) or _flaw_of_look(spec.file)
    return ("failed", flaw) if flaw else ("accepted", "")


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


def _flaw_of_look(file: Path) -> str:
    """What is wrong with the account of a file that can be read as a whole, in part or not."""
    try:
        seen = look(file)
    except MeshError as error:
        return "" if str(file) in error.faults[0].what else f"a fault without the file: {error}"
    except BaseException:
        return traceback.format_exc(limit=-4)
    return "" if seen.bodies and np.isfinite([*seen.low, *seen.high]).all() else "no bodies, or endless ones"


def _volume(vertices: np.ndarray, faces: np.ndarray) -> float:
    corners = vertices[faces] - vertices[0]
    return float(np.einsum("mi,mi->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6)


if __name__ == "__main__":
    sys.exit(main())
