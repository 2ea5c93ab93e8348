"""A generated engine bay of any number of parts, always packed as tightly: a scene file and its meshes.

One part in five is a mesh of its own; the others are boxes, cylinders, capsules, tubes, cones and short pipes on a
1 mm grid, two in five of all turned. Parts keep their boxes off each other, but every thirtieth is pushed into its
neighbour, as in a bay that does not fit yet.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import product
from pathlib import Path
from tempfile import TemporaryDirectory
from unittest.mock import patch

import numpy as np

from packcheck.arrays import Floats, Points, Vector
from packcheck.frames import turn_matrix
from tests.benchmarks.meshes import drawn_mesh, scanned_ball, write_stl

__all__ = ["generated_bay", "write_bay"]

LIMIT = 10.0  # mm, between any two parts
VOLUME = 1.4e5  # mm3 of bay per part
MESH_EVERY = 5
PUSHED_EVERY = 30
PUSH = 4.0  # mm, into the neighbour's box
TURNS = ((0, 0, 0), (0, 0, 90), (90, 0, 0), (0, 0, 17), (12, 0, 30))
TRIES = 256


@dataclass(frozen=True, slots=True, eq=False)
class _Part:
    """One part before it is placed: its shape as the scene file says it, its turn, half its box (3,) mm."""

    shape: str
    turn: tuple[int, int, int]
    halves: Vector


@contextmanager
def generated_bay(parts: int, triangles: int = 10_000, seed: int = 1) -> Iterator[Path]:
    """The path of a generated scene, in a folder with a mesh cache of its own, gone afterwards."""
    with TemporaryDirectory() as folder, patch.dict("os.environ", PACKCHECK_CACHE=str(Path(folder, "cache"))):
        yield write_bay(Path(folder), parts, triangles, seed)


def write_bay(folder: Path, parts: int, triangles: int = 10_000, seed: int = 1, *, scan: int = 0) -> Path:
    """Write a scene of `parts` parts, meshes of about `triangles` triangles, and return its path.

    With `scan` one large mesh of so many triangles stands beside them.
    """
    rng = np.random.default_rng(seed)
    drawn = [_mesh(rng, folder, k, triangles) if k % MESH_EVERY == 0 else _plain(rng) for k in range(parts)]
    centres = _pushed(_packed(rng, drawn), np.array([part.halves for part in drawn]))
    lines = [_line(k, part, centre) for k, (part, centre) in enumerate(zip(drawn, centres, strict=True))]
    lines += [_scan(folder, scan, centres)] if scan else []
    scene = folder / "bay.yaml"
    head = ["packcheck: 1", f"title: Generated bay of {parts} parts", "parts:"]
    tail = ["clearances:", f"  default: {LIMIT:g} mm", "  use: none", ""]
    scene.write_text("\n".join([*head, *lines, *tail]), encoding="utf-8")
    return scene


def _mesh(rng: np.random.Generator, folder: Path, number: int, triangles: int) -> _Part:
    vertices, faces = drawn_mesh(rng, triangles)
    name = f"mesh_{number:04d}.stl"
    write_stl(folder / name, vertices, faces)
    return _turned(rng, f"mesh: {{file: {name}, units: mm}}", vertices)


def _scan(folder: Path, triangles: int, centres: Points) -> str:
    """A ball as high as the bay that comes to 5 mm from it."""
    radius = round(float(np.ptp(centres)))
    write_stl(folder / "scan.stl", *scanned_ball(triangles, radius))
    _, y, z = (round(x) for x in centres.mean(axis=0))
    return f"  scan: {{mesh: {{file: scan.stl, units: mm}}, at: [{-radius - 5}, {y}, {z}]}}"


def _plain(rng: np.random.Generator) -> _Part:
    a, b, c = (int(x) for x in np.exp(rng.uniform(np.log(10), np.log(70), 3)))
    along = "xyz"[rng.integers(3)]
    bore = 2 * a // 3
    shape, points = (
        (f"box: [{a}, {b}, {c}]", _corners(a, b, c)),
        (f"cylinder: {{diameter: {a}, length: {b}, along: {along}}}", _rims(a, b, along)),
        (f"capsule: {{diameter: {a}, length: {a + b}, along: {along}}}", _rims(a, a + b, along)),
        (f"tube: {{outer: {a}, inner: {bore}, length: {b}, along: {along}}}", _rims(a, b, along)),
        (f"cone: {{bottom: {a}, top: {bore}, length: {b}, along: {along}}}", _rims(a, b, along)),
        _pipe(a, c),
    )[rng.integers(6)]
    return _turned(rng, shape, points)


def _rims(across: int, length: int, along: str) -> Points:
    """Points on both end circles of a round shape about its middle."""
    angles = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    circle = np.stack([np.cos(angles), np.sin(angles)], axis=1) * across / 2
    return np.vstack([np.insert(circle, "xyz".index(along), end, axis=1) for end in (-length / 2, length / 2)])


def _pipe(width: int, length: int) -> tuple[str, Points]:
    """A short pipe with one bend, and the corners of its box about its own zero."""
    outside = max(6, width // 3)
    half = (length + 2 * outside) // 2
    through = [[-half, half, 0], [half, half, 0], [half, -half, 0]]
    text = f"pipe: {{outside: {outside}, through: {through}, bend: {2 * outside}}}"
    return text, _corners(2 * half + outside, 2 * half + outside, outside)


def _corners(*sides: int) -> Points:
    return np.array(list(product((-0.5, 0.5), repeat=3))) * sides


def _turned(rng: np.random.Generator, shape: str, points: Points) -> _Part:
    turn = TURNS[rng.integers(len(TURNS))]
    return _Part(shape, turn, np.abs(points @ turn_matrix(turn).T).max(axis=0))


def _packed(rng: np.random.Generator, parts: Sequence[_Part]) -> Points:
    """Centres (n, 3) mm, on a 1 mm grid, where no two boxes overlap; the largest parts are placed first."""
    halves = np.array([part.halves for part in parts])
    side = (VOLUME * len(parts)) ** (1 / 3)
    centres = np.empty_like(halves)
    placed: list[int] = []
    for k in np.argsort(-halves.prod(axis=1)):
        centres[k] = _free_place(rng, side, halves[k], centres[placed], halves[placed])
        placed.append(int(k))
    return centres


def _free_place(rng: np.random.Generator, side: float, half: Vector, centres: Points, halves: Points) -> Vector:
    while True:
        tries = np.round(rng.uniform(half, np.maximum(side - half, half + 1), (TRIES, 3)))
        within = [np.abs(tries[:, None, k] - centres[:, k]) < half[k] + halves[:, k] for k in range(3)]
        free = ~(within[0] & within[1] & within[2]).any(axis=1)
        if free.any():
            place: Vector = tries[int(np.argmax(free))]
            return place
        side *= 1.003


def _pushed(centres: Points, halves: Points) -> Points:
    """Every so many parts moved into the box of the nearest, along the axis on which the two are apart."""
    moved = centres.copy()
    for k in range(0, len(centres), PUSHED_EVERY):
        apart = np.abs(centres - centres[k]) - halves - halves[k]
        gaps = np.linalg.norm(np.maximum(apart, 0), axis=1)
        gaps[k] = np.inf
        other = int(np.argmin(gaps))
        axis = int(np.argmax(apart[other]))
        towards = np.sign(centres[other, axis] - centres[k, axis])
        moved[k, axis] += towards * np.round(apart[other, axis] + PUSH)
    return moved


def _line(number: int, part: _Part, centre: Floats) -> str:
    at = [int(x) for x in centre]
    return f"  part_{number:04d}: {{{part.shape}, at: {at}, turn: {list(part.turn)}}}"
