"""Does a move keep every limit also while things move?"""

from __future__ import annotations

from collections.abc import Collection

from packcheck.arrays import Vector
from packcheck.assembly.assembly import Assembly
from packcheck.assembly.line_slack import slack_in_motion
from packcheck.assembly.moving_pairs import MovingPair, Sweeps, moving_pairs, the_pair
from packcheck.proximity import Session
from packcheck.search import Answer, decide
from packcheck.tolerances import BOX_SLACK, LIMIT_SLACK

__all__ = ["short_in_motion"]

_BUDGET = 300
"""Gaps asked of one pair; a move is not worth more, and what they leave open counts as short."""


def short_in_motion(
    assembly: Assembly, session: Session, group: Collection[str], shift: Vector
) -> MovingPair | None:
    """The first pair that may miss its moving limit once the parts of `group` are shifted by (3,) mm, car frame.

    Pairs that are joined are not asked, as they are not in the study of motions.
    """
    parts = {
        name: placed.at(placed.pose.shifted(shift)) if name in group else placed
        for name, placed in assembly.parts.items()
    }
    sweeps = Sweeps(assembly, parts)
    for pair in moving_pairs(assembly):
        if (pair.a in group) == (pair.b in group) or assembly.rules.joint(pair.a, pair.b):
            continue
        if assembly.rules.unasked.between(pair.a, pair.b):
            continue
        needed = assembly.rules.limit(pair.a, pair.b).moving + slack_in_motion(assembly, pair)
        if sweeps.apart(pair) > needed + assembly.beyond.between(pair.a, pair.b) + BOX_SLACK:
            continue
        if sweeps.reaching_out(pair, needed):
            return pair
        problem = the_pair(assembly, session, pair, parts).problem()
        if decide(problem, max(needed - LIMIT_SLACK, 0.0), _BUDGET).answer is not Answer.ABOVE:
            return pair
    return None
