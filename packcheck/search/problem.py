"""What is searched and what comes of it: cells, samples, bounds, outcomes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import product
from typing import Any, Protocol, TypeAlias

import numpy as np

from packcheck.arrays import Floats, frozen

__all__ = ["Answer", "Bound", "Cell", "First", "Gauge", "Outcome", "Probe", "Problem", "Sample", "Stretch"]


@dataclass(frozen=True, slots=True, eq=False)
class Cell:
    """A box of settings: least and greatest value (k,) of each of k parameters, in whatever units they have."""

    low: Floats
    high: Floats

    @staticmethod
    def of(low: Sequence[float] | Floats, high: Sequence[float] | Floats) -> Cell:
        return Cell(frozen(low), frozen(high))

    @property
    def centre(self) -> Floats:
        return (self.low + self.high) / 2

    @property
    def halves(self) -> Floats:
        """Half the width (k,) along each parameter, rounded up so that no setting lies outside."""
        centre = self.centre
        return np.maximum(self.high - centre, centre - self.low)

    def corners(self) -> Floats:
        """All corners, (2^k, k); widths of nothing give no corners of their own."""
        ends = [(low,) if low == high else (low, high) for low, high in zip(self.low, self.high, strict=True)]
        return np.array(list(product(*ends)))

    def halved(self, axis: int) -> tuple[Cell, Cell]:
        middle, low, high = self.centre[axis], self.low.copy(), self.high.copy()
        high[axis] = low[axis] = middle
        return Cell(self.low, frozen(high)), Cell(frozen(low), self.high)


@dataclass(frozen=True, slots=True, eq=False)
class Sample:
    """The gap at one setting lies in [`low`, `high`]; -inf and inf are no bound. `witness` is the gauge's own."""

    low: float
    high: float
    witness: Any = None


Gauge: TypeAlias = Callable[[Floats, float], Sample]
"""The gap at parameters (k,). It need not be told beyond `enough`: Sample(enough, inf) will do there."""


class Asking(Protocol):
    """The search that a bound is asked by."""

    @property
    def target(self) -> float: ...

    def sample(self, setting: Floats, enough: float) -> Sample: ...


class Probe:
    """What a bound may ask while it looks at a cell: the sample in the middle, and samples elsewhere.

    `wanted` is what the bound of the cell must reach for the search to be done with it; to fall short by more than
    a little is no use.
    """

    def __init__(self, asking: Asking, cell: Cell, centre: Sample, travel: float) -> None:
        self._asking = asking
        self.cell, self.centre, self.travel = cell, centre, travel
        self.hinted: tuple[Floats, float] | None = None

    @property
    def wanted(self) -> float:
        return self._asking.target

    def at(self, setting: Floats, enough: float) -> Sample:
        """The gap at `setting` (k,), remembered; counted as a query when it is new."""
        return self._asking.sample(setting, enough)

    def hint(self, setting: Floats, gap: float) -> None:
        """`setting` (k,) is where the gap is likely to be least in the cell, and about `gap` there."""
        self.hinted = setting, gap


Bound: TypeAlias = Callable[[Probe], float]
"""A proven lower bound of the gap over the probe's cell, -inf when it has none."""


@dataclass(frozen=True, slots=True, eq=False)
class Problem:
    """What is searched.

    Parameters
    ----------
    gauge : Gauge
        The gap at one setting.
    roots : cells that together hold every setting
        More than one where the motion has kinks, so that no cell straddles one.
    travel : callable, cell -> (k,)
        What each parameter adds to how far, at the most, any point of one part travels relative to the other
        between the cell's middle and anywhere in the cell; in the units of the gap.
    bounds : further bounds
        Asked in turn until one reaches what is wanted.
    """

    gauge: Gauge
    roots: tuple[Cell, ...]
    travel: Callable[[Cell], Floats]
    bounds: Sequence[Bound] = ()


class Answer(StrEnum):
    """Where the gap is, against a limit."""

    ABOVE = "above"  # everywhere at or above the limit
    BELOW = "below"  # somewhere surely below it; of a stretch: everywhere below it
    FOUND = "found"  # the least gap is closed in to within the tolerance
    OPEN = "open"  # not decided


@dataclass(frozen=True, slots=True, eq=False)
class Outcome:
    """The least gap lies in [`low`, `high`]; `at` (k,) is the setting that gave `high`, `sample` the gap there."""

    low: float
    high: float
    at: Floats
    sample: Sample
    answer: Answer
    queries: int


@dataclass(frozen=True, slots=True)
class Stretch:
    """From `start` to `end` of the one parameter the gap is above or below the limit, or it is left open."""

    start: float
    end: float
    answer: Answer


@dataclass(frozen=True, slots=True)
class First:
    """Along one parameter a limit is surely kept up to `kept`, and not proven to be at `missed` (inf: anywhere)."""

    kept: float
    missed: float
