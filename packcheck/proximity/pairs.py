"""The gap of two single solids: cores measured exactly, radii taken off, containment tested, errors carried."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from packcheck.arrays import Point, Points, Vector
from packcheck.frames import Pose
from packcheck.proximity.depth import convex_distance, least_distance, penetration_depth
from packcheck.proximity.inside import INSIDE, FarField
from packcheck.proximity.nearest import Front, Looked, Nearest, nearest_points
from packcheck.proximity.patches import Patches
from packcheck.proximity.recall import Known, Recall
from packcheck.proximity.wound import spots, turns_round, wound_words
from packcheck.solids.core.solid import Solid
from packcheck.tolerances import DEPTH_WIDTH

__all__ = ["Body", "Pair", "PairGap", "pair_gap"]

_CROSSING = 1e-9  # mm; cores nearer than this have no direction between them worth having


class Body:
    """A solid with its patches; that of a rough twin knows the `fine` one."""

    def __init__(self, solid: Solid, fine: Body | None = None) -> None:
        self.solid = solid
        self.patches = Patches(solid)
        self.fine = fine or self

    @cached_property
    def far_field(self) -> FarField:
        """What the surface looks like to a far point."""
        return FarField(self.solid.whole or self.solid)

    @cached_property
    def spots(self) -> tuple[Points, int]:
        """Where to ask whether it lies within an open surface."""
        return spots(self.solid)


@dataclass(frozen=True, slots=True, eq=False)
class PairGap:
    """The gap of two solids in the frame of the first, mm.

    `low` is -inf when they overlap and are not both convex: then only `high` is proven, and how far one must
    travel to be free is another question. `on_a` - `on_b` = `value` * `direction` whenever `direction` is given.
    """

    value: float
    low: float
    high: float
    on_a: Point
    on_b: Point
    direction: Vector | None
    doubt: str = ""


class Pair:
    """Two solids, asked about in one pose after the other: what was learned in one helps in the next.

    Rough twins share what is known of the true gap with their `fine` pair.
    """

    def __init__(self, a: Body, b: Body, fine: Pair | None = None) -> None:
        self.a, self.b = a, b
        self._front: Front | None = None
        self._recall: Recall = Recall(a.fine.solid, b.fine.solid) if fine is None else fine._recall
        self._radii = a.solid.radius + b.solid.radius
        self._error = a.solid.error + b.solid.error
        self._convex = a.solid.convex and b.solid.convex
        self._encloses = a.solid.encloses or b.solid.encloses

    def gap(self, a_from_b: Pose, beyond: float = np.inf, below: float = -np.inf) -> PairGap | None:
        """The gap, or None when the solids are surely more than `beyond` mm apart.

        Once it is surely less than `below`, any points that prove it will do.
        """
        known = self._recall.known(a_from_b, beyond)
        sure = known.low if known.low <= 0 or self._told(a_from_b) else -np.inf
        if sure >= beyond:
            return None
        if known.high < below and known.value > _CROSSING:
            return _reached(known, sure)
        # of convex solids it must be proven, too, that they are farther apart than `beyond`
        looked = self._looked(a_from_b, np.inf if self._convex else beyond, below)
        found = self._judged(a_from_b, looked, below, apart=sure > 0)
        self._remember(a_from_b, found, looked)
        if found is None or not self._encloses:
            return found
        return replace(found, high=np.inf)  # the true shapes may be farther apart, or not overlap at all

    def clearance(self, a_from_b: Pose, beyond: float = np.inf) -> float:
        """How far the solids are surely apart, mm, or `beyond`; else zero, or minus how far one surely has to go.

        For searches: it asks for no depth, so an overlap costs no more than a gap.
        """
        known = self._recall.known(a_from_b, beyond)
        if known.low >= beyond:
            return beyond
        looked = self._looked(a_from_b, beyond)
        found = looked.nearest
        if found is not None and found.distance < _CROSSING:
            return min(0.0, self._error - self._radii)
        if known.low <= 0 and _one_holds_other(self.a, self.b, a_from_b):
            return min(0.0, self._error - self._radii - (0.0 if found is None else found.distance))
        self._recall.apart(a_from_b, looked.low - self._radii - self._error)
        if found is None:
            return beyond
        clear = found.distance - self._radii - self._error
        return clear if clear > 0 else min(0.0, clear + 2 * self._error)

    def _told(self, a_from_b: Pose) -> bool:
        """Whether a gap is all there is to tell: what an open surface may wind round is looked at each time."""
        return not any(
            outer.solid.open_surface and _boxes_meet(outer, inner, pose)
            for outer, inner, pose in ((self.a, self.b, a_from_b), (self.b, self.a, a_from_b.inverse()))
        )

    def _looked(self, a_from_b: Pose, beyond: float, below: float = -np.inf) -> Looked:
        """The nearest points of the cores if the gap is less than `beyond`, or any that show it less than `below`.

        Of a shape that only encloses the true one, no points show that.
        """
        enough = -np.inf if self._encloses else below + self._radii - self._error
        within = beyond + self._radii + self._error
        looked = nearest_points(self.a.patches, self.b.patches, a_from_b, within, self._front, enough)
        self._front = looked.front
        return looked

    def _judged(self, a_from_b: Pose, looked: Looked, below: float, *, apart: bool) -> PairGap | None:
        """The gap; where the solids are known to be `apart`, neither is looked for inside the other."""
        a, b, found = self.a, self.b, looked.nearest
        if found is not None and found.distance < _CROSSING:
            return _crossing(a.solid, b.solid, a_from_b, found.on_a)
        if found is not None and not self._encloses and found.distance - self._radii + self._error < below:
            return self._near_enough(found)
        if not apart and _one_holds_other(a, b, a_from_b):
            return _contained(a.solid, b.solid, a_from_b, found, looked.low)
        doubt = _doubt(a, b, a_from_b)
        if found is None and not doubt:
            return None
        found = found or self._looked(a_from_b, np.inf).nearest
        assert found is not None
        return _apart(a.solid, b.solid, a_from_b, found, doubt)

    def _near_enough(self, found: Nearest) -> PairGap:
        """A gap of which no more is told than that it is no greater than the distance of two points."""
        value = found.distance - self._radii
        direction = (found.on_a - found.on_b) / found.distance
        cores = found.on_a, found.on_b
        return _between(self.a.solid, self.b.solid, cores, (-np.inf, value, value + self._error), direction, "")

    def _remember(self, a_from_b: Pose, found: PairGap | None, looked: Looked) -> None:
        if found is None:
            self._recall.apart(a_from_b, looked.low - self._radii - self._error)
            return
        if not found.doubt:
            self._recall.apart(a_from_b, found.low)
        if found.value > _CROSSING and found.direction is not None:
            self._recall.met(a_from_b, found.on_a, found.on_b, self._error)


def pair_gap(a: Body, b: Body, a_from_b: Pose, beyond: float = np.inf) -> PairGap | None:
    """The gap of two solids, or None when they are surely more than `beyond` mm apart."""
    return Pair(a, b).gap(a_from_b, beyond)


def _reached(known: Known, low: float) -> PairGap:
    """The gap where two points are known to be near enough."""
    assert known.on_a is not None and known.on_b is not None
    direction = (known.on_a - known.on_b) / known.value
    return PairGap(known.value, min(low, known.value), known.high, known.on_a, known.on_b, direction)


def _apart(a: Solid, b: Solid, a_from_b: Pose, found: Nearest, doubt: str) -> PairGap:
    """Cores apart: the gap is their distance less the radii.

    When balls overlap although cores do not, that is exact for convex cores. Otherwise a part may have to travel
    farther than that to be free, so only the upper end stands.
    """
    if a.support is not None and b.support is not None:
        return _convex_apart(a, b, a_from_b, found, doubt)
    core_a, core_b = found.on_a, found.on_b
    distance = max(float(np.linalg.norm(core_a - core_b)), _CROSSING)
    value, error = distance - a.radius - b.radius, a.error + b.error
    low = value - error if value >= error and not doubt else -np.inf
    return _between(a, b, (core_a, core_b), (low, value, value + error), (core_a - core_b) / distance, doubt)


def _convex_apart(a: Solid, b: Solid, a_from_b: Pose, found: Nearest, doubt: str) -> PairGap:
    """Convex cores apart: the planes across the direction prove the distance, whatever engine found it.

    Where they do not come near it, it is found again by the supports alone.
    """
    assert a.support is not None and b.support is not None
    core_a, core_b = found.on_a, found.on_b
    distance = float(np.linalg.norm(core_a - core_b))
    if distance < _CROSSING:
        return _crossing(a, b, a_from_b, core_a)
    direction, high = (core_a - core_b) / distance, distance + a.error + b.error
    low = least_distance(a.support, b.support, a_from_b, direction)
    if high - low > 2 * (a.error + b.error) + DEPTH_WIDTH:
        apart = convex_distance(a.support, b.support, a_from_b)
        if apart.high < _CROSSING:
            return _crossing(a, b, a_from_b, core_a)
        low, distance, high, direction = apart.low, apart.high, apart.high, apart.direction
        core_a, core_b = apart.on_a, apart.on_b
    radii = a.radius + b.radius
    ends = (-np.inf if doubt else low - radii, distance - radii, high - radii)
    return _between(a, b, (core_a, core_b), ends, direction, doubt)


def _between(
    a: Solid,
    b: Solid,
    cores: tuple[Point, Point],
    ends: tuple[float, float, float],
    direction: Vector,
    doubt: str,
) -> PairGap:
    """A gap from low, value and high, with witness points out on the balls round the cores."""
    low, value, high = ends
    return PairGap(
        value,
        min(low, value),
        high,
        cores[0] - direction * a.radius,
        cores[1] + direction * b.radius,
        direction,
        doubt,
    )


def _crossing(a: Solid, b: Solid, a_from_b: Pose, meeting: Point) -> PairGap:
    """Core surfaces cross or touch."""
    radii, error = a.radius + b.radius, a.error + b.error
    if a.support is None or b.support is None:
        return PairGap(-radii, -np.inf, error - radii, meeting, meeting, None)
    if not (a.closed or b.closed):  # rods and balls: their cores enclose no volume
        direction = _flat_normal(a, b, a_from_b)
        on_a, on_b = meeting - direction * a.radius, meeting + direction * b.radius
        return PairGap(-radii, -radii - error, error - radii, on_a, on_b, direction)
    depth = penetration_depth(a.support, b.support, a_from_b)
    on_a = depth.on_a - depth.direction * a.radius
    on_b = depth.on_b + depth.direction * b.radius
    spare = error if depth.high == 0.0 else 0.0  # facets touch, the true faces may not
    return PairGap(-depth.low - radii, -depth.high - radii, spare - depth.low - radii, on_a, on_b, depth.direction)


def _contained(a: Solid, b: Solid, a_from_b: Pose, found: Nearest | None, beyond: float) -> PairGap:
    """One core lies wholly in the other: to come out, a part travels at least the distance of their surfaces."""
    if a.support is not None and b.support is not None:
        return _crossing(a, b, a_from_b, a_from_b.apply(b.vertices[0]))
    found = found or Nearest(beyond, a.vertices[0], a_from_b.apply(b.vertices[0]), (0, 0))
    least = found.distance + a.radius + b.radius - a.error - b.error
    return PairGap(-least, -np.inf, -max(least, 0.0), found.on_a, found.on_b, None)


def _flat_normal(a: Solid, b: Solid, a_from_b: Pose) -> Vector:
    """The direction in which two touching cores together are thinnest: square to both of two crossing rods."""
    corners = a_from_b.apply(b.vertices)
    spread = np.vstack([a.vertices - a.vertices.mean(axis=0), corners - corners.mean(axis=0), np.zeros((3, 3))])
    normal: Vector = np.linalg.svd(spread, full_matrices=False)[2][-1]
    return normal


def _one_holds_other(a: Body, b: Body, a_from_b: Pose) -> bool:
    return _holds(a, b, a_from_b) or _holds(b, a, a_from_b.inverse())


def _holds(outer: Body, inner: Body, outer_from_inner: Pose) -> bool:
    """Whether a vertex of any piece of `inner` lies inside the closed core of `outer`."""
    return outer.solid.closed and _winds(outer, inner.solid, outer_from_inner, INSIDE) > INSIDE


def _winds(outer: Body, inner: Solid, outer_from_inner: Pose, threshold: float) -> float:
    """The most that `outer` winds round a piece of `inner`; 0 at once for pieces outside its box."""
    pieces = inner.vertices[:1] if inner.pieces is None else inner.pieces
    points = outer_from_inner.apply(pieces)
    error = outer.solid.error
    near = points[((points >= outer.patches.low - error) & (points <= outer.patches.high + error)).all(axis=1)]
    return max((abs(outer.far_field.winding(point, threshold)) for point in near), default=0.0)


def _doubt(a: Body, b: Body, a_from_b: Pose) -> str:
    """Why an open surface leaves the pair undecided, if it does."""
    for outer, inner, pose in ((a, b, a_from_b), (b, a, a_from_b.inverse())):
        if outer.solid.open_surface and _boxes_meet(outer, inner, pose):
            points, spread = inner.spots
            turns = turns_round(outer.far_field, pose.apply(points), outer.patches.low, outer.patches.high)
            if words := wound_words(turns, spread):
                return words
    return ""


def _boxes_meet(outer: Body, inner: Body, pose: Pose) -> bool:
    low, high = inner.patches.box(pose)
    return bool((low <= outer.patches.high).all() and (high >= outer.patches.low).all())
