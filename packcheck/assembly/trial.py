r"""A part tried somewhere else, with all that hangs on it: how much is left of every limit, and how fast it can go.

Along a straight way no gap shrinks faster than the part travels, and the plane between two convex parts is reached
no sooner than the part's travel along its normal takes it there. So from the margin at one place follows how far
the part may surely go on before that limit is missed:

    margin m, closing rate c <= 1      next place to ask: m / c farther on; nothing between is left out

What the part is bolted to may lose its joint, but not be sunk into; hoses and looms on it are led anew and ask
nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from packcheck.arrays import Points, Vector
from packcheck.assembly.assembly import Assembly, displaced
from packcheck.assembly.boxes import box_distance
from packcheck.assembly.tolerance import Slack
from packcheck.data import FLEXIBLE
from packcheck.frames import IDENTITY, Pose
from packcheck.proximity import Bounds, Placed, Session
from packcheck.tolerances import BOX_SLACK, COVERAGE, JOINT_GAP, LIMIT_SLACK

__all__ = ["HAIR", "Ask", "Margin", "Trial"]

HAIR = 0.001
"""mm. Kept back of every margin, so that the figure printed still passes after all rounding."""


@dataclass(frozen=True, slots=True, eq=False)
class Ask:
    """One pair of the group and what is around it: a gap of `must` mm beyond `slack`; a joint: no deeper.

    The slack grows by `leverage` mm for each mm the member travels: its frame may be turned a little.
    """

    member: str
    other: str
    must: float
    slack: Slack
    joint: bool = False
    leverage: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Margin:
    """What is left over a limit, mm, surely; -inf where nothing is sure; `short` is what it surely has to go.

    `normal` (3,), car frame, from the other part to the moved one, is that of a plane between convex parts. The
    margin shrinks by `leverage` for each mm the part travels, besides what it comes nearer.
    """

    left: float
    normal: Vector | None = None
    short: float = 0.0
    leverage: float = 0.0

    def free(self, way: Vector | None) -> float:
        """How far, mm, the part may go along the unit vector `way`, or any way, before the limit can be missed."""
        if self.left < 0:
            return 0.0
        closing = 1.0 if self.normal is None or way is None else min(1.0, -float(self.normal @ way))
        closing += self.leverage
        return np.inf if closing <= 1e-9 else self.left / closing


class Trial:
    """A part of an assembly and what goes along with it, asked about at any rigid displacement."""

    def __init__(self, assembly: Assembly, session: Session, part: str) -> None:
        self.assembly, self.session, self.part = assembly, session, part
        self.members = (part, *assembly.carried_by(part))
        self.asks = tuple(self._asked())

    def margin(self, ask: Ask, by: Pose, beyond: float = np.inf, *, straight: bool = False) -> Margin:
        """What is left over one limit when the group is displaced (car frame), to be led on `straight` or any way.

        Once it is surely more than `beyond` mm, that much is told and no more.
        """
        member, other = self.placed(ask.member, by), self.assembly.parts[ask.other]
        slack = self.slack(ask, by)
        reach = beyond + ask.must + slack.most + self.unread(ask)
        bounds = self.session.bounds(member, other, reach)
        convex = member.convex and other.convex
        if ask.joint and not convex and bounds.low < (ask.must if straight else -ask.must):
            return self._joint(ask, member, other, bounds, straight=straight)
        normal = bounds.direction if convex else None
        least = slack.least_gap(bounds.low, normal)
        if self.unread(ask):  # no plane keeps a part from what was not read
            normal = None
            least = self.assembly.beyond.least(least, ask.must, member, other, slack.most)
        left = least - ask.must + LIMIT_SLACK - HAIR
        high = self.session.sunk(member, other, bounds).high
        short = max(0.0, ask.must + slack.ball - high) / (1.0 + ask.leverage)
        return Margin(min(left, beyond), normal if left < beyond else None, short, ask.leverage)

    def slack(self, ask: Ask, by: Pose) -> Slack:
        """The slack of a pair when the group is displaced."""
        if ask.leverage == 0.0:
            return ask.slack
        corners = np.array(list(product(*zip(*self.assembly.parts[ask.member].box(), strict=True))))
        travel = float(np.linalg.norm(by.apply(corners) - corners, axis=1).max())
        return replace(ask.slack, ball=ask.slack.ball + ask.leverage * travel)

    def unread(self, ask: Ask) -> float:
        """How much farther the pair has to be looked for, mm, for the sake of a skin not read to its edges."""
        return 0.0 if ask.joint else self.assembly.beyond.between(ask.member, ask.other)

    def _joint(self, ask: Ask, member: Placed, other: Placed, bounds: Bounds, *, straight: bool) -> Margin:
        """Joined parts that are not convex; what turns may jam as soon as it touches, whatever the seat."""
        room = self.session.room_by(member, other, -ask.must, straight=straight)
        if room or bounds.low >= ask.must:
            return Margin(room)
        return Margin(-np.inf, short=max(0.0, ask.must - self.session.sunk(member, other, bounds).high))

    def placed(self, member: str, by: Pose) -> Placed:
        """A member where the displacement takes it."""
        placed = self.assembly.parts[member]
        return placed.at(by @ placed.pose)

    def undone(self, by: Pose) -> tuple[str, ...]:
        """What the group is bolted to, or goes into, and no longer touches there."""
        others = [name for name in self.assembly.parts if name not in self.members]
        pairs = [(m, o) for m in self.members for o in others if self._held(m, o)]
        return tuple(dict.fromkeys(o for m, o in pairs if not self.touches(m, o, by)))

    def _held(self, member: str, other: str) -> bool:
        """Whether two parts are joined, or one goes into the other and touches it as drawn."""
        rules = self.assembly.rules
        if rules.unasked.enters(member, other):
            return self.touches(member, other, IDENTITY)
        return rules.joint(member, other)

    def touches(self, member: str, other: str, by: Pose) -> bool:
        """Whether a member still touches what it is joined to where the displacement takes it."""
        touch = self.touch(member, other)
        return self.session.bounds(self.placed(member, by), self.assembly.parts[other], touch).low < touch

    def touch(self, member: str, other: str) -> float:
        """How far apart, mm, the two may be drawn and still touch."""
        return JOINT_GAP + self.assembly.slack(member, other).most + LIMIT_SLACK

    def moved(self, by: Pose) -> Assembly:
        """The assembly with the group displaced, for measures; boxes are those of before."""
        return displaced(self.assembly, self.nodes, by)

    @property
    def nodes(self) -> frozenset[str]:
        """The members, and the frames that hang on them."""
        return self.assembly.hanging_on(self.part)

    def radius(self, axis: Vector, about: Vector) -> float:
        """How far, mm, the farthest point of the group lies from an axis through the point `about`, car frame."""
        return max(float(self._off_axis(points, axis, about).max()) + grown for points, grown in self._points())

    @staticmethod
    def _off_axis(points: Points, axis: Vector, about: Vector) -> Vector:
        away = points - about
        off: Vector = np.linalg.norm(away - np.outer(away @ axis, axis), axis=1)
        return off

    def _points(self) -> Iterator[tuple[Points, float]]:
        for member in self.members:
            placed = self.assembly.parts[member]
            for solid in placed.solids:
                yield placed.pose.apply(solid.vertices), solid.radius + solid.error

    def reachable(self, ask: Ask, swept: Points) -> bool:
        """Whether the pair can have anything to say while its member stays in the box `swept` (2, 3), car frame."""
        travel = np.abs(swept - self.assembly.parts[ask.member].box()).max(axis=0)
        slack = ask.slack.most + ask.leverage * float(np.linalg.norm(travel))
        apart = box_distance(swept, self.assembly.parts[ask.other].box())
        return apart <= max(ask.must, 0.0) + slack + self.unread(ask) + BOX_SLACK

    def _asked(self) -> Iterator[Ask]:
        rules, scene = self.assembly.rules, self.assembly.scene
        for member in self.members:
            for other in self.assembly.parts:
                if other in self.members or rules.unasked.between(member, other):
                    continue
                slack = self.assembly.slack(member, other)
                if not rules.joint(member, other):
                    must = rules.limit(member, other).limit.must
                    assert must is not None
                    leverage = COVERAGE * self.assembly.spreads.leverage(member, other, self.nodes)
                    yield Ask(member, other, must, slack, leverage=leverage)
                elif not FLEXIBLE & set(scene.parts[other].kinds):
                    still = Slack(0.0, np.empty((0, 3, 3)))  # a joint is drawn where it was measured
                    yield Ask(member, other, -scene.clearances.seat - slack.most, still, joint=True)
