"""Ends of intervals are where they must be, not only on the right side; directions are the true ones."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from packcheck.arrays import Floats, Point, frozen
from packcheck.frames import Pose, turn_matrix
from packcheck.proximity import Placed, Session
from packcheck.proximity.inside import FarField
from packcheck.proximity.pairs import Body, Pair, PairGap, pair_gap
from packcheck.scene.model.scene import Box, Capsule, Cylinder, Pipe, Shape, Sphere, Tube
from packcheck.solids.core.solid import Solid
from packcheck.solids.core.topology import Flags
from packcheck.solids.core.winding import winding_numbers
from packcheck.solids.primitives import build_shape
from tests.proximity.shapes import L_SECTION
from tests.solids.mesh_bytes import ball

BENT = Pipe(20, ((-200, 0, 0), (0, 0, 0), (0, 200, 0)), 40)
CROSSING = Pipe(20, ((-100, -100, 0), (-100, 100, 0), (-100, 100, 200)), 40)


def solid_of(shape: Shape) -> Solid:
    (solid,) = build_shape(shape)
    return solid


def gap_of(a: Solid, b: Solid, at: Pose) -> PairGap:
    found = pair_gap(Body(a), Body(b), at)
    assert found is not None
    return found


def slack(a: Solid, b: Solid) -> float:
    """What facets may cost, either way, and the closing of a depth, mm."""
    return a.error + b.error + 0.001


def test_bent_pipes_that_cross_overlap_by_both_of_their_radii_at_the_least() -> None:
    """Oracle: closed form. Centrelines that cross: no way out is shorter than both radii, 20 mm, straight up."""
    a, b = build_shape(BENT), build_shape(CROSSING)
    spare = a[0].error + b[0].error + 0.001
    found = Session().gap(Placed("a", a, Pose.of()), Placed("b", b, Pose.of()))
    assert found.high == pytest.approx(-20, abs=spare)
    assert found.low is not None and found.low <= -20 + spare


@pytest.mark.parametrize("seed", range(12))
def test_crossing_rods_part_square_to_both_wherever_their_zeros_are(seed: int) -> None:
    """Oracle: closed form. The shortest way out of two rods whose axes cross is the sum of their radii along the
    cross product of the axes; both ends of the gap are that."""
    rng = np.random.default_rng(seed)
    first, second = rng.uniform(5, 30, 2)
    turn = turn_matrix(rng.uniform(-180, 180, 3))
    a, b = solid_of(Capsule(2 * first, 300, "x")), solid_of(Capsule(2 * second, 300, "x"))
    away, meeting = rng.uniform(-500, 500, (2, 3))
    a = _moved(a, away)  # the axis runs through a place far from its own zero
    other = away - turn @ meeting
    found = gap_of(a, _moved(b, meeting), Pose(frozen(turn), frozen(other)))
    square = np.cross([1.0, 0, 0], turn[:, 0])
    square /= np.linalg.norm(square)
    assert found.direction is not None
    assert abs(found.direction @ square) == pytest.approx(1, abs=1e-6)
    assert [found.low, found.value, found.high] == pytest.approx([-first - second] * 3, abs=1e-6)
    assert found.on_a - found.on_b == pytest.approx(found.value * found.direction, abs=1e-6)


def _moved(solid: Solid, by: Floats) -> Solid:
    """The same core elsewhere in its own frame."""
    support = solid.support
    assert support is not None
    return replace(
        solid,
        vertices=frozen(solid.vertices + by),
        support=lambda ways: support(ways) + by,
        pieces=frozen(solid.vertices[:1] + by),
    )


@pytest.mark.parametrize(("height", "gap"), [(20.0, 5.0), (15.0, 0.0), (10.0, -5.0), (0.0, -15.0)])
def test_ball_over_a_block_has_both_ends_at_the_gap(height: float, gap: float) -> None:
    """Oracle: closed form. A ball of radius 5 over a face at 10 mm; inside, the nearest way out is up."""
    a, b = solid_of(Sphere(10)), solid_of(Box((200, 200, 20)))
    found = gap_of(a, b, Pose.of((0, 0, -height)))
    assert [found.low, found.value, found.high] == pytest.approx([gap] * 3, abs=slack(a, b))


@pytest.mark.parametrize("sunk", [0.0, 2.5, 10.0])
def test_cylinders_side_by_side_have_both_ends_at_the_gap(sunk: float) -> None:
    """Oracle: closed form. Two of 40 across, their axes parallel and 40 less `sunk` apart."""
    a, b = solid_of(Cylinder(40, 100)), solid_of(Cylinder(40, 100))
    found = gap_of(a, b, Pose.of((40 - sunk, 0, 0)))
    assert [found.low, found.high] == pytest.approx([-sunk] * 2, abs=slack(a, b))


def test_ball_in_a_wall_that_is_not_convex_comes_out_by_no_less_than_its_own_size_and_the_way_to_the_face() -> None:
    """Oracle: closed form. Radius 2 in the middle of a wall of 10: 5 to its faces, and 2."""
    a, b = solid_of(Sphere(4)), solid_of(L_SECTION)
    found = gap_of(a, b, Pose.of((-5, -30, -10)))
    assert found.high == pytest.approx(-7, abs=slack(a, b))


@pytest.mark.parametrize("apart", [0.5, 3.0, 40.0])
def test_shapes_that_are_not_convex_have_both_ends_at_the_gap(apart: float) -> None:
    """Oracle: closed form. A rod in the bore of a tube of 100, nearer to one side."""
    a, b = solid_of(Capsule(10, 60)), solid_of(Tube(140, 100, 90))
    found = gap_of(a, b, Pose.of((45 - apart, 0, 0)))
    assert [found.low, found.value, found.high] == pytest.approx([apart] * 3, abs=slack(a, b))


def test_a_gap_known_to_be_under_a_limit_is_no_greater_than_the_points_that_show_it() -> None:
    """Oracle: closed form. 25 mm between pipes, asked only whether it is under 60."""
    a, b = build_shape(BENT)[0], build_shape(BENT)[0]
    found = Pair(Body(a), Body(b)).gap(Pose.of((0, 0, 45)), below=60)
    assert found is not None
    assert 25 - 1e-6 <= found.high < 60
    assert np.linalg.norm(found.on_a - found.on_b) == pytest.approx(found.value, abs=1e-6)
    assert found.high == pytest.approx(found.value + a.error + b.error, abs=1e-9)


def places(seed: int, count: int, reach: float) -> list[Point]:
    return list(np.random.default_rng(seed).uniform(-reach, reach, (count, 3)))


@pytest.mark.parametrize("seed", range(4))
def test_the_far_field_knows_how_much_it_leaves_out(seed: int) -> None:
    """Oracle: every triangle counted. A threshold between what the patches come to and the true winding is the one
    that a bound too small would answer wrongly."""
    vertices, faces = ball(100, 40, 80)
    kept = faces[np.random.default_rng(seed).permutation(len(faces))]  # patches all over, as bad as can be
    solid = Solid(frozen(vertices * [1, 0.6, 0.3]), kept[: len(kept) // 2], closed=False, open_surface=True)
    near = replace(solid, faces=faces[: len(faces) // 3])
    wrong = 0
    for surface in (solid, near):
        field = FarField(surface)
        for point in places(seed, 60, 900):
            exact = abs(winding_numbers(point[None], surface.vertices, surface.faces)[0])
            seen = abs(field.winding(point, 50.0))
            if abs(exact - seen) > 1e-12:
                wrong += 1
                between = (exact + seen) / 2
                assert (abs(field.winding(point, between)) > between) == (exact > between)
    assert wrong > 20


def test_the_far_field_leaves_triangles_uncounted_where_that_is_no_matter(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A bound without end would count all: far from a ball only what patches look like is asked."""
    vertices, faces = ball(100, 40, 80)
    field = FarField(Solid(frozen(vertices), faces, closed=True))
    counted: list[int] = []
    whole = field._counted

    def counting(point: Point, patches: Flags) -> float:
        counted.append(int(patches.sum()))
        return whole(point, patches)

    monkeypatch.setattr(field, "_counted", counting)
    for point in places(1, 40, 1500):
        if np.linalg.norm(point) > 600:
            field.winding(point, 0.5)
    assert counted and max(counted) == 0
