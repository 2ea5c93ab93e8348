"""Which reading is wrong: planted mistakes and honest surveys."""

from __future__ import annotations

import numpy as np
import pytest

from packcheck.arrays import Floats
from packcheck.survey.adjust import Adjustment
from packcheck.survey.blunders import find_blunders, least_detectable, outlying, stands_alone
from packcheck.survey.solve import solve
from tests.survey.networks import Maker, ranged

ANCHORS = np.array(
    [(0, 0, 0), (500, 0, 50), (0, 450, -80), (420, 380, 300), (100, 200, 500), (450, 100, 400)], dtype=float
)
TRUTH = np.array([210, 160, 140.0])
RANGES = np.linalg.norm(ANCHORS - TRUTH, axis=1)


def surveyed(errors: Floats) -> Adjustment:
    return solve(ranged(ANCHORS, RANGES + errors, 1.0)).adjustment


def test_a_planted_blunder_is_named_with_what_the_others_say() -> None:
    """Oracle: the planted truth. One tape of six reads 10 mm too much; the others are right to a tenth."""
    errors = np.array([0.1, -0.1, 0.05, 10.0, -0.05, 0.1])
    found = find_blunders(surveyed(errors))
    (suspect,) = found.suspects
    assert (suspect.reading, suspect.rivals, found.settled) == (3, (), True)
    assert suspect.others == pytest.approx(RANGES[3], abs=0.5)
    assert abs(suspect.others - RANGES[3]) < 3 * suspect.standard
    np.testing.assert_allclose(found.adjustment.placed[-1], TRUTH, atol=0.5)


def test_two_planted_blunders_are_both_named() -> None:
    """Oracle: the planted truth."""
    errors = np.array([0.1, 30.0, 0.05, -45.0, -0.05, 0.1])
    found = find_blunders(surveyed(errors))
    assert {suspect.reading for suspect in found.suspects if not suspect.rivals} <= {1, 3}
    assert found.suspects


def test_readings_that_cannot_be_told_apart_are_all_named_and_none_is_set_aside() -> None:
    """Oracle: geometry. Four tapes to one point leave one redundancy, so several explain the misfit alone."""
    network = ranged(ANCHORS[:4], RANGES[:4] + np.array([0, 0, 40.0, 0]), 1.0)
    found = find_blunders(solve(network).adjustment)
    (suspect,) = found.suspects
    assert {2} < {suspect.reading, *suspect.rivals}
    assert found.aside == ()
    assert not found.settled


def test_an_honest_survey_raises_no_alarm() -> None:
    """Oracle: the planted truth, errors of half the stated accuracy."""
    found = find_blunders(surveyed(np.array([0.5, -0.5, 0.4, -0.3, 0.5, -0.4])))
    assert found.suspects == ()
    assert found.settled


def test_limit_of_the_test_is_the_normal_one() -> None:
    """Oracle: tables of the normal distribution: two-sided 1 % at 2.576; Baarda's 0.1 % at 3.291, which is ours for
    ten readings (1 - 0.99^(1/10) = 0.1005 %)."""
    assert outlying(1) == pytest.approx(2.576, abs=1e-3)
    assert outlying(10) == pytest.approx(3.291, abs=2e-3)


def test_residual_divided_by_redundancy_is_the_mistake() -> None:
    """Oracle: Baarda 1968. A small mistake among perfect readings shows as its size times its share."""
    adjustment = surveyed(np.array([0, 0, 0.01, 0, 0, 0]))
    assert adjustment.left[2] / adjustment.redundancy[2] == pytest.approx(0.01, rel=1e-4)


def test_unchecked_readings_are_listed() -> None:
    """Oracle: counting. Point q hangs on three tapes alone, so none of them is checked; those of p are."""
    network = ranged(ANCHORS, RANGES, 1.0)
    maker = Maker()
    maker.spots, maker.readings = list(network.spots), list(network.readings)
    maker.free("q")
    for name, at in zip(("a0", "a1", "a2"), ANCHORS, strict=False):
        maker.read("distance", f"{name} q", float(np.linalg.norm(at - [300, 300, -200])), 1.0)
    adjustment = solve(maker.made()).adjustment
    assert stands_alone(adjustment) == (6, 7, 8)
    assert np.all(np.isinf(least_detectable(adjustment)[6:]))
    assert np.all(least_detectable(adjustment)[:6] < 15)
