r"""On what part of its way does a pair fall short?

Where a lid or lever is among what moves: one parameter followed from end to end, all others held. Where all are
those of rocks, no one of them is to blame: told is how far all may go at once, ranges cut down alike about rest.

    shift  +-----------+       the limit is proven all over the inner box, so that what falls short needs some
           |  +-----+  |       parameter to go beyond that share of its range
           |  |  o  |  |
           +--+-----+--+  turn
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import floor

import numpy as np

from packcheck.arrays import Floats
from packcheck.moving.moving_pairs import MovingPair
from packcheck.moving.telling import span_words
from packcheck.search import Answer, Cell, Problem, closed_in, decide, stretches

__all__ = ["Way", "proven_share", "share_words"]

PARTS_OF_THE_WAY = 500
"""The part of the way that falls short is told to within so many parts of all of it."""

STRETCH_BUDGET = 300
"""Gaps asked for one such telling."""

SHARE_WIDTH = 1 / 32
"""How closely the share of the ranges is told."""

SHARE_BUDGET = 60
"""Gaps asked for each of them."""


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

    @property
    def mark(self) -> tuple[object, ...]:
        """What tells this way of the pair from others."""
        return self.axis, *(end.tobytes() for root in self.problem.roots for end in (root.low, root.high))

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


def proven_share(problem: Problem, limit: float) -> float:
    """Within which share of its ranges, all cut down alike about rest, a rock is proven to keep `limit`.

    0: in none. Rest is where every parameter is 0, or as near to that as its range allows.
    """
    (whole,) = problem.roots
    rest = np.clip(0.0, whole.low, whole.high)
    down, up = rest - whole.low, whole.high - rest

    def step(share: float) -> tuple[float, float]:
        cell = Cell.of(rest - share * down, rest + share * up)
        found = decide(replace(problem, roots=(cell,)), limit, SHARE_BUDGET)
        if found.answer is Answer.ABOVE:
            return 0.0, 0.0
        # where it was seen to fall short, no larger share will do
        return -1.0, share - _reached(found.at - rest, down, up) if found.answer is Answer.BELOW else 0.0

    return closed_in(step, 1.0, 0.0, SHARE_WIDTH).kept


def _reached(off: Floats, down: Floats, up: Floats) -> float:
    """The least share of the ranges that holds a setting `off` (n,) from rest."""
    room = np.where(off < 0, down, up)
    return float(np.max(np.divide(np.abs(off), room, out=np.zeros_like(off), where=room > 0), initial=0.0))


def share_words(share: float, pair: MovingPair, *, clash: bool) -> str:
    """What a share comes to: "no clash while engine_rock stays within 62 % of every range"."""
    what = "no clash" if clash else "the limit holds"
    stay = f"{' and '.join(pair.motions)} {'stay' if len(pair.motions) > 1 else 'stays'}"
    return f"{what} while {stay} within {floor(100 * share)} % of every range"
