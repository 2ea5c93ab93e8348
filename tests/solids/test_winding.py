"""The winding number says how often a surface goes round a point."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packcheck.solids.core.winding import winding_numbers
from tests.solids.measuring import solid_angles
from tests.solids.mesh_bytes import Body, ball, box, joined, torus, turned

CUBE = box((10, 10, 10))


@pytest.mark.parametrize(("body", "point", "expected"), [
    (CUBE, (0, 0, 0), 1), (CUBE, (4.999, 4.999, 4.999), 1), (CUBE, (5.001, 0, 0), 0), (CUBE, (1e6, 0, 0), 0),
    (turned(CUBE), (0, 0, 0), -1), (joined(CUBE, CUBE), (1, 2, 3), 2),
    (joined(CUBE, turned(box((4, 4, 4)))), (0, 0, 0), 0), (torus(), (0, 0, 0), 0), (torus(), (60, 0, 0), 1),
], ids=["middle", "near a corner", "just outside", "far off", "inside out", "twice", "cavity",
        "hole", "in a ring"])  # fmt: skip
def test_winding_number_of_known_places(body: Body, point: tuple[float, ...], expected: float) -> None:
    """Oracle: closed form. Whole numbers off the surface."""
    assert winding_numbers(np.array([point], dtype=float), *body)[0] == pytest.approx(expected, abs=1e-9)


def test_one_face_of_a_cube_is_a_sixth_seen_from_its_middle() -> None:
    """Oracle: closed form. By symmetry each side of a cube fills a sixth of the view."""
    vertices, faces = CUBE
    assert winding_numbers(np.zeros((1, 3)), vertices, faces[:2])[0] == pytest.approx(1 / 6)


@settings(max_examples=100, deadline=None)
@given(point=st.tuples(*[st.floats(-80, 80)] * 3))
def test_open_surface_winds_by_its_solid_angle(point: tuple[float, float, float]) -> None:
    """Oracle: second method. Spherical excess over dihedral angles, summed over half of a ball."""
    vertices, faces = ball(50, 12, 16)
    half = faces[: len(faces) // 2]
    place = np.array(point)
    expected = solid_angles(place, vertices, half).sum() / (4 * np.pi)
    assert winding_numbers(place[None], vertices, half)[0] == pytest.approx(expected, abs=1e-5)


def test_many_points_and_faces_are_worked_in_blocks() -> None:
    """Oracle: closed form. Lattice points are inside a ball of facets when nearer than its inscribed radius."""
    vertices, faces = ball(50, 60, 120)
    lattice = np.stack(np.meshgrid(*[np.linspace(-60, 60, 7)] * 3), axis=-1).reshape(-1, 3)
    distance = np.linalg.norm(lattice, axis=1)
    clear = (distance < 49) | (distance > 51)
    turns = winding_numbers(lattice[clear], vertices, faces)
    assert turns == pytest.approx((distance[clear] < 50).astype(float), abs=1e-9)


def test_no_points_give_no_numbers() -> None:
    assert winding_numbers(np.zeros((0, 3)), *CUBE).shape == (0,)
