"""Chains of joints: where points go, and bounds on how far, against matrices and random poses."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packcheck.arrays import Floats, Matrix3, frozen
from packcheck.kinematics.joints import Joint, about_line, backwards, carried, spread
from packcheck.proximity.hulls import hull_of
from packcheck.search import Cell
from tests.assembly.moving_shapes import DEGREE, a_cell, a_chain, a_part, points_of, settings_in

seeds = st.integers(0, 2**32 - 1)


def matrix(rotation: Matrix3, translation: Floats) -> Floats:
    made = np.eye(4)
    made[:3, :3], made[:3, 3] = rotation, translation
    return made


def rotation_by_quaternion(axis: Floats, angle: float) -> Matrix3:
    """Another way to turn: from the unit quaternion (cos, sin axis)."""
    w, (x, y, z) = np.cos(angle / 2), np.sin(angle / 2) * axis
    return np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)],
            [2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)],
            [2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)],
        ]
    )


@given(seeds, st.floats(-400, 400))
@settings(deadline=None)
def test_a_turn_about_a_line_is_that_of_quaternions_and_4_by_4_matrices(seed: int, degrees: float) -> None:
    """Oracle: second method. Shift the line to zero, turn by a quaternion, shift back, as 4 by 4 matrices."""
    rng = np.random.default_rng(seed)
    axis = rng.normal(size=3)
    axis /= np.linalg.norm(axis)
    point, to = rng.uniform(-500, 500, 3), rng.uniform(-500, 500, 3)
    there, back = matrix(np.eye(3), -point), matrix(np.eye(3), point)
    expected = back @ matrix(rotation_by_quaternion(axis, degrees * DEGREE), np.zeros(3)) @ there @ [*to, 1]
    assert about_line(point, axis, degrees * DEGREE).apply(to) == pytest.approx(expected[:3], abs=1e-9)


@given(seeds)
@settings(deadline=None)
def test_a_chain_is_the_product_of_its_joints_and_its_reverse_undoes_it(seed: int) -> None:
    """Oracle: second method. The product of 4 by 4 matrices, outermost first."""
    rng = np.random.default_rng(seed)
    chain = a_chain(rng, [0, 1, 2])
    setting = rng.uniform(-90, 90, 3)
    product = np.eye(4)
    for joint in chain:
        pose = joint.pose(setting)
        product = product @ matrix(pose.rotation, pose.translation)
    point = rng.uniform(-100, 100, 3)
    there = carried(chain, setting).apply(point)
    assert there == pytest.approx((product @ [*point, 1])[:3], abs=1e-9)
    assert carried(backwards(chain), setting).apply(there) == pytest.approx(point, abs=1e-9)


@given(seeds, st.integers(1, 4))
@settings(max_examples=150, deadline=None)
def test_no_point_of_a_solid_ever_travels_farther_than_its_bound(seed: int, count: int) -> None:
    """Oracle: brute force. 60 random settings of a random cell, 40 random points of a random solid each."""
    rng = np.random.default_rng(seed)
    part = a_part(rng, "part")
    cell, chain = a_cell(rng, count, 200.0), a_chain(rng, list(range(count)))
    hull = hull_of(part.solids)
    seen = spread(chain, part.pose.apply(hull.points), cell, hull.error + hull.greatest_radius)
    bound = float(seen.travel.sum(axis=0).max())
    points = part.pose.apply(points_of(rng, part.solids[0], 40))
    middle = carried(chain, cell.centre).apply(points)
    for setting in settings_in(rng, cell, 60):
        travelled = np.linalg.norm(carried(chain, setting).apply(points) - middle, axis=1).max()
        assert travelled <= bound + 1e-9


@given(seeds, st.integers(1, 4), st.booleans())
@settings(max_examples=150, deadline=None)
def test_no_point_leaves_its_tangent_by_more_than_half_the_bend(seed: int, count: int, shared: bool) -> None:
    """Oracle: brute force. 60 random settings; also where one parameter drives several joints, as on a path."""
    rng = np.random.default_rng(seed)
    drives = [0] * count if shared else list(range(count))
    cell, chain = a_cell(rng, 1 if shared else count, 60.0), a_chain(rng, drives)
    points = rng.uniform(-150, 150, (20, 3))
    seen = spread(chain, points, cell)
    for setting in settings_in(rng, cell, 60):
        share = np.divide(setting - cell.centre, cell.halves, out=np.zeros(len(setting)), where=cell.halves > 0)
        straight = seen.points + np.einsum("k,knj->nj", share, seen.slopes)
        away = np.linalg.norm(carried(chain, setting).apply(points) - straight, axis=1)
        assert (away <= seen.bend / 2 + 1e-9).all()
        went = np.linalg.norm(carried(chain, setting).apply(points) - seen.points, axis=1)
        assert (went <= seen.travel.sum(axis=0) + 1e-9).all()
        assert (went <= seen.speed + 1e-9).all()


def test_the_bound_of_one_turn_is_the_chord_of_the_farthest_point() -> None:
    """Oracle: closed form. A point 100 mm from the line goes 2 * 100 * sin(30 deg) = 100 mm by 60 degrees."""
    hinge = Joint(0, frozen([0, 0, 1]), DEGREE, frozen([0, 0, 0]))
    seen = spread((hinge,), np.array([[100.0, 0, 7], [20, 0, 0]]), Cell.of([-60], [60]))
    assert seen.travel[0] == pytest.approx([100, 20])
    assert seen.speed == pytest.approx([100 * np.pi / 3, 20 * np.pi / 3])
    assert seen.bend == pytest.approx([100 * (np.pi / 3) ** 2, 20 * (np.pi / 3) ** 2])


def test_a_whole_turn_takes_no_point_farther_than_its_circle_is_wide() -> None:
    """Oracle: closed form. The opposite point of a circle of 100 mm radius is 200 mm away."""
    hinge = Joint(0, frozen([0, 0, 1]), DEGREE, frozen([0, 0, 0]))
    seen = spread((hinge,), np.array([[100.0, 0, 0]]), Cell.of([0], [720]))
    assert seen.travel[0] == pytest.approx([200])


def test_a_rod_far_along_its_hinge_is_bounded_by_its_distance_from_the_line_not_by_its_box() -> None:
    """Oracle: closed form. A rod square across its hinge line at 45 degrees to the axes, 50 mm long each way:
    the corner of its box would be 50 * sqrt(2) away, the rod itself is 50."""
    part = np.array([[50 / np.sqrt(2), 50 / np.sqrt(2), 0], [-50 / np.sqrt(2), -50 / np.sqrt(2), 0]])
    hinge = Joint(0, frozen([0, 0, 1]), DEGREE, frozen([0, 0, 0]))
    seen = spread((hinge,), part, Cell.of([-90], [90]))
    assert seen.travel.max() == pytest.approx(2 * 50 * np.sin(np.pi / 4))
