"""Boxes, turns and lengths as a command line gives them, in the words of the scene file."""

from __future__ import annotations

import pytest

from packcheck.errors import SceneError
from packcheck.scene.asking import asked_box, asked_heights, asked_length, asked_turns
from packcheck.scene.model.scene import Axes, Scene

METRIC = Scene("bay.yaml")
INCHES = Scene("bay.yaml", units="in", axes=Axes("fore", "left", "up"))


def test_a_box_is_two_corners_in_any_order() -> None:
    """Oracle: by hand. Aft and right are positive with the default axes."""
    low, high = asked_box("700 aft, 0, 35 cm up to 300, 400 left, 0", METRIC)
    assert low == (300.0, -400.0, 0.0) and high == (700.0, 0.0, 350.0)


def test_a_box_is_in_the_units_and_axes_of_the_scene() -> None:
    """Oracle: by hand. An inch is 25.4 mm; aft is against an axis that points forward."""
    low, high = asked_box("1 aft, 2 left, 3 up to 10 mm fore, 3 left, 4 1/2 up", INCHES)
    assert low == pytest.approx((-25.4, 50.8, 76.2)) and high == pytest.approx((10.0, 76.2, 114.3))


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("1, 2, 3", "two opposite corners"),
        ("1, 2 to 3, 4, 5", "has 2 values, needs 3"),
        ("300 up, 0, 0 to 1, 2, 3", "'up' along x"),
        ("0, 0, 0 to 10, 0, 10", "no room along y"),
        ("1, 2, x to 2, 3, 4", "unknown name 'x'"),
        ("1 sft, 2, 3 to 3, 4, 5", "unknown direction word 'sft'"),
        ("[1 to 2", "cannot be read"),
        ("", "two opposite corners"),
    ],
)
def test_a_malformed_box_is_refused_with_a_mend(text: str, what: str) -> None:
    with pytest.raises(SceneError) as refused:
        asked_box(text, METRIC)
    (fault,) = refused.value.faults
    assert what in fault.what and "--within" in fault.what and fault.mend


def test_turns_are_those_of_the_file() -> None:
    """Oracle: the README's thumb rule. Leaning left turns about aft, swinging right about down."""
    assert asked_turns("now; 0, 0, 90; lean_left 90 swing_right 10", METRIC) == (
        ("now", None),
        ("0, 0, 90", (0.0, 0.0, 90.0)),
        ("lean_left 90 swing_right 10", (90.0, 0.0, -10.0)),
    )


@pytest.mark.parametrize("text", ["swing_lft 3", "0, 0", "nwo", "", "lean_left"])
def test_a_malformed_turn_is_refused_with_a_mend(text: str) -> None:
    with pytest.raises(SceneError) as refused:
        asked_turns(text, METRIC)
    (fault,) = refused.value.faults
    assert "--turns" in fault.what and fault.mend


def test_lengths_and_heights_are_read_in_the_units_of_the_scene() -> None:
    """Oracle: by hand."""
    assert asked_length("1/2", "--cell", INCHES) == pytest.approx(12.7)
    assert asked_heights("1 up, 20 mm, 2 down", INCHES) == pytest.approx((25.4, 20.0, -50.8))
    for text in ("0", "-3 mm", "x", "3 deg"):
        with pytest.raises(SceneError, match="--cell"):
            asked_length(text, "--cell", METRIC)
