r"""What earlier answers say of two solids in a new pose, before a single triangle is asked.

Searches ask for the same pair again and again, a little farther on. Three things are kept of each answer, and each
is a proof in any pose:

    points   the gap is no more than the distance between two points, one on either solid, wherever they go
    planes   the gap is no less than the room between the hulls of the two, across any direction:

                 a's hull  |<-- room -->|  b's hull        (and nothing lies inside anything)

    steps    the gap shrinks by no more than any point has travelled since it was measured

All are told of the true solids, whatever facets were asked.
Source of the search for a plane: Gilbert, "An iterative procedure for computing the minimum of a quadratic form on
a convex set", SIAM J. Control 4 (1966).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from packcheck.arrays import Floats, Point, Points, Vector
from packcheck.frames import Pose
from packcheck.proximity.hulls import Hull, hull_of
from packcheck.solids.core.solid import Solid
from packcheck.tolerances import BOX_SLACK

__all__ = ["Known", "Recall"]

_KEPT = 8  # answers
_NEWS = 0.05  # mm
_TURNS = 6  # directions tried for a plane
_HOPELESS = 4  # times in a row that no plane was found, before only likely ones are tried
_NO_WAY = 1e-9  # mm; points nearer than this have no direction between them


@dataclass(frozen=True, slots=True, eq=False)
class Known:
    """The gap lies in [`low`, `high`] mm; `on_a` and `on_b`, a's frame, are where it is `value` as drawn."""

    low: float
    value: float = np.inf
    high: float = np.inf
    on_a: Point | None = None
    on_b: Point | None = None


class Recall:
    """What is remembered of two solids; poses carry b to a's frame.

    Nothing is remembered of how far an open surface is from what its box meets: that is asked in full each time.
    """

    def __init__(self, a: Solid, b: Solid) -> None:
        self._solids = a, b
        self._encloses = a.encloses or b.encloses
        self._hulls: tuple[Hull, Hull] | None = None
        self._ball: tuple[Point, float] | None = None
        self._turns: Floats = np.empty((0, 9))
        self._places: Points = np.empty((0, 3))
        self._lows: Floats = np.empty(0)
        self._on_a: Points = np.empty((0, 3))
        self._on_b: Points = np.empty((0, 3))
        self._errors: Floats = np.empty(0)
        self._normal: Vector | None = None
        self._failed = 0

    def apart(self, pose: Pose, low: float) -> None:
        """The gap was measured to be at least `low` mm; it is remembered where it says more than what is known."""
        if low <= max(self._since(pose) + _NEWS, 0.0):
            return
        self._turns = np.concatenate([self._turns[1 - _KEPT :], pose.rotation.reshape(1, 9)])
        self._places = np.concatenate([self._places[1 - _KEPT :], pose.translation[None]])
        self._lows = np.append(self._lows[1 - _KEPT :], low)

    def met(self, pose: Pose, on_a: Point, on_b: Point, error: float) -> None:
        """Points (3,) near each other, a's frame, that together are within `error` mm of the two solids."""
        back = pose.inverse().apply(on_b)
        self._on_a = np.concatenate([self._on_a[1 - _KEPT :], on_a[None]])
        self._on_b = np.concatenate([self._on_b[1 - _KEPT :], back[None]])
        self._errors = np.append(self._errors[1 - _KEPT :], error)

    def known(self, pose: Pose, wanted: float) -> Known:
        """Bounds of the gap; `low` is sought up to `wanted` mm and no further."""
        if not len(self._lows) and not len(self._on_a):
            return Known(-np.inf)
        low = self._since(pose)
        if not len(self._on_a):
            return Known(low if low >= wanted else max(low, self._planes(pose, None, wanted)))
        on_b = pose.apply(self._on_b)
        ways = self._on_a - on_b
        lengths = np.sqrt(np.einsum("ij,ij->i", ways, ways))
        ends = lengths + self._errors
        best = int(ends.argmin())
        value = float(lengths[best])
        if low < wanted <= value:
            low = max(low, self._planes(pose, ways[best], wanted))
        high = np.inf if self._encloses else float(ends[best])
        return Known(low, value, high, self._on_a[best], on_b[best])

    def _since(self, pose: Pose) -> float:
        """The most that any gap measured before still leaves: points of b travelled no farther than its ball."""
        if not len(self._lows):
            return -np.inf
        steps, lows = pose.translation - self._places, self._lows
        turns = pose.rotation.reshape(9) - self._turns
        if turns.any():
            centre, radius = self._round()
            steps = steps + turns.reshape(-1, 3, 3) @ centre
            chords = np.sqrt(np.einsum("ij,ij->i", turns, turns) / 2)  # 2 sin(angle / 2)
            lows = lows - chords * radius
        return float((lows - np.sqrt(np.einsum("ij,ij->i", steps, steps))).max()) - BOX_SLACK

    def _round(self) -> tuple[Point, float]:
        """A ball, own frame, that holds the core of b and its error."""
        if self._ball is None:
            solid = self._solids[1]
            centre = (solid.vertices.min(axis=0) + solid.vertices.max(axis=0)) / 2
            away = solid.vertices - centre
            self._ball = centre, float(np.sqrt(np.einsum("ij,ij->i", away, away).max())) + solid.error
        return self._ball

    def _planes(self, pose: Pose, way: Vector | None, wanted: float) -> float:
        """The most room found between the hulls across a plane, radii and errors taken off."""
        a, b = self._both_hulls()
        off = a.greatest_radius + b.greatest_radius + a.error + b.error + BOX_SLACK
        best = -np.inf
        if self._normal is not None:
            best = self._room(pose, self._normal)[0] - off
        if best < wanted:
            best = max(best, self._turned(pose, self._middles(pose) if way is None else way, wanted + off) - off)
        self._failed = 0 if best > 0 else self._failed + 1
        return best

    def _turned(self, pose: Pose, way: Vector, wanted: float) -> float:
        """The room between the hulls across planes that turn towards what stands nearest, up to `wanted` mm."""
        best = -np.inf
        for _ in range(_TURNS if self._failed < _HOPELESS else 1):
            length = float(np.sqrt(way @ way))
            if length <= max(_NO_WAY, wanted if best > -np.inf else 0.0):
                break  # the hulls are nearer than that
            normal = way / length
            room, nearest = self._room(pose, normal)
            if room > best:
                best, self._normal = room, normal
            if best >= wanted:
                break
            step = nearest - way
            along = float(step @ step)
            share = -float(way @ step) / along if along > 0 else 0.0
            if share <= 0:
                break
            way = way + min(share, 1.0) * step
        return best

    def _room(self, pose: Pose, normal: Vector) -> tuple[float, Vector]:
        """The room across a unit normal (a's frame, from b to a), mm, and the way (3,) between the points there."""
        a, b = self._both_hulls()
        on_a = a.points[int((a.points @ normal).argmin())]
        on_b = b.points[int((b.points @ (normal @ pose.rotation)).argmax())]
        way = on_a - pose.rotation @ on_b - pose.translation
        return float(way @ normal), way

    def _middles(self, pose: Pose) -> Vector:
        a, b = self._both_hulls()
        way: Vector = a.points.mean(axis=0) - pose.apply(b.points.mean(axis=0))
        return way

    def _both_hulls(self) -> tuple[Hull, Hull]:
        if self._hulls is None:
            a, b = self._solids
            self._hulls = hull_of((a,)), hull_of((b,))
        return self._hulls
