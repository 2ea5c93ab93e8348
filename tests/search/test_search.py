"""The certified search on gaps whose least value is known, and against an oracle that resists it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packcheck.arrays import Floats
from packcheck.search import (
    Answer,
    Cell,
    Outcome,
    Probe,
    Problem,
    Sample,
    corner_bound,
    decide,
    first_below,
    least,
    stretches,
)
from tests.search.gauges import Counted, Points, grid, problem

seeds = st.integers(0, 2**32 - 1)


class Answering:
    """Stands in for a running search: answers a bound's questions, and wants as much as can be."""

    def __init__(self, function: object, target: float = -np.inf) -> None:
        self.target = target
        self.gauge = Counted(function)

    def sample(self, setting: Floats, enough: float) -> Sample:  # noqa: ARG002
        return self.gauge(setting, np.inf)


def random_points(seed: int, shifts: int = 1) -> tuple[Points, Cell]:
    rng = np.random.default_rng(seed)
    fixed = rng.uniform(-60, 60, (rng.integers(1, 4), 3))
    moving = rng.uniform(-60, 60, (rng.integers(1, 4), 3))
    ways = rng.normal(size=(shifts, 3))
    low = np.array([*rng.uniform(-20, 0, shifts), -rng.uniform(0, 1)])
    high = np.array([*rng.uniform(0, 20, shifts), rng.uniform(0, 1)])
    return Points(moving, fixed, ways, float(rng.uniform(0, 5))), Cell.of(low, high)


def test_the_least_of_a_valley_is_found_within_the_tolerance() -> None:
    """Oracle: closed form. 7 + |x - 3| + 2 |y + 1| is 7 at (3, -1)."""
    valley = problem(lambda at: 7 + abs(at[0] - 3) + 2 * abs(at[1] + 1), [-10, -10], [10, 10], [1, 2])
    found = least(valley, tolerance=0.05)
    assert found.answer is Answer.FOUND
    assert found.low <= 7 <= found.high <= found.low + 0.05
    assert found.at == pytest.approx([3, -1], abs=0.05)


def test_a_least_value_at_the_end_of_the_range_is_found() -> None:
    """Oracle: closed form. 10 - x is least at the end, x = 4."""
    found = least(problem(lambda at: 10 - at[0], [0], [4], [1]))
    assert found.low <= 6 <= found.high <= found.low + 0.05


def test_a_dip_far_thinner_than_any_sampling_is_found() -> None:
    """Oracle: closed form. The gap is 1 mm but for a fin of half width 0.001 that touches at x = 2.1234567."""
    found = decide(problem(lambda at: min(1, 1000 * abs(at[0] - 2.1234567)), [0], [4], [1000]), 0.5, 20_000)
    assert found.answer is Answer.BELOW
    assert abs(found.at[0] - 2.1234567) < 0.0005


def test_a_decision_is_made_by_the_first_proof() -> None:
    """Oracle: closed form. From 50, falling by 1 in 10: one look in the middle of [0, 10] proves 40."""
    far = problem(lambda at: 50 - at[0] / 10, [0], [10], [0.1])
    found = decide(far, 40)
    assert (found.answer, found.queries) == (Answer.ABOVE, 1)
    assert found.low >= 40


def test_the_first_setting_below_the_limit_ends_a_decision() -> None:
    """Oracle: closed form. 5 mm everywhere is below 6."""
    found = decide(problem(lambda _: 5.0, [0], [10], [1]), 6)
    assert (found.answer, found.queries, found.high) == (Answer.BELOW, 1, 5.0)


def test_a_gap_exactly_at_its_limit_stays_open_and_says_what_was_reached() -> None:
    """Oracle: closed form. |x - 1/3| + 2 touches its limit 2 in one point that halving never meets."""
    found = decide(problem(lambda at: abs(at[0] - 1 / 3) + 2, [0], [1], [1]), 2, budget=200)
    assert found.answer is Answer.OPEN
    assert found.low <= 2 <= found.high
    assert found.high - found.low < 1e-5
    assert found.queries <= 201


