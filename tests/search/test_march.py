"""Marches along functions of which every crossing is known: nothing thin is jumped, what is proven is true."""

from __future__ import annotations

import doctest
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from packcheck.search import march
from packcheck.search.march import Ended, Step, all_kept, closed_in, first_kept, kept_until

EPS = 1e-9
STOP = 1e-3


@dataclass(frozen=True, slots=True)
class Jagged:
    """A function of straight pieces through (x, y), none steeper than 1, from 0 to the last x."""

    x: tuple[float, ...]
    y: tuple[float, ...]

    def __call__(self, s: float) -> float:
        return float(np.interp(s, self.x, self.y))

    @property
    def end(self) -> float:
        return self.x[-1]

    def kept(self, least: float = 0.0) -> list[tuple[float, float]]:
        """Every stretch on which it is at least `least`, by the crossings of its pieces."""
        found: list[tuple[float, float]] = []
        for start, end in self._kept_in_pieces(least):
            if found and found[-1][1] == start:
                found[-1] = (found[-1][0], end)
            else:
                found.append((start, end))
        return found

    def _kept_in_pieces(self, least: float) -> Iterator[tuple[float, float]]:
        for k in range(len(self.x) - 1):
            (x0, x1), (y0, y1) = self.x[k : k + 2], self.y[k : k + 2]
            if min(y0, y1) >= least:
                yield x0, x1
            elif max(y0, y1) >= least:
                crossing = x0 + (least - y0) / (y1 - y0) * (x1 - x0)
                yield (x0, crossing) if y0 >= least else (crossing, x1)

    def kept_from_start(self, least: float = 0.0) -> float:
        """How far it is at least `least` from 0 on; -inf when it is not at 0."""
        first = next(iter(self.kept(least)), (np.inf, np.inf))
        return first[1] if first[0] == 0.0 else -np.inf


@st.composite
def jagged(draw: st.DrawFn) -> Jagged:
    """Pieces of 0.01 to 30 long; among them spikes 0.0002 to 0.4 wide that mostly cross zero."""
    x, y = [0.0], [draw(st.floats(-5, 5))]
    for _ in range(draw(st.integers(1, 12))):
        if draw(st.booleans()):
            half = 10 ** draw(st.floats(-4, -0.7))
            sign = -1.0 if y[-1] > 0 else 1.0
            near = sign * -half * draw(st.floats(0, 1))
            gone = abs(near - y[-1])
            x += [x[-1] + gone + EPS, x[-1] + gone + EPS + half, x[-1] + gone + EPS + 2 * half]
            y += [near, near + sign * half, near]
        else:
            width = draw(st.floats(0.01, 30))
            x.append(x[-1] + width)
            y.append(y[-1] + width * draw(st.floats(-1, 1)))
    return Jagged(tuple(x), tuple(y))


shares = st.floats(0.2, 1.0)


def step_of(f: Callable[[float], float], share: float, stop: float = 0.0) -> Step:
    """What proves only a share of what is true, and counts a margin below `stop` as used up."""

    def step(s: float) -> tuple[float, float]:
        value = f(s)
        kept = value if value < 0 else 0.0 if value < stop else share * value
        return kept, max(0.0, -share * value)

    return step


@given(jagged(), shares)
@settings(max_examples=400, deadline=None)
def test_what_is_proven_kept_is_kept_and_ends_only_where_the_margin_does(f: Jagged, share: float) -> None:
    """Oracle: closed form: the first crossing of zero, and of the least margin that is gone on with."""
    found = kept_until(step_of(f, share, STOP), 0.0, f.end)
    if f(0.0) < 0:
        assert (found.ended, found.proven, found.at) == (Ended.MISSED, 0.0, None)
        return
    assert found.proven <= f.kept_from_start() + EPS
    if found.ended is Ended.END:
        assert found.proven == f.end
    else:
        assert found.ended is Ended.KEPT and found.at == found.proven
        assert f(found.proven) < STOP
    assert found.proven >= f.kept_from_start(STOP) - EPS


@given(jagged(), shares, st.floats(0.01, 2.0), st.sampled_from([np.inf, 0.3, 1e-4]))
@settings(max_examples=400, deadline=None)
def test_nothing_wider_than_is_told_is_passed_over_and_what_is_ruled_out_is_missed(
    f: Jagged, share: float, resolution: float, within: float
) -> None:
    """Oracle: closed form: every stretch that is kept, from the crossings of the pieces."""
    found = first_kept(step_of(f, share), 0.0, f.end, resolution, within)
    assert found.coarse <= resolution
    kept = f.kept()
    assert all(start >= found.proven - EPS for start, _ in kept) or found.at == 0.0
    end = f.end if found.at is None else found.at
    passed_over = [(a, b) for a, b in kept if a < end and not a <= end <= b]
    assert all(min(b, end) - a < found.coarse + EPS for a, b in passed_over)
    if found.at is None:
        assert found.ended is Ended.END
        return
    assert found.ended is Ended.KEPT and f(found.at) >= 0
    begun = next(a for a, b in kept if a - EPS <= found.at <= b + EPS)
    assert found.at - begun <= min(within, max(resolution, found.coarse)) + EPS


