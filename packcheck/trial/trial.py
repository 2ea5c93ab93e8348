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
from dataclasses import dataclass

import numpy as np

from packcheck.arrays import Points, Vector
from packcheck.assembly.assembly import Assembly, displaced, drawn_at
from packcheck.data import FLEXIBLE
from packcheck.findings import Contributor, Limit
from packcheck.frames import IDENTITY, Pose
from packcheck.notknown.account import Account
from packcheck.notknown.contributors import contributors
from packcheck.notknown.requirement import Requirement
from packcheck.placing.boxes import box_distance
from packcheck.proximity import Bounds, Placed, Session
from packcheck.tolerances import BOX_SLACK, JOINT_GAP

__all__ = ["Margin", "Trial"]


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

    def free(self, way: Vector | None, swung: float = 0.0) -> float:
        """How far, mm, the part may go along the unit vector `way`, or any way, before the limit can be missed.

        `swung` is what turning adds to how fast that comes, for each mm.
        """
        if self.left < 0:
            return 0.0
        closing = 1.0 if self.normal is None or way is None else min(1.0, -float(self.normal @ way))
        closing += self.leverage + swung
        return np.inf if closing <= 1e-9 else self.left / closing


class Trial:
    """A part of an assembly and what goes along with it, asked about at any rigid displacement."""

    def __init__(self, assembly: Assembly, session: Session, part: str) -> None:
        self.assembly, self.session, self.part = assembly, session, part
        self.members = (part, *assembly.carried_by(part))
        self.asks = tuple(self._asked())
        self._put: dict[bytes, Account] = {}
        self._is_led = assembly.account.chains.is_led(part)

    def margin(self, ask: Requirement, by: Pose, beyond: float = np.inf, *, straight: bool = False) -> Margin:
        """What is left over one limit when the group is displaced (car frame), to be led on `straight` or any way.

        Once it is surely more than `beyond` mm, that much is told and no more.
        """
        member, other = self.placed(ask.pair[0], by), self.assembly.parts[ask.pair[1]]
        there = self.there(ask, by)
        bounds = self.session.bounds(member, other, beyond + there.reach)
        if ask.joint and not ask.convex and bounds.low < (ask.must if straight else -ask.must):
            return self._joint(ask, member, other, bounds, straight=straight)
        normal = bounds.direction if ask.convex else None
        least = there.low(bounds)
        if ask.unread:  # no plane keeps a part from what was not read
            normal = None
            least = self.assembly.beyond.least(least, ask.must, member, other, there.doubt.most)
        left = there.spare(least)
        short = there.missing(self.session.sunk(member, other, bounds)) / (1.0 + ask.shifted)
        return Margin(min(left, beyond), normal if left < beyond else None, short, ask.shifted)

    def there(self, ask: Requirement, by: Pose) -> Requirement:
        """The requirement of a pair when the group is displaced: what is not known may be another there."""
        if ask.joint or by is IDENTITY:
            return ask
        turned = not np.array_equal(by.rotation, IDENTITY.rotation)
        if ask.shifted or (turned and ask.turned) or self._is_led:
            return ask.known(self.account(by).between(*ask.pair))
        return ask

    def account(self, by: Pose) -> Account:
        """The account of the assembly with the group displaced; the one asked for last is remembered."""
        key = b"".join(by.mark)
        if key not in self._put:
            parts = {**self.assembly.parts, **{name: self.placed(name, by) for name in self.members}}
            local = drawn_at(self.assembly, self.part, by)
            self._put = {key: self.assembly.account.put(self.part, local, parts)}
        return self._put[key]

    def contributors(self, ask: Requirement, by: Pose) -> tuple[Contributor, ...]:
        """What, of all that is not known, takes most off the gap of a pair when the group is displaced."""
        there = self.there(ask, by)
        if ask.joint or there.doubt.nothing:
            return ()
        member, other = self.placed(ask.pair[0], by), self.assembly.parts[ask.pair[1]]
        direction = self.session.bounds(member, other).direction
        account = self.assembly.account if there is ask else self.account(by)
        return contributors(account, ask.pair, direction, convex=ask.convex)

    def _joint(self, ask: Requirement, member: Placed, other: Placed, bounds: Bounds, *, straight: bool) -> Margin:
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
        return Limit(most=JOINT_GAP + self.assembly.doubt(member, other).most).ceiling

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

    def reachable(self, ask: Requirement, swept: Points) -> bool:
        """Whether the pair can have anything to say while its member stays in the box `swept` (2, 3), car frame."""
        travel = np.abs(swept - self.assembly.parts[ask.pair[0]].box()).max(axis=0)
        more = ask.shifted * float(np.linalg.norm(travel)) + ask.turned * np.pi
        apart = box_distance(swept, np.array(self.assembly.parts[ask.pair[1]].box()))
        return apart <= ask.reach + more + BOX_SLACK

    def _asked(self) -> Iterator[Requirement]:
        unasked = self.assembly.rules.unasked
        for member in self.members:
            for other in self.assembly.parts:
                if other not in self.members and not unasked.between(member, other):
                    found = self._requirement(member, other)
                    if found is not None:
                        yield found

    def _requirement(self, member: str, other: str) -> Requirement | None:
        """What is asked of a pair; nothing of a joint with what is led anew."""
        assembly = self.assembly
        convex = assembly.convex(member, other)
        doubt = assembly.doubt(member, other)
        if not assembly.rules.joint(member, other):
            limit = Limit(assembly.rules.limit(member, other).limit.must)
            unread = assembly.beyond.between(member, other)
            growth = assembly.account.leverage(member, other, self.nodes)
            return Requirement((member, other), limit, doubt, convex, unread, False, *growth)
        if FLEXIBLE & set(assembly.scene.parts[other].kinds):
            return None
        seat = Limit(-assembly.scene.clearances.seat - doubt.most)  # a joint is drawn where it was measured
        return Requirement((member, other), seat, convex=convex, joint=True)
