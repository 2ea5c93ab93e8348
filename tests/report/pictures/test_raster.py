"""The nearest triangle in each pixel, against a look at every pixel on its own."""

from __future__ import annotations

import numpy as np
import pytest

from packcheck.arrays import Floats
from packcheck.report.pictures.raster import NOTHING, seen_faces

WIDTH, HEIGHT = 37, 29


def brute_force(corners: Floats) -> tuple[Floats, Floats]:
    """Face and depth by solving for barycentric shares at every pixel middle, triangle by triangle."""
    face, depth = np.full((HEIGHT, WIDTH), NOTHING), np.full((HEIGHT, WIDTH), np.inf)
    x, y = np.meshgrid(np.arange(WIDTH) + 0.5, np.arange(HEIGHT) + 0.5)
    for k, (a, b, c) in enumerate(corners):
        matrix = np.array([[a[0], b[0], c[0]], [a[1], b[1], c[1]], [1.0, 1.0, 1.0]])
        if abs(np.linalg.det(matrix)) < 1e-9:
            continue
        shares = np.einsum("ij,jrc->irc", np.linalg.inv(matrix), np.array([x, y, np.ones_like(x)]))
        z = np.einsum("i,irc->rc", [a[2], b[2], c[2]], shares)
        nearer = (shares >= 0).all(axis=0) & (z < depth)
        face[nearer], depth[nearer] = k, z[nearer]
    return face, depth


@pytest.mark.parametrize("seed", range(12))
def test_every_pixel_shows_the_nearest_triangle(seed: int) -> None:
    """Oracle: brute force, barycentric shares pixel by pixel; triangles reach out of the picture on all sides."""
    rng = np.random.default_rng(seed)
    corners = rng.uniform([-20, -20, -50], [WIDTH + 20, HEIGHT + 20, 50], (rng.integers(1, 40), 3, 3))
    face, depth = brute_force(corners)
    seen = seen_faces(corners, WIDTH, HEIGHT)
    assert (seen.face == face).all()
    assert seen.depth[face >= 0] == pytest.approx(depth[face >= 0], abs=1e-6)


def test_a_square_of_two_triangles_covers_its_pixels_once_and_no_other() -> None:
    """Oracle: closed form. 10 to 20 across and 5 to 15 down holds the middles of 10 by 10 pixels."""
    a, b, c, d = [10, 5, 1], [20, 5, 1], [20, 15, 1], [10, 15, 1]
    seen = seen_faces(np.array([[a, b, c], [a, c, d]], dtype=float), WIDTH, HEIGHT)
    rows, columns = np.nonzero(seen.face != NOTHING)
    assert (rows.min(), rows.max(), columns.min(), columns.max()) == (5, 14, 10, 19)
    assert len(rows) == 100


@pytest.mark.parametrize("corners", [np.empty((0, 3, 3)), np.zeros((1, 3, 3)), np.full((2, 3, 3), 1e6)])
def test_nothing_in_sight_is_nothing_seen(corners: Floats) -> None:
    assert (seen_faces(corners, WIDTH, HEIGHT).face == NOTHING).all()


def test_a_triangle_seen_edge_on_is_not_seen() -> None:
    edge_on = np.array([[[5, 5, 0], [25, 5, 0], [15, 5, 30]]], dtype=float)
    assert (seen_faces(edge_on, WIDTH, HEIGHT).face == NOTHING).all()


def test_more_pixels_than_fit_at_once_come_out_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(5)
    corners = rng.uniform([-20, -20, -50], [WIDTH + 20, HEIGHT + 20, 50], (60, 3, 3))
    whole = seen_faces(corners, WIDTH, HEIGHT).face
    monkeypatch.setattr("packcheck.report.pictures.raster.AT_ONCE", 100)
    assert (seen_faces(corners, WIDTH, HEIGHT).face == whole).all()
