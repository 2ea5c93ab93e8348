"""What is required of the gap of two parts, and whether what is known of it is enough."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from packcheck.findings import Limit
from packcheck.notknown.doubt import NOTHING, Doubt
from packcheck.proximity import Bounds

__all__ = ["HAIR", "Requirement"]

HAIR: Final = 0.001
"""mm. Kept back of every margin, so that the figure printed still passes after all rounding."""


@dataclass(frozen=True, slots=True, eq=False)
class Requirement:
    """The limit of one pair at one setting, with what is not known of the two, and what was not read of them.

    Parameters
    ----------
    pair : two names
        The direction of bounds leads from the second to the first.
    limit : Limit
    doubt : Doubt
        Hard and likely.
    convex : bool
        Whether both parts are convex.
    unread : float
        mm, how much farther the pair has to be looked for, for the sake of a skin not read to its edges.
    joint : bool
        The two are joined: they may come apart, but not be sunk into each other deeper than `must` says.
    shifted, turned : float
        How fast the doubt may grow, mm for each mm that the first part is shifted, and each radian it is turned.
    """

    pair: tuple[str, str]
    limit: Limit
    doubt: Doubt = NOTHING
    convex: bool = False
    unread: float = 0.0
    joint: bool = False
    shifted: float = 0.0
    turned: float = 0.0

    @property
    def must(self) -> float:
        assert self.limit.must is not None
        return self.limit.must

    @property
    def reach(self) -> float:
        """The gap as drawn, mm, beyond which nothing is left to be asked."""
        return max(self.must, 0.0) + self.doubt.most + self.unread

    def known(self, doubt: Doubt) -> Requirement:
        """The same with another doubt."""
        return self if doubt is self.doubt else replace(self, doubt=doubt)

    def low(self, bounds: Bounds) -> float:
        """The least the gap may be, mm, from bounds as drawn; -inf where that is not known."""
        return self.doubt.least_gap(bounds.low, bounds.direction, convex=self.convex)

    def spare(self, low: float) -> float:
        """What is surely left of the limit, mm, where the gap is `low` or more; a hair is kept back."""
        return self.limit.spare(low) - HAIR

    def missing(self, bounds: Bounds) -> float:
        """What is surely missing at the limit, mm: 0 where it may be kept, in some world that the file allows."""
        return max(0.0, self.limit.floor + self.doubt.ball - bounds.high)

    @property
    def short(self) -> float:
        """The gap as drawn, mm, up to which it surely is not: what a ball takes off, it takes off anywhere."""
        return self.limit.floor + self.doubt.ball - HAIR if np.isfinite(self.doubt.ball) else -np.inf
