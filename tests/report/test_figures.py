"""Rounding. Oracle throughout: decimal arithmetic by hand."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from packcheck.report.text.figures import Toward, length, plain, rounded


@pytest.mark.parametrize(
    ("value", "toward", "expected"),
    [
        (8.2996, Toward.DOWN, 8.299),
        (8.2994, Toward.UP, 8.3),
        (-6.2004, Toward.DOWN, -6.201),
        (-6.2004, Toward.UP, -6.2),
        (-6.2, Toward.DOWN, -6.2),
        (1.1 + 2.2, Toward.UP, 3.3),
        (8.299999999999999, Toward.DOWN, 8.3),
    ],
)
def test_a_figure_is_rounded_the_way_asked_and_float_noise_is_not_a_figure(
    value: float, toward: Toward, expected: float
) -> None:
    assert rounded(value, 3, toward) == expected


@given(st.floats(-1e6, 1e6))
def test_a_low_end_is_never_raised_nor_a_high_end_lowered(value: float) -> None:
    """Within 1e-9 mm, far below what can be measured."""
    assert rounded(value, 3, Toward.DOWN) <= value + 1.01e-9
    assert rounded(value, 3, Toward.UP) >= value - 1.01e-9


@given(st.floats(-1e6, 1e6))
def test_rounding_to_nearest_stays_within_half_a_step(value: float) -> None:
    assert abs(rounded(value) - value) <= 0.0005 + 1e-9


def test_nothing_is_minus_zero() -> None:
    assert math.copysign(1.0, rounded(-0.0001)) == 1.0


def test_a_number_with_no_decimals_left_is_kept() -> None:
    assert rounded(1e300) == 1e300


@pytest.mark.parametrize(("value", "expected"), [(10.0, "10"), (12.7, "12.7"), (0.0, "0"), (9.5254, "9.525")])
def test_a_typed_figure_has_no_trailing_zeros(value: float, expected: str) -> None:
    assert plain(value) == expected


@pytest.mark.parametrize(
    ("mm", "units", "expected"),
    [(8.2, "mm", "8.2 mm"), (8.2, "cm", "8.2 mm"), (12.7, "in", "0.500 in (12.7 mm)"), (math.inf, "mm", "endless")],
)
def test_lengths_are_mm_and_in_inch_scenes_inches_with_mm_in_brackets(mm: float, units: str, expected: str) -> None:
    assert length(mm, units) == expected


def test_a_low_end_in_inches_is_rounded_down_too() -> None:
    """Oracle: 10 mm is 0.39370 in."""
    assert length(10.0, "in", Toward.DOWN) == "0.393 in (10.0 mm)"
