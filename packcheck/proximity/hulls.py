"""The points of a part that tell how far it reaches: the corners of the hull of its solids, in its own frame."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from packcheck.arrays import Points, frozen
from packcheck.solids.core.solid import Solid

__all__ = ["Hull", "hull_of"]

_KEPT = 512  # hulls; of a bay larger than that some are made again
_MANY = 600  # points; below it the hull costs more than it saves


@dataclass(frozen=True, slots=True, eq=False)
class Hull:
    """Every point of the cores lies within `error` mm of the hull of `points` (n, 3), own frame.

    Whatever is convex in a point (its distance from a line, how far it reaches) is greatest at one of `points`.
    `least_radius`, `greatest_radius`: of the balls round the cores, mm; `fine_error`: of the solids as measured.
    """

    points: Points
    error: float
    least_radius: float
    greatest_radius: float
    fine_error: float


@lru_cache(maxsize=_KEPT)
def hull_of(solids: tuple[Solid, ...]) -> Hull:
    """The hull of one or more solids. Curved faces count by their coarser twins: fewer points, a larger error.

    Remembered for the solids asked last: each pair of parts asks for the same ones again.
    """
    coarse = [solid.draft or solid for solid in solids]
    points = np.vstack([solid.vertices[np.unique(solid.faces)] for solid in coarse])
    radii = [solid.radius for solid in solids]
    errors = (max(solid.error for solid in coarse), max(solid.error for solid in solids))
    return Hull(frozen(_corners(points)), errors[0], min(radii), max(radii), errors[1])


def _corners(points: Points) -> Points:
    """The corners of the hull of points (n, 3); all of them where they are few or too flat."""
    if len(points) <= _MANY:
        return points
    from scipy.spatial import ConvexHull, QhullError

    with suppress(QhullError):
        corners: Points = points[ConvexHull(points).vertices]
        return corners
    return points
