"""Picked points in words: places, distances, frames."""

from __future__ import annotations

import numpy as np
import pytest
import yaml

from packcheck.datums import AxisWords, Datums
from packcheck.frames import Pose, turn_matrix
from packcheck.viewer.picks import frame_of, frame_snippet, pick_lines

DATUMS = Datums({"bulkhead": Pose.of([100, 0, 0])})


def test_one_pick_is_told_from_the_nearest_datum() -> None:
    assert pick_lines([np.array([158.0, -303.0, 118.0])], DATUMS, "mm") == [
        "1. 58 mm aft of bulkhead, 303 mm left, 118 mm up"
    ]


def test_two_picks_are_told_apart() -> None:
    """Oracle: closed form, 3-4-12: 13 mm."""
    said = pick_lines([np.zeros(3), np.array([3.0, -4.0, 12.0])], DATUMS, "mm")[-1]
    assert said == "apart 13.0 mm: 3.0 mm aft, 4.0 mm left, 12.0 mm up"
    inches = Datums({}, AxisWords(units="in"))
    assert pick_lines([np.zeros(3), np.array([25.4, 0, 0])], inches, "in")[-1].startswith(
        "apart 1.000 in (25.4 mm)"
    )


@pytest.mark.parametrize("seed", range(8))
def test_three_picks_make_the_frame_they_were_made_of(seed: int) -> None:
    """Oracle: closed form. Points at 0, on x and in the x-y plane of a known pose give that pose back."""
    rng = np.random.default_rng(seed)
    pose = Pose.of(rng.uniform(-500, 500, 3), rng.uniform(-80, 80, 3))
    picks = [
        pose.apply(np.array(p)) for p in ([0.0, 0, 0], [rng.uniform(5, 90), 0, 0], [rng.uniform(-50, 50), 40.0, 0])
    ]
    frame = frame_of(picks)
    assert frame is not None
    assert frame[0] == pytest.approx(pose.translation)
    assert frame[1] == pytest.approx(pose.rotation)


def test_the_snippet_is_yaml_that_says_so() -> None:
    """Oracle: the snippet read by a YAML library, and its turn worked out again."""
    picks = [np.array([10.0, 20.0, 30.0]), np.array([10.0, 120.0, 30.0]), np.array([-50.0, 20.0, 30.0])]
    said = yaml.safe_load(pick_lines(picks, DATUMS, "mm")[-1])["picked"]
    assert said["at"] == [10, 20, 30]
    assert turn_matrix(said["turn"]) == pytest.approx(np.array([[0, -1, 0], [1, 0, 0], [0, 0, 1]]), abs=1e-5)


def test_the_snippet_is_in_the_units_of_the_scene() -> None:
    picks = [np.array([25.4, 0.0, 0.0]), np.array([50.8, 0.0, 0.0]), np.array([25.4, 25.4, 0.0])]
    assert yaml.safe_load(frame_snippet(picks, "in"))["picked"]["at"] == [1, 0, 0]


def test_three_picks_in_a_line_make_no_frame() -> None:
    picks = [np.zeros(3), np.array([10.0, 0, 0]), np.array([20.0, 0.0, 0.0])]
    assert frame_snippet(picks, "mm") == ""
    assert "no frame" in pick_lines(picks, DATUMS, "mm")[-1]
