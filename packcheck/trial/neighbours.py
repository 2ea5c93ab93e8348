"""What a part meets when it is shifted: the limits of everything around it, asked at any offset.

A group is a part with all that hangs on it; it moves as one, and is asked what a `Trial` asks of it. Of what it is
bolted to, a fixed part must besides stay touched here, so that the group may only slide along it. Bounds are rough
ones first: a move is sought among many.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np

from packcheck.arrays import Vector, frozen
from packcheck.assembly.assembly import Assembly
from packcheck.budget import Budget
from packcheck.findings import Limit
from packcheck.frames import IDENTITY, Pose
from packcheck.moving.passing import Passage
from packcheck.notknown.requirement import Requirement
from packcheck.placing.boxes import box_distances
from packcheck.proximity import Placed, Session
from packcheck.tolerances import BOX_SLACK
from packcheck.trial.trial import Trial

__all__ = ["Neighbours", "Shortfall", "stride"]

_LEAST_STEP = 0.1  # mm
_STEP_GROWTH = 0.02  # of the way gone; clear places narrower than that may be stepped over


def stride(gone: float) -> float:
    """How far a march goes on, mm, where nothing proves that it may go farther, `gone` mm from where it began.

    A pair that is known to fall short by more needs no closer look.
    """
    return _LEAST_STEP + _STEP_GROWTH * gone


@dataclass(frozen=True, slots=True)
class Shortfall:
    """A pair of the group that misses its limit, and the least it must still travel, proven, mm.

    `unseated` says that a joint with a fixed part would be undone.
    """

    member: str
    other: str
    to_go: float
    unseated: bool = False


class Neighbours:
    """Everything a group has to keep clear of, wherever it is shifted."""

    def __init__(self, assembly: Assembly, session: Session, part: str) -> None:
        self._assembly, self._session = assembly, session
        self._trial = Trial(assembly, session, part)
        names = list(assembly.parts)
        self.members = self._trial.members
        self.others = tuple(name for name in names if name not in self.members)
        index = {name: k for k, name in enumerate(names)}
        self._member_boxes = assembly.boxes[[index[name] for name in self.members]]
        self._other_boxes = assembly.boxes[[index[name] for name in self.others]].reshape(-1, 2, 3)
        self._asked = {ask.pair: ask for ask in self._trial.asks}
        reach = [self._reach_of(self._asked.get(pair)) for pair in product(self.members, self.others)]
        self._reach = np.array(reach).reshape(len(self.members), len(self.others))
        self._leverage = max((ask.shifted for ask in self._asked.values()), default=0.0)
        self._last: tuple[str, str] | None = None

    def _reach_of(self, ask: Requirement | None) -> float:
        """How near boxes may come before the pair has anything to say, mm."""
        if ask is None:
            return -np.inf
        if self._stays(ask):
            return np.inf
        return max(ask.reach, self._trial.there(ask, _shifting(np.zeros(3))).reach) + BOX_SLACK

    def _stays(self, ask: Requirement) -> bool:
        """Whether a joint must go on being made: the other part is fixed."""
        return ask.joint and self._assembly.scene.parts[ask.pair[1]].fixed

    def undone(self, shift: Vector) -> tuple[str, ...]:
        """What the group is bolted to, or goes into, and no longer touches after `shift` (3,) mm, car frame."""
        return self._trial.undone(_shifting(shift))

    def shortfall(
        self, shift: Vector, way: Vector | None = None, pair: tuple[str, str] | None = None
    ) -> Shortfall | None:
        """A pair that misses its limit after `shift` (3,) mm, car frame, or None when none does.

        With `pair` only that one is asked. The pair that fell short last is asked first. What is still `to_go`
        is meant along the unit vector `way`.
        """
        pairs = [pair] if pair else self._near(shift)
        for member, other in sorted(pairs, key=self._turn):
            short = self._short(member, other, shift, way)
            if short is not None:
                self._last = (member, other)
                return short
        return None

    def in_the_way(self, shift: Vector, budget: Budget | None = None) -> str | None:
        """The first part that the group passes through, or may, on a straight `shift` (3,) mm; see `passing`.

        So is the first that `budget` does not reach.
        """
        for member, other in sorted(self._swept_over(shift), key=self._turn):
            if budget is not None and not budget.spend(_PASSAGE):
                return other
            ask, parts = self._asked[member, other], self._assembly.parts
            seat = ask.limit if ask.joint else Limit(-self._assembly.scene.clearances.seat)
            way = Passage(self._session, parts[member], parts[other], shift, -seat.floor)
            if way.is_through(joint=ask.joint):
                return other
        return None

    def _swept_over(self, shift: Vector) -> list[tuple[str, str]]:
        ends = np.stack([self._member_boxes, self._member_boxes + shift])
        swept = np.stack([ends[:, :, 0].min(axis=0), ends[:, :, 1].max(axis=0)], axis=1)
        near = np.argwhere((box_distances(swept, self._other_boxes) <= 0) & (self._reach >= 0))
        return [(self.members[i], self.others[j]) for i, j in near]

    def _near(self, shift: Vector) -> list[tuple[str, str]]:
        distances = box_distances(self._member_boxes + shift, self._other_boxes)
        near = np.argwhere(distances <= self._reach + self._leverage * float(np.linalg.norm(shift)))
        return [(self.members[i], self.others[j]) for i, j in near]

    def _turn(self, pair: tuple[str, str]) -> tuple[bool, bool]:
        """The order of asking: what fell short last, then plain pairs, then joints, which take longer."""
        asked = self._asked.get(pair)
        return pair != self._last, asked is not None and asked.joint

    def _short(self, member: str, other: str, shift: Vector, way: Vector | None) -> Shortfall | None:
        ask = self._asked.get((member, other))
        if ask is None:
            return None
        if ask.joint:
            return self._unseated(ask, shift)
        there = self._trial.there(ask, _shifting(shift))
        shifted, still = self._shifted(member, shift), self._assembly.parts[other]
        known = there.short - (0.0 if way is None else stride(float(np.linalg.norm(shift))))
        bounds = self._session.rough_bounds(shifted, still, there.reach, known)
        if there.spare(there.low(bounds)) < 0 <= there.spare(there.low(bounds) + _ROUGH):
            bounds = self._session.bounds(shifted, still, there.reach)
        low = there.low(bounds)
        if there.limit.keeps(low, None):
            least = self._assembly.beyond.least(low, there.must, shifted, still, there.doubt.most)
            return None if there.limit.keeps(least, None) else Shortfall(member, other, 0.0)
        if way is None:
            return Shortfall(member, other, 0.0)
        bounds = self._session.sunk(shifted, still, bounds)
        return Shortfall(member, other, bounds.least_step(way, there.must + there.doubt.ball))

    def _unseated(self, ask: Requirement, shift: Vector) -> Shortfall | None:
        touch = self._trial.touch(*ask.pair)
        shifted, still = self._shifted(ask.pair[0], shift), self._assembly.parts[ask.pair[1]]
        bounds = self._session.rough_bounds(shifted, still, touch)
        if bounds.low >= touch - _ROUGH and not self._trial.touches(*ask.pair, _shifting(shift)):
            return Shortfall(*ask.pair, np.inf, unseated=True) if self._stays(ask) else None
        if bounds.low >= ask.must or not self._sunk(ask, shift):
            return None
        return Shortfall(*ask.pair, np.inf)  # farther on lies only what passes through it

    def _sunk(self, ask: Requirement, shift: Vector) -> bool:
        shifted, still = self._shifted(ask.pair[0], shift), self._assembly.parts[ask.pair[1]]
        seat = -ask.limit.floor
        low = self._session.bounds(shifted, still, seat).low
        return low < -seat if low > -np.inf else not self._session.room_by(shifted, still, seat, straight=True)

    def _shifted(self, member: str, shift: Vector) -> Placed:
        return self._trial.placed(member, _shifting(shift))


def _shifting(shift: Vector) -> Pose:
    return Pose(IDENTITY.rotation, frozen(shift))


_PASSAGE = 20  # questions that a way past one part counts for: it asks about so many, and in full
_ROUGH = 0.1  # mm; rough bounds are no wider than this
