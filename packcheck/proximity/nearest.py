r"""The nearest points of two cores: which patches to ask, and which cannot hold them.

Whatever pair of patches is asked first, the answer is that of all triangles against all; the rest only spares work:

    boxes too far apart for the best so far             never looked at
    planes across the way between nearest points        not asked
        a's patch  |<-- between -->|  b's patch
    too far apart a moment ago                          not even looked at until the cores have travelled
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from packcheck.arrays import Floats, Point, Vector
from packcheck.frames import Pose
from packcheck.proximity.engine import Where, triangle_distance, where
from packcheck.proximity.patches import Numbers, Patches, near_pairs

__all__ = ["Front", "Looked", "Nearest", "core_distance", "nearest_points"]

_TIE = 1e-9  # mm; patches no nearer than this under the best so far cannot better it by more than rounding
_SLAB_LEAST = 1e-6  # mm; nearest points closer than this give no direction worth trusting
_PAST = 25.0  # mm; how much farther than asked boxes are looked at: it costs little and often saves the next look
_KEPT = 256  # pairs of patches


@dataclass(frozen=True, slots=True, eq=False)
class Nearest:
    """The distance of two cores, mm, their nearest points in a's frame, and the patches that hold them."""

    distance: float
    on_a: Point
    on_b: Point
    patches: tuple[int, int]


@dataclass(slots=True, eq=False)
class Front:
    """Pairs of patches, `rows` of a and `columns` of b, and what is known of their distances in one pose.

    Each is at least its `bounds` mm apart, all others at least `rest`. Those `asked` are exact.
    """

    pose: Pose
    rows: Numbers
    columns: Numbers
    bounds: Floats
    rest: float
    asked: npt.NDArray[np.bool_] = field(init=False)

    def __post_init__(self) -> None:
        self.asked = np.zeros(len(self.bounds), dtype=bool)

    @property
    def low(self) -> float:
        """No patches are nearer than this, mm."""
        return min(self.rest, float(self.bounds.min(initial=np.inf)))

    @property
    def first(self) -> tuple[int, int] | None:
        """The pair of patches most likely to hold the nearest points."""
        if not len(self.bounds):
            return None
        k = int(self.bounds.argmin())
        return int(self.rows[k]), int(self.columns[k])

    def at(self, pose: Pose, b: Patches) -> Front:
        """What is left of it once b has travelled."""
        gone = b.travelled(self.pose, pose)
        return Front(pose, self.rows, self.columns, self.bounds - gone, self.rest - gone)

    def next(self, enough: float) -> int | None:
        """The pair to be asked now, by its place; None when none can be nearer than `enough` mm."""
        waiting = np.where(self.asked, np.inf, self.bounds)
        k = int(waiting.argmin()) if len(waiting) else 0
        return k if len(waiting) and waiting[k] < enough - _TIE else None

    def settle(self, answer: Nearest) -> None:
        """A pair has been asked."""
        row, column = answer.patches
        places = np.flatnonzero((self.rows == row) & (self.columns == column))
        if not len(places):
            self.rows, self.columns = np.append(self.rows, row), np.append(self.columns, column)
            self.bounds, self.asked = np.append(self.bounds, 0.0), np.append(self.asked, False)
            places = np.array([len(self.bounds) - 1])
        self.bounds[places], self.asked[places] = answer.distance, True

    def raise_across(self, a: Patches, b: Patches, way: Vector, enough: float) -> None:
        """Bounds rise to the room across a unit vector, where they are still under `enough` mm."""
        waiting = np.flatnonzero(~self.asked & (self.bounds < enough - _TIE))
        if len(waiting):
            ends_a = a.least_along(self.rows[waiting], way)
            ends_b = -b.least_along(self.columns[waiting], -(way @ self.pose.rotation))
            between = ends_a - ends_b - float(way @ self.pose.translation)
            self.bounds[waiting] = np.maximum(self.bounds[waiting], between)

    def trimmed(self) -> Front:
        """The nearest of its pairs, to be remembered."""
        if len(self.bounds) <= _KEPT:
            return self
        order = np.argsort(self.bounds, kind="stable")
        kept, rest = order[:_KEPT], min(self.rest, float(self.bounds[order[_KEPT]]))
        return Front(self.pose, self.rows[kept], self.columns[kept], self.bounds[kept], rest)


@dataclass(frozen=True, slots=True, eq=False)
class Looked:
    """What a look for nearest points gave: them, or None; the cores are at least `low` mm apart.

    `front` helps the next look at the same two.
    """

    nearest: Nearest | None
    low: float
    front: Front | None = None


def core_distance(
    a: Patches, b: Patches, a_from_b: Pose, beyond: float = np.inf
) -> tuple[float, Point, Point] | None:
    """Distance of two cores, mm, and their nearest points in a's frame; 0 when the surfaces cross.

    None when nothing is nearer than `beyond` mm.
    """
    found = nearest_points(a, b, a_from_b, beyond).nearest
    return None if found is None else (found.distance, found.on_a, found.on_b)


def nearest_points(
    a: Patches,
    b: Patches,
    a_from_b: Pose,
    beyond: float = np.inf,
    front: Front | None = None,
    enough: float = 0.0,
) -> Looked:
    """The nearest points of two cores, at distance 0 when the surfaces cross; none unless within `beyond` mm.

    Pairs of patches are taken least bound first and stop as soon as none can better the best, so the answer is that
    of all triangles against all. `front` is that of an earlier look at the same two. Points nearer than `enough` mm
    will do as they are; `low` then says nothing.
    """
    placed = where(a_from_b)
    enough = min(enough, float(np.nextafter(beyond, -np.inf)))  # points farther apart than `beyond` are no answer
    if len(a) == len(b) == 1:
        alone = _asked(a, b, (0, 0), placed)
        return Looked(alone if alone.distance < beyond else None, alone.distance)
    now = None if front is None else front.at(a_from_b, b)
    if now is not None and now.low >= beyond:
        return Looked(None, now.low, front)
    best = None if now is None or now.first is None else _asked(a, b, now.first, placed)
    if best is not None and best.distance <= max(enough, 0.0):
        return Looked(best if best.distance < beyond else None, best.distance, front)
    needed = beyond if best is None else min(beyond, best.distance)
    if now is None or now.rest < needed:
        now = Front(a_from_b, *near_pairs(a, b, a_from_b, needed + _PAST))
    return _searched(a, b, placed, now, best, beyond, enough)


def _searched(
    a: Patches, b: Patches, placed: Where, front: Front, best: Nearest | None, beyond: float, enough: float
) -> Looked:
    """The nearest points, all pairs that could hold them being in `front`; `best` was asked before."""
    answer, needed = best, beyond
    while True:
        if answer is not None:
            front.settle(answer)
            best = answer if best is None or answer.distance < best.distance else best
            if best.distance <= max(enough, 0.0):
                return Looked(best if best.distance < beyond else None, best.distance, front.trimmed())
            needed = min(beyond, best.distance)
            if answer.distance > _SLAB_LEAST:
                front.raise_across(a, b, (answer.on_a - answer.on_b) / answer.distance, needed)
        k = front.next(needed)
        if k is None:
            break
        answer = _asked(a, b, (int(front.rows[k]), int(front.columns[k])), placed)
    if best is not None and best.distance < beyond:
        return Looked(best, best.distance, front.trimmed())
    return Looked(None, front.low, front.trimmed())


def _asked(a: Patches, b: Patches, pair: tuple[int, int], placed: Where) -> Nearest:
    return Nearest(*triangle_distance(a.tree(pair[0]), b.tree(pair[1]), placed), pair)
