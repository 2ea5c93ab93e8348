"""The one thing in the kernel that remembers: patches by solid, answers by relative pose, a count of the work."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass, field, replace
from typing import Any, TypeAlias, TypeVar

import numpy as np

from packcheck.arrays import Points, Vector, frozen
from packcheck.frames import Pose
from packcheck.proximity.bounds import Bounds
from packcheck.proximity.freeing import drawn_in, room_left, shortest_escape
from packcheck.proximity.outward import out_of_hulls, ways_out
from packcheck.proximity.pairs import Body, Pair, PairGap
from packcheck.proximity.separation import Placed, Separation
from packcheck.proximity.sunken import sunk_at_least
from packcheck.solids.core.solid import Solid
from packcheck.tolerances import CONTACT_BAND

__all__ = ["Session", "Work"]

_Key: TypeAlias = tuple[int, int, bytes, float, float]
_Answer = TypeVar("_Answer")


@dataclass(slots=True)
class Work:
    """What was done: pairs of parts measured, pairs of solids measured, ways out and motions searched."""

    gaps: int = 0
    solid_pairs: int = 0
    escapes: int = 0
    searches: int = 0


@dataclass(slots=True)
class Session:
    """Measures gaps between placed parts. Not safe to share between threads: fcl holds the interpreter anyway."""

    work: Work = field(default_factory=Work)
    _bodies: dict[int, Body] = field(default_factory=dict)
    _couples: dict[tuple[int, int], Pair] = field(default_factory=dict)
    _memo: dict[_Key, Separation | None] = field(default_factory=dict)
    _ways: dict[tuple[int, int], int] = field(default_factory=dict)
    _kept: dict[int, tuple[Solid, ...]] = field(default_factory=dict)
    _answers: dict[Hashable, Any] = field(default_factory=dict)

    def gap(self, a: Placed, b: Placed) -> Separation:
        """How far apart are two parts, and where? Car frame, mm; negative when they overlap.

        Separated, and overlapping while both are single convex solids: exact within the solids' stated errors.
        Otherwise overlapping: `low` is minus the length of a verified way out, `high` minus a proven depth. A
        containing part and the part it contains overlap. Raises QueryError on an invalid solid or pose.

        Accuracy: table in tests/proximity/RESULTS.md. Cost: 0.05 ms for boxes, a ms for curved and mesh parts, 2 to
        4 ms for overlapping convex pairs, some 50 ms for overlapping pairs that are not convex.
        """
        found = self.gap_within(a, b, np.inf)
        assert found is not None
        return found

    def once(self, question: Hashable, answer: Callable[[], _Answer]) -> _Answer:
        """The answer to a question that holds all it depends on (of placed parts their `mark`): worked out once."""
        if question not in self._answers:
            self.work.searches += 1
            self._answers[question] = answer()
        found: _Answer = self._answers[question]
        return found

    def mark(self, part: Placed) -> tuple[int, bytes, bytes]:
        """What tells a placed part from all others this session has seen: its solids and its pose."""
        self._kept[id(part.solids)] = part.solids
        return id(part.solids), *part.pose.mark

    def joint_gap(self, a: Placed, b: Placed, seat: float) -> Separation:
        """The gap of parts joined on purpose: an overlap that `seat` mm of travel undo is followed no further."""
        found = self.gap_within(a, b, np.inf, seat)
        assert found is not None
        return found

    def sunk(self, a: Placed, b: Placed, bounds: Bounds) -> Bounds:
        """The same bounds, with a proven depth for parts that overlap and are not convex, where there is one."""
        if bounds.value >= 0 or bounds.low > -np.inf:
            return bounds
        depth = self._sunk_at_least(a.solids, b.solids, a.pose.inverse() @ b.pose)
        return replace(bounds, high=min(bounds.high, -depth)) if depth > 0 else bounds

    def room_by(self, a: Placed, b: Placed, seat: float, *, straight: bool) -> float:
        """How far, mm, may all points of a part travel before it is sunk in another by more than `seat`, surely?

        Where all travel alike (`straight`) that is as far as they are apart, and the seat; what turns may jam where
        it touches. 0 where they overlap and no short shift was found that frees them.
        """
        if b.name < a.name:
            return self.room_by(b, a, seat, straight=straight)
        a_from_b, bodies = a.pose.inverse() @ b.pose, (self._patched(a.solids), self._patched(b.solids))
        pairs, pair = self._pairs(*bodies, a_from_b, seat), (id(a.solids), id(b.solids))
        apart = min((each.low for each in pairs), default=seat)
        if apart >= CONTACT_BAND:
            return apart + seat if straight else apart
        if self._sunk_at_least(a.solids, b.solids, a_from_b) > seat:
            return 0.0
        ways, moved = ways_out(a.solids, b.solids, a_from_b, min(pairs, key=_value)), _mover(a_from_b)
        order = sorted(range(len(ways)), key=lambda k: k != self._ways.get(pair))

        def clear_by(shift: Vector) -> float:
            return self._clear_by(*bodies, moved(shift), 2 * seat)

        room, way = room_left(clear_by, ways[order], seat, straight=straight)
        self._ways[pair] = order[way]
        return room

    def gap_within(self, a: Placed, b: Placed, reach: float, enough: float = CONTACT_BAND / 2) -> Separation | None:
        """The gap, or None when the parts are surely more than `reach` mm apart: cheaper to know than how far.

        A way out of an overlap no longer than `enough` mm is taken without looking for a shorter one.
        """
        if b.name < a.name:
            turned = self.gap_within(b, a, reach, enough)
            return None if turned is None else turned.swapped()
        a_from_b = a.pose.inverse() @ b.pose
        key = (id(a.solids), id(b.solids), b"".join(a_from_b.mark), reach, enough)
        if key not in self._memo:
            self.work.gaps += 1
            self._kept[id(a.solids)], self._kept[id(b.solids)] = a.solids, b.solids
            self._memo[key] = self._measured(a.solids, b.solids, a_from_b, reach, enough)
        found = self._memo[key]
        return None if found is None else found.carried(a.pose)

    def bounds(self, a: Placed, b: Placed, beyond: float = np.inf, below: float = -np.inf) -> Bounds:
        """Proven bounds of the gap, without seeking a way out of overlaps that are not convex.

        `low` is -inf for those. Parts surely farther apart than `beyond` mm give (beyond, inf). Once the gap is
        surely less than `below` mm, no closer bounds are sought.
        """
        return self._bounds(a, b, self._patched, beyond, below)

    def rough_bounds(self, a: Placed, b: Placed, beyond: float = np.inf, below: float = -np.inf) -> Bounds:
        """The same with coarser facets on curved parts: some hundredths of a mm wide, and several times quicker."""
        return self._bounds(a, b, self._roughly, beyond, below)

    def _bounds(
        self, a: Placed, b: Placed, bodies: Callable[[tuple[Solid, ...]], list[Body]], beyond: float, below: float
    ) -> Bounds:
        if b.name < a.name:
            turned = self._bounds(b, a, bodies, beyond, below)
            return turned if turned.direction is None else replace(turned, direction=frozen(-turned.direction))
        near = self._pairs(bodies(a.solids), bodies(b.solids), a.pose.inverse() @ b.pose, beyond, below)
        if not near:
            return Bounds(beyond, np.inf)
        worst = min(near, key=_value)
        low = min(pair.low for pair in near)
        if worst.value < 0 and not (a.convex and b.convex):
            low = -np.inf
        direction = None if worst.direction is None else frozen(a.pose.rotate(worst.direction))
        return Bounds(low, min(pair.high for pair in near), worst.value, direction)

    def _measured(
        self, a: tuple[Solid, ...], b: tuple[Solid, ...], a_from_b: Pose, reach: float, enough: float
    ) -> Separation | None:
        pairs = self._pairs(self._patched(a), self._patched(b), a_from_b, reach)
        if not pairs:
            return None
        worst = min(pairs, key=_value)
        doubt = next((pair.doubt for pair in pairs if pair.doubt), "")
        low, high = min(pair.low for pair in pairs), min(pair.high for pair in pairs)
        single = len(a) == len(b) == 1
        if doubt or (low > -np.inf and (worst.value >= 0 or single)):
            return _separation(worst, None if doubt else low, high, doubt)
        return self._overlapping(a, b, a_from_b, worst, high, enough)

    def _overlapping(
        self, a: tuple[Solid, ...], b: tuple[Solid, ...], a_from_b: Pose, worst: PairGap, high: float, enough: float
    ) -> Separation:
        """An overlap whose depth has no closed answer: the best verified way out, and the proven least.

        Parts that only just clear come here too, when their facets cannot tell: then `worst` is the gap.
        """
        high = min(high, -self._sunk_at_least(a, b, a_from_b))
        moved = _mover(a_from_b)
        ways = ways_out(a, b, a_from_b, worst)
        escape = self._short_escape(a, b, moved, ways * enough)
        if escape is None:
            self.work.escapes += 1
            start = out_of_hulls(a, b, a_from_b)
            rough, fine = (self._roughly(a), self._roughly(b)), (self._patched(a), self._patched(b))
            escape = shortest_escape(lambda shift: self._clear_by(*rough, moved(shift)), start, ways)
            if escape is not None:  # with rough facets it ends a hair too far out
                length = float(np.linalg.norm(escape))
                closer = drawn_in(lambda shift: self._clear_by(*fine, moved(shift)), escape / length, length)
                escape = escape if closer is None else closer
        if escape is None:
            return _separation(worst, None, high, "no way out was found")
        length = float(np.linalg.norm(escape))
        if worst.direction is not None and worst.value >= 0:
            return _separation(worst, -length, high, "")
        touching = min(self._pairs(self._patched(a), self._patched(b), moved(escape), np.inf), key=_value)
        meeting = (touching.on_a + touching.on_b) / 2
        return Separation(-length, -length, high, frozen([meeting, meeting + escape]), frozen(escape / length))

    def _sunk_at_least(self, a: tuple[Solid, ...], b: tuple[Solid, ...], a_from_b: Pose) -> float:
        """A shift, mm, that no way out is shorter than; -inf when they may well be apart."""
        near = _nearest_boxes_first(self._patched(a), self._patched(b), a_from_b)
        depths = (sunk_at_least(first, second, a_from_b) for distance, first, second in near if distance <= 0)
        sunk = max(depths, default=0.0)
        return sunk if sunk > 0 else -np.inf

    def _short_escape(
        self, a: tuple[Solid, ...], b: tuple[Solid, ...], moved: Callable[[Vector], Pose], shifts: Points
    ) -> Vector | None:
        """The first of some short shifts (n, 3) of A that frees it; parts that only touch need no more.

        The way that freed the same two parts last time is tried first.
        """
        bodies, pair = (self._patched(a), self._patched(b)), (id(a), id(b))
        last = self._ways.get(pair, 0)
        for k in sorted(range(len(shifts)), key=lambda k: k != last):
            if self._clear_by(*bodies, moved(shifts[k]), CONTACT_BAND) > 0:
                self._ways[pair] = k
                free: Vector = shifts[k]
                return free
        return None

    def _clear_by(self, a: list[Body], b: list[Body], a_from_b: Pose, beyond: float = np.inf) -> float:
        """How far all solids are surely apart, mm, or `beyond`; else zero, or minus how far one surely must go."""
        clear = beyond
        for distance, first, second in _nearest_boxes_first(a, b, a_from_b):
            if distance > max(clear, 0.0):
                break
            self.work.solid_pairs += 1
            clear = min(clear, self._pair(first, second).clearance(a_from_b, max(clear, 0.0)))
        return clear

    def _pairs(
        self, a: list[Body], b: list[Body], a_from_b: Pose, beyond: float, below: float = -np.inf
    ) -> list[PairGap]:
        """Every pair of solids that could decide: nearest boxes first, until no box can better the best.

        One that is surely nearer than `below` mm decides alone.
        """
        found: list[PairGap] = []
        best = beyond
        for distance, first, second in _nearest_boxes_first(a, b, a_from_b):
            if distance > max(best, 0.0):
                break
            self.work.solid_pairs += 1
            pair = self._pair(first, second).gap(a_from_b, max(best, 0.0), below)
            if pair is not None and pair.high < below:
                return [pair]
            if pair is not None:
                found.append(pair)
                best = min(best, pair.high + first.solid.error + second.solid.error)
        return found

    def _pair(self, first: Body, second: Body) -> Pair:
        """The two with what is remembered of them; rough twins know what the solids themselves have learned."""
        key = id(first), id(second)
        pair = self._couples.get(key)
        if pair is None:
            itself = first.fine is first and second.fine is second
            fine = None if itself else self._pair(first.fine, second.fine)
            pair = self._couples[key] = Pair(first, second, fine)
        return pair

    def _patched(self, solids: tuple[Solid, ...]) -> list[Body]:
        """Solids in patches: most of a large mesh is never looked at."""
        for solid in solids:
            if id(solid) not in self._bodies:
                self._bodies[id(solid)] = Body(solid)
        return [self._bodies[id(solid)] for solid in solids]

    def _roughly(self, solids: tuple[Solid, ...]) -> list[Body]:
        """The same with coarser facets on curved faces."""
        rough = []
        for solid, fine in zip(solids, self._patched(solids), strict=True):
            if solid.draft is not None and id(solid.draft) not in self._bodies:
                self._bodies[id(solid.draft)] = Body(solid.draft, fine)
            rough.append(fine if solid.draft is None else self._bodies[id(solid.draft)])
        return rough


def _nearest_boxes_first(a: list[Body], b: list[Body], a_from_b: Pose) -> list[tuple[float, Body, Body]]:
    if len(a) == len(b) == 1:
        return [(0.0, a[0], b[0])]
    mine = np.array([(body.patches.low, body.patches.high) for body in a])[:, None]
    yours = np.array([body.patches.box(a_from_b) for body in b])[None]
    between = np.maximum(0.0, np.maximum(mine[..., 0, :] - yours[..., 1, :], yours[..., 0, :] - mine[..., 1, :]))
    grown = np.array([_grown(body) for body in a])[:, None] + np.array([_grown(body) for body in b])
    gaps = np.sqrt(np.einsum("ijk,ijk->ij", between, between)) - grown
    order = np.argsort(gaps, axis=None, kind="stable")
    return [(float(gaps.flat[k]), a[k // len(b)], b[k % len(b)]) for k in order.tolist()]


def _mover(a_from_b: Pose) -> Callable[[Vector], Pose]:
    """The relative pose after A has been shifted by (3,) mm, its own frame."""
    return lambda shift: Pose(a_from_b.rotation, frozen(a_from_b.translation - shift))


def _value(pair: PairGap) -> float:
    return pair.value


def _separation(pair: PairGap, low: float | None, high: float, doubt: str) -> Separation:
    return Separation(
        pair.value,
        low,
        high if np.isfinite(high) else None,
        frozen([pair.on_a, pair.on_b]),
        None if pair.direction is None else frozen(pair.direction),
        doubt,
    )


def _grown(body: Body) -> float:
    return body.solid.radius + body.solid.error
