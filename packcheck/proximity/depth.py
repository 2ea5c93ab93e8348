"""Penetration depth of two convex cores, by an expanding polytope inside their Minkowski difference.

The difference D = A - B holds the origin when A and B overlap, and the depth is the distance from the origin to
the boundary of D. A polytope of support points grows inside D:

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
from packcheck.solids.solid import Support
from packcheck.tolerances import DEPTH_WIDTH

__all__ = ["Depth", "penetration_depth"]

_ROUNDS = 60
_FACES_PER_ROUND = 48
_STARTS = np.array([d for d in product((-1.0, 0.0, 1.0), repeat=3) if any(d)])


@dataclass(frozen=True, slots=True, eq=False)
class Depth:
    """The depth lies in [low, high] mm. Moving A along `direction` by it sets the cores free.

    `on_a` - `on_b` = -low * direction: the witness points, in the frame of the query.
    """

    low: float
    high: float
    direction: Vector
    on_a: Point
    on_b: Point


def penetration_depth(a: Support, b: Support, a_from_b: Pose) -> Depth | None:
    """How deep two convex cores overlap, in a's frame; None when they are apart or only touch.

    `a` and `b` give support points in their own frames; one of the two must enclose a volume. Takes 1 to 4 ms.
    Raises QueryError when both are too thin.
    """
    difference = _Difference(a, b, a_from_b)
    hull = difference.hull()
    best = np.inf
    for _ in range(_ROUNDS):
        nearest = -hull.equations[:, 3]
        outside = hull.equations[nearest < 0, :3]  # the origin is beyond these faces: beyond D as well?
        if len(outside) and difference.reach(outside).min() <= 0:
            return None
        low = float(nearest.min())
        candidates = np.argsort(nearest, kind="stable")[:_FACES_PER_ROUND]
        normals = hull.equations[candidates[nearest[candidates] < best], :3]
        heights = difference.reach(normals)
        best = min(best, float(heights.min(initial=np.inf)))
        if best - low <= DEPTH_WIDTH:
            break
        hull = difference.hull()
    return difference.witness(hull, max(low, 0.0), best)


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

    def witness(self, hull: Any, low: float, high: float) -> Depth:
        """The points of A and B that meet where the nearest face comes nearest to the origin."""
        nearest = -hull.equations[:, 3]
        ties = np.flatnonzero(nearest <= nearest.min() + 1e-7)
        weights = np.array([_weights(self.points[hull.simplices[k]]) for k in ties])
        pick = int(np.argmax(weights.min(axis=1)))
        corners, share = hull.simplices[ties[pick]], np.clip(weights[pick], 0, 1)
        normal = hull.equations[ties[pick], :3]
        on_a, on_b = share @ self._on_a[corners], share @ self._on_b[corners]
        middle = (on_a + on_b) / 2
        return Depth(low, high, -normal, middle + normal * low / 2, middle - normal * low / 2)


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
