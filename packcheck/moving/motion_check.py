"""What a change leaves of the limits that hold while things move."""

from __future__ import annotations

import numpy as np

from packcheck.arrays import Vector, frozen
from packcheck.assembly.assembly import Assembly
from packcheck.kinematics.joints import Joint
from packcheck.moving.moving_pairs import MovingPair
from packcheck.moving.sliding import MovingGroup, Slide
from packcheck.proximity import Session
from packcheck.search import Answer, Problem, decide

__all__ = ["moving_margin", "short_in_motion"]

_SHARE = 0.7
"""Of what is seen over a limit at one setting: what is next tried to be proven for all."""

_LEAST = 0.005
"""mm over a limit that are told apart."""

_MOST_TRIED = 40


def short_in_motion(assembly: Assembly, session: Session, part: str, shift: Vector) -> MovingPair | None:
    """The first pair that may miss its moving limit once a part, with all on it, is shifted by (3,) mm, car frame.

    Pairs that are joined are not asked, as they are not in the study of motions. What is left open within a few
    hundred gaps counts as short: a move is not worth more.
    """
    length = float(np.linalg.norm(shift))
    slide = Slide(MovingGroup(assembly, session, part), Joint(None, frozen(shift / length), 1.0))
    return next((pair for pair in slide.group.pairs if slide.short_at(pair, length)), None)


def moving_margin(problem: Problem, limit: float, beyond: float) -> tuple[float, float]:
    """What is surely left over `limit` at every setting, mm, negative where nothing is; and what is surely missing.

    No more than `beyond` is told. It is at least 0.7 of what is truly left, unless a budget ended the search.
    """
    wanted = beyond
    for _ in range(_MOST_TRIED):
        found = decide(problem, limit + wanted)
        if found.answer is Answer.ABOVE:
            return wanted, 0.0
        if found.answer is Answer.OPEN or wanted == 0.0:
            return (found.low - limit if found.low > limit else -1.0), max(0.0, limit - found.high)
        seen = found.high - limit
        wanted = seen * _SHARE if seen > _LEAST else 0.0
    return -1.0, 0.0
