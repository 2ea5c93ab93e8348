"""Every pair of a scene through trimesh's collision manager, in a process of its own: it may not come back alive.

    python -m tests.benchmarks.all_pairs SCENE

writes a line "pairs done, wall seconds, CPU seconds" for the managers made (no pairs yet), then one now and again,
and a last one.
The manager measures signed distances, which end some processes at a touching or slightly overlapping pair.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path
from time import perf_counter, process_time
from typing import Any

import numpy as np

import packcheck
from packcheck.arrays import Faces, Points
from packcheck.frames import Pose
from packcheck.solids.core.solid import Solid
from tests.benchmarks.tables import Taken

__all__ = ["AllPairs", "in_a_child"]

EVERY = 200  # pairs between two lines
SIDES = 24


@dataclass(frozen=True, slots=True)
class AllPairs:
    """How far the child came: time to make the managers, pairs then measured, time for those, its end."""

    making: Taken
    pairs: int
    measuring: Taken
    ending: str


def in_a_child(scene: Path, timeout: float = 600) -> AllPairs:
    """All pairs of `scene`, or as many as the child lived to measure in `timeout` seconds."""
    command = [sys.executable, "-m", "tests.benchmarks.all_pairs", str(scene)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True) as child:
        try:
            said, _ = child.communicate(timeout=timeout)
            ending = "" if child.returncode == 0 else f"ended by code {child.returncode}"
        except subprocess.TimeoutExpired:
            child.kill()
            said, _ = child.communicate()
            ending = f"stopped after {timeout:g} s"
    lines = [line.split() for line in said.splitlines()] or [["0", "nan", "nan"]]
    first, last = lines[0], lines[-1]
    return AllPairs(_taken(first), int(last[0]), _taken(last), ending)


def _taken(line: Sequence[str]) -> Taken:
    return Taken(float(line[1]), float(line[2]))


def main() -> None:
    assembly = packcheck.load(sys.argv[1]).assembly
    start = _now()
    managers = [_manager(part.solids, part.pose) for part in assembly.parts.values()]
    _tell(0, start)
    start = _now()
    done = 0
    for done, (one, other) in enumerate(combinations(managers, 2), 1):
        one.min_distance_other(other)
        if done % EVERY == 0:
            _tell(done, start)
    _tell(done, start)


def _now() -> Taken:
    return Taken(perf_counter(), process_time())


def _tell(done: int, start: Taken) -> None:
    now = _now()
    sys.stdout.write(f"{done} {now.wall - start.wall} {now.cpu - start.cpu}\n")
    sys.stdout.flush()


def _manager(solids: tuple[Solid, ...], pose: Pose) -> Any:
    from trimesh import Trimesh
    from trimesh.collision import CollisionManager

    place = np.eye(4)
    place[:3, :3], place[:3, 3] = pose.rotation, pose.translation
    manager: Any = CollisionManager()  # type: ignore[no-untyped-call]
    for k, solid in enumerate(solids):
        manager.add_object(str(k), Trimesh(*_skin(solid), process=False), place)
    return manager


def _skin(solid: Solid) -> tuple[Points, Faces]:
    """Surface triangles: the core's own, or a many-sided bar along the segments of a rounded core."""
    if not solid.radius:
        return solid.vertices, solid.faces
    line = solid.vertices
    along = np.gradient(line, axis=0)
    along /= np.linalg.norm(along, axis=1)[:, None]
    helper = np.eye(3)[int(np.argmin(np.abs(along).max(axis=0)))]
    across = np.cross(along, helper)
    across /= np.linalg.norm(across, axis=1)[:, None]
    angles = np.arange(SIDES) * 2 * np.pi / SIDES
    rings = across[:, None] * np.cos(angles)[:, None] + np.cross(along, across)[:, None] * np.sin(angles)[:, None]
    points = (line[:, None] + solid.radius * rings).reshape(-1, 3)
    return np.vstack([points, line[[0, -1]]]), _bar_faces(len(line))


def _bar_faces(rings: int) -> Faces:
    here = np.arange((rings - 1) * SIDES)
    right = here // SIDES * SIDES + (here + 1) % SIDES
    sides = [np.column_stack([here, right, right + SIDES]), np.column_stack([here, right + SIDES, here + SIDES])]
    start, beside = np.arange(SIDES), (np.arange(SIDES) + 1) % SIDES
    last, end = (rings - 1) * SIDES, rings * SIDES
    caps = [
        np.column_stack([np.full(SIDES, end), beside, start]),
        np.column_stack([np.full(SIDES, end + 1), last + start, last + beside]),
    ]
    return np.vstack([*sides, *caps])


if __name__ == "__main__":
    main()
