"""Convex cores by their supports alone: how deep they overlap, and how far apart they surely are.

The Minkowski difference D = A - B holds the origin when A and B overlap, and the depth is the distance from the
origin to the boundary of D. A polytope of support points grows inside D:

    its nearest face, at distance f, says   depth >= f   (the polytope is inside D)
    the support along that face's normal    depth <= h   (moving A by -h n brings the origin out of D)

until h - f is closed. Supports are those of the true solids, so facets play no part in the answer.
Source: van den Bergen, "Proximity queries and penetration depth computation on 3D game objects", 2001.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from itertools import product
from typing import Any

import numpy as np

from packcheck.arrays import Floats, Point, Points, Vector
from packcheck.errors import Fault, QueryError
from packcheck.frames import Pose
from packcheck.solids.core.solid import Support
from packcheck.tolerances import CONTACT_BAND, DEPTH_WIDTH

__all__ = ["Apart", "Depth", "convex_distance", "least_distance", "penetration_depth"]

_ROUNDS = 40
_FACES_PER_ROUND = 4096  # round parts sunk into each other on one axis have thousands of nearest faces
_ROUNDING = 1e-12  # of the size of the parts: nearer than this they touch
_STARTS = np.array([d for d in product((-1.0, 0.0, 1.0), repeat=3) if any(d)])


@dataclass(frozen=True, slots=True, eq=False)
class Depth:
    """The depth lies in [low, high] mm. Moving A along `direction` by `high` surely sets the cores free.

    `on_a` - `on_b` = -low * direction: the witness points, in the frame of the query.
    """

    low: float
    high: float
    direction: Vector
    on_a: Point
    on_b: Point


@dataclass(frozen=True, slots=True, eq=False)
class Apart:
    """The distance lies in [low, high] mm; `on_a` - `on_b` = high * direction, in the frame of the query."""

    low: float
    high: float
    direction: Vector
    on_a: Point
    on_b: Point


def least_distance(a: Support, b: Support, a_from_b: Pose, direction: Vector) -> float:
    """A proven lower bound, mm, on the distance of two convex cores: that of the planes across `direction`.

    `direction` (3,) is a unit vector from B towards A, in a's frame. Negative where the planes do not separate.
    """
    return -float(_Difference(a, b, a_from_b).reach(-direction[None])[0])


def convex_distance(a: Support, b: Support, a_from_b: Pose) -> Apart:
    """How far two convex cores are apart, in a's frame, by their supports alone; `high` is 0 when they are not.

    The least vector of the polytope of support points of A - B says how far at the most, the plane across it how
    far at the least; its support point is added until they meet. Takes some 10 ms.
    Source: Gilbert, Johnson and Keerthi, "A fast procedure for computing the distance between complex objects in
    three-dimensional space", 1988; the least vector by non-negative least squares (scipy).
    """
    from scipy.optimize import nnls

    difference = _Difference(a, b, a_from_b)
    difference.reach(_STARTS / np.linalg.norm(_STARTS, axis=1)[:, None])
    scale = float(np.abs(difference.points).max())
    low = -np.inf
    for _ in range(_ROUNDS):
        points = difference.points / scale
        shares = nnls(np.vstack([points.T, np.ones(len(points))]), np.array([0.0, 0.0, 0.0, 1.0]))[0]
        shares /= shares.sum()
        least = shares @ difference.points
        high = float(np.linalg.norm(least))
        if high <= scale * _ROUNDING:
            return Apart(0.0, 0.0, np.zeros(3), *difference.blend(shares))
        low = max(low, -float(difference.reach(-least[None] / high)[0]))
        if high - low <= DEPTH_WIDTH:
            break
    return Apart(low, high, least / high, *difference.blend(shares))


def penetration_depth(a: Support, b: Support, a_from_b: Pose) -> Depth:
    """How deep two convex cores overlap, in a's frame; zero when a plane keeps them apart.

    `a` and `b` give support points in their own frames; one of the two must enclose a volume. Takes 1 to 4 ms.
    Raises QueryError when both are too thin.
    """
    difference = _Difference(a, b, a_from_b)
    hull = difference.hull()
    best, way = np.inf, np.zeros(3)
    for _ in range(_ROUNDS):
        nearest = -hull.equations[:, 3]
        outside = hull.equations[nearest < 0, :3]  # the origin is beyond these faces: beyond D as well?
        reach = difference.reach(outside)
        if len(outside) and reach.min() <= 0:
            return _meeting(a, b, a_from_b, outside[int(reach.argmin())], 0.0, 0.0)
        low = float(nearest.min())
        candidates = np.argsort(nearest, kind="stable")[:_FACES_PER_ROUND]
        normals = hull.equations[candidates[nearest[candidates] < best], :3]
        heights = difference.reach(normals)
        if len(heights) and heights.min() < best:
            best, way = float(heights.min()), normals[int(heights.argmin())]
        if best - low <= DEPTH_WIDTH:
            break
        hull = difference.hull()
    if best < CONTACT_BAND:  # too shallow for a face of the hull to tell where
        return _meeting(a, b, a_from_b, way, max(low, 0.0), best)
    return difference.witness(hull, way, max(low, 0.0), best)


def _meeting(a: Support, b: Support, a_from_b: Pose, way: Vector, low: float, high: float) -> Depth:
    """The depth of cores that touch, or nearly: both hold the point where they meet."""
    touch = convex_distance(a, b, a_from_b)
    middle = (touch.on_a + touch.on_b) / 2
    return Depth(low, high, -way, middle + way * low / 2, middle - way * low / 2)


class _Difference:
    """Support points of A - B, remembered with the points of A and of B they came from."""

    def __init__(self, a: Support, b: Support, a_from_b: Pose) -> None:
        self._a, self._b, self._pose = a, b, a_from_b
        self._on_a = np.empty((0, 3))
        self._on_b = np.empty((0, 3))

    @property
    def points(self) -> Points:
        return self._on_a - self._on_b

    def hull(self) -> Any:
        """The convex hull (scipy's) of the support points so far.

        Where nearly flat facets defeat it, the points are joggled by rounding errors, which it always survives.
        """
        from scipy.spatial import ConvexHull, QhullError

        if len(self._on_a) == 0:
            self.reach(_STARTS / np.linalg.norm(_STARTS, axis=1)[:, None])
        for options in ("Qt", "QJ"):
            with suppress(QhullError):
                return ConvexHull(self.points, qhull_options=options)
        raise QueryError([Fault(None, "two overlapping solids are too thin to tell how deep the overlap is")])

    def reach(self, normals: Points) -> Floats:
        """How far D reaches along unit `normals` (n, 3): (n,) mm. The support points are added."""
        on_a = self._a(normals)
        on_b = self._pose.apply(self._b(-normals @ self._pose.rotation))
        self._on_a = np.vstack([self._on_a, on_a])
        self._on_b = np.vstack([self._on_b, on_b])
        heights: Floats = np.einsum("ij,ij->i", normals, on_a - on_b)
        return heights

    def blend(self, shares: Floats) -> tuple[Point, Point]:
        """The points of A and of B that shares (k,) of the first k support points make up."""
        return shares @ self._on_a[: len(shares)], shares @ self._on_b[: len(shares)]

    def witness(self, hull: Any, way: Vector, low: float, high: float) -> Depth:
        """The points of A and B that meet on the face across `way`, by which moving surely sets them free."""
        alike = hull.equations[:, :3] @ way
        ties = np.flatnonzero(alike >= alike.max() - 1e-7)
        weights = np.array([_weights(self.points[hull.simplices[k]]) for k in ties])
        pick = int(np.argmax(weights.min(axis=1)))
        corners, share = hull.simplices[ties[pick]], np.clip(weights[pick], 0, 1)
        share = share / share.sum()
        middle = share @ (self._on_a[corners] + self._on_b[corners]) / 2
        return Depth(low, high, -way, middle + way * low / 2, middle - way * low / 2)


def _weights(triangle: Points) -> Floats:
    """Barycentric weights (3,) of the origin's foot on the plane of a triangle."""
    p, q, r = triangle
    u, v = q - p, r - p
    n = np.cross(u, v)
    scale = n @ n
    if scale == 0:
        return np.array([-np.inf, 0.0, 0.0])
    beta = float(np.cross(-p, v) @ n) / scale
    gamma = float(np.cross(u, -p) @ n) / scale
    return np.array([1 - beta - gamma, beta, gamma])
