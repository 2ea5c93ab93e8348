r"""How far does one surface stray from another, proven for every point and not for samples?

The distance to a flat triangle is a convex function, so over a triangle T it is greatest at a corner of T. Hence
for any triangle F of the other surface, no point of T is farther from that surface than the worst corner of T is
from F. Where no single F will do, T is split, preferably where it passes from the neighbourhood of one triangle to
that of the next, and each piece gets an F of its own:

        F1     |     F2           T = abc lies over both: split at p and q on the crease,
     a---------p------b           a-p-c against F1, p-b-q and the rest against F2
      \        |    /
        \      q  /
          \    |/
             c

Which F to try is only a hint (one that is near the middle or a corner of T); a bad one costs work, never truth.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np

from packcheck.arrays import Faces, Floats, Points
from packcheck.solids.core.topology import Flags

__all__ = ["MOST_PIECES", "Nearest", "TooMuchWork", "point_triangle_distances", "strays"]

Nearest: TypeAlias = Callable[[Points], tuple[Floats, Faces]]
"""Distance (n,) from points (n, 3) to a surface, and the face (n,) of it that is nearest."""

_CACHED: Final = 8_192
"""Distances worked out at once: some thirty arrays of them fit a cache."""

_SHARES: Final = (0.05, 0.95)
"""How near to an end a triangle's side may be split: beyond, slivers would follow without end."""

_FLAT: Final = 1e-12
"""Of the product of two squared sides: a triangle flatter than this counts as its sides only."""

_MOST: Final = 40
"""Pieces for each triangle of either surface before the limit is given up."""

MOST_PIECES: Final = 5_000_000
"""The same in all: about a minute of work."""


class TooMuchWork(Exception):  # noqa: N818 - no error of anybody's
    """No proof was reached with so much work; whether the limit is kept is not known."""


def strays(
    vertices: Points,
    faces: Faces,
    corners: Floats,
    nearest: Nearest,
    limit: float,
    *,
    most: int = MOST_PIECES,
) -> float | None:
    """How far, at the most, does a surface stray from another? None unless that is proven to be within `limit`.

    Parameters
    ----------
    vertices, faces : (n, 3) mm, (m, 3)
        The surface whose every point is looked at.
    corners : (k, 3, 3)
        Triangles of the other one.
    nearest : callable
        Hints: which of those triangles is nearest to a point. Asked seldom, for many points at once.
    limit : float
        mm.
    most : int
        Pieces that may be looked at in all.

    Returns
    -------
    float or None
        An upper bound of the one-sided Hausdorff distance, mm.

    Raises
    ------
    TooMuchWork
        When there are more pieces.
    """
    apart, hints = nearest(np.concatenate([vertices, vertices[faces].mean(axis=1)]))
    pieces = _Pieces(vertices[faces], hints[: len(vertices)][faces], hints[len(vertices) :])
    left, worst = _MOST * (len(faces) + len(corners)), 0.0
    while len(pieces.triangles):
        left, most = left - len(pieces.triangles), most - len(pieces.triangles)
        if left < 0 or apart.max() > limit:
            return None
        if most < 0:
            raise TooMuchWork
        bounds = _heights(pieces.triangles, corners[pieces.middles]).max(axis=1)
        worst = max(worst, float(bounds[bounds <= limit].max(initial=0.0)))
        pieces = pieces.only(bounds > limit)
        heights = np.stack([_heights(pieces.triangles, corners[owner]) for owner in pieces.owners.T], axis=2)
        bounds = heights.max(axis=1).min(axis=1)
        worst = max(worst, float(bounds[bounds <= limit].max(initial=0.0)))
        still = bounds > limit
        pieces, apart = _split(pieces.only(still), heights[still], nearest)
    return worst


@dataclass(frozen=True, slots=True, eq=False)
class _Pieces:
    """Triangles (t, 3, 3), and which of the other surface is nearest to each corner (t, 3) and middle (t,)."""

    triangles: Floats
    owners: Faces
    middles: Faces

    def only(self, keep: Flags) -> _Pieces:
        return _Pieces(self.triangles[keep], self.owners[keep], self.middles[keep])


