r"""The least gap of two convex parts, over every plane between them and not only the one across their gap as drawn.

Boxes of shifts take the nearest points elsewhere, where the gap has another direction. The planes are those of
the point of A - B - boxes that is nearest to zero, found over more and more of its corners (Wolfe 1976):

    low = most over n of [ least n.(a - b) over both parts - what is not known, across n ]
"""

from __future__ import annotations

from typing import Final

import numpy as np

from packcheck.arrays import Point, Points, Vector
from packcheck.notknown.doubt import Doubt
from packcheck.proximity.separation import Placed

__all__ = ["least_over_planes"]

_STEPS: Final = 24
_NEAR: Final = 1e-3  # mm; nearer than this no plane is worth another


def least_over_planes(doubt: Doubt, low: float, direction: Vector, a: Placed, b: Placed) -> float:
    """The least gap of convex `a` and `b`, mm: `low` or better.

    `direction` (3,) from b to a is square to the first plane.
    """
    best, n = low, direction
    corners: list[Point] = []
    for _ in range(_STEPS):
        room, between = _across(a, b, n)
        best = max(best, room - doubt.nearer(n, convex=True))
        corners.append(between - np.sign(doubt.boxes @ n).reshape(-1) @ doubt.boxes.reshape(-1, 3))
        nearest = _nearest(np.array(corners))
        size = float(np.linalg.norm(nearest))
        if size < _NEAR or size - corners[-1] @ n < _NEAR:
            break
        n = nearest / size
    return best


def _across(a: Placed, b: Placed, n: Vector) -> tuple[float, Point]:
    """The room between the planes square to n that touch either part, mm, and the way from b to a there."""
    between = _farthest(a, -n) - _farthest(b, n)
    return float(between @ n) - a.solids[0].radius - b.solids[0].radius, between


def _farthest(part: Placed, way: Vector) -> Point:
    """Where the core of a convex part reaches farthest along `way` (3,), car frame."""
    support = part.solids[0].support
    assert support is not None
    found: Point = part.pose.apply(support(part.pose.inverse().rotate(way)[None])[0])
    return found


def _nearest(corners: Points) -> Point:
    """The point of the hull of `corners` (n, 3) that is nearest to zero."""
    from scipy.optimize import nnls

    size = float(np.abs(corners).max()) or 1.0
    weights, _ = nnls(np.vstack([corners.T / size, np.ones(len(corners))]), np.array([0.0, 0.0, 0.0, 1.0]))
    found: Point = weights @ corners / weights.sum()
    return found