def test_a_budget_too_small_leaves_an_interval_that_holds_the_truth() -> None:
    """Oracle: closed form. 3 + |x - 1| has its least value, 3, at 1."""
    found = least(problem(lambda at: 3 + abs(at[0] - 1), [-50], [70], [1]), 0.001, budget=9)
    assert found.answer is Answer.OPEN
    assert found.queries <= 10
    assert found.low <= 3 <= found.high


def test_a_setting_without_a_lower_bound_ends_the_search_and_is_not_hidden() -> None:
    """Where the gauge proves nothing, nothing is proven."""

    def gauge(at: Floats, _: float) -> Sample:
        return Sample(-np.inf, 4.0) if at[0] < 3 else Sample(9.0, 9.0)

    found = decide(Problem(gauge, (Cell.of([0], [10]),), lambda cell: 9 * cell.halves), 2)
    assert found.answer is Answer.OPEN
    assert found.low == -np.inf
    closed = least(Problem(gauge, (Cell.of([0], [10]),), lambda cell: 9 * cell.halves))
    assert (closed.answer, closed.low) == (Answer.OPEN, -np.inf)


def test_all_roots_are_searched() -> None:
    """Oracle: closed form. Least, 1, in the second of three roots."""
    valley = problem(lambda at: 1 + abs(at[0] - 15), [0], [30], [1])
    roots = tuple(Cell.of([10 * k], [10 * k + 10]) for k in range(3))
    found = least(replace(valley, roots=roots))
    assert found.low <= 1 <= found.high <= found.low + 0.05


def test_a_parameter_of_no_width_costs_nothing() -> None:
    """Oracle: closed form. With y held at 2 the gap is 3 + |x|, least 3."""
    held = problem(lambda at: 1 + abs(at[0]) + at[1], [-5, 2], [5, 2], [1, 1])
    found = least(held)
    assert found.low <= 3 <= found.high <= found.low + 0.05
    assert len(held.roots[0].corners()) == 2


def test_what_the_gauge_need_not_tell_changes_no_answer() -> None:
    """Oracle: the same search on a gauge that tells everything."""

    def wave(at: Floats) -> float:
        return float(20 + 10 * math.sin(at[0]) + at[0])

    def whole(at: Floats, _: float) -> Sample:
        return Sample(wave(at), wave(at))

    told = replace(problem(wave, [0], [12], [11]), gauge=whole)
    clipped = problem(wave, [0], [12], [11])
    first, second = least(told), least(clipped)
    assert max(first.low, second.low) <= min(first.high, second.high)
    assert [decide(told, limit).answer for limit in (10, 15, 20)] == [
        decide(clipped, limit).answer for limit in (10, 15, 20)
    ]


@given(seeds)
@settings(max_examples=60, deadline=None)
def test_the_interval_holds_the_least_of_random_gaps(seed: int) -> None:
    """Oracle: brute force over 4000 settings, each of which bounds the least value from above."""
    points, cell = random_points(seed)
    corners = corner_bound(points.sag, points.radius)
    whole = Problem(Counted(points), (cell,), points.travel, (corners,))
    found = least(whole, 0.05, 4000)
    sampled = min(points(at) for at in grid(cell, 64))
    assert found.low <= sampled
    assert found.high >= found.low
    assert points(found.at) == pytest.approx(found.high)
    assert found.answer is Answer.FOUND or found.queries >= 4000
    for limit in (sampled - 1.0, sampled + 1.0):
        decided = decide(whole, limit, 4000)
        assert decided.answer is not (Answer.BELOW if limit < found.low else Answer.ABOVE)


