"""The gap of two bodies where either may be a shell of triangles; overlaps have no depth here."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.spatial import ConvexHull, QhullError

from tests.oracles.bodies import Body, Frustum, PointHull, Wedge
from tests.oracles.conic import closest
from tests.oracles.cover import Shell
from tests.oracles.shapes import Array, Ints
from tests.oracles.triangles import Soup, soup_distance

__all__ = ["Gap", "body_gap", "hull_soup"]


@dataclass(frozen=True, slots=True, eq=False)
class Gap:
    """A gap between `low` and `high`, mm, and where: a core point of each body, unless both are triangles."""

    low: float
    high: float
    x: Array
    y: Array


NOWHERE = np.zeros(3)


def body_gap(a: Body | Shell, b: Body | Shell) -> Gap:
    """The gap of two bodies. `low` is minus infinity where the cores may overlap or touch."""
    core = _core_gap(a, b)
    grown = a.radius + b.radius
    return Gap(core.low - grown if core.low > 0 else -np.inf, core.high - grown, core.x, core.y)


def _core_gap(a: Body | Shell, b: Body | Shell) -> Gap:
    match a, b:
        case Shell(soup), Shell(other):
            return _exact(soup_distance(soup, other))
        case Shell(soup), PointHull():
            return _exact(_soup_to_hull(soup, b))
        case ((Frustum() | Wedge()), Shell(soup)):
            return _body_to_soup(a, soup)
        case (_, Shell()) | (Shell(), _):
            swapped = _core_gap(b, a)
            return Gap(swapped.low, swapped.high, swapped.y, swapped.x)
        case ((PointHull() | Frustum() | Wedge()), (PointHull() | Frustum() | Wedge())):
            found = closest(a, b)
            return Gap(min(found.low, found.high), found.high, found.x, found.y)
    raise TypeError(f"no gap of {type(a).__name__} and {type(b).__name__}")


def _exact(distance: float) -> Gap:
    return Gap(distance, distance, NOWHERE, NOWHERE)


def _soup_to_hull(soup: Soup, hull: PointHull) -> float:
    surface, planes = hull_soup(hull.points)
    if planes is not None:
        heights = soup.used[:1] @ planes[:, :3].T + planes[:, 3]
        if heights.max() < 0:
            return 0.0
    return soup_distance(soup, surface)


def hull_soup(points: Array) -> tuple[Soup, Array | None]:
    """The surface of a hull of points and its planes (k, 4); a point or a segment has no planes."""
    if len(points) <= 3:
        triple: Ints = np.array([[0, len(points) // 2, len(points) - 1]])
        return Soup(points, triple), None
    try:
        hull = ConvexHull(points)
    except QhullError:
        return _flat_soup(points), None
    return Soup(points, hull.simplices.astype(np.int64)), hull.equations


def _flat_soup(points: Array) -> Soup:
    """A flat hull as a fan about its first corner."""
    _, _, axes = np.linalg.svd(points - points.mean(axis=0))
    ring = ConvexHull(points @ axes[:2].T).vertices.astype(np.int64)
    fan = np.column_stack([np.full(len(ring) - 2, ring[0]), ring[1:-1], ring[2:]])
    return Soup(points, fan)


def _body_to_soup(body: Frustum | Wedge, soup: Soup) -> Gap:
    """Triangle by triangle, nearest first; every answer's direction is a bound for all triangles still open."""
    corners = soup.corners
    centres = corners.mean(axis=1)
    lows = np.linalg.norm(centres - body.middle, axis=1) - body.reach
    lows = lows - np.linalg.norm(corners - centres[:, None], axis=2).max(axis=1)
    best, sure = Gap(np.inf, np.inf, NOWHERE, NOWHERE), np.inf
    while lows.min() < best.high:
        k = int(np.argmin(lows))
        found = closest(body, PointHull(corners[k]))
        sure = min(sure, found.low)
        if found.high < best.high:
            best = Gap(sure, found.high, found.x, found.y)
        if found.low <= 0:
            break
        direction = (found.y - found.x) / found.high
        ahead = float(body.support(direction[None])[0] @ direction)
        lows = np.maximum(lows, (corners @ direction).min(axis=1) - ahead)
        lows[k] = np.inf
    return Gap(min(sure, best.high), best.high, best.x, best.y)
