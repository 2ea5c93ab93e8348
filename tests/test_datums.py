"""A point in the builder's words."""

from __future__ import annotations

import numpy as np
import pytest

from packcheck.datums import AxisWords, Datums, length_words
from packcheck.frames import Pose

FRAMES = {"bulkhead": Pose.of((100, 0, 0)), "hinge": Pose.of((1200, 0, 600), (0, 10, 0))}


@pytest.mark.parametrize("point, words", [
    ((158.1, -303.1, 118.0), "58 mm aft of bulkhead, 303 mm left, 118 mm up"),
    ((100, 0, 0), "at bulkhead"),
    ((100, 20, 0), "20 mm right of bulkhead"),
    ((1190, 0, 588), "10 mm forward of hinge, 12 mm down"),
    ((96.4, 0, 0), "3.6 mm forward of bulkhead"),
])  # fmt: skip
def test_place_is_told_from_the_nearest_datum(point: tuple[float, ...], words: str) -> None:
    """Oracle: by head; x aft, y right, z up, along the car's axes also from a tilted datum."""
    assert Datums(FRAMES).place(np.array(point)).text == words


def test_without_datums_it_is_told_from_the_cars_zero() -> None:
    place = Datums({}).place(np.array([10.0, -20, 0]))
    assert (place.datum, place.text) == ("car", "10 mm aft of the car's zero, 20 mm left")


def test_words_follow_the_axes_of_the_file() -> None:
    """Oracle: SAE J670e (1976) axes: x forward, y right, z down."""
    words = AxisWords("fore", "right", "down")
    assert words.shift_words(np.array([5.0, 0, -7.0])) == "5 mm forward and 7 mm up"
    assert (
        Datums({}, words).place(np.array([-5.0, -6, 7])).text == "5 mm aft of the car's zero, 6 mm left, 7 mm down"
    )


@pytest.mark.parametrize("length, words", [
    (25.4, "1 in"), (38.1, "1 1/2 in"), (1.5875, "1/16 in"), (365.125, "14 3/8 in"), (0.1, "0 in"),
])  # fmt: skip
def test_inches_are_told_in_sixteenths(length: float, words: str) -> None:
    """Oracle: 1 in = 25.4 mm."""
    assert length_words(length, "in") == words
