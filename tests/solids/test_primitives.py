"""Solids of shapes: closed, wound outward, of the right volume and size, and honest about their error."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from packcheck.frames import Pose
from packcheck.proximity import Placed, Session
from packcheck.scene.model.scene import Box, Capsule, Cone, Cylinder, Extrude, Pipe, Shape, Sphere, Tube
from packcheck.solids.core.solid import Solid
from packcheck.solids.core.winding import winding_numbers
from packcheck.solids.lathe import facet_count, frustum
from packcheck.solids.pipe import centreline
from packcheck.solids.primitives import build_shape, shape_corners
from packcheck.tolerances import FACET_ERROR

L_OUTLINE = ((0.0, 0.0), (50.0, 0.0), (50.0, 10.0), (10.0, 10.0), (10.0, 50.0), (0.0, 50.0))

CLOSED: list[tuple[Shape, float]] = [
    (Box((2, 3, 4)), 24.0),
    (Cylinder(20, 30), pi * 100 * 30),
    (Cylinder(20, 30, "x"), pi * 100 * 30),
    (Cone(20, 10, 30), pi * 30 / 3 * (100 + 50 + 25)),
    (Cone(20, 0, 30), pi * 30 / 3 * 100),
    (Cone(0, 20, 30, "y"), pi * 30 / 3 * 100),
    (Tube(20, 12, 30), pi * (100 - 36) * 30),
    (Extrude(L_OUTLINE, 20), 900 * 20.0),
    (Extrude(L_OUTLINE[::-1], 20, "y"), 900 * 20.0),
]


def volume(solid: Solid) -> float:
    a, b, c = (solid.vertices[solid.faces[:, k]] for k in range(3))
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6)


@pytest.mark.parametrize("shape, expected", CLOSED)
def test_volume_is_that_of_the_textbook(shape: Shape, expected: float) -> None:
    """Oracle: closed form (solid geometry; frustum pi h (R2 + R r + r2) / 3). Positive means wound outward."""
    (solid,) = build_shape(shape)
    assert volume(solid) == pytest.approx(expected, rel=2e-4)


@pytest.mark.parametrize("shape", [shape for shape, _ in CLOSED])
def test_every_edge_is_shared_by_two_faces_that_run_it_both_ways(shape: Shape) -> None:
    (solid,) = build_shape(shape)
    directed = np.vstack([solid.faces[:, [0, 1]], solid.faces[:, [1, 2]], solid.faces[:, [2, 0]]])
    forth = {tuple(edge) for edge in directed}
    assert len(forth) == len(directed)
    assert forth == {(b, a) for a, b in forth}


@pytest.mark.parametrize("shape, corners", [
    (Cylinder(20, 30, "x"), [[-15, -10, -10], [15, 10, 10]]),
    (Cone(20, 10, 30), [[-10, -10, -15], [10, 10, 15]]),
    (Tube(20, 12, 30, "y"), [[-10, -15, -10], [10, 15, 10]]),
    (Sphere(8), [[-4, -4, -4], [4, 4, 4]]),
    (Capsule(8, 30, "y"), [[-4, -15, -4], [4, 15, 4]]),
    (Extrude(L_OUTLINE, 20, "x"), [[0, 0, 0], [20, 50, 50]]),
    (Extrude(L_OUTLINE, 20, "y"), [[0, 0, 0], [50, 20, 50]]),
])  # fmt: skip
def test_bounding_box_is_exact(shape: Shape, corners: list[list[float]]) -> None:
    """Oracle: closed form; sizes are diameters, halved by head."""
    assert np.allclose(shape_corners(shape, build_shape(shape)), corners, atol=1e-9)


@pytest.mark.parametrize("radius", [0.25, 5, 26, 300, 1000])
def test_facets_stay_within_their_stated_error(radius: float) -> None:
    """Oracle: closed form. Distance of corners and of facet middles from the true circle."""
    solid = frustum(2 * radius, 2 * radius, 10, "z")
    assert solid.error <= FACET_ERROR * (1 + 1e-9)
    corner = np.hypot(solid.vertices[0, 0], solid.vertices[0, 1])
    middle = solid.vertices[[0, 1], :2].mean(axis=0)
    assert corner - radius == pytest.approx(solid.error, rel=1e-6)
    assert radius - np.hypot(*middle) == pytest.approx(solid.error, rel=1e-6)


def test_a_circle_smaller_than_its_error_keeps_eight_sides() -> None:
    assert facet_count(0.0001, FACET_ERROR) == 8


@pytest.mark.parametrize("shape", [Cylinder(20, 30, "x"), Cone(20, 6, 30), Cone(0, 20, 30, "y")])
def test_support_points_are_the_farthest_of_the_true_solid(shape: Shape) -> None:
    """Oracle: brute force over the facets, within their error."""
    (solid,) = build_shape(shape)
    assert solid.support is not None
    directions = np.random.default_rng(0).normal(size=(200, 3))
    directions /= np.linalg.norm(directions, axis=1)[:, None]
    heights = np.einsum("ij,ij->i", directions, solid.support(directions))
    assert np.abs(heights - (directions @ solid.vertices.T).max(axis=1)).max() <= solid.error + 1e-9


def test_winding_number_is_one_inside_and_zero_in_the_bore_and_outside() -> None:
    """Oracle: definition of the winding number of a closed surface."""
    (tube,) = build_shape(Tube(20, 12, 30))
    points = np.array([[8.0, 0, 0], [0, 0, 0], [30.0, 0, 0]])
    assert np.allclose(winding_numbers(points, tube.vertices, tube.faces), [1, 0, 0], atol=1e-9)


def test_bent_centreline_has_the_length_of_straights_and_arc() -> None:
    """Oracle: closed form. Two legs of 200 less a tangent of 60 each, and a quarter of 2 pi 60."""
    line, error = centreline(np.array([[0.0, 0, 0], [200, 0, 0], [200, 200, 0]]), 60)
    length = np.linalg.norm(np.diff(line, axis=0), axis=1).sum()
    assert length == pytest.approx(140 + pi / 2 * 60 + 140, abs=0.01)
    on_arc = np.hypot(line[1:-1, 0] - 140, line[1:-1, 1] - 60)
    assert np.abs(on_arc - 60).max() < 1e-9
    assert error == FACET_ERROR


def test_a_pipe_that_starts_with_a_bend_says_that_it_encloses() -> None:
    """Oracle: by construction: 1 mm of straight before the bend has no room for a square end 20 mm long."""
    bar, head, tail = build_shape(Pipe(40, ((0, 0, 0), (61, 0, 0), (61, 200, 0)), 60))
    assert (bar.encloses, head.encloses, tail.encloses) == (False, True, False)
    assert (bar.vertices[:, 0] >= 20).any() and bar.vertices[:, 0].min() >= 20


def test_a_sharp_corner_is_mitred_to_its_tip() -> None:
    """Oracle: closed form. Legs of 100 along x and y, radius 20: the outer edges meet at (120, -20)."""
    legs = build_shape(Pipe(40, ((0, 0, 0), (100, 0, 0), (100, 100, 0))))
    vertices = np.vstack([leg.vertices for leg in legs])
    assert len(legs) == 2
    assert np.linalg.norm(vertices - [120, -20, 0], axis=1).min() <= 0.2
    assert sum(volume(leg) for leg in legs) == pytest.approx(2 * pi * 400 * 100, rel=1e-4)


def test_a_ball_beside_a_mitred_corner_is_measured_to_the_mitre() -> None:
    """Oracle: closed form. The tip is 20 sqrt 2 from the corner, a 10 mm ball 50: 50 - 28.28 - 5."""
    corner = Placed("pipe", build_shape(Pipe(40, ((0, 0, 0), (100, 0, 0), (100, 100, 0)))), Pose.of())
    away = 50 / np.sqrt(2)
    ball = Placed("ball", build_shape(Sphere(10)), Pose.of((100 + away, -away, 0)))
    assert Session().gap(corner, ball).value == pytest.approx(50 - 20 * np.sqrt(2) - 5, abs=0.001)


def test_legs_too_short_for_their_mitres_carry_the_tips_in_their_error() -> None:
    """Oracle: by construction: a 5 mm leg of a 40 mm bar that turns back on itself."""
    bar, *_ = build_shape(Pipe(40, ((0, 0, 0), (100, 0, 0), (100, 5, 0), (0, 5, 0))))
    assert bar.error == pytest.approx(20 * (np.sqrt(2) - 1))
