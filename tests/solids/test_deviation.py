"""How far surfaces stray from each other: never told less than it is, and within the limit where that can be."""

from __future__ import annotations

import numpy as np
import pytest

from packcheck.arrays import Faces, Floats, Points
from packcheck.solids.meshes.deviation import Nearest, point_triangle_distances, strays
from tests.oracles.triangles import Soup, soup_distance
from tests.solids.mesh_bytes import Body, ball, box, grid, joined, torus


def nearest_of(corners: Floats) -> Nearest:
    """Oracle: brute force: every triangle asked."""

    def nearest(points: Points) -> tuple[Floats, Faces]:
        apart = np.array([point_triangle_distances(points, np.repeat(t[None], len(points), 0)) for t in corners])
        if not len(points):
            return np.zeros(0), np.zeros(0, dtype=np.int64)
        return apart.min(axis=0), apart.argmin(axis=0)

    return nearest


def bad_hints(corners: Floats) -> Nearest:
    """True distances, but any triangle at all for the nearest."""
    random = np.random.default_rng(5)
    honest = nearest_of(corners)
    return lambda points: (honest(points)[0], random.integers(0, len(corners), len(points)))


def bound(surface: Body, other: Body, limit: float, hints: object = nearest_of) -> float | None:
    corners = other[0][other[1]]
    return strays(*surface, corners, hints(corners), limit)  # type: ignore[operator]


def sampled(surface: Body, other: Body, count: int = 40) -> float:
    """Oracle: a dense sample of the surface, each point against every triangle; never more than the truth."""
    shares = np.random.default_rng(2).dirichlet([0.6, 0.6, 0.6], count)
    points = np.einsum("sc,tci->tsi", shares, surface[0][surface[1]]).reshape(-1, 3)
    return float(nearest_of(other[0][other[1]])(np.concatenate([points, surface[0]]))[0].max())


@pytest.mark.parametrize("seed", range(40))
def test_distance_of_a_point_from_a_triangle(seed: int) -> None:
    """Oracle: brute force over features (Ericson), the point as a triangle of three equal corners."""
    random = np.random.default_rng(seed)
    corners = random.normal(0, 10, (3, 3))
    if seed % 4 == 1:
        corners[2] = corners[1]
    if seed % 4 == 2:
        corners[2] = corners[0] * 0.3 + corners[1] * 0.7
    point = random.normal(0, 10, 3) if seed % 3 else corners.mean(axis=0)
    true = soup_distance(Soup(point[None], np.array([[0, 0, 0]])), Soup(corners, np.array([[0, 1, 2]])))
    assert point_triangle_distances(point[None], corners[None])[0] == pytest.approx(true, abs=1e-9)


def flat(height: float, across: int) -> Body:
    return grid(lambda x, y: np.stack([x, y, np.full_like(x, height)], axis=1), across, across)


@pytest.mark.parametrize("height", [0.0, 0.2, 0.4])
def test_parallel_sheets_of_other_meshing_are_as_far_as_they_are_high(height: float) -> None:
    """Oracle: closed form: every point of one lies exactly `height` from the other, however either is cut."""
    found = bound(flat(height, 7), flat(0.0, 11), 0.5)
    assert found is not None
    assert height - 1e-9 <= found <= 0.5


def test_what_is_farther_than_the_limit_has_no_bound() -> None:
    assert bound(flat(0.51, 7), flat(0.0, 11), 0.5) is None


def test_a_bump_between_the_corners_is_not_missed() -> None:
    """Oracle: closed form: a ridge 3 high along the middle of one large square; all four corners lie on it."""
    square = np.array([[0.0, 0, 0], [100, 0, 0], [100, 100, 0], [0, 100, 0]]), np.array([[0, 1, 2], [0, 2, 3]])
    ridge = np.array([[0.0, 0, 0], [50, 0, 3], [100, 0, 0], [100, 100, 0], [50, 100, 3], [0, 100, 0]])
    folded = ridge, np.array([[0, 1, 4], [0, 4, 5], [1, 2, 3], [1, 3, 4]])
    assert bound(square, folded, 2.9) is None
    found = bound(square, folded, 3.2)
    assert found is not None
    assert found >= 3 * 50 / np.hypot(50, 3) - 1e-9  # the middle line, square to the slope


@pytest.mark.parametrize("hints", [nearest_of, bad_hints], ids=["good hints", "bad hints"])
@pytest.mark.parametrize("limit", [1.5, 3.0, 6.0])
def test_the_bound_is_never_less_than_a_dense_sample_shows(limit: float, hints: object) -> None:
    """Oracle: brute force over a sample. Two meshings of one ball, one of them 0.3 larger."""
    first, second = ball(30.3, 6, 8), ball(30.0, 7, 9)
    for surface, other in ((first, second), (second, first)):
        true = sampled(surface, other)
        found = bound(surface, other, limit, hints)
        if found is not None:
            assert true - 1e-9 <= found <= limit
        if hints is nearest_of:
            assert (found is None) == (true > limit)


def test_a_thing_that_the_other_lacks_is_as_far_as_its_farthest_point() -> None:
    """Oracle: closed form: a cube of 4 mm whose far face stands 34 mm above the plate."""
    plate = box((100, 100, 4))
    with_pin = joined(plate, box((4, 4, 4), (0, 0, 34)))
    assert bound(with_pin, plate, 33.0) is None
    found = bound(with_pin, plate, 35.0)
    assert found is not None
    assert found >= 34.0 - 1e-9
    assert bound(plate, with_pin, 0.1) is not None


def test_a_surface_against_itself_is_nought() -> None:
    found = bound(torus(60, 20, 12, 8), torus(60, 20, 12, 8), 0.01)
    assert found is not None
    assert found <= 1e-9