@given(seeds, st.integers(1, 2))
@settings(max_examples=120, deadline=None)
def test_no_setting_of_a_cell_lies_below_its_corner_bound(seed: int, shifts: int) -> None:
    """Oracle: brute force over 500 and more settings of random cells of points that shift and turn."""
    points, cell = random_points(seed, shifts)
    while (travel := points.travel(cell).sum()) > points(cell.centre) + points.radius:
        cell = cell.halved(int(np.argmax(points.travel(cell))))[seed % 2]
        if travel < 1e-3:
            return
    value = points(cell.centre)
    probe = Probe(Answering(points), cell, Sample(value, value), float(travel))
    bound = corner_bound(points.sag, points.radius)(probe)
    assert bound <= min(points(at) for at in grid(cell, 24 if shifts == 1 else 9)) + 1e-9


def resisting(flat: float) -> Counted:
    """Answers the most it may, `flat`, and so shows no dip."""

    def answer(_: Floats) -> float:
        return flat

    return Counted(answer)


def deepest(asked: list[Floats], answers: float, steepness: Floats, settings_: Floats) -> float:
    """The deepest dip that such answers still permit."""
    apart = np.abs(settings_[:, None] - np.array(asked)[None]) @ steepness
    return float((answers - apart.min(axis=1)).min())


@pytest.mark.parametrize("budget", [1, 2, 7, 30, 200])
@pytest.mark.parametrize("steepness", [[3.0], [1.0, 2.5], [0.5, 1.0, 2.0]])
def test_an_oracle_that_resists_never_gets_below_the_reported_low(steepness: list[float], budget: int) -> None:
    """Oracle: the deepest dip that the answers permit, by brute force over 20 000 settings and more.

    A gap may sink by `steepness` a unit of each parameter; whoever answers "10" whenever asked may afterwards
    reveal a dip as deep as 10 less the way to the nearest setting that was asked.
    """
    steep = np.array(steepness)
    gauge = resisting(10.0)
    cell = Cell.of(np.zeros(len(steep)), np.full(len(steep), 8.0))
    found = least(Problem(gauge, (cell,), lambda cell: steep * cell.halves), 0.05, budget)
    settings_ = grid(cell, {1: 20_001, 2: 161, 3: 31}[len(steep)])
    assert found.low <= deepest(gauge.asked, 10.0, steep, settings_) + 1e-9
    decided = decide(Problem(gauge, (cell,), lambda cell: steep * cell.halves), 9.0, budget)
    if decided.answer is Answer.ABOVE:
        assert deepest(gauge.asked, 10.0, steep, settings_) >= 9.0


def test_the_stretches_of_a_wave_meet_their_closed_ends() -> None:
    """Oracle: closed form. 5 + 3 sin(x) is below 3.5 where sin(x) < -1/2: from 7 pi / 6 to 11 pi / 6."""
    wave = problem(lambda at: 5 + 3 * math.sin(at[0]), [0], [2 * math.pi], [3])
    told = stretches(wave, 3.5, 0.001)
    assert [stretch.answer for stretch in told] == [
        Answer.ABOVE,
        Answer.OPEN,
        Answer.BELOW,
        Answer.OPEN,
        Answer.ABOVE,
    ]
    below = told[2]
    assert told[1].start <= 7 * math.pi / 6 <= told[1].end < told[1].start + 0.003
    assert below.start - 7 * math.pi / 6 < 0.003
    assert 11 * math.pi / 6 - below.end < 0.003


@given(seeds)
@settings(max_examples=60, deadline=None)
def test_stretches_never_contradict_a_sample_and_leave_nothing_out(seed: int) -> None:
    """Oracle: brute force over 2000 settings."""
    points, cell = random_points(seed, 0)
    limit = float(np.median([points(at) for at in grid(cell, 50)]))
    told = stretches(Problem(Counted(points), (cell,), points.travel), limit, 0.002)
    assert told[0].start == cell.low[0]
    assert told[-1].end == cell.high[0]
    assert all(first.end == second.start for first, second in pairwise(told))
    for at in grid(cell, 2000):
        value = points(at)
        for stretch in told:
            if stretch.start <= at[0] <= stretch.end and stretch.answer is not Answer.OPEN:
                assert (value >= limit) if stretch.answer is Answer.ABOVE else (value < limit)


