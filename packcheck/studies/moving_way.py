"""On what part of its way does a pair fall short? One parameter followed from end to end, all others held."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from packcheck.arrays import Floats
from packcheck.assembly.moving_pairs import MovingPair
from packcheck.assembly.telling import span_words
from packcheck.search import Answer, Cell, Problem, stretches

__all__ = ["Way"]

PARTS_OF_THE_WAY = 500
"""The part of the way that falls short is told to within so many parts of all of it."""

STRETCH_BUDGET = 300
"""Gaps asked for one such telling."""


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """The way of one parameter of a pair, all others held."""

    problem: Problem
    axis: int
    pair: MovingPair

    @staticmethod
    def of(problem: Problem, pair: MovingPair, setting: Floats) -> Way | None:
        """The way of the parameter that moves most; None where all are those of a rock."""
        free = [k for k, drive in enumerate(pair.drives) if not drive.word]
        if not free:
            return None
        travel = problem.travel(problem.roots[0])
        axis = max(free, key=lambda k: float(travel[k]))
        held = np.arange(len(setting)) != axis
        roots = tuple(
            Cell.of(np.where(held, setting, root.low), np.where(held, setting, root.high))
            for root in problem.roots
            if ((setting >= root.low) & (setting <= root.high))[held].all()
        )
        return Way(replace(problem, roots=roots), axis, pair)

    def spans(self, limit: float) -> list[tuple[float, float]]:
        """From where to where the gap may be below `limit`; all the rest of the way is proven to keep it."""
        drive = self.pair.drives[self.axis]
        resolution = (drive.high - drive.low) / PARTS_OF_THE_WAY
        spans: list[tuple[float, float]] = []
        for stretch in stretches(self.problem, limit, resolution, STRETCH_BUDGET, self.axis):
            if stretch.answer is not Answer.ABOVE:
                joins = spans and spans[-1][1] == stretch.start
                start = spans.pop()[0] if joins else stretch.start
                spans.append((start, stretch.end))
        return spans

    def settings(self, spans: list[tuple[float, float]]) -> list[Floats]:
        """A few settings along what falls short."""
        held = self.problem.roots[0].low
        places = [
            start + share * (end - start) for start, end in spans[:2] for share in (0.0, 0.25, 0.5, 0.75, 1.0)
        ]
        return [np.where(np.arange(len(held)) == self.axis, place, held) for place in places]

    def words(self, spans: list[tuple[float, float]]) -> str:
        drive = self.pair.drives[self.axis]
        told = " and ".join(span_words(drive, *span) for span in spans)
        held = ", all else held as here" if len(self.pair.drives) > 1 else ""
        return f"from {told} of {drive.motion}{held}"
