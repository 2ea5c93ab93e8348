"""Outlines of solids, against closed forms and every triangle looked at alone."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from packcheck.arrays import Floats, Points, frozen, frozen_faces
from packcheck.frames import turn_matrix
from packcheck.scene.model.scene import Box, Capsule, Cylinder, Pipe, Sphere
from packcheck.solids.core.solid import Solid
from packcheck.solids.primitives import build_shape
from packcheck.solids.silhouettes import CELLS, silhouette

ABOVE = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])


def area(polygon: Points) -> float:
    x, y = polygon.T
    return float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))) / 2


def covered(polygons: list[Points], points: Points) -> npt.NDArray[np.bool_]:
    """Winding number of polygons round points, not zero: the rule that fills them."""
    total = np.zeros(len(points))
    for polygon in polygons:
        ahead = np.roll(polygon, -1, axis=0)
        for (x1, y1), (x2, y2) in zip(polygon.tolist(), ahead.tolist(), strict=True):
            left = (x2 - x1) * (points[:, 1] - y1) - (points[:, 0] - x1) * (y2 - y1)
            total += ((y1 <= points[:, 1]) & (y2 > points[:, 1]) & (left > 0)).astype(int)
            total -= ((y1 > points[:, 1]) & (y2 <= points[:, 1]) & (left < 0)).astype(int)
    found: npt.NDArray[np.bool_] = total != 0
    return found


def ring(around: int = 24, across: int = 8) -> Solid:
    """A closed ring lying flat: radius 100 to the middle of its section, of radius 25."""
    u, v = np.meshgrid(
        np.arange(around) * 2 * np.pi / around, np.arange(across) * 2 * np.pi / across, indexing="ij"
    )
    wide = 100 + 25 * np.cos(v)
    points = np.stack([wide * np.cos(u), wide * np.sin(u), 25 * np.sin(v)], axis=-1).reshape(-1, 3)
    at = np.arange(around * across).reshape(around, across)
    a, b = at, np.roll(at, -1, axis=0)
    c, d = np.roll(b, -1, axis=1), np.roll(at, -1, axis=1)
    faces = np.concatenate([np.stack([a, b, c], -1).reshape(-1, 3), np.stack([a, c, d], -1).reshape(-1, 3)])
    return Solid(frozen(points), frozen_faces(faces))


@pytest.mark.parametrize("seed", range(5))
def test_a_turned_box_shows_the_sum_of_its_faces(seed: int) -> None:
    """Oracle: closed form. The shadow of a convex solid is half the sum of |normal . view| times face area."""
    rng = np.random.default_rng(seed)
    turn = turn_matrix(rng.uniform(-180, 180, 3))
    a, b, c = sizes = rng.uniform(10, 200, 3)
    (solid,) = build_shape(Box((float(a), float(b), float(c))))
    (outline,) = silhouette(solid, ABOVE @ turn)
    expected = np.abs(turn[2]) @ np.array([sizes[1] * sizes[2], sizes[0] * sizes[2], sizes[0] * sizes[1]])
    assert area(outline) == pytest.approx(expected, rel=0.01)


@pytest.mark.parametrize(
    ("shape", "view", "expected"),
    [
        (Sphere(80.0), ABOVE, np.pi * 40**2),
        (
            Capsule(40.0, 140.0),
            ABOVE[[0]].repeat(2, axis=0) * [[1], [0]] + [[0, 0, 0], [0, 0, 1]],
            4000 + np.pi * 400,
        ),
        (Cylinder(60.0, 200.0), ABOVE, np.pi * 30**2),
        (Cylinder(60.0, 200.0), np.array([[1.0, 0, 0], [0, 0, 1.0]]), 12000.0),
    ],
)
def test_round_solids_show_their_true_section(shape: Sphere, view: Floats, expected: float) -> None:
    """Oracle: closed form, circle and rectangle; drawn with 24 corners a circle loses 1.2 percent."""
    (solid,) = build_shape(shape)
    (outline,) = silhouette(solid, view)
    assert area(outline) == pytest.approx(expected, rel=0.02)


def test_a_pipe_is_drawn_along_its_whole_length() -> None:
    """Oracle: the middle line of the pipe, and points beside it."""
    solids = build_shape(Pipe(20.0, ((0, 0, 0), (100, 0, 0), (100, 100, 0)), 30.0))
    polygons = [polygon for solid in solids for polygon in silhouette(solid, ABOVE)]
    assert covered(polygons, np.array([[5.0, 0], [50, 9], [100, 50], [91, 9], [91, 95]])).all()
    assert not covered(polygons, np.array([[50.0, 11], [80, 50], [111, 50], [107, -7], [50, 50]])).any()


@pytest.mark.parametrize("turn", [(0, 0, 0), (90, 0, 0), (35, 20, 10)])
@pytest.mark.parametrize("radius", [0.0, 6.0])
def test_a_mesh_of_many_triangles_is_true_to_a_cell(turn: tuple[float, ...], radius: float) -> None:
    """Oracle: brute force. A point is in the shadow when it lies in a triangle, or within the ball of one. Points
    with the edge of the shadow nearer than two cells are left out: their neighbours do not agree."""
    solid = ring().wrapped(radius)
    view = ABOVE @ turn_matrix(turn)
    triangles = (solid.vertices @ view.T)[solid.faces]
    points = np.random.default_rng(1).uniform(-140, 140, (400, 2))
    around = 2 * 262 / CELLS * np.array([[0, 0], [1, 0], [-1, 0], [0, 1], [0, -1], [0.7, 0.7], [-0.7, -0.7]])
    inside = np.array([distance(points + shift, triangles) <= radius for shift in around])
    sure = (inside == inside[0]).all(axis=0)
    assert sure.mean() > 0.8
    assert (covered(silhouette(solid, view), points) == inside[0])[sure].all()


def distance(points: Points, triangles: Floats) -> Floats:
    """Distance of points from the union of triangles in the plane, 0 inside."""
    a, b = triangles, np.roll(triangles, -1, axis=1)
    edge = b - a
    beside = points[:, None, None] - a[None]
    along = np.clip((beside * edge).sum(-1) / np.maximum((edge**2).sum(-1), 1e-12), 0, 1)
    off = np.linalg.norm(beside - along[..., None] * edge, axis=-1).min(axis=2)
    side = edge[None, ..., 0] * beside[..., 1] - edge[None, ..., 1] * beside[..., 0]
    within = (side >= 0).all(axis=2) | (side <= 0).all(axis=2)
    nearest: Floats = np.where(within, 0.0, off).min(axis=1)
    return nearest
