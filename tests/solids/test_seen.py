"""What is drawn of a solid is the solid: volume and reach, against closed forms."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from packcheck.arrays import Faces, Points
from packcheck.scene.model.scene import Box, Capsule, Cylinder, Extrude, Pipe, Shape, Sphere
from packcheck.solids.core.solid import Solid
from packcheck.solids.primitives import build_shape
from packcheck.solids.seen import outside, rod

ANGLE = ((0.0, 0.0), (50.0, 0.0), (50.0, 10.0), (10.0, 10.0), (10.0, 50.0), (0.0, 50.0))


def solid(shape: Shape, wrap: float = 0.0) -> Solid:
    (made,) = build_shape(shape)
    return made.wrapped(wrap)


def volume(vertices: Points, faces: Faces) -> float:
    a, b, c = vertices[faces].transpose(1, 0, 2)
    return float(np.einsum("ij,ij->", a, np.cross(b, c))) / 6


def every_edge_is_used_once_each_way(faces: Faces) -> bool:
    edges = np.vstack([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    forth = {tuple(edge) for edge in edges.tolist()}
    return len(forth) == len(edges) and all((b, a) in forth for a, b in forth)


BOX, ROUND = Box((40.0, 30.0, 20.0)), 5.0
SIDES_BY_BALL = 2 * (40 * 30 + 40 * 20 + 30 * 20) * ROUND + pi * ROUND**2 * (40 + 30 + 20) + 4 / 3 * pi * ROUND**3

CASES = {
    "box": (solid(BOX), 24_000.0, 1e-12),
    "cylinder": (solid(Cylinder(52.0, 165.0)), pi * 26**2 * 165, 0.002),
    "sphere": (solid(Sphere(90.0)), 4 / 3 * pi * 45**3, 0.017),
    "capsule": (solid(Capsule(30.0, 100.0)), pi * 15**2 * 70 + 4 / 3 * pi * 15**3, 0.012),
    "wrapped box": (solid(BOX, ROUND), 24_000 + SIDES_BY_BALL, 0.01),
}


@pytest.mark.parametrize("case", list(CASES))
def test_the_outside_drawn_holds_the_volume_of_the_solid(case: str) -> None:
    """Oracle: closed form; a box grown by a ball is box + faces r + edges pi r^2 / 4 + a ball (Steiner).

    Facets inscribed in a circle of 32 sides lose 1 - sin(2 pi / 32) / (2 pi / 32) = 0.64 % of its area, a globe of
    rings, cut short both ways, about two and a half times that.
    """
    made, expected, share = CASES[case]
    vertices, faces = outside(made)
    assert volume(vertices, faces) == pytest.approx(expected, rel=share)
    assert every_edge_is_used_once_each_way(faces)


def test_the_faces_of_a_wrapped_angle_stand_off_by_its_wrap() -> None:
    """Oracle: closed form. 2 mm all round an L of 50 mm legs, 10 thick: the L of 54 mm legs, 14 thick, 24 high."""
    vertices, faces = outside(solid(Extrude(ANGLE, 20.0), 2.0))
    assert volume(vertices, faces) == pytest.approx((54 * 14 + 40 * 14) * 24, rel=1e-9)


def test_a_bent_pipe_is_as_thick_all_along_as_it_says() -> None:
    """Oracle: closed form. Every drawn vertex of the bend lies on the tube's radius from the centreline's arc."""
    bar = build_shape(Pipe(20.0, ((0.0, 0.0, 0.0), (200.0, 0.0, 0.0), (200.0, 200.0, 0.0)), 60.0))[0]
    vertices = outside(bar)[0]
    bend = vertices[(vertices[:, 0] > 141) & (vertices[:, 1] < 59)]
    out = np.hypot(bend[:, 0] - 140, bend[:, 1] - 60)
    assert len(bend) > 100
    assert np.hypot(out - 60, bend[:, 2]) == pytest.approx(np.full(len(bend), 10.0), abs=0.05)


def test_a_rod_round_a_sharp_corner_is_closed_and_whole() -> None:
    """Oracle: closed form. Two legs of 100 mm overlap in the corner ball: no vertex lies deeper than the pinch."""
    vertices, faces = rod(np.array([[0.0, 0.0, 0.0], [100.0, 0.0, 0.0], [100.0, 100.0, 0.0]]), 5.0)
    assert every_edge_is_used_once_each_way(faces)
    corner = vertices[np.linalg.norm(vertices - [100.0, 0.0, 0.0], axis=1) < 5.001]
    assert np.linalg.norm(corner - [100.0, 0.0, 0.0], axis=1).max() == pytest.approx(5.0, abs=1e-9)
    assert corner[:, 1].min() == pytest.approx(-5.0, abs=0.1)


def test_a_wrapped_open_surface_is_drawn_as_it_is() -> None:
    flat = Solid(np.eye(3), np.array([[0, 1, 2]]), radius=2.0, closed=False)
    assert (outside(flat)[0] == np.eye(3)).all()
