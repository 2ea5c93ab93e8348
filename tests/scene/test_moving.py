"""Motions as they are read: lines, ranges, kinds and frames resolved."""

from __future__ import annotations

from pathlib import Path

import pytest

from packcheck.scene import load_scene
from packcheck.scene.model.motion import FullTurn, Hinge, Rock, Stop, Travel
from packcheck.scene.model.motion import Path as MotionPath
from packcheck.scene.model.scene import Scene

HERE = Path(__file__).parent


@pytest.fixture(scope="module")
def scene() -> Scene:
    return load_scene(HERE / "valid" / "motions.yaml")


def test_a_hinge_is_a_line_and_a_range(scene: Scene) -> None:
    motion = scene.motions["deck_opens"]
    assert motion.movement == Hinge((1000, 0, 640), (0, 1, 0), (0, 62))
    assert (motion.carries, motion.frame, motion.placed_at) == (("rear_deck", "deck_seal"), "car", 31)
    assert (motion.during, motion.together) == ("service", True)
    assert motion.mark is not None
    assert motion.mark.line == 18


def test_a_line_between_two_points_runs_from_the_first_to_the_second(scene: Scene) -> None:
    """Oracle: by hand. From (0, 0, -30) to (0, 9, -30) is along y; a range may be written either way round."""
    assert scene.motions["throttle"].movement == Hinge((0, 0, -30), (0, 1, 0), (0, 80))


def test_a_travel_goes_along_a_unit_vector_and_takes_arithmetic_and_units(scene: Scene) -> None:
    """Oracle: by hand. 1/2 in is 12.7 mm."""
    assert scene.motions["wheel_bump"].movement == Travel((0, 0, 1), (-40, 60))
    assert scene.motions["wheel_bump"].placed_at == pytest.approx(12.7)


def test_a_rock_holds_the_ranges_that_are_given(scene: Scene) -> None:
    rock = scene.motions["engine_rock"].movement
    assert rock == Rock((0, 0, -20), ((-3, 3), (-1.5, 1.5), None), (None, None, (-6, 4)))
    assert scene.motions["engine_rock"].carries == ("engine_frame",)


def test_a_kind_stands_for_its_parts_and_a_motion_may_act_alone(scene: Scene) -> None:
    assert scene.motions["fan_spin"].carries == ("fan",)
    assert scene.motions["fan_spin"].movement == FullTurn((-260, 0, 0), (1, 0, 0))
    assert not scene.motions["fan_spin"].together


def test_a_path_is_a_list_of_stops(scene: Scene) -> None:
    stops = (Stop(), Stop((0, 12, 0)), Stop((0, 12, 0), (0, 0, 35)))
    assert scene.motions["latch_throw"].movement == MotionPath(stops, (0, 300, 640))


def test_an_axis_of_any_length_is_a_direction(tmp_path: Path) -> None:
    """Oracle: by hand. (0, 3, 4) has length 5."""
    path = tmp_path / "scene.yaml"
    path.write_text(
        "packcheck: 1\nparts: {lid: {box: [1, 1, 1]}}\n"
        "motions: {open: {carries: lid, hinge: {through: [0, 0, 0], axis: [0, 3, 4], to: 9}}}\n"
    )
    hinge = load_scene(path).motions["open"].movement
    assert isinstance(hinge, Hinge)
    assert hinge.axis == pytest.approx((0, 0.6, 0.8))
    assert hinge.range == (0, 9)
