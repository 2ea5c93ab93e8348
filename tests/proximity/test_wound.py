"""Scans with holes: what lies within their folds, or reaches in through a hole, is never called clear."""

from __future__ import annotations

import numpy as np
import pytest

from packcheck.arrays import frozen, frozen_faces
from packcheck.frames import Pose
from packcheck.proximity.inside import FarField
from packcheck.proximity.pairs import Body, pair_gap
from packcheck.proximity.wound import spots, turns_round
from packcheck.scene.model.scene import Capsule, Cylinder
from packcheck.solids.core.solid import Solid
from packcheck.solids.core.winding import winding_numbers
from packcheck.solids.primitives import build_shape
from tests.oracles.triangles import Soup, soup_distance
from tests.solids.mesh_bytes import ball, box


def scan(missing: float, seed: int = 0) -> Solid:
    """A ball of radius 100 that lacks a share of its faces, here and there."""
    vertices, faces = ball(100, 40, 60)
    kept = faces[np.random.default_rng(seed).random(len(faces)) >= missing]
    return Solid(frozen(vertices), frozen_faces(kept), closed=False, open_surface=True)


def with_a_hole(radius: float) -> Solid:
    """The same ball, open round its top."""
    vertices, faces = ball(100, 40, 60)
    middles = vertices[faces].mean(axis=1)
    kept = faces[(np.hypot(middles[:, 0], middles[:, 1]) > radius) | (middles[:, 2] < 0)]
    return Solid(frozen(vertices), frozen_faces(kept), closed=False, open_surface=True)


def block(size: tuple[float, float, float]) -> Solid:
    vertices, faces = box(size)
    return Solid(frozen(vertices), frozen_faces(faces), pieces=frozen(vertices[:1]))


def at(x: float, y: float, z: float) -> Pose:
    return Pose(np.eye(3), np.array([x, y, z]))


@pytest.mark.parametrize("place", [(0, 0, 0), (50, 20, -30), (0, 0, 85)])
def test_what_lies_within_a_scan_with_holes_is_undecided_and_mostly_within(place: tuple[float, ...]) -> None:
    """Oracle: by construction: the block lies inside the ball, whose surface lacks 3 %."""
    gap = pair_gap(Body(scan(0.03)), Body(block((8, 8, 8))), at(*place))
    assert gap is not None
    assert gap.low == -np.inf
    assert "about 100 % of it lies within" in gap.doubt


@pytest.mark.parametrize("place", [(0, 0, 125), (90, 90, 0), (-70, 70, 70)])
def test_what_lies_outside_has_the_gap_of_all_triangles(place: tuple[float, ...]) -> None:
    """Oracle: brute force over all triangles."""
    solid = scan(0.03)
    gap = pair_gap(Body(solid), Body(block((8, 8, 8))), at(*place))
    assert gap is not None
    assert not gap.doubt
    vertices, faces = box((8, 8, 8))
    true = soup_distance(Soup(solid.vertices, solid.faces), Soup(vertices + place, faces))
    assert gap.low == pytest.approx(true, abs=1e-9)
    assert gap.high == pytest.approx(true, abs=1e-9)


def test_what_reaches_in_through_a_hole_is_not_clear() -> None:
    """Oracle: by construction: a bar from 60 above the ball to 40 below its top, 10 mm from the rim all round.

    Its first corner lies outside: the surfaces do not cross, so only the winding number can tell.
    """
    bar = block((14, 14, 100))
    gap = pair_gap(Body(with_a_hole(20)), Body(bar), at(0, 0, 110))
    assert gap is not None
    assert gap.value > 5
    assert gap.low == -np.inf
    assert "lies within" in gap.doubt


def test_a_bar_through_two_holes_is_not_clear() -> None:
    """Oracle: by construction: both ends stand outside, all corners too; the middle lies inside."""
    vertices, faces = ball(100, 40, 60)
    middles = vertices[faces].mean(axis=1)
    kept = faces[np.hypot(middles[:, 0], middles[:, 1]) > 20]
    tube = Solid(frozen(vertices), frozen_faces(kept), closed=False, open_surface=True)
    (bar,) = build_shape(Capsule(10, 400))
    for thing in (block((14, 14, 400)), bar):
        gap = pair_gap(Body(tube), Body(thing), at(0, 0, 0))
        assert gap is not None
        assert gap.low == -np.inf


def test_spots_are_spread_over_the_whole_of_a_part() -> None:
    """Oracle: closed form: the middle of points spread by area over a box is its middle, within a few per cent."""
    points, spread = spots(block((10, 20, 400)))
    assert (np.abs(points[:spread].mean(axis=0)) < [2, 4, 60]).all()
    assert np.ptp(points[:spread, 2]) > 300
    (drum,) = build_shape(Cylinder(40, 100))
    points, spread = spots(drum)
    assert len(points) > spread


@pytest.mark.parametrize("seed", range(4))
def test_turns_are_those_of_every_triangle(seed: int) -> None:
    """Oracle: brute force, and libigl's fast winding numbers where it is installed."""
    solid = scan(0.1, seed)
    points = np.random.default_rng(seed).uniform(-99, 99, (40, 3))
    found = turns_round(FarField(solid), points, solid.vertices.min(axis=0), solid.vertices.max(axis=0))
    true = np.abs(winding_numbers(points, solid.vertices, solid.faces))
    assert ((found > 0.25) == (true > 0.25)).all()
    assert np.abs(found - true).max() < 0.02
    igl = pytest.importorskip("igl", reason="the extra for scans is not installed")
    fast = np.abs(igl.fast_winding_number(solid.vertices, solid.faces, points))
    assert np.abs(found - fast).max() < 0.03
