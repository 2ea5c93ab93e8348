r"""Does a straight way lead through something that stands there?

A part that is shifted along a straight line passes through another one where it

- stood clear of it, and comes nearer than 0.1 mm on the way (0.01 mm where both are convex), or may;
- touched it, or is bolted to it, and is sunk in deeper than the seat that a joint is allowed, or may be; or has its
  middle led in on one side and out on another;
- was sunk in deeper than that, and has its middle led in on one side and out on another before it first comes out,
  as that of a part that sticks out of a lid does when it is lifted; or comes out, and does not stay clear.

    +----+                 |            asked at o, where the gap is g: nothing nearer than g is met, so the part
    |    | o--g-->o-->o>o  | panel      goes g on and is asked again. What is thinner than any step is met all the
    +----+                 |            same; between convex parts their plane says how far, not the gap.

Depths are lengths of shifts that part the two, so that they grow no faster than the part is shifted, whatever the
shapes. Shapes are taken as drawn: a way is no path for a spanner, but tells which side a part would end up on.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from packcheck.arrays import Point, Vector
from packcheck.proximity import Bounds, Placed, Session
from packcheck.proximity.through import leads_through
from packcheck.search.march import Ended, first_kept, kept_until
from packcheck.tolerances import CONTACT_BAND

__all__ = ["Passage"]

_NEAR = 0.1
"""mm. Parts that are not convex and come nearer are taken to meet: to prove that they do not would take for ever.
No less than rough bounds are wide."""

_MOST_ASKED = 500
"""Places on one way; a part of which that leaves open whether it is met is in the way."""

_COMING_OUT = 0.5, 0.1
"""mm, and of the way gone: on coming out of a part, places where it is clear may be missed that are narrower."""


@dataclass(frozen=True, slots=True, eq=False)
class Passage:
    """A part `mover` on its way by `shift` (3,) mm, car frame, past another that stays; `seat` mm are allowed."""

    session: Session
    mover: Placed
    still: Placed
    shift: Vector
    seat: float

    @property
    def length(self) -> float:
        return float(np.linalg.norm(self.shift))

    @property
    def convex(self) -> bool:
        return self.mover.convex and self.still.convex

    def is_through(self, *, joint: bool) -> bool:
        """Whether the way leads through the other part, or may."""
        if not joint:
            clear = kept_until(self._clear, 0.0, self.length, _MOST_ASKED)
            if clear.at is not None:
                return clear.ended is not Ended.END
        seated = kept_until(self._seated, 0.0, self.length, _MOST_ASKED)
        if seated.at is not None:
            return seated.ended is not Ended.END or self._middle_through(self.length)
        out = first_kept(self._clear, 0.0, self.length, lambda s: _COMING_OUT[0] + _COMING_OUT[1] * s)
        if out.at is None:
            return self._middle_through(self.length)
        stays = kept_until(self._clear, out.at, self.length, _MOST_ASKED)
        return stays.ended is not Ended.END or self._middle_through(out.at)

    def _clear(self, s: float) -> tuple[float, float]:
        """How far on the part is surely clear, and how far on surely sunk in."""
        bounds = self._bounds(s)
        least = CONTACT_BAND if self.convex else _NEAR
        if bounds.low < least:
            return -1.0, self.session.sunk(self._at(s), self.still, bounds).least_step(self._way, 0.0)
        return self._free(bounds, 0.0), 0.0

    def _seated(self, s: float) -> tuple[float, float]:
        """How far on the part is surely not sunk in by more than the seat."""
        bounds = self._bounds(s)
        if bounds.low > -np.inf:
            return (-1.0 if bounds.low < -self.seat else self._free(bounds, self.seat)), 0.0
        room = self.session.room_by(self._at(s), self.still, self.seat, straight=True)
        return room or -1.0, 0.0

    def _free(self, bounds: Bounds, allowed: float) -> float:
        """How far on it is surely no deeper than `allowed` mm."""
        closing = 1.0
        if self.convex and bounds.direction is not None:
            closing = -float(bounds.direction @ self._way)  # their plane is reached no sooner
        return (bounds.low + allowed) / closing if closing > 1e-9 else np.inf

    def _bounds(self, s: float) -> Bounds:
        mover = self._at(s)
        bounds = self.session.rough_bounds(mover, self.still, self.length - s + _NEAR)
        return self.session.bounds(mover, self.still, self.length - s + _NEAR) if bounds.low < _NEAR else bounds

    @property
    def _way(self) -> Vector:
        return self.shift / self.length

    def _at(self, s: float) -> Placed:
        return self.mover.at(self.mover.pose.shifted(self._way * s))

    def _middle_through(self, s: float) -> bool:
        middle: Point = np.mean(self.mover.box(), axis=0)
        return leads_through(middle, self._way * s, self.still)