@given(jagged(), shares, st.integers(0, 8))
@settings(max_examples=100, deadline=None)
def test_a_march_that_runs_out_of_questions_says_so_and_proves_what_it_says(
    f: Jagged, share: float, budget: int
) -> None:
    """Oracle: closed form: the crossings."""
    asked: list[float] = []

    def counted(s: float) -> tuple[float, float]:
        asked.append(s)
        return step_of(f, share, STOP)(s)

    found = kept_until(counted, 0.0, f.end, budget)
    assert found.asked == len(asked) <= budget
    assert f(0.0) < 0 or found.proven <= f.kept_from_start() + EPS
    if found.ended is Ended.SPENT:
        assert len(asked) == budget
    asked.clear()
    sought = first_kept(counted, 0.0, f.end, 0.1, budget=budget)
    assert sought.asked == len(asked) <= budget
    assert sought.at == 0.0 or all(start >= sought.proven - EPS for start, _ in f.kept())


@given(jagged(), jagged(), st.floats(0.0, 3.0))
@settings(max_examples=100, deadline=None)
def test_several_limits_are_kept_as_long_as_each_is(f: Jagged, g: Jagged, enough: float) -> None:
    """Oracle: closed form: the first crossing of either."""
    both = all_kept([step_of(f, 1.0, STOP), step_of(g, 1.0, STOP)], enough)
    end = min(f.end, g.end)
    found = kept_until(both, 0.0, end)
    assume(min(f(0.0), g(0.0)) >= 0)
    assert min(f.kept_from_start(STOP), g.kept_from_start(STOP), end) - EPS <= found.proven
    assert found.proven <= min(f.kept_from_start(), g.kept_from_start()) + EPS


def test_all_kept_asks_no_further_limit_than_one_that_is_surely_missed_for_long() -> None:
    asked = []

    def second(s: float) -> tuple[float, float]:
        asked.append(s)
        return 1.0, 0.0

    assert all_kept([lambda _: (-1.0, 0.5), second], 0.1)(3.0) == (-1.0, 0.5)
    assert not asked
    assert all_kept([lambda _: (-1.0, 0.05), second], 0.1)(3.0) == (-1.0, 0.05)
    assert asked == [3.0]
    assert all_kept([])(0.0) == (np.inf, 0.0)


def test_a_resolution_may_grow_with_the_way() -> None:
    """Oracle: by head: nothing proven, steps of 1, 2, 4, 8 from 1 on: 1, 2, 4, 8, 16; kept from 11 on."""
    asked = []

    def step(s: float) -> tuple[float, float]:
        asked.append(s)
        return s - 11, 0.0

    found = first_kept(step, 1.0, 100.0, lambda s: s)
    assert asked == [1, 2, 4, 8, 16]
    assert (found.at, found.coarse) == (16, 8)


def test_a_place_just_narrower_than_is_told_may_be_passed_over() -> None:
    """Oracle: by head: of 4 mm 1 is ruled out at each place, so that what is kept from 1.01 to 3.99 is not seen."""
    asked = []

    def step(s: float) -> tuple[float, float]:
        asked.append(s)
        return (0.0, 0.0) if 1.01 <= s <= 3.99 or s > 7 else (-1.0, 1.0)

    found = first_kept(step, 0.0, 9.0, 4.0, within=0.3)
    assert asked == [0, 4, 8, 6.5, 7.75]  # what is ruled out behind 4, and behind 6.5, is not asked again
    assert (found.at, found.proven, found.coarse) == (7.75, 1.0, 3.0)


@pytest.mark.parametrize("missed, kept, expected", [(0.0, 10.0, 7.0), (10.0, 0.0, 7.0)])
def test_closing_in_works_from_either_side(missed: float, kept: float, expected: float) -> None:
    """Oracle: by head: it is kept on the far side of 7."""
    closed = closed_in(lambda s: ((s - 7) * (kept - missed) + 1e-12, 0.0), missed, kept, 0.01)
    assert abs(closed.kept - expected) <= 0.01 and abs(closed.missed - expected) <= 0.01
    assert closed.asked == 10


def test_closing_in_goes_by_what_is_surely_missed() -> None:
    """Oracle: by head: told at 5 that all up to 7 is missed, and at 8.5 and 7.75 that it is kept there."""
    closed = closed_in(lambda s: (s - 7, max(0.0, 7 - s)), 0.0, 10.0, 0.8)
    assert (closed.missed, closed.kept, closed.asked) == (7.0, 7.75, 3)


@pytest.mark.parametrize("kept", [0.0, 1e-30])
def test_what_leaves_nothing_to_go_on_with_ends_there(kept: float) -> None:
    """A step that is too small to be told from none must not be taken for ever."""
    found = kept_until(lambda _: (kept, 0.0), 5.0, 6.0)
    assert (found.ended, found.proven, found.asked) == (Ended.KEPT, 5.0, 1)


def test_a_way_without_length_is_asked_once() -> None:
    assert kept_until(lambda _: (0.0, 0.0), 0.0, 0.0).ended is Ended.END
    assert kept_until(lambda _: (-1.0, 0.0), 0.0, 0.0).ended is Ended.MISSED
    assert first_kept(lambda _: (0.0, 0.0), 0.0, 0.0, 0.1).at == 0.0
    assert first_kept(lambda _: (-1.0, 0.0), 0.0, 0.0, 0.1).ended is Ended.END


def test_the_example_is_true() -> None:
    assert doctest.testmod(march).failed == 0
