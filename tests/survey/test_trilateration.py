"""Points from tapes, against published examples."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest

from packcheck.arrays import Floats, frozen
from packcheck.datums import AxisWords
from packcheck.frames import Pose
from packcheck.survey.adjust import adjusted_from, lacks
from packcheck.survey.network import State
from packcheck.survey.solve import Hints, solve
from packcheck.survey.weak import best_help, candidates, way_words, weaknesses
from tests.survey.networks import Maker, ranged

M = 1000.0
THREE = M * np.array([(27.297, -4.953, 1.47), (25.475, -6.124, 2.36), (22.590, 0.524, 1.2)])
THREE_RANGES = M * np.array([3.851, 3.875, 3.514])
PAIR = M * np.array([(24.312291, -2.520452, 1.536488), (24.350615, -2.481095, 1.666729)])
SIX = M * np.array(
    [
        (27.297, -4.953, 1.47),
        (20.693, -4.849, 1.93),
        (22.590, 0.524, 1.2),
        (17.113, -3.003, 2.17),
        (22.554, 4.727, 1.77),
        (22.447, -7.880, 1.6),
    ]
)
SIX_RANGES = M * (np.array([3.652, 7.036, 4.586, 9.960, 7.542, 7.883]) - np.array([0, 0, 0, 0.12, 0.14, 0]))
UP = AxisWords("aft", "right", "up")


def test_three_ranges_leave_two_mirror_places() -> None:
    """Oracle: Norrdine, IPIN 2012, example A; both places solve its three circles to 1e-15 m."""
    solution = solve(ranged(THREE, THREE_RANGES, 1.0))
    (twin,) = solution.twins
    places = sorted([twin.here, twin.there], key=lambda place: float(place[2]))
    np.testing.assert_allclose(places, PAIR, atol=2e-3)


@pytest.mark.parametrize("order", ["p q", "q p"])
def test_the_point_with_two_places_is_the_one_that_is_named(order: str) -> None:
    """Oracle: by construction. p is taped from three points of z = 0 and from q, which lies in z = 0; q from five
    that do not lie in a plane: only p has a mirror place, below what it was read from."""
    anchors = {"a": (0, 0, 0), "b": (500, 0, 0), "c": (0, 400, 0), "d": (300, 300, 450), "e": (-200, 250, -300)}
    truth = {"p": np.array([150.0, 120, 200]), "q": np.array([400.0, 300, 0])}
    maker = Maker().fixed(**anchors).free(*order.split())
    for name, near in (("p", "abc"), ("q", "abcde")):
        for anchor in near:
            maker.read("distance", f"{anchor} {name}", float(np.linalg.norm(truth[name] - anchors[anchor])), 1.0)
    maker.read("distance", "p q", float(np.linalg.norm(truth["p"] - truth["q"])), 1.0)
    (twin,) = solve(maker.made()).twins
    assert twin.name == "p"
    places = sorted([twin.here, twin.there], key=lambda place: float(place[2]))
    np.testing.assert_allclose(places, [[150, 120, -200], [150, 120, 200]], atol=1e-3)


@pytest.mark.parametrize(("way", "place"), [(1.0, PAIR[1]), (-1.0, PAIR[0])], ids=["above", "below"])
def test_a_hint_chooses_between_mirror_places(way: float, place: Floats) -> None:
    """Oracle: Norrdine, IPIN 2012, example A; the upper and the lower of the two places."""
    hints = Hints(way={"p": frozen([0, 0, way])})
    solution = solve(ranged(THREE, THREE_RANGES, 1.0), hints)
    assert not solution.twins
    assert [twin.name for twin in solution.chosen] == ["p"]
    np.testing.assert_allclose(solution.adjustment.placed[-1], place, atol=2e-3)


def test_a_rough_place_chooses_too() -> None:
    """Oracle: Norrdine, IPIN 2012, example A."""
    hints = Hints(near={"p": frozen(PAIR[1] + 20)})
    np.testing.assert_allclose(
        solve(ranged(THREE, THREE_RANGES, 1.0), hints).adjustment.placed[-1], PAIR[1], atol=2e-3
    )


def test_six_ranges_give_the_least_squares_place() -> None:
    """Oracle: Norrdine, IPIN 2012, example B; its least-squares place and sum of squares, 1.029238e-3 m^2."""
    adjustment = solve(ranged(SIX, SIX_RANGES, 20.0)).adjustment
    np.testing.assert_allclose(adjustment.placed[-1], M * np.array([26.784011, -1.328696, 1.452564]), atol=2e-3)
    assert adjustment.left @ adjustment.left == pytest.approx(1.029238e-3 * M**2, rel=1e-5)
    assert adjustment.freedom == 3


def test_anchors_in_one_plane_leave_the_height_weak_and_the_warning_says_so() -> None:
    """Oracle: Norrdine, IPIN 2012, example B: the anchors lie nearly level, and the place found is 0.32 m too high
    while it is within 0.03 m level."""
    adjustment = solve(ranged(SIX, SIX_RANGES, 20.0)).adjustment
    (weak,) = weaknesses(adjustment)
    assert way_words(weak.way, UP) == "up and down (the vertical)"
    truth = M * np.array([26.759, -1.342, 1.13])
    off = adjustment.placed[-1] - truth
    assert abs(off @ weak.way) == pytest.approx(np.linalg.norm(off), rel=0.01)
    assert abs(off @ weak.way) < 2 * weak.standard


def test_the_reading_that_helps_most_is_a_height() -> None:
    """Oracle: brute force. Each reading offered is added in turn, and the covariance inverted anew."""
    network = ranged(SIX, SIX_RANGES, 20.0)
    maker = Maker()
    maker.spots, maker.readings = list(network.spots), list(network.readings)
    maker.fixed(o=(0, 0, 0), ox=(M, 0, 0), oy=(0, M, 0), oz=(0, 0, M))
    adjustment = solve(maker.made()).adjustment
    (weak,) = weaknesses(adjustment)
    target = np.asarray(weak.way)
    axes = {"fore and aft place": (7, 8), "sideways place": (7, 9), "height": (7, 10)}
    offered = list(candidates(adjustment, range(7), axes))
    found = best_help(adjustment, target, offered)
    assert found is not None
    assert found.text == "the height of p"
    after = []
    for reading in offered:
        more = Maker()
        more.spots, more.readings = list(maker.spots), [*maker.readings, reading]
        _, slopes = more.made().evaluate(adjustment.state)
        after.append(sqrt(target @ np.linalg.inv(slopes.T @ slopes) @ target))
    assert found.after == pytest.approx(min(after), rel=1e-6)
    assert found.before == pytest.approx(weak.standard, rel=1e-6)


def test_level_network_agrees_with_the_textbook() -> None:
    """Oracle: Wolf and Ghilani, Adjustment Computations, trilateration example 14.1 (inputs from memory; the answer
    computed apart, U = (6861.317, 3727.819) ft with residuals -0.0374, 0.0768, -0.0474 of expected less read)."""
    maker = Maker().fixed(a=(865.40, 4527.15, 0), b=(2432.55, 2047.25, 0), c=(2865.22, 27.15, 0))
    maker.fixed(o=(0, 0, 0), oz=(0, 0, M)).free("u")
    for name, length in {"a": 6049.00, "b": 4736.83, "c": 5446.49}.items():
        maker.read("distance", f"{name} u", length, 0.0977)
    maker.read("along", "u o o oz", 0.0, 1e-3)
    adjustment = solve(maker.made(), Hints(near={"u": frozen([7000, 4000, 0])})).adjustment
    np.testing.assert_allclose(adjustment.placed[-1][:2], (6861.317, 3727.819), atol=2e-3)
    np.testing.assert_allclose(np.abs(adjustment.left[:3]), (0.0374, 0.0768, 0.0474), atol=2e-4)
    assert np.sqrt(np.sum(adjustment.left[:3] ** 2)) == pytest.approx(0.0977, abs=2e-4)
    np.testing.assert_allclose(np.sqrt(np.diag(adjustment.covariance))[:2], (0.0775, 0.1542), atol=3e-4)


def test_two_tapes_leave_a_point_free_to_go_round() -> None:
    """Oracle: closed form. Two spheres about points on the x axis meet in a circle about it; the point is free
    along the circle, square to the axis and to the radius."""
    adjustment = solve(ranged({"a": (0, 0, 0), "b": (400, 0, 0)}, (250, 250), 1.0)).adjustment
    (lack,) = lacks(adjustment)
    assert (lack.name, lack.missing, lack.readings) == ("p", 1, 2)
    assert lack.directions.shape == (1, 3)
    place = adjustment.placed[-1]
    np.testing.assert_allclose(np.hypot(place[1], place[2]), 150.0, atol=1e-6)
    assert abs(lack.directions[0] @ np.array([1, 0, 0])) < 1e-6
    assert abs(lack.directions[0] @ (place - [200, 0, 0])) < 1e-4


def test_redundancies_sum_to_the_freedom_and_a_just_fixed_point_has_none() -> None:
    """Oracle: the trace of the residual projector is rows less rank."""
    spare = solve(ranged(SIX, SIX_RANGES, 20.0)).adjustment
    assert spare.redundancy.sum() == pytest.approx(3, abs=1e-9)
    bare = solve(ranged(THREE, THREE_RANGES, 1.0)).adjustment
    np.testing.assert_allclose(bare.redundancy, 0, atol=1e-9)
    assert bare.fit_chance == 1.0


def test_covariance_is_what_repeated_surveys_scatter_by() -> None:
    """Oracle: brute force, 3000 surveys of one point with drawn errors of 2 mm."""
    anchors = np.array([(0, 0, 0), (500, 0, 50), (0, 450, -80), (420, 380, 300), (100, 200, 500)], dtype=float)
    truth = np.array([210, 160, 140.0])
    true_ranges = np.linalg.norm(anchors - truth, axis=1)
    rng = np.random.default_rng(4)
    predicted = solve(ranged(anchors, true_ranges, 2.0)).adjustment.covariance
    found: list[Floats] = []
    for _ in range(3000):
        network = ranged(anchors, true_ranges + rng.normal(scale=2.0, size=5), 2.0)
        found.append(adjusted_from(network, State(truth[None, :].copy(), ())).placed[-1])
    np.testing.assert_allclose(np.cov(np.array(found).T), predicted, atol=0.12 * predicted.max())


@pytest.mark.parametrize(("marks", "missing"), [(1, 3), (2, 1)])
def test_a_body_held_by_too_few_marks_lacks_as_many_ways_as_are_left(marks: int, missing: int) -> None:
    """Oracle: rigid kinematics. Held in one point it turns three ways, in two it turns about their line."""
    maker = (
        Maker().on("part", m0=(0, 0, 0), m1=(90, 0, 0)).fixed(o=(0, 0, 0), ox=(M, 0, 0), oy=(0, M, 0), oz=(0, 0, M))
    )
    for mark in range(marks):
        for axis, at in zip(("ox", "oy", "oz"), (100 + 90 * mark, 50, 30), strict=True):
            maker.read("along", f"m{mark} o o {axis}", float(at), 1.0)
    hints = Hints(guesses={"part": lambda _: Pose.of((100, 50, 30))})
    (lack,) = lacks(solve(maker.made(), hints).adjustment)
    assert (lack.name, lack.missing) == ("part", missing)
    assert lack.directions.shape == (missing, 3)
