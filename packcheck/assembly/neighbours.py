"""What a part meets when it is shifted: the limits of everything around it, asked at any offset.

A group is a part with all that hangs on it; it moves as one. Joints of the group are let go by a move (the bracket
has to follow), so they ask only that nothing overlaps more than a joint may. A hose or loom that is joined to the
group is led anew anyway, and asks nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from packcheck.arrays import Floats, Vector
from packcheck.assembly.assembly import Assembly
from packcheck.assembly.boxes import box_distances
from packcheck.assembly.tolerance import Slack
from packcheck.proximity import Session
from packcheck.tolerances import LIMIT_SLACK

__all__ = ["Neighbours", "Shortfall"]


@dataclass(frozen=True, slots=True)
class Shortfall:
    """A pair of the group that misses its limit: the least it must still travel, proven, mm."""

    member: str
    other: str
    to_go: float


class Neighbours:
    """Everything a group has to keep clear of, wherever it is shifted."""

    def __init__(self, assembly: Assembly, session: Session, part: str) -> None:
        self._assembly, self._session = assembly, session
        names = list(assembly.parts)
        self.members = (part, *assembly.carried_by(part))
        self.others = tuple(name for name in names if name not in self.members)
        index = {name: k for k, name in enumerate(names)}
        self._member_boxes = assembly.boxes[[index[name] for name in self.members]]
        self._other_boxes = assembly.boxes[[index[name] for name in self.others]].reshape(-1, 2, 3)
        self._asked = {pair: self._must(*pair) for pair in self._every_pair()}
        needs = [-np.inf if self._led_anew(*pair) else m + s.most for pair, (m, s) in self._asked.items()]
        self._needs = np.array(needs).reshape(len(self.members), len(self.others))
        self._last: tuple[str, str] | None = None

    @property
    def joints(self) -> tuple[str, ...]:
        """What the group is bolted to, outside itself."""
        joint = self._assembly.rules.joint
        return tuple(other for other in self.others if any(joint(member, other) for member in self.members))

    def shortfall(
        self, shift: Vector, way: Vector | None = None, pair: tuple[str, str] | None = None
    ) -> Shortfall | None:
        """A pair that misses its limit after `shift` (3,) mm, car frame, or None when none does.

        With `pair` only that one is asked. The pair that fell short last is asked first. What is still `to_go`
        is meant along the unit vector `way`.
        """
        pairs = [pair] if pair else self._near(shift)
        for member, other in sorted(pairs, key=lambda near: near != self._last):
            short = self._short(member, other, shift, way)
            if short is not None:
                self._last = (member, other)
                return short
        return None

    def in_the_way(self, shift: Vector) -> str | None:
        """The first part that the group would have to pass through on a straight `shift` (3,) mm, if any.

        What it overlaps already does not count. Between two queries the group travels no farther than it surely
        can; parts that are not convex are looked at every 0.5 mm at the least.
        """
        for member, other in self._swept_over(shift):
            if self._passes_through(member, other, shift):
                return other
        return None

    def _swept_over(self, shift: Vector) -> list[tuple[str, str]]:
        ends = np.stack([self._member_boxes, self._member_boxes + shift])
        swept = np.stack([ends[:, :, 0].min(axis=0), ends[:, :, 1].max(axis=0)], axis=1)
        near = np.argwhere((box_distances(swept, self._other_boxes) <= 0) & np.isfinite(self._needs))
        return [(self.members[i], self.others[j]) for i, j in near]

    def _passes_through(self, member: str, other: str, shift: Vector) -> bool:
        length = float(np.linalg.norm(shift))
        way = shift / length
        placed, still = self._assembly.parts[member], self._assembly.parts[other]
        gone = 0.0
        while gone < length:
            bounds = self._session.rough_bounds(placed.at(placed.pose.shifted(way * gone)), still, length)
            if bounds.low <= 0 and bounds.high < _ROUGH:
                return gone > 0
            if placed.convex and still.convex and bounds.direction is not None:
                closing = -float(bounds.direction @ way)  # their separating plane is reached no sooner
                gone += bounds.low / closing if closing > 1e-6 else length
            gone += max(bounds.low, _STRIDE)
        return False

    def _near(self, shift: Vector) -> list[tuple[str, str]]:
        distances = box_distances(self._member_boxes + shift, self._other_boxes)
        near = np.argwhere(distances < self._needs)
        return [(self.members[i], self.others[j]) for i, j in near]

    def _short(self, member: str, other: str, shift: Vector, way: Vector | None) -> Shortfall | None:
        must, slack = self._asked[member, other]
        placed, still = self._assembly.parts[member], self._assembly.parts[other]
        shifted = placed.at(placed.pose.shifted(shift))
        convex = placed.convex and still.convex
        bounds = self._session.rough_bounds(shifted, still, must + slack.most)
        low = slack.least_gap(bounds.low, bounds.direction if convex else None)
        if low < must <= low + _ROUGH:
            bounds = self._session.bounds(shifted, still, must + slack.most)
            low = slack.least_gap(bounds.low, bounds.direction if convex else None)
        if low >= must - LIMIT_SLACK:
            return None
        return Shortfall(member, other, 0.0 if way is None else bounds.least_step(way, must))

    def _led_anew(self, member: str, other: str) -> bool:
        flexible = {"hose", "loom"} & set(self._assembly.scene.parts[other].kinds)
        return bool(flexible) and self._assembly.rules.joint(member, other)

    def _every_pair(self) -> Iterator[tuple[str, str]]:
        return ((member, other) for member in self.members for other in self.others)

    def _must(self, member: str, other: str) -> tuple[float, Slack]:
        slack = self._assembly.slacks.between(member, other)
        if self._assembly.rules.joint(member, other):
            return -self._assembly.scene.clearances.seat - slack.most, Slack(0.0, _NO_BOXES)
        must = self._assembly.rules.limit(member, other).limit.must
        assert must is not None
        return must, slack


_STRIDE = 0.5  # mm
_ROUGH = 0.1  # mm; rough bounds are no wider than this
_NO_BOXES: Floats = np.empty((0, 3, 3))