def _split(pieces: _Pieces, heights: Floats, nearest: Nearest) -> tuple[_Pieces, Floats]:
    """Each triangle cut in two across one side, and how far new corners and middles are from the other surface.

    The side is the longest of those whose ends belong to different triangles, cut where both are equally far; or
    else the longest, cut in its middle. `heights` (t, corner, owner) are distances.
    """
    rows = np.arange(len(heights))
    triangles, owners = pieces.triangles, pieces.owners
    sides = np.linalg.norm(triangles[:, [1, 2, 0]] - triangles, axis=2)
    crossing = owners != owners[:, [1, 2, 0]]
    side = np.argmax(np.where(crossing | ~crossing.any(axis=1, keepdims=True), sides, -1.0), axis=1)
    a, b = side, (side + 1) % 3
    here = heights[rows, a, b] - heights[rows, a, a]
    there = heights[rows, b, a] - heights[rows, b, b]
    clear = crossing[rows, side] & (here + there > 0)
    share = np.divide(here, here + there, out=np.full(len(rows), 0.5), where=clear)
    share = np.clip(share, *_SHARES)[:, None]
    cut = triangles[rows, a] * (1 - share) + triangles[rows, b] * share
    halves = np.concatenate([triangles, triangles])
    halves[rows, b] = halves[len(rows) + rows, a] = cut
    apart, hints = nearest(np.concatenate([cut, halves.mean(axis=1)]))
    owned = np.concatenate([owners, owners])
    owned[rows, b] = owned[len(rows) + rows, a] = hints[: len(rows)]
    return _Pieces(halves, owned, hints[len(rows) :]), apart


def _heights(triangles: Floats, others: Floats) -> Floats:
    """Distances (t, 3) from the corners of triangles (t, 3, 3) to one other triangle each (t, 3, 3)."""
    repeated = np.repeat(others, 3, axis=0)
    return point_triangle_distances(triangles.reshape(-1, 3), repeated).reshape(-1, 3)


def point_triangle_distances(points: Points, triangles: Floats) -> Floats:
    """Distance (n,), mm, from points (n, 3) to triangles (n, 3, 3), which may have no area.

    Never less than the true one but by rounding: it is the distance to a point of the triangle.
    """
    found = np.empty(len(points))
    for at in range(0, len(points), _CACHED):
        block = slice(at, at + _CACHED)
        a, b, c = (np.ascontiguousarray(triangles[block, corner].T) for corner in range(3))
        found[block] = _distances(np.ascontiguousarray(points[block].T), a, b, c)
    return found


def _distances(points: Floats, a: Floats, b: Floats, c: Floats) -> Floats:
    """The same with a row for each coordinate, (3, n) each."""
    ab, ac, ap = b - a, c - a, points - a
    square = np.minimum(_square_to_segment(ap, ab), _square_to_segment(ap, ac))
    square = np.minimum(square, _square_to_segment(points - b, c - b))
    bb, bc, cc, bp, cp = _dot(ab, ab), _dot(ab, ac), _dot(ac, ac), _dot(ab, ap), _dot(ac, ap)
    area = bb * cc - bc * bc
    whole = area > _FLAT * bb * cc
    v = np.divide(cc * bp - bc * cp, area, out=np.full_like(area, -1.0), where=whole)
    w = np.divide(bb * cp - bc * bp, area, out=np.full_like(area, -1.0), where=whole)
    off = ap - v * ab - w * ac
    above = (v >= 0) & (w >= 0) & (v + w <= 1)
    distances: Floats = np.sqrt(np.where(above, np.minimum(square, _dot(off, off)), square))
    return distances


def _square_to_segment(arm: Floats, along: Floats) -> Floats:
    length = _dot(along, along)
    share = np.divide(_dot(arm, along), length, out=np.zeros_like(length), where=length > 0)
    off = arm - np.clip(share, 0.0, 1.0) * along
    return _dot(off, off)


def _dot(a: Floats, b: Floats) -> Floats:
    product: Floats = a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
    return product
