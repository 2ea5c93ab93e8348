"""The largest size that fits while things move, against closed forms, and against the check at and behind it."""

from __future__ import annotations

from math import cos, radians, sin, sqrt
from pathlib import Path

import pytest

from packcheck.sizing.sizes import Asked, one_size
from tests.scene.writing import write
from tests.test_sizes import answered, confirm, passes

LID = """\
packcheck: 1
params: {h: 100 mm, hinge_up: 0 mm}
frames: {hub: {at: [0, 0, 300 mm + hinge_up]}}
parts:
  box_under: {at: [150, 0, 0], anchor: [mid, mid, min], box: [100, 80, h]}
  lid: {in: hub, at: [200, 0, 0], box: [400, 80, 10]}
clearances: {use: none, default: 10}
motions: {shuts: {carries: lid, in: hub, hinge: {through: [0, 0, 0], axis: y, from: 0, to: 20}}}
"""
TALLEST = 300 - (5 + 5 + 200 * sin(radians(20))) / cos(radians(20))
"""The underside of the lid, 5 mm below its middle, over the box's edge 200 mm out, and half of 10 in motion."""


def test_how_tall_under_a_lid_that_shuts(tmp_path: Path) -> None:
    """Oracle: closed form, at the top of this file; at rest it might be 285."""
    size, varied = answered(tmp_path, LID, "h", 100.0, to=400.0)
    assert size.value == pytest.approx(TALLEST, abs=0.02)
    assert (size.stopped_by, size.unproven) == ("box_under - lid as shuts moves", "")
    confirm(size, varied)
    worst = size.rounder[0][1]
    assert worst is not None and worst.study == "moving"
    assert worst.margin == pytest.approx((TALLEST - size.rounder[0][0]) * cos(radians(20)), abs=0.06)


def test_the_answer_at_rest_is_told_beside(tmp_path: Path) -> None:
    """Oracle: by head: the underside at 295 when the lid is open, less 10."""
    (table, *_) = one_size(Asked(str(write(tmp_path, LID)), "h", to="400 mm")).tables
    assert ("with everything at rest, mm", 285) in table.rows


def test_a_hinge_that_is_shifted_with_what_it_carries(tmp_path: Path) -> None:
    """Oracle: by head: the lid may come down by what is left over the box of 100: the lid and its line alike."""
    size, varied = answered(tmp_path, LID, "hinge_up", 0.0, least=True, to=-250.0)
    assert size.value == pytest.approx(100 - TALLEST, abs=0.02)
    assert size.unproven == ""
    confirm(size, varied, -1.0)


def test_tolerances_count_in_motion(tmp_path: Path) -> None:
    """Oracle: by head: 3 mm of tolerance square to the lid take 3 / cos 20 of the height."""
    text = LID.replace("  lid: {", "  lid: {tolerance: 3, ")
    size, varied = answered(tmp_path, text, "h", 100.0, to=400.0)
    assert size.value == pytest.approx(TALLEST - 3 / cos(radians(20)), abs=0.02)
    confirm(size, varied)


def test_tolerances_by_axis_count_along_the_gap_alone(tmp_path: Path) -> None:
    """Oracle: by head: 3 mm along the hinge change nothing; a diagonal would take 3 mm square to the lid."""
    text = LID.replace("  lid: {", "  lid: {tolerance: [0, 3, 0], ")
    size, varied = answered(tmp_path, text, "h", 100.0, to=400.0)
    assert size.value == pytest.approx(TALLEST, abs=0.02)
    assert size.value is not None and size.unproven == ""
    assert passes(varied, size.value - 0.1) and not passes(varied, size.value + 0.1)


def test_a_line_that_stays_while_what_it_carries_is_shifted(tmp_path: Path) -> None:
    """Oracle: closed form: a ball of 20 on an arm of r swings a full turn; a wall 150 off, 5 mm: r = 135."""
    text = """\
packcheck: 1
params: {r: 40 mm}
parts:
  ball: {at: [0, 0, r], sphere: {diameter: 20}}
  wall: {at: [155, 0, 0], box: [10, 500, 500]}
clearances: {use: none, default: 10}
motions: {spins: {carries: ball, full_turn: {through: [0, 0, 0], axis: y}}}
"""
    size, varied = answered(tmp_path, text, "r", 40.0, to=300.0)
    assert size.value == pytest.approx(135, abs=0.02)
    assert size.unproven == ""
    confirm(size, varied)


def test_a_travel_that_grows_is_tried_and_said_to_be(tmp_path: Path) -> None:
    """Oracle: by head: 20 wide, towards a wall 100 off, 5 mm: 85 of travel."""
    text = """\
packcheck: 1
params: {stroke: 20 mm}
parts:
  ram: {box: [20, 20, 20]}
  wall: {at: [105, 0, 0], box: [10, 90, 90]}
clearances: {use: none, default: 10}
motions: {pushes: {carries: ram, travel: {by: x, from: 0, to: stroke}}}
"""
    size, varied = answered(tmp_path, text, "stroke", 20.0, to=200.0)
    assert size.value == pytest.approx(85, abs=0.1)
    assert size.unproven.startswith("it is used in motions.pushes")
    confirm(size, varied)


def test_values_that_pass_in_two_stretches_in_motion(tmp_path: Path) -> None:
    """Oracle: closed form: a ball on an arm of 200 swings by a ball of 30 set out along x: inside up to 170 less 5,
    outside from 235 on; at rest the arm is out of the way."""
    text = """\
packcheck: 1
params: {out: 60 mm}
parts:
  still: {at: [out, 0, 0], sphere: {diameter: 30}}
  ball: {at: [0, 0, 200], sphere: {diameter: 30}}
clearances: {use: none, default: 10}
motions: {swings: {carries: ball, hinge: {through: [0, 0, 0], axis: y, from: 0, to: 90}}}
"""
    size, varied = answered(tmp_path, text, "out", 60.0, to=300.0)
    assert size.value == pytest.approx(200 - 35, abs=0.02)
    assert [one.start for one in size.stretches] == pytest.approx([60, 235], abs=0.1)
    confirm(size, varied)


def test_aside_of_a_swing(tmp_path: Path) -> None:
    """Oracle: closed form: the same ball led square to the plane of the swing, under its end, from 80 to 35 mm."""
    text = """\
packcheck: 1
params: {aside: 80 mm}
parts:
  still: {at: [120, aside, 120], sphere: {diameter: 30}}
  ball: {at: [0, 0, 200], sphere: {diameter: 30}}
clearances: {use: none, default: 10}
motions: {swings: {carries: ball, hinge: {through: [0, 0, 0], axis: y, from: 0, to: 90}}}
"""
    off = 200 - 120 * sqrt(2)
    size, varied = answered(tmp_path, text, "aside", 80.0, least=True, to=0.0)
    assert size.value == pytest.approx(sqrt(35**2 - off**2), abs=0.02)
    confirm(size, varied, -1.0)
