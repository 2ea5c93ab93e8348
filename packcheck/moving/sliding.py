r"""A group of parts led along one joint while the motions of the scene go on: one more parameter of each pair.

    where a part is  =  joint, joint, ... of its motions, LEAD, the part at rest

The lead carries what hangs on the group, and the lines of motions that stand on it: a lever that turns on the
pump's own pin goes along with the pump. Where one line goes along and the next does not, the lead is undone between
the two. What the lead does to both parts alike is left out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TypeAlias

import numpy as np

from packcheck.arrays import Floats, Point
from packcheck.assembly.assembly import Assembly, displaced, drawn_at
from packcheck.findings import Limit
from packcheck.kinematics.joints import Chain, Joint, backwards
from packcheck.moving.moved_pair import MovedPair
from packcheck.moving.moving_pairs import MovingPair, is_asked, moving_pairs, swept_box
from packcheck.notknown.account import Account
from packcheck.notknown.moving import InMotion, Lead
from packcheck.notknown.requirement import HAIR
from packcheck.placing.boxes import box_distance
from packcheck.proximity import Session
from packcheck.proximity.hulls import hull_of
from packcheck.scene.model.motion import Path
from packcheck.search import Answer, Cell, First, Outcome, decide, first_below
from packcheck.tolerances import BOX_SLACK

__all__ = ["MovingGroup", "Slide"]

_BUDGET = 300
"""Gaps asked of one pair at one place; what they leave open counts as short."""

_WAY_BUDGET = 2_000
"""Gaps asked of one pair along one way; then it is proven no farther."""

_Root: TypeAlias = tuple[Cell, Chain, Chain]


@dataclass(slots=True, eq=False)
class MovingGroup:
    """A part with all that hangs on it, led as one, and the moving pairs of which the lead does one side."""

    assembly: Assembly
    session: Session
    part: str
    nodes: frozenset[str] = field(init=False)
    pairs: tuple[MovingPair, ...] = field(init=False)
    boxes: dict[tuple[object, ...], Floats] = field(default_factory=dict)  # of what is not led
    _short: tuple[MovingPair, ...] | None = None

    def __post_init__(self) -> None:
        self.nodes = self.assembly.hanging_on(self.part)
        found = moving_pairs(self.assembly) if self.assembly.scene.motions else iter(())
        self.pairs = tuple(pair for pair in found if self._bears_upon(pair) and is_asked(self.assembly, pair))

    def _bears_upon(self, pair: MovingPair) -> bool:
        """Whether something between the two parts goes along, and something does not."""
        along = {pair.a in self.nodes, pair.b in self.nodes, *(self.is_led(name) for name in pair.motions)}
        return len(along) > 1 or any(self.turns_about_led(name) for name in pair.motions)

    def is_led(self, motion: str) -> bool:
        """Whether the line of a motion goes along with the group."""
        return self.assembly.scene.motions[motion].frame in self.nodes

    def turns_about_led(self, motion: str) -> bool:
        """Whether a path turns about the zero of something in the group, though its directions stay."""
        found = self.assembly.scene.motions[motion]
        about_carried = isinstance(found.movement, Path) and found.movement.about is None
        return about_carried and not self.is_led(motion) and found.carries[0] in self.nodes

    @property
    def short_now(self) -> tuple[MovingPair, ...]:
        """The pairs that are not proven to keep their limits with the group where it is."""
        if self._short is None:
            here = Slide(self, Joint(None, np.array([1.0, 0.0, 0.0]), 1.0))
            self._short = tuple(pair for pair in self.pairs if here.short_at(pair, 0.0))
        return self._short

    def said(self, pair: MovingPair) -> str:
        """What the group meets there, and as what moves."""
        others = [name for name in (pair.a, pair.b) if name not in self.nodes]
        met = others[0] if len(others) == 1 else f"{pair.a} - {pair.b}"
        return f"{met} as {' and '.join(pair.motions)} moves"


@dataclass(slots=True, eq=False)
class Slide:
    """The group led along `lead`, from 0 on in the units of that joint; which parameter drives it is set here."""

    group: MovingGroup
    lead: Joint
    _boxes: dict[tuple[object, ...], Floats] = field(default_factory=dict)
    _accounts: dict[float, Account] = field(default_factory=dict)
    _doubts: dict[tuple[MovingPair, float, float], InMotion] = field(default_factory=dict)

    def short_at(self, pair: MovingPair, s: float) -> Outcome | None:
        """What does not prove that the pair keeps its limit with the group at `s`; None where it does."""
        asked = self._asked(pair, s, s)
        if asked is None:
            return None
        found = decide(asked[0].problem(), asked[1], _BUDGET)
        return None if found.answer is Answer.ABOVE else found

    def first_short(self, pair: MovingPair, end: float, resolution: float) -> First:
        """How far on the way from 0 to `end` the pair is proven to keep its limit."""
        asked = self._asked(pair, 0.0, end)
        if asked is None:
            return First(np.inf, np.inf)
        return first_below(asked[0].problem(), asked[1], resolution, _WAY_BUDGET, axis=len(pair.drives))

    def leads(self, pair: MovingPair) -> int:
        """How many times as fast as the group is led, straight on, the gap of the pair can change."""
        drive = len(pair.drives)
        return max(sum(joint.drive == drive for joint in (*a, *b)) for _, a, b in self._roots(pair, 0.0, 0.0))

    def limit(self, pair: MovingPair) -> Limit:
        """What a pair must keep while things move."""
        return Limit(self.group.assembly.rules.limit(pair.a, pair.b).moving)

    def doubt(self, pair: MovingPair, start: float, end: float) -> InMotion:
        """What is not known of a pair with the group anywhere from `start` to `end`."""
        key = (pair, start, end)
        if key not in self._doubts:
            assembly = self.group.assembly
            roots = tuple(
                (Cell.of([*cell.low, start], [*cell.high, end]), piece)
                for cell, piece in assembly.motions.roots(pair.drives)
            )
            lead = Lead(self._account, self._rate(pair))
            self._doubts[key] = InMotion(assembly.account, pair.a, pair.b, pair.drives, roots, lead)
        return self._doubts[key]

    def _rate(self, pair: MovingPair) -> float:
        """How fast what is not known of a pair may grow, mm for each unit of the lead."""
        account = self.group.assembly.account
        shifted, turned = np.sum([account.leverage(*ends, self.group.nodes) for ends in pair.both], axis=0)
        if self.lead.point is None:
            return float(abs(self.lead.rate) * shifted)
        return float(abs(self.lead.rate) * (turned + shifted * self._radius(self.lead.point)))

    def _radius(self, point: Point) -> float:
        parts = self.group.assembly.parts
        corners = np.vstack([parts[name].box() for name in self.group.nodes if name in parts])
        return float(np.linalg.norm(np.abs(corners - point).max(axis=0)))

    def _account(self, s: float) -> Account:
        """The account of the scene with the group at `s`."""
        assembly, part = self.group.assembly, self.group.part
        if s not in self._accounts:
            by = replace(self.lead, drive=0).pose(np.array([s]))
            moved = displaced(assembly, self.group.nodes, by).parts
            self._accounts[s] = assembly.account.put(part, drawn_at(assembly, part, by), moved)
        return self._accounts[s]

    def _asked(self, pair: MovingPair, start: float, end: float) -> tuple[MovedPair, float] | None:
        """The pair with the group anywhere from `start` to `end`, and the least gap it must keep.

        None where their boxes stay apart.
        """
        assembly, roots, doubt = self.group.assembly, self._roots(pair, start, end), self.doubt(pair, start, end)
        boxes = (
            self._swept(pair.a, pair.motions_a, [(cell, chain) for cell, chain, _ in roots]),
            self._swept(pair.b, pair.motions_b, [(cell, chain) for cell, _, chain in roots]),
        )
        unread, limit = assembly.beyond.between(pair.a, pair.b), self.limit(pair)
        needed = max(limit.floor, 0.0) + doubt.most
        if box_distance(*boxes) > needed + unread + HAIR + BOX_SLACK:
            return None
        more = assembly.beyond.margin if unread and self._reaches_out(pair, boxes, needed) else 0.0
        moved = MovedPair(self.group.session, assembly.parts[pair.a], assembly.parts[pair.b], roots, doubt)
        return moved, limit.floor + HAIR + more

    def _reaches_out(self, pair: MovingPair, boxes: tuple[Floats, Floats], needed: float) -> bool:
        """Whether the pair may come near what was not read of a skin."""
        beyond, parts = self.group.assembly.beyond, self.group.assembly.parts
        for skin, motions, other, box in (
            (pair.a, pair.motions_a, pair.b, boxes[1]),
            (pair.b, pair.motions_b, pair.a, boxes[0]),
        ):
            moves = bool(motions) or skin in self.group.nodes
            if beyond.unread(skin) and (moves or beyond.swept_out(parts[skin], other, box, needed)):
                return True
        return False

    def _swept(self, part: str, motions: tuple[str, ...], ways: Sequence[tuple[Cell, Chain]]) -> Floats:
        """A box (2, 3), mm, that holds a part wherever its chains carry it."""
        cell, chain = ways[0]
        way = (len(chain), cell.low[-1], cell.high[-1]) if _is_led(chain, len(cell.low) - 1) else ()
        known = self._boxes if way else self.group.boxes
        key = (part, motions, *way)
        if key not in known:
            placed = self.group.assembly.parts[part]
            hull = hull_of(placed.solids)
            boxes = [swept_box(chain, placed, hull, cell) for cell, chain in ways]
            known[key] = np.array([np.min(boxes, axis=0)[0], np.max(boxes, axis=0)[1]])
        return known[key]

    def _roots(self, pair: MovingPair, start: float, end: float) -> tuple[_Root, ...]:
        """The cells to be searched, the way of the group last, each with the chains that hold in it."""
        lead, roots = replace(self.lead, drive=len(pair.drives)), []
        for cell, piece in self.group.assembly.motions.roots(pair.drives):
            whole = Cell.of([*cell.low, start], [*cell.high, end])
            a = self._chain(pair, pair.a, pair.motions_a, piece, lead)
            b = self._chain(pair, pair.b, pair.motions_b, piece, lead)
            while a and b and a[0] is b[0]:  # what leads both alike
                a, b = a[1:], b[1:]
            roots.append((whole, a, b))
        return tuple(roots)

    def _chain(
        self, pair: MovingPair, part: str, motions: Sequence[str], piece: Mapping[str, int], lead: Joint
    ) -> Chain:
        joints: list[Joint] = []
        led: Chain = ()
        for motion in motions:
            own = self._leading(motion, lead)
            made = self.group.assembly.motions.chain(part, (motion,), pair.drives, piece)
            joints += [*_changed(led, own), *made]
            led = own
        return (*joints, *_changed(led, (lead,) if part in self.group.nodes else ()))

    def _leading(self, motion: str, lead: Joint) -> Chain:
        """What is done to the line of a motion as the group is led."""
        group = self.group
        if group.is_led(motion):
            return (lead,)
        if not group.turns_about_led(motion):
            return ()
        if lead.point is None:
            return (lead,)
        zero = group.assembly.poses[group.assembly.scene.motions[motion].carries[0]].translation
        return lead, Joint(lead.drive, lead.axis, -lead.rate, zero)  # its middle is shifted, its line not turned


def _changed(led: Chain, to: Chain) -> Chain:
    """From what is led one way to what is led another."""
    return () if led == to else (*backwards(led), *to)


def _is_led(chain: Chain, drive: int) -> bool:
    return any(joint.drive == drive for joint in chain)
