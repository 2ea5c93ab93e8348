"""A proven depth is never deeper than the true one, and not far from it where a part straddles a thin one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from packcheck.frames import Pose
from packcheck.proximity import Session
from packcheck.proximity.pairs import Body
from packcheck.proximity.sunken import sunk_at_least
from packcheck.scene.model.scene import Box, Capsule, Cone, Cylinder, Extrude, Shape, Sphere, Tube
from packcheck.solids.core.solid import Solid
from packcheck.solids.primitives import build_shape
from tests.proximity.shapes import L_SECTION, placed, solid_at

PLATE = Extrude(
    ((-200, -200), (200, -200), (200, 200), (-200, 200), (-200, 190), (190, 190), (190, -190), (-200, -190)), 3
)
"""A frame of a plate, 3 thick, open to the left: not convex."""

CONVEX: list[Shape] = [Box((80, 50, 30)), Cylinder(60, 90), Cone(70, 20, 80), Capsule(30, 120), Sphere(55)]


def body(shape: Shape) -> Body:
    return Body(build_shape(shape)[0])


def test_a_box_across_the_middle_of_a_plate_is_sunk_by_half_its_height() -> None:
    """Oracle: closed form. A box from -50 to 50; a plate 3 thick round -10. The nearest point of the plate to the
    box's middle lies on its upper side, at -8.5: that is 41.5 above the box's lower side."""
    plate = body(Box((400, 400, 3)))
    found = sunk_at_least(body(Box((100, 100, 100))), plate, Pose.of((0, 0, -10), (0, 0, 0)))
    assert found == pytest.approx(41.5, abs=1e-6)


def test_errors_are_taken_off_and_balls_added() -> None:
    """Oracle: the definition: the true surfaces lie within their errors, wraps outside the cores."""
    box, plate = build_shape(Box((100, 100, 100)))[0], build_shape(Box((400, 400, 3)))[0]
    sure = sunk_at_least(Body(box), Body(plate), Pose.of((0, 0, -10), (0, 0, 0)))
    doubtful, wrapped = replace(plate, error=5.0), plate.wrapped(4.0)
    assert sunk_at_least(Body(box), Body(doubtful), Pose.of((0, 0, -10), (0, 0, 0))) == pytest.approx(sure - 5.0)
    assert sunk_at_least(Body(box), Body(wrapped), Pose.of((0, 0, -10), (0, 0, 0))) == pytest.approx(sure + 4.0)


def test_parts_that_only_enclose_the_true_ones_prove_nothing() -> None:
    box: Solid = replace(build_shape(Box((100, 100, 100)))[0], encloses=True)
    assert sunk_at_least(Body(box), body(Box((50, 50, 50))), Pose.of((0, 0, 0), (0, 0, 0))) == 0.0


places = st.tuples(*[st.floats(-60, 60)] * 3)
turns = st.tuples(*[st.floats(-180, 180)] * 3)


@settings(max_examples=80, deadline=None)
@example(Box((80, 50, 30)), Cylinder(60, 90), (0.0, 0.0, 0.0), (0.0, 2.2250738585e-313, 0.0))
@given(st.sampled_from(CONVEX), st.sampled_from(CONVEX), places, turns)
def test_it_is_never_deeper_than_the_exact_depth_of_convex_pairs(
    a: Shape, b: Shape, at: tuple[float, float, float], turn: tuple[float, float, float]
) -> None:
    """Oracle: an independent second method, the expanding polytope, judged against others in its own tests."""
    exact = Session().gap(placed(a), placed(b, at, turn, "b"))
    assert exact.low is not None
    assert sunk_at_least(body(a), body(b), Pose.of(at, turn)) <= max(0.0, -exact.low) + 1e-6


@settings(max_examples=40, deadline=None)
@given(st.sampled_from([L_SECTION, PLATE, Tube(80, 60, 40)]), st.sampled_from(CONVEX), places, turns, turns)
def test_no_shift_shorter_than_it_frees_parts_of_any_shape(
    a: Shape,
    b: Shape,
    at: tuple[float, float, float],
    turn: tuple[float, float, float],
    ways: tuple[float, float, float],
) -> None:
    """Oracle: its definition, a shift of nearly that length in some direction, looked at by the kernel."""
    depth = sunk_at_least(body(a), body(b), Pose.of(at, turn))
    way = np.array(ways) / max(float(np.linalg.norm(ways)), 1.0)
    shifted = np.array(at) + way * max(depth - 0.01, 0.0)
    if depth > 0.01:
        assert Session().bounds(placed(a), placed(b, tuple(shifted), turn, "b")).low <= 0.0


def test_a_box_well_through_a_doubtful_sheet_surely_overlaps_it() -> None:
    """Oracle: closed form. The bar of the plate, 10 wide and 1.5 up and down, lies in a box 60 wide, 30 off its
    side walls and 38.5 off its ends: within an error of 5 at least 25 of that are sure."""
    plate = replace(build_shape(PLATE)[0], error=5.0)
    box = build_shape(Box((60, 60, 80)))[0]
    found = Session().gap(solid_at(box, (0, 195, 0), "a"), solid_at(plate, (0, 0, 0), "b"))
    assert found.high is not None
    assert -40.0 <= found.high <= -20.0
