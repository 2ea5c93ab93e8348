"""Brute force over triangles, against closed forms and a second library."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest

from tests.oracles.manifold import mesh_gap, overlap_volume
from tests.oracles.meshes import angle_mesh, ball_mesh, box_mesh, cup_mesh, ring_mesh, torus_mesh
from tests.oracles.shapes import Mesh, Pose, rotation_about
from tests.oracles.triangles import Soup, soup_distance, winding_number

TRIANGLE = [[0.0, 0, 0], [4.0, 0, 0], [0.0, 4, 0]]


def soup(*corners: list[list[float]]) -> Soup:
    faces = np.arange(3 * len(corners)).reshape(-1, 3)
    return Soup(np.array(corners, float).reshape(-1, 3), faces)


def placed(mesh: Mesh, pose: Pose) -> Soup:
    return Soup(pose.apply(mesh.vertices), mesh.faces)


@pytest.mark.parametrize(
    ("other", "expected"),
    [
        ([[1, 1, 3], [1, 1, 3], [1, 1, 3]], 3.0),
        ([[-3, -4, 0], [-3, -4, 0], [-3, -4, 0]], 5.0),
        ([[3, 3, 0], [3, 3, 0], [3, 3, 0]], sqrt(2)),
        ([[1, -1, 2], [1, 3, 2], [1, 3, 2]], 2.0),
        ([[-1, 2, 2], [-5, 2, 2], [-5, 2, 2]], sqrt(5)),
        ([[2, 4, -1], [2, 4, 1], [6, 8, 0]], sqrt(2)),
        ([[1, 1, -1], [1, 1, 1], [9, 9, 0]], 0.0),
        ([[0, 0, 2], [4, 0, 2], [0, 4, 2]], 2.0),
        ([[4, 0, 0], [8, 0, 0], [8, 4, 0]], 0.0),
    ],
    ids=[
        "point over the face",
        "point off a corner",
        "point off the long edge",
        "segment over the face",
        "segment off an edge",
        "edge to edge",
        "piercing",
        "parallel copies",
        "sharing a corner",
    ],
)
def test_distance_of_two_triangles(other: list[list[float]], expected: float) -> None:
    """Oracle: closed form. Triangle (0,0) (4,0) (0,4) in z = 0; the nearest features are named by the case."""
    assert soup_distance(soup(TRIANGLE), soup(other)) == pytest.approx(expected, abs=1e-12)
    assert soup_distance(soup(other), soup(TRIANGLE)) == pytest.approx(expected, abs=1e-12)


def test_distance_of_meshes_is_that_of_a_second_library() -> None:
    """Oracle: second method (manifold3d in double precision), random poses, aligned ones among them."""
    rng = np.random.default_rng(3)
    shelf = (
        torus_mesh(20, 6),
        ball_mesh(12),
        box_mesh((3, 9, 20)),
        ring_mesh(16, 10, 4),
        cup_mesh(14, 10, 1),
        angle_mesh(10, 14, 2, 9),
    )
    apart = 0
    for i in range(120):
        first, second = (shelf[k] for k in rng.integers(len(shelf), size=2))
        turn = np.eye(3) if i % 3 == 0 else rotation_about(rng.normal(size=3), rng.uniform(0, 180))
        a, b = placed(first, Pose()), placed(second, Pose(turn, np.round(rng.normal(size=3) * 12)))
        distance = soup_distance(a, b)
        one_in_the_other = winding_number(a.vertices[0], b) > 0.5 or winding_number(b.vertices[0], a) > 0.5
        if distance > 1e-9 and not one_in_the_other:
            assert mesh_gap(a, b, distance + 1) == pytest.approx(distance, abs=1e-9)
            assert overlap_volume(a, b) == pytest.approx(0, abs=1e-9)
            apart += 1
        elif distance == 0 or one_in_the_other:
            assert mesh_gap(a, b, 1.0) == 0
    assert apart > 30


@pytest.mark.parametrize(
    ("point", "expected"),
    [((10, 0, 0), 1), ((0, 0, 0), 0), ((10, 0, 2.5), 1), ((10, 0, 3.5), 0), ((-10, 0, 0), 1), ((14, 0, 0), 0)],
)
def test_a_torus_winds_once_round_points_in_its_bar(point: tuple[float, float, float], expected: int) -> None:
    """Oracle: closed form. Ring of radius 10, bar of radius 3: inside when within the bar's facets."""
    mesh = torus_mesh(20, 6, steps=32, sides=16)
    assert winding_number(np.array(point), placed(mesh, Pose())) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(
    ("mesh", "volume"),
    [
        (box_mesh((2, 3, 4)), 24.0),
        (angle_mesh(10, 12, 2, 30), (10 * 2 + 10 * 2) * 30.0),
        (ring_mesh(20, 10, 3, steps=24), 24 / 2 * np.sin(2 * np.pi / 24) * (10**2 - 5**2) * 3),
        (cup_mesh(20, 30, 2, steps=24), 24 / 2 * np.sin(2 * np.pi / 24) * (10**2 * 30 - 8**2 * 28)),
    ],
    ids=lambda value: value.name if isinstance(value, Mesh) else "",
)
def test_made_meshes_enclose_their_volume(mesh: Mesh, volume: float) -> None:
    """Oracle: closed form. Prisms over regular polygons, hollow by hollow; faces wind outward."""
    a, b, c = np.moveaxis(mesh.vertices[mesh.faces], 1, 0)
    assert np.einsum("ij,ij->", a, np.cross(b, c)) / 6 == pytest.approx(volume, rel=1e-12)


def test_a_gap_beyond_the_search_is_not_called_a_gap() -> None:
    a, b = (
        placed(box_mesh((2, 2, 2)), Pose()),
        placed(box_mesh((2, 2, 2)), Pose(translation=np.array([22.0, 0, 0]))),
    )
    assert mesh_gap(a, b, 5.0) is None
    assert mesh_gap(a, b, 21.0) == pytest.approx(20.0, abs=1e-12)


def test_the_second_library_refuses_a_mesh_with_a_hole() -> None:
    whole = box_mesh((2, 2, 2))
    holed = Soup(whole.vertices, whole.faces[1:])
    with pytest.raises(ValueError, match="not a closed mesh"):
        mesh_gap(holed, placed(whole, Pose()), 1.0)
