"""What instruments promise, against published tables."""

from __future__ import annotations

from math import sqrt

import pytest

from packcheck.survey.accuracy import HOOK, READING, averaged, from_limits, permissible_error, tape_standard


@pytest.mark.parametrize(
    ("tape", "length", "most"),
    [
        ("I", 3000, 0.4),
        ("II", 3000, 0.9),
        ("III", 3000, 1.8),
        ("I", 5000, 0.6),
        ("II", 5000, 1.3),
        ("III", 5000, 2.6),
        ("II", 310, 0.5),
        ("II", 1000, 0.5),
        ("II", 1000.1, 0.7),
    ],
)
def test_permissible_error_of_a_class(tape: str, length: float, most: float) -> None:
    """Oracle: 2014/32/EU annex X (OIML R 35-1): a + b L with L rounded up to whole metres; I 0.1/0.1, II 0.3/0.2,
    III 0.6/0.4 mm."""
    assert permissible_error(tape, length) == pytest.approx(most, abs=1e-12)


@pytest.mark.parametrize(("tape", "more"), [("I", 0.1), ("II", 0.2), ("III", 0.3)])
def test_a_zero_at_the_end_of_the_tape_costs_more(tape: str, more: float) -> None:
    """Oracle: the same annex, c = 0.1, 0.2, 0.3 mm."""
    assert permissible_error(tape, 800, from_end=True) - permissible_error(tape, 800) == pytest.approx(more)


def test_limits_become_a_standard_uncertainty() -> None:
    """Oracle: GUM H.1: a coefficient within 2e-6, rectangular, has 1.2e-6 (1.155e-6)."""
    assert from_limits(2e-6) == pytest.approx(1.155e-6, rel=1e-3)


def test_allowances_add_as_squares() -> None:
    """Oracle: closed form. Class II over 900 mm from a hook, 0.7; hook 0.5; reading 0.5; sag of 9 mm, 8/3 81/900 =
    0.24 mm; each over the root of three."""
    expected = sqrt((0.7**2 + HOOK**2 + READING**2 + 0.24**2) / 3)
    assert tape_standard("II", 900) == pytest.approx(expected)
    assert tape_standard("II", 900, hook=0, sag=0) == pytest.approx(sqrt((0.5**2 + READING**2) / 3))


def test_repeats_shrink_their_scatter_and_not_the_promise() -> None:
    """Oracle: closed form. 310, 312, 311 have mean 311 and deviation 1; u^2 = 0.6^2 + 1/3."""
    found = averaged([310, 312, 311], 0.6)
    assert (found.value, found.count) == (311, 3)
    assert found.scatter == pytest.approx(1.0)
    assert found.standard == pytest.approx(sqrt(0.36 + 1 / 3))
    assert not found.wild


def test_one_reading_is_worth_what_the_instrument_promises() -> None:
    assert (averaged([310], 0.6).standard, averaged([310], 0.6).scatter) == (0.6, None)


def test_repeats_that_cannot_agree_are_called_wild() -> None:
    """Oracle: chi-square. Deviation 5 against a promise of 0.6 with two degrees of freedom: chance below 1e-10."""
    assert averaged([305, 310, 315], 0.6).wild
