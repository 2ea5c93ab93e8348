"""How much may be asked to tell on which part of its way a pair falls short."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import numpy as np

from packcheck.arrays import Floats
from packcheck.search import Cell, Problem, Sample
from packcheck.studies.moving_way import PARTS_OF_THE_WAY, SHARE_BUDGET, STRETCH_BUDGET, Way, proven_share


def never_decided(count: list[int]) -> Problem:
    """A gap of 5 all over, of which no cell is ever told to be above or below 5."""

    def gauge(at: Floats, enough: float) -> Sample:  # noqa: ARG001
        count.append(1)
        return Sample(5.0, 5.0)

    return Problem(gauge, (Cell.of(np.zeros(1), np.ones(1)),), lambda cell: cell.halves)


def test_a_way_that_nothing_decides_is_told_within_its_budget_and_all_of_it_is_open() -> None:
    count: list[int] = []
    pair = cast(Any, SimpleNamespace(drives=[SimpleNamespace(low=0.0, high=1.0)]))
    spans = Way(never_decided(count), 0, pair).spans(5.0)
    assert PARTS_OF_THE_WAY > STRETCH_BUDGET  # else the budget would end nothing here
    assert len(count) <= STRETCH_BUDGET
    assert spans == [(0.0, 1.0)]


def test_each_share_is_asked_within_its_budget() -> None:
    """Five halvings of the ranges, each with a budget of its own."""
    count: list[int] = []
    assert proven_share(never_decided(count), 5.0) == 0.0
    assert len(count) <= 5 * (SHARE_BUDGET + 2)
