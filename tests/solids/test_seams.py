"""Borders that run along each other: what a T-junction joins, a skin mitres; what stays apart, it may lack."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from packcheck.arrays import Floats, Points
from packcheck.frames import IDENTITY, Pose, turn_matrix
from packcheck.proximity import Placed, Session
from packcheck.scene.model.scene import Side, Sphere
from packcheck.solids.core.seams import split_seams
from packcheck.solids.core.solid import Solid
from packcheck.solids.meshes.files import LoadedMesh, read_mesh
from packcheck.solids.meshes.sheets import skin_of
from packcheck.solids.primitives import build_shape
from tests.solids.measuring import volume_of, winding_at
from tests.solids.mesh_bytes import Body, as_stl, spec_of

Triples = list[tuple[int, int, int]]

ROOF = np.array([[-100, 0, 0], [0, 0, 0], [0, 100, 0], [-100, 100, 0], [0, 50, 0], [0, 0, -100], [0, 100, -100.0]])
"""A level square and an upright one, folded along y; point 4 halves the fold."""

UPRIGHT = [(1, 5, 4), (5, 6, 4), (4, 6, 2)]
LONG_SIDE = [(0, 1, 2), (0, 2, 3)]
WITHOUT_AREA = [(1, 4, 2)]


def read(folder: Path, body: Body, thickness: float, side: Side) -> LoadedMesh:
    return read_mesh(spec_of(folder, "a.stl", as_stl(body), thickness=thickness, side=side), use_cache=False)


def gap_to_ball(solid: Solid, at: Sequence[float]) -> float:
    """The nominal gap to a ball of 0.2 mm across, mm."""
    ball = Placed("ball", build_shape(Sphere(0.2)), Pose.of(at))
    return Session().gap(Placed("skin", (solid,), IDENTITY), ball).value


@pytest.mark.parametrize("between", [[], WITHOUT_AREA], ids=["t-junction", "face without area"])
@pytest.mark.parametrize("y", [20.0, 50.0, 80.0])
def test_fold_with_a_corner_on_its_long_side_keeps_its_wedge(
    between: list[tuple[int, int, int]], y: float, tmp_path: Path
) -> None:
    """Oracle: closed form. 6 mm outside of a square bend reach to (6, y, 6): a ball of radius 0.1 whose middle is
    at 3 sqrt 2 is in it by 6 - 3 sqrt 2 + 0.1. Volume: two legs of 100 x 100 x 6 and a bar of 6 x 6 x 100.
    """
    loaded = read(tmp_path, (ROOF, np.array(LONG_SIDE + UPRIGHT + between)), 6.0, "inner")
    assert volume_of(loaded.solid) == pytest.approx(2 * 60_000 + 3_600)
    assert loaded.solid.error == pytest.approx(0, abs=1e-9)
    middle = 3 * np.sqrt(2)
    assert gap_to_ball(loaded.solid, (middle, y, middle)) == pytest.approx(-(6 - middle + 0.1), abs=1e-3)


@dataclass(frozen=True)
class Folded:
    """Panels in a row, folded along y, each with corners of its own along its folds, and their welded twin."""

    profile: Floats
    loose: Body
    welded: Body
    width: float


def strip(ends: Points, low: Floats, high: Floats) -> tuple[list[Points], Triples]:
    """A flat panel between two lines along y at `ends` (2, 3), with corners at `low` and `high` on them."""
    points = [np.array([ends[0, 0], y, ends[0, 2]]) for y in low]
    points += [np.array([ends[1, 0], y, ends[1, 2]]) for y in high]
    faces, i, j = [], 0, 0
    while i < len(low) - 1 or j < len(high) - 1:
        a, b = i, len(low) + j
        if j == len(high) - 1 or (i < len(low) - 1 and low[i + 1] <= high[j + 1]):
            faces.append((a, b, a + 1))
            i += 1
        else:
            faces.append((a, b, b + 1))
            j += 1
    return points, faces


def panels(profile: Points, stations: Sequence[tuple[Floats, Floats]]) -> Body:
    points: list[Points] = []
    faces: Triples = []
    for ends, (low, high) in zip(pairwise(profile), stations, strict=True):
        corners, own = strip(np.array(ends), low, high)
        faces += [tuple(c + len(points) for c in face) for face in own]  # type: ignore[misc]
        points += corners
    return np.array(points), np.array(faces)


def drawn(seed: int) -> Folded:
    rng = np.random.default_rng(seed)
    count, width = int(rng.integers(2, 6)), float(rng.uniform(60, 300))
    turns = np.cumsum(np.r_[rng.uniform(0, 360), rng.uniform(15, 90, count - 1) * rng.choice([-1, 1], count - 1)])
    steps = rng.uniform(40, 120, (count, 1)) * np.stack(
        [np.cos(np.radians(turns)), np.zeros(count), np.sin(np.radians(turns))], axis=1
    )
    profile = np.concatenate([np.zeros((1, 3)), np.cumsum(steps, axis=0)])

    def corners() -> Floats:
        some: Floats = np.unique(np.r_[0.0, np.round(rng.uniform(1, width - 1, rng.integers(0, 6)), 2), width])
        return some

    own = [(corners(), corners()) for _ in range(count)]
    folds = [np.unique(np.r_[a[1], b[0]]) for a, b in pairwise(own)]
    shared = list(pairwise([own[0][0], *folds, own[-1][1]]))
    turn = turn_matrix(rng.uniform(-180, 180, 3))
    loose, welded = panels(profile, own), panels(profile, shared)
    return Folded(profile, (loose[0] @ turn.T, loose[1]), (welded[0] @ turn.T, welded[1]), width)


def area_of_skin(profile: Points, thickness: float) -> float:
    """Between a line of panels in x and z and the same one mitred `thickness` off, square at its ends, mm2."""
    steps = np.diff(profile[:, [0, 2]], axis=0)
    lengths = np.linalg.norm(steps, axis=1)
    headings = np.arctan2(steps[:, 1], steps[:, 0])
    bends = (np.diff(headings) + np.pi) % (2 * np.pi) - np.pi
    return float(thickness * lengths.sum() + thickness**2 * np.tan(bends / 2).sum())


@pytest.mark.parametrize("seed", range(60))
def test_folded_panels_are_thickened_as_their_welded_twins(seed: int, tmp_path: Path) -> None:
    """Oracle: closed form, and the welded twin. A row of panels offset by t covers t per length, and t^2 tan(a/2)
    more or less at each fold of a (shoelace of a mitred polyline). Points round the folds are wound round alike.
    """
    trial, rng = drawn(seed), np.random.default_rng(1000 + seed)
    thickness = float(rng.uniform(1, 6))
    loose = read(tmp_path, trial.loose, thickness, "inner").solid
    welded = read(tmp_path, trial.welded, thickness, "inner").solid
    made = volume_of(loose) / trial.width
    closed = [area_of_skin(trial.profile, sign * thickness) * sign for sign in (1, -1)]
    assert min(abs(made - area) for area in closed) < 1e-3 * made
    assert loose.error <= welded.error + 1e-3
    for at in trial.welded[0][rng.integers(0, len(trial.welded[0]), 12)]:
        spot = at + rng.normal(size=3) * thickness
        twins = [winding_at(spot, solid) for solid in (loose, welded)]
        assert twins[0] == pytest.approx(twins[1], abs=0.02)


def test_borders_that_overlap_in_part_are_joined_where_they_do() -> None:
    """Oracle: by hand. Sides from 0 to 60 and from 40 to 100 share 40 to 60: each is cut once."""
    points = np.array([[0, 0, 0], [0, 60, 0], [-50, 0, 0], [0, 40, 0], [0, 100, 0], [0, 100, -50.0]])
    faces, off, count = split_seams(points, np.array([[0, 1, 2], [4, 3, 5]]), 0.001)
    assert count == 2
    assert off == 0.0
    assert sorted(map(sorted, faces.tolist())) == [[0, 2, 3], [1, 2, 3], [1, 3, 5], [1, 4, 5]]


def test_corner_that_only_touches_a_side_cuts_nothing() -> None:
    points = np.array([[0, 0, 0], [0, 60, 0], [-50, 0, 0], [0, 30, 0], [10, 40, 0], [10, 20, 0.0]])
    faces = np.array([[0, 1, 2], [3, 4, 5]])
    cut, _, count = split_seams(points, faces, 0.001)
    assert count == 0
    assert cut.tolist() == faces.tolist()


def cracked_roof(width: float, fold: float) -> Body:
    """Two panels of 100 mm that fold by `fold` degrees, apart by `width`, one with a corner half-way."""
    level = ROOF[[0, 1, 2, 3]] - [width, 0, 0]
    turn = turn_matrix((0, fold, 0))
    sloped = np.array([[0, 0, 0], [0, 50, 0], [0, 100, 0], [100, 0, 0], [100, 100, 0.0]]) @ turn.T
    return np.concatenate([level, sloped]), np.array([[0, 1, 2], [0, 2, 3], [4, 7, 5], [7, 8, 5], [5, 8, 6]])


@pytest.mark.parametrize("fold", [5.0, 20.0, 45.0])
@pytest.mark.parametrize("width", [0.02, 0.3])
def test_skin_says_what_it_may_lack_along_a_crack(fold: float, width: float) -> None:
    """Oracle: closed form. The joined skin reaches t / cos(a/2) out of the fold along the line that halves it; the
    cracked one must reach there within its error.
    """
    skin = skin_of(*cracked_roof(width, fold), 6.0, "inner")
    tip = 6.0 / np.cos(np.radians(fold / 2))
    out = np.array([np.sin(np.radians(fold / 2)), 0, np.cos(np.radians(fold / 2))])
    spot = tip * out + [-width / 2, 25, 0]
    gap = gap_to_ball(Solid(skin.vertices, skin.faces, radius=skin.radius), spot.tolist())
    assert skin.error >= gap + 0.1 - 1e-9
    assert skin.error <= 2 * (gap + 0.1) + width


def test_crack_along_a_sharp_fold_is_no_even_skin() -> None:
    """Where more than half the reach may be missing, a ball of half the reach is swept over the surface."""
    skin = skin_of(*cracked_roof(0.1, 90.0), 6.0, "inner")
    assert skin.reason == "its borders run along a fold without being joined"
    assert skin.radius == skin.error == 3.0


@pytest.mark.parametrize("width", [0.6, 3.0])
def test_shut_line_is_no_crack(width: float) -> None:
    assert skin_of(*cracked_roof(width, 45.0), 6.0, "inner").error < 1e-9
