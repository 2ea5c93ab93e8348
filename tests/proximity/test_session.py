"""Gaps of placed parts: where the answer is known in closed form, and where engines are known to fail."""

from __future__ import annotations

import numpy as np
import pytest

from packcheck.frames import Pose
from packcheck.proximity import Placed, Session
from packcheck.scene.model.scene import Box, Capsule, Cone, Cylinder, Pipe, Shape, Sphere, Tube
from packcheck.solids.primitives import build_shape
from tests.proximity.shapes import L_SECTION, Triple, placed

CUBE = Box((1, 1, 1))
ORIGIN: Triple = (0, 0, 0)
STRAIGHT: Triple = (0, 0, 0)

Case = tuple[Shape, Triple, Triple, Shape, Triple, Triple, float]

EXACT: dict[str, Case] = {
    "box in box": (Box((100, 100, 100)), ORIGIN, STRAIGHT, Box((10, 10, 10)), ORIGIN, STRAIGHT, -55.0),
    "boxes overlap by 3 along x": (
        Box((10, 10, 10)),
        ORIGIN,
        STRAIGHT,
        Box((10, 10, 10)),
        (7, 1, 2),
        STRAIGHT,
        -3.0,
    ),
    "boxes sharing a centre coordinate": (
        *(Box((12, 156, 51)), ORIGIN, STRAIGHT),
        *(Box((145, 154, 154)), (80.5, 0, 103.5), STRAIGHT),
        5**0.5,
    ),
    "spheres overlap by half a mm": (Sphere(10), ORIGIN, STRAIGHT, Sphere(10), (9.5, 0, 0), STRAIGHT, -0.5),
    "concentric spheres": (Sphere(10), ORIGIN, STRAIGHT, Sphere(6), ORIGIN, STRAIGHT, -8.0),
    "crossing capsules": (Capsule(10, 100), ORIGIN, STRAIGHT, Capsule(8, 100, "x"), ORIGIN, STRAIGHT, -9.0),
    "cylinder standing on a box": (
        Cylinder(20, 30),
        (3, 4, 15),
        STRAIGHT,
        Box((100, 100, 10)),
        (0, 0, -5),
        STRAIGHT,
        0,
    ),
    "coaxial cylinders overlap by 1": (
        Cylinder(20, 30),
        ORIGIN,
        STRAIGHT,
        Cylinder(22, 30),
        (0, 0, 29),
        STRAIGHT,
        -1.0,
    ),
    "crossing cylinders 7 apart": (
        *(Cylinder(20, 300), ORIGIN, STRAIGHT),
        *(Cylinder(30, 300, "x"), (5, 7, 9), STRAIGHT),
        -18.0,
    ),
    "facing discs": (Cylinder(200, 30), ORIGIN, (10, 20, 30), Cylinder(180, 30), ORIGIN, (10, 20, 30), -30.0),
    "large pin sunk in a drum on its axis": (
        *(Cylinder(900, 900), ORIGIN, STRAIGHT),
        *(Cylinder(300, 2000), ORIGIN, STRAIGHT),
        -600.0,
    ),
    "sphere over a cone's tip": (Cone(40, 0, 40), ORIGIN, STRAIGHT, Sphere(4), (0, 0, 25), STRAIGHT, 3.0),
    "pin off centre in a bore": (Cylinder(10, 50), ORIGIN, STRAIGHT, Tube(20, 12, 20), (0.5, 0, 0), STRAIGHT, 0.5),
    "tube in a tube": (Tube(20, 16, 20), ORIGIN, STRAIGHT, Tube(14, 12, 20), (0.5, 0, 0), STRAIGHT, 0.5),
    "sphere in the notch of an angle": (L_SECTION, ORIGIN, STRAIGHT, Sphere(20), (25, 25, 10), STRAIGHT, 5.0),
    "bolt through a plate": (Cylinder(10, 50), ORIGIN, STRAIGHT, Box((60, 60, 6)), ORIGIN, STRAIGHT, -28.0),
}


@pytest.mark.parametrize("name", EXACT)
@pytest.mark.parametrize("swap", [False, True])
def test_exact_cases(name: str, swap: bool) -> None:
    """Oracle: closed form; each follows from the sizes by head (overlaps: the least way out of the overlap)."""
    shape_a, at_a, turn_a, shape_b, at_b, turn_b, expected = EXACT[name]
    a, b = placed(shape_a, at_a, turn_a, "a"), placed(shape_b, at_b, turn_b, "b")
    if swap:
        a, b = b, a
    gap = Session().gap(a, b)
    assert gap.low is not None and gap.high is not None
    assert gap.low - 1e-9 <= expected <= gap.high + 1e-9
    assert gap.high - gap.low <= 0.00101
    assert gap.points is not None and gap.direction is not None
    assert np.allclose(gap.points[0] - gap.points[1], gap.value * gap.direction, atol=1e-6)


@pytest.mark.parametrize("through, box_at, expected", [
    (((0, 0, 0), (200, 0, 0), (200, 200, 0)), (0, 0, 20), 5.0),
    (((0, 0, 0), (200, 0, 0), (200, 200, 0)), (-8, 0, 0), 3.0),
    (((0, 0, 0), (200, 0, 0)), (205, 40, 0), 25.0),
])  # fmt: skip
def test_pipe_ends_are_cut_square(through: tuple[Triple, ...], box_at: Triple, expected: float) -> None:
    """Oracle: closed form. A 10 mm cube beside or before a 20 mm pipe: 20 - 10 - 5; 8 - 5; 40 - 10 - 5."""
    gap = Session().gap(placed(Pipe(20, through, 60), name="pipe"), placed(Box((10, 10, 10)), box_at, name="cube"))
    assert gap.value == pytest.approx(expected, abs=0.001)


