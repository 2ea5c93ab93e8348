"""Does a move keep every limit also while things move?"""

from __future__ import annotations

import numpy as np

from packcheck.arrays import Vector, frozen
from packcheck.assembly.assembly import Assembly
from packcheck.assembly.joints import Joint
from packcheck.assembly.moving_pairs import MovingPair
from packcheck.assembly.sliding import MovingGroup, Slide
from packcheck.proximity import Session

__all__ = ["short_in_motion"]


def short_in_motion(assembly: Assembly, session: Session, part: str, shift: Vector) -> MovingPair | None:
    """The first pair that may miss its moving limit once a part, with all on it, is shifted by (3,) mm, car frame.

    Pairs that are joined are not asked, as they are not in the study of motions. What is left open within a few
    hundred gaps counts as short: a move is not worth more.
    """
    length = float(np.linalg.norm(shift))
    slide = Slide(
        MovingGroup(assembly, session, assembly.hanging_on(part)), Joint(None, frozen(shift / length), 1.0)
    )
    return next((pair for pair in slide.group.pairs if slide.short_at(pair, length)), None)
