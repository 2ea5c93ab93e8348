"""The convex oracle against closed forms, a second engine, brute force and other ways to the same depth."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.spatial import ConvexHull

from tests.crowds import drawn_pair
from tests.oracles.bodies import Frustum, PointHull, Whole
from tests.oracles.closed_forms import CASES, ClosedForm
from tests.oracles.coal_engine import coal_distance, coal_supports
from tests.oracles.conic import separation_along
from tests.oracles.convex import signed_gap
from tests.oracles.cover import convex_body
from tests.oracles.nearest import hull_soup
from tests.oracles.shapes import Bracket, Pair, Pose, rotation_about
from tests.oracles.triangles import soup_distance
from tests.oracles.truth import is_convex

CONVEX_KINDS = ("box", "sphere", "capsule", "cylinder", "cone", "mesh convex", "extrude")
CLOSED = 1e-6  # mm; width every bracket of two convex bodies must close to

CONVEX_CASES = [case for case in CASES if is_convex(case.a) and is_convex(case.b)]


def random_pairs(seed: int, count: int, kinds: tuple[str, ...] = CONVEX_KINDS) -> list[Pair]:
    rng = np.random.default_rng(seed)
    drawn = [drawn_pair(seed, i, (str(rng.choice(kinds)), str(rng.choice(kinds)))) for i in range(count)]
    return [pair for pair in drawn if is_convex(pair.a) and is_convex(pair.b)]


def bodies(pair: Pair) -> tuple[Whole, Whole]:
    found = [convex_body(thing.pieces[0], thing.pose) for thing in (pair.a, pair.b)]
    assert found[0] is not None and found[1] is not None
    return found[0], found[1]


def gap(pair: Pair) -> Bracket:
    return signed_gap(*bodies(pair))


@pytest.mark.parametrize("case", CONVEX_CASES, ids=lambda case: case.name)
def test_bracket_holds_the_closed_form(case: ClosedForm) -> None:
    """Oracle: closed form, derived in `closed_forms`."""
    low, high = gap(case.pair)
    assert low - 1e-9 <= case.expected <= high + 1e-9
    assert high - low <= CLOSED


@pytest.mark.parametrize("seed", range(4))
def test_brackets_of_random_pairs_close(seed: int) -> None:
    widths = [gap(pair).width for pair in random_pairs(seed, 60)]
    assert min(widths) >= 0
    assert max(widths) <= CLOSED


def test_conic_program_and_second_engine_agree_on_pairs_apart() -> None:
    """Oracle: second method (GJK of another library), trusted to 1e-6 of the sizes."""
    kinds = ("box", "sphere", "capsule", "cylinder", "cone")
    compared = 0
    for pair in random_pairs(11, 160, kinds):
        true = gap(pair)
        shapes = (pair.a.pieces[0].shape, pair.b.pieces[0].shape)
        if true.low > 0.01 and all(map(coal_supports, shapes)):
            assert coal_distance(pair.a, pair.b) == pytest.approx(true.middle, abs=5e-3, rel=1e-5)
            compared += 1
    assert compared > 60


def test_conic_program_and_brute_force_agree_on_flat_faced_pairs_apart() -> None:
    """Oracle: brute force over the triangles of both hulls."""
    compared = 0
    for pair in random_pairs(12, 120, ("box", "extrude", "mesh convex", "capsule", "sphere")):
        true, (a, b) = gap(pair), bodies(pair)
        if true.low > 0 and isinstance(a, PointHull) and isinstance(b, PointHull):
            distance = soup_distance(hull_soup(a.points)[0], hull_soup(b.points)[0]) - a.radius - b.radius
            assert true.low - 1e-7 <= distance <= true.high + 1e-7
            compared += 1
    assert compared > 50


def test_depth_of_hulls_is_the_distance_to_the_minkowski_hull() -> None:
    """Oracle: second method. The hull of all vertex differences holds the origin; its nearest face is the depth."""
    compared = 0
    for pair in random_pairs(13, 150, ("box", "extrude", "mesh convex")):
        true, (a, b) = gap(pair), bodies(pair)
        if true.high < -a.radius - b.radius and isinstance(a, PointHull) and isinstance(b, PointHull):
            differences = (a.points[:, None] - b.points[None]).reshape(-1, 3)
            depth = -float(ConvexHull(differences).equations[:, 3].max())
            assert -depth - a.radius - b.radius == pytest.approx(true.middle, abs=1e-7)
            compared += 1
    assert compared > 25


def test_depth_of_curved_pairs_is_the_least_found_by_descent() -> None:
    """Oracle: second method. Multi-start descent over directions: never below the bracket, and it gets there."""
    compared = 0
    for pair in random_pairs(14, 90, ("cylinder", "cone", "box")):
        true, (a, b) = gap(pair), bodies(pair)
        if true.high < -1.0 and (isinstance(a, Frustum) or isinstance(b, Frustum)):
            depth = least_separation(a, b) + a.radius + b.radius
            assert depth >= -true.high - 1e-7
            assert depth <= -true.low * (1 + 1e-3) + 1e-3
            compared += 1
    assert compared > 10


def least_separation(a: Whole, b: Whole) -> float:
    """Least translation along any direction a descent from many starts comes to, mm."""
    starts = np.random.default_rng(0).normal(size=(400, 3))
    axes = np.vstack([body.pose.rotation.T for body in (a, b) if isinstance(body, Frustum)])
    starts = np.vstack([starts, np.eye(3), -np.eye(3), axes, -axes])
    starts /= np.linalg.norm(starts, axis=1, keepdims=True)
    heights = -separation_along(a, b, starts)

    def height(way: np.ndarray) -> float:
        unit = way / np.linalg.norm(way)
        return -float(separation_along(a, b, unit[None])[0])

    best = np.argsort(heights)[:6]
    return min(float(minimize(height, starts[k], method="Nelder-Mead", tol=1e-10).fun) for k in best)


def test_carrying_both_bodies_along_changes_nothing() -> None:
    """Oracle: second method, the same pair elsewhere and turned."""
    turn = Pose(rotation_about((1, 2, 3), 77), np.array([4000.0, -3000.0, 5000.0]))
    for pair in random_pairs(15, 40):
        moved = [convex_body(thing.pieces[0], turn @ thing.pose) for thing in (pair.a, pair.b)]
        assert moved[0] is not None and moved[1] is not None
        assert signed_gap(moved[0], moved[1]).middle == pytest.approx(gap(pair).middle, abs=2e-6)


def test_growing_both_by_a_ball_takes_both_radii_off_the_gap() -> None:
    """Oracle: closed form, apart and overlapping alike."""
    rims = Frustum(10, 10, 20, Pose()), Frustum(5, 2, 8, Pose(translation=np.array([7.0, 3.0, 1.0])))
    grown = Frustum(10, 10, 20, Pose(), 1.5), Frustum(5, 2, 8, rims[1].pose, 2.0)
    assert signed_gap(*grown).middle == pytest.approx(signed_gap(*rims).middle - 3.5, abs=1e-6)
