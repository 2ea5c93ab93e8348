"""Tolerances widen gaps, on the safe side, and cancel where parts share what is uncertain."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packcheck.assembly.assembly import assemble
from packcheck.findings import Finding, Verdict
from packcheck.proximity import Session
from packcheck.scene.model.scene import Box, Cylinder, Frame, Part, Scene, Sphere, Tube
from tests.bays import bay, part, scene

CUBE = Box((10, 10, 10))


def slack(made: Scene, a: str = "a", b: str = "b") -> float:
    return assemble(made).doubt(a, b).most


def finding(*parts: Part, **facts: object) -> Finding:
    (only,) = bay(*parts, **facts).check(moves=False).findings
    return only


def test_the_tolerances_of_both_parts_add() -> None:
    """Oracle: by head: 2 + 3."""
    assert slack(scene(part("a", CUBE, tolerance=(2.0,) * 3), part("b", CUBE, tolerance=(3.0,) * 3))) == 5.0


def test_a_gap_of_11_with_parts_good_to_2_each_against_10_is_unsure() -> None:
    """Oracle: 11 - 4 = 7 and 11 + 4 = 15 lie on both sides of 10."""
    good = finding(part("a", CUBE, tolerance=(2.0,) * 3), part("b", CUBE, at=(21, 0, 0), tolerance=(2.0,) * 3))
    assert (good.low, good.high, good.verdict) == (7.0, 15.0, Verdict.UNSURE)


@pytest.mark.parametrize("parents, expected", [
    (("engine_frame", "engine_frame"), 0.0),
    (("engine_frame", "car"), 8.0),
    (("engine_frame", "head_frame"), 1.0),
    (("head_frame", "head_frame"), 0.0),
    (("head_frame", "car"), 9.0),
])  # fmt: skip
def test_the_tolerance_of_a_frame_cancels_between_parts_that_hang_on_it(
    parents: tuple[str, str], expected: float
) -> None:
    """Oracle: by head: only frames one of the two hangs on count; head_frame (1 mm) stands in engine_frame (8)."""
    frames = {
        "engine_frame": Frame("engine_frame", tolerance=(8.0,) * 3),
        "head_frame": Frame("head_frame", parent="engine_frame", tolerance=(1.0,) * 3),
    }
    made = scene(part("a", CUBE, parent=parents[0]), part("b", CUBE, parent=parents[1]), frames=frames)
    assert slack(made) == expected


def test_a_part_hung_on_another_counts_the_others_surface_once() -> None:
    """Oracle: by head. Pump good to 2, bracket on it to 1: 3 between them; bracket to a stranger 1 + 2."""
    made = scene(
        part("pump", CUBE, tolerance=(2.0,) * 3),
        part("bracket", CUBE, parent="pump", tolerance=(1.0,) * 3),
        part("lug", CUBE, parent="pump"),
        part("rail", CUBE),
    )
    assert slack(made, "pump", "bracket") == 3.0
    assert slack(made, "bracket", "rail") == 3.0
    assert slack(made, "bracket", "lug") == 1.0


def test_a_rough_envelope_without_a_tolerance_is_taken_to_be_15_mm_off() -> None:
    """Common practice for a size judged by eye."""
    assert slack(scene(part("a", CUBE, fit="about"), part("b", CUBE))) == 15.0
    assert slack(scene(part("a", CUBE, fit="about", tolerance=(4.0,) * 3), part("b", CUBE))) == 4.0


def test_three_numbers_count_along_the_gap_only() -> None:
    """Oracle: by head. Good to 1 aft, 9 right, 9 up; the gap runs aft."""
    loose = part("a", CUBE, tolerance=(1.0, 9.0, 9.0), tolerance_is_ball=False)
    found = finding(loose, part("b", CUBE, at=(21, 0, 0)))
    assert found.low == pytest.approx(10.0)
    assert found.verdict is Verdict.PASS


def test_three_numbers_turn_with_the_frame_they_are_told_in() -> None:
    """Oracle: by head: the frame's x is the car's y."""
    loose = part("a", CUBE, parent="turned", tolerance=(9.0, 1.0, 9.0), tolerance_is_ball=False)
    frames = {"turned": Frame("turned", turn=(0, 0, 90))}
    assert finding(loose, part("b", CUBE, at=(21, 0, 0)), frames=frames).low == pytest.approx(10.0)


shift = st.floats(-1, 1)


@settings(deadline=None, max_examples=60)
@given(
    st.tuples(shift, shift, shift),
    st.sampled_from([(0.0, 0.0, 0.0), (0.0, 30.0, 45.0)]),
    st.sampled_from([CUBE, Sphere(12), Cylinder(8, 30, "y")]),
    st.integers(-3, 6),
)
def test_no_shift_within_the_box_leaves_the_interval(
    share: tuple[float, ...], turn: tuple[float, float, float], shape: Box | Sphere | Cylinder, apart: int
) -> None:
    """Oracle: the part shifted for real, anywhere in its box of tolerance."""
    box = (3.0, 1.0, 2.0)
    made = scene(
        part("a", shape, tolerance=box, tolerance_is_ball=False, turn=turn),
        part("b", CUBE, at=(11.0 + apart, 3, 2)),
    )
    assembly = assemble(made)
    gap = Session().gap(assembly.parts["a"], assembly.parts["b"])
    between, convex = assembly.doubt("a", "b"), True
    assert gap.low is not None and gap.high is not None
    low = between.least_gap(gap.low, gap.direction, convex=convex)
    high = between.greatest_gap(gap.high, gap.direction, gap.points)
    moved = (share[0] * box[0], share[1] * box[1], share[2] * box[2])
    there = assemble(scene(replace(made.parts["a"], at=moved), made.parts["b"])).parts
    true = Session().gap(there["a"], there["b"]).value
    assert low - 0.001 <= true <= high + 0.001


def test_no_tolerance_is_no_slack() -> None:
    between = assemble(scene(part("a", CUBE), part("b", CUBE))).doubt("a", "b")
    assert between.most == 0.0
    assert between.least_gap(5.0, np.array([1.0, 0, 0]), convex=True) == 5.0
    assert between.greatest_gap(5.0, np.array([1.0, 0, 0])) == 5.0


@pytest.mark.parametrize("boxed", [True, False])
def test_how_deep_a_tube_is_sunk_once_it_may_be_turned_nobody_knows(boxed: bool) -> None:
    """Oracle: by hand. A tube of 40 mm stands 5 mm in a block beside it; only shifted by up to 2 it is in by 7."""
    off = (2.0, 0.0, 0.0) if boxed else (2.0,) * 3
    tube = part("tube", Tube(40.0, 36.0, 100.0), at=(25, 0, 0), tolerance=off, tolerance_is_ball=not boxed)
    found = finding(tube, part("block", Box((20.0, 200.0, 200.0))))
    assert found.value == pytest.approx(-5, abs=0.01)
    assert found.low == (pytest.approx(-7, abs=0.02) if boxed else None)