def test_gap_to_the_inside_of_a_pipe_bend() -> None:
    """Oracle: closed form. Bend of centreline radius 60 about (140, 60): 60 - 10 - 5."""
    pipe = placed(Pipe(20, ((0, 0, 0), (200, 0, 0), (200, 200, 0)), 60), name="pipe")
    gap = Session().gap(pipe, placed(Sphere(10), (140, 60, 0), name="ball"))
    assert gap.low is not None and gap.high is not None
    assert gap.low <= 45.0 <= gap.high
    assert gap.high - gap.low < 0.0021


def test_pin_across_the_edge_of_a_hole_gets_the_short_way_out() -> None:
    """Oracle: closed form. A 10 mm pin 1.5 mm off in a 12 mm hole is free again after 0.5 mm, not after 25."""
    gap = Session().gap(placed(Cylinder(10, 50)), placed(Tube(20, 12, 20), (1.5, 0, 0), name="b"))
    assert gap.low == pytest.approx(-0.5, abs=0.01)
    assert gap.direction is not None
    assert gap.direction[0] == pytest.approx(1.0, abs=0.05)


def test_ring_round_a_rod_that_it_cannot_leave_sideways_is_an_overlap_with_a_verified_way_out() -> None:
    """Oracle: closed form. A rod of 14 mm in a bore of 12 mm, 20 long, 30 long itself: out along the axis by 25."""
    session = Session()
    rod, ring = placed(Cylinder(14, 30), name="rod"), placed(Tube(40, 12, 20), name="ring")
    gap = session.gap(rod, ring)
    assert gap.value < 0 and gap.low is not None and gap.direction is not None
    assert gap.low >= -25.1
    moved = rod.at(rod.pose.shifted(gap.direction * (-gap.low + 0.001)))
    assert session.gap(moved, ring).value >= 0


@pytest.mark.parametrize("inner", [Sphere(10), Box((10, 10, 10)), Cylinder(10, 10), Tube(10, 6, 10), L_SECTION])
def test_a_part_wholly_inside_another_is_an_overlap(inner: Shape) -> None:
    """Oracle: closed form. Whatever lies in a 200 mm tube wall or cube is inside it."""
    cube = placed(Box((200, 200, 200)), name="cube")
    gap = Session().gap(cube, placed(inner, (30, 0, 0), name="inner"))
    assert gap.high is not None and gap.high <= -20


def test_a_part_in_the_cavity_of_a_bore_is_clear() -> None:
    """Oracle: closed form. A 10 mm ball on the axis of a 100 mm bore: 50 - 5."""
    gap = Session().gap(placed(Tube(120, 100, 80)), placed(Sphere(10), name="b"))
    assert gap.value == pytest.approx(45.0, abs=0.001)


def test_moving_both_parts_together_changes_nothing() -> None:
    """Oracle: the gap depends on the relative pose only."""
    session = Session()
    a, b = placed(Cylinder(20, 50), (3, 1, 2), (10, 20, 30), "a"), placed(Box((20, 30, 4)), (40, 2, 1), name="b")
    far = Pose.of((9000, -4000, 2500), (30, 200, 77))
    here, there = session.gap(a, b), session.gap(a.at(far @ a.pose), b.at(far @ b.pose))
    assert there.value == pytest.approx(here.value, abs=1e-9)
    assert here.direction is not None and there.direction is not None
    assert np.allclose(far.rotate(here.direction), there.direction, atol=1e-6)


def test_the_same_relative_pose_is_measured_once() -> None:
    session = Session()
    a, b = placed(CUBE, name="a"), placed(CUBE, (3, 0, 0), name="b")
    session.gap(a, b)
    session.gap(b, a)
    assert session.work.gaps == 1


@pytest.mark.parametrize("facets", [8, 16, 64])
@pytest.mark.parametrize("offset, expected", [(50.0, 15.0), (35.5, 0.5), (30.0, -5.0)])
def test_coarse_facets_only_widen_the_interval(facets: int, offset: float, expected: float) -> None:
    """Oracle: closed form. Parallel cylinders of radius 20 and 15: axis distance - 35."""
    from packcheck.solids.lathe import frustum

    a = Placed("a", (frustum(40, 40, 500, "z", facets=facets),), Pose.of())
    b = Placed("b", (frustum(30, 30, 500, "z", facets=facets),), Pose.of((offset, 0, 0), (0, 0, 13)))
    gap = Session().gap(a, b)
    assert gap.low is not None and gap.high is not None
    assert gap.low - 1e-9 <= expected <= gap.high + 1e-9


def test_only_patches_that_come_near_get_a_tree() -> None:
    """A long pipe is many patches; a ball at one end needs few of them (work count, not time)."""
    session = Session()
    bends = tuple((200.0 * k, 200.0 * (k % 2), 0.0) for k in range(12))
    pipe = Placed("pipe", build_shape(Pipe(20, bends, 80))[:1], Pose.of())
    session.gap(pipe, placed(Sphere(10), (0, -60, 0), name="ball"))
    patches = session._bodies[id(pipe.solids[0])].patches
    assert len(patches) > 8
    assert patches.trees_built <= 2