def test_a_search_never_forgets_where_it_was_started() -> None:
    """Oracle: closed form. The gap is 7 at 3.21, whatever the budget allows beside."""
    valley = problem(lambda at: 7 + 3 * abs(at[0] - 3.21), [-100], [100], [3])
    warm: Outcome = least(valley, budget=1, start=[np.array([3.21])])
    assert warm.high == 7
    assert warm.low <= 7


def test_the_first_miss_over_two_parameters_meets_its_closed_form() -> None:
    """Oracle: closed form. 20 - x + (y - 3)^2 / 100 is 5 first at x = 15, for y = 3."""
    bowl = problem(lambda at: 20 - at[0] + (at[1] - 3) ** 2 / 100, [0, -10], [40, 10], [1, 0.3])
    first = first_below(bowl, 5, 0.05)
    assert first.kept <= 15 < first.missed <= first.kept + 0.05


def test_what_is_kept_all_the_way_has_no_miss() -> None:
    first = first_below(problem(lambda at: 9 + at[0], [0], [40], [1]), 5, 0.05)
    assert (first.kept, first.missed) == (math.inf, math.inf)


def test_a_fin_in_one_setting_of_the_other_parameter_is_the_first_miss() -> None:
    """Oracle: closed form. 8 mm everywhere but for a fin of half width 0.02 at x = 1.3, y = 0.17."""
    fin = problem(lambda at: min(8.0, 200 * max(abs(at[0] - 1.3), abs(at[1] - 0.17))), [0, 0], [2, 0.4], [200, 200])
    first = first_below(fin, 4, 0.01, 200_000)
    assert first.kept <= 1.28 <= first.missed <= first.kept + 0.01


@given(seeds)
@settings(max_examples=60, deadline=None)
def test_the_first_miss_never_contradicts_a_sample(seed: int) -> None:
    """Oracle: brute force over 4000 settings: none before `kept` misses the limit, and `missed` is missed."""
    points, cell = random_points(seed)
    values = {tuple(at): points(at) for at in grid(cell, 64)}
    limit = float(np.quantile(list(values.values()), 0.2))
    first = first_below(Problem(Counted(points), (cell,), points.travel), limit, 0.05, 3000)
    assert all(value >= limit for at, value in values.items() if at[0] < first.kept)
    assert first.kept <= min(at[0] for at, value in values.items() if value < limit)


def never_decided(count: list[int]) -> Problem:
    """A gap that is its limit, 5, all over, so that no cell of it is ever told: each question is counted."""

    def gauge(at: Floats, enough: float) -> Sample:  # noqa: ARG001
        count.append(1)
        return Sample(5.0, 5.0)

    return Problem(gauge, (Cell.of(np.zeros(1), np.ones(1)),), lambda cell: cell.halves)


@pytest.mark.parametrize("budget", [1, 8, 60, 250])
@pytest.mark.parametrize("search", [
    lambda made, budget: decide(made, 5.0, budget),
    lambda made, budget: least(made, 1e-4, budget),
    lambda made, budget: stretches(made, 5.0, 1e-4, budget),
    lambda made, budget: first_below(made, 5.0, 1e-4, budget),
], ids=["decide", "least", "stretches", "first_below"])  # fmt: skip
def test_no_search_asks_more_than_its_budget(search: Callable[[Problem, int], object], budget: int) -> None:
    count: list[int] = []
    search(never_decided(count), budget)
    assert 1 <= len(count) <= budget + 2


def test_a_bound_that_stays_behind_ends_the_search() -> None:
    """Oracle: by hand: a gap of 1 whose bound is 2 mm off however small the cell: left open, within twice the
    budget of cells, also where halving a cell gives no new setting.
    """
    halved = []

    def travel(cell: Cell) -> Floats:
        halved.append(cell)
        return cell.halves + 2.0

    root = Cell(np.array([1.0]), np.nextafter([1.0], 2.0))
    found = least(Problem(lambda *_: Sample(1.0, 1.0), (root,), travel, []), budget=50)
    assert (found.answer, found.high) == (Answer.OPEN, 1.0)
    assert found.low <= -1.0
    assert len(halved) < 500
