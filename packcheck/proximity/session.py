"""The one thing in the kernel that remembers: patches by solid, answers by relative pose, a count of the work."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np

from packcheck.arrays import Floats, Vector, frozen
from packcheck.frames import IDENTITY, Pose
from packcheck.proximity.freeing import shortest_escape
from packcheck.proximity.pairs import Body, PairGap, pair_gap
from packcheck.proximity.patches import Patches
from packcheck.proximity.separation import Placed, Separation
from packcheck.solids.solid import Solid
from packcheck.tolerances import CONTACT_BAND

__all__ = ["Bounds", "Session", "Work"]

_Key: TypeAlias = tuple[int, int, bytes]


@dataclass(slots=True)
class Work:
    """What was done: pairs of parts measured, pairs of solids measured, ways out searched."""

    gaps: int = 0
    solid_pairs: int = 0
    escapes: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class Bounds:
    """The gap lies in [low, high] mm; `direction` (3,), car frame, as in a Separation."""

    low: float
    high: float
    direction: Vector | None


@dataclass(slots=True)
class Session:
    """Measures gaps between placed parts. Not safe to share between threads: fcl holds the interpreter anyway."""

    work: Work = field(default_factory=Work)
    _bodies: dict[int, Body] = field(default_factory=dict)
    _memo: dict[_Key, Separation] = field(default_factory=dict)
    _kept: dict[int, tuple[Solid, ...]] = field(default_factory=dict)

    def gap(self, a: Placed, b: Placed) -> Separation:
        """How far apart are two parts, and where? Car frame, mm; negative when they overlap.

        Separated, and overlapping while both are single convex solids: exact within the solids' stated errors.
        Otherwise overlapping: `low` is minus the length of a verified way out, `high` minus a proven depth.
        A containing part and the part it contains overlap. Raises QueryError on an invalid solid or pose.

        Accuracy: table in DEVELOPERS.md. Cost: 0.05 ms for boxes, some 0.2 ms for curved and mesh parts, 2 to
        4 ms for overlapping convex pairs, some 100 ms for overlapping pairs that are not convex.
        """
        if b.name < a.name:
            return self.gap(b, a).swapped()
        a_from_b = a.pose.inverse() @ b.pose
        key = (id(a.solids), id(b.solids), a_from_b.rotation.tobytes() + a_from_b.translation.tobytes())
        if key not in self._memo:
            self.work.gaps += 1
            self._kept[id(a.solids)], self._kept[id(b.solids)] = a.solids, b.solids
            self._memo[key] = self._measured(a.solids, b.solids, a_from_b)
        return self._memo[key].carried(a.pose)

    def bounds(self, a: Placed, b: Placed, beyond: float = np.inf) -> Bounds:
        """Proven bounds of the gap, without seeking a way out of overlaps that are not convex.

        `low` is -inf for those. Parts surely farther apart than `beyond` mm give (beyond, inf).
        """
        a_from_b = a.pose.inverse() @ b.pose
        near = self._pairs(a.solids, b.solids, a_from_b, beyond)
        if not near:
            return Bounds(beyond, np.inf, None)
        worst = min(near, key=_value)
        low = min(pair.low for pair in near)
        if worst.value < 0 and not (a.convex and b.convex):
            low = -np.inf
        direction = None if worst.direction is None else frozen(a.pose.rotate(worst.direction))
        return Bounds(low, min(pair.high for pair in near), direction)

    def _measured(self, a: tuple[Solid, ...], b: tuple[Solid, ...], a_from_b: Pose) -> Separation:
        pairs = self._pairs(a, b, a_from_b, np.inf)
        worst = min(pairs, key=lambda pair: pair.value)
        doubt = next((pair.doubt for pair in pairs if pair.doubt), "")
        single = len(a) == len(b) == 1
        if doubt or (worst.low > -np.inf and (worst.value >= 0 or single)):
            low, high = min(pair.low for pair in pairs), min(pair.high for pair in pairs)
            return _separation(worst, None if doubt else low, high, doubt)
        return self._overlapping(a, b, a_from_b, worst, min(pair.high for pair in pairs))

    def _overlapping(
        self, a: tuple[Solid, ...], b: tuple[Solid, ...], a_from_b: Pose, worst: PairGap, high: float
    ) -> Separation:
        """An overlap whose depth has no closed answer: the best verified way out, and the proven least.

        Parts that only just clear come here too, when their facets cannot tell: then `worst` is the gap.
        """
        self.work.escapes += 1

        def moved(shift: Vector) -> Pose:
            return Pose(a_from_b.rotation, frozen(a_from_b.translation - shift))

        def span(way: Vector) -> float:
            return _height(a, IDENTITY, -way) + _height(b, a_from_b, way) + CONTACT_BAND

        escape = shortest_escape(
            lambda shift: self._clear_by(a, b, moved(shift)), span, [np.eye(3), a_from_b.rotation]
        )
        if escape is None:
            return _separation(worst, None, high, "no way out was found")
        length = float(np.linalg.norm(escape))
        if worst.direction is not None and worst.value >= 0:
            return _separation(worst, -length, high, "")
        touching = min(self._pairs(a, b, moved(escape), np.inf), key=_value)
        meeting = (touching.on_a + touching.on_b) / 2
        return Separation(-length, -length, high, frozen([meeting, meeting + escape]), frozen(escape / length))

    def _clear_by(self, a: tuple[Solid, ...], b: tuple[Solid, ...], a_from_b: Pose) -> float:
        pairs = self._pairs(a, b, a_from_b, np.inf)
        low = min(pair.low for pair in pairs)
        return low if low > 0 else min(0.0, min(pair.high for pair in pairs))

    def _pairs(self, a: tuple[Solid, ...], b: tuple[Solid, ...], a_from_b: Pose, beyond: float) -> list[PairGap]:
        """Every pair of solids that could decide: nearest boxes first, until no box can better the best."""
        found: list[PairGap] = []
        best = beyond
        for distance, first, second in self._candidates(a, b, a_from_b):
            if distance > max(best, 0.0):
                break
            self.work.solid_pairs += 1
            pair = pair_gap(first, second, a_from_b, max(best, 0.0) if np.isfinite(best) else np.inf)
            if pair is not None:
                found.append(pair)
                best = min(best, pair.value + 2 * (first.solid.error + second.solid.error))
        return found

    def _candidates(
        self, a: tuple[Solid, ...], b: tuple[Solid, ...], a_from_b: Pose
    ) -> list[tuple[float, Body, Body]]:
        firsts, seconds = [self._body(solid) for solid in a], [self._body(solid) for solid in b]
        if len(firsts) == len(seconds) == 1:
            return [(0.0, firsts[0], seconds[0])]
        boxes = [_box(body.solid, a_from_b) for body in seconds]
        pairs = [
            (_box_gap(first.solid.low_corner, first.solid.high_corner, *box), first, second)
            for first in firsts
            for second, box in zip(seconds, boxes, strict=True)
        ]
        return sorted(pairs, key=lambda pair: pair[0])

    def _body(self, solid: Solid) -> Body:
        body = self._bodies.get(id(solid))
        if body is None:
            body = self._bodies[id(solid)] = Body(solid, Patches(solid))
        return body


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


def _box(solid: Solid, pose: Pose) -> tuple[Floats, Floats]:
    corners = pose.apply(solid.vertices)
    grown = solid.radius + solid.error
    return corners.min(axis=0) - grown, corners.max(axis=0) + grown


def _box_gap(low_a: Floats, high_a: Floats, low_b: Floats, high_b: Floats) -> float:
    return float(np.linalg.norm(np.maximum(0.0, np.maximum(low_a - high_b, low_b - high_a))))


def _height(solids: tuple[Solid, ...], pose: Pose, way: Vector) -> float:
    """How far the solids, carried by `pose`, reach along a unit direction."""
    along = way @ pose.rotation
    offset = float(way @ pose.translation)
    return offset + max(float((s.vertices @ along).max()) + s.radius + s.error for s in solids)
