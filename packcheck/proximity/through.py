"""Does a straight way lead through a part, in on one side and out on another?"""

from __future__ import annotations

import numpy as np

from packcheck.arrays import Floats, Point, Vector
from packcheck.proximity.separation import Placed

__all__ = ["leads_through"]

_ALIKE = 1e-6  # of the way; crossings nearer than this are one, on an edge that two triangles share
_FLAT = 1e-12  # of the sizes multiplied: a triangle along the way is not crossed


def leads_through(start: Point, shift: Vector, part: Placed) -> bool:
    """Whether the way from `start` (3,) by `shift` (3,), mm, car frame, crosses a part's surface twice or more.

    A way that starts inside and comes out crosses them once. Surfaces are those of cores: a ball swept round them
    does not count.
    """
    back = part.pose.inverse()
    origin, way = back.apply(start), back.rotate(shift)
    crossed = np.sort(np.concatenate([_crossed(origin, way, solid.vertices[solid.faces]) for solid in part.solids]))
    return len(crossed) > 0 and bool(np.any(np.diff(crossed) > _ALIKE))


def _crossed(origin: Point, way: Vector, triangles: Floats) -> Floats:
    """Where along the way (0 to 1) it crosses triangles (n, 3, 3), by the signed volumes on both sides of it."""
    first, edge, other = triangles[:, 0], triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]
    across = np.cross(way, other)
    volume = np.einsum("ij,ij->i", edge, across)
    size = np.linalg.norm(edge, axis=1) * np.linalg.norm(across, axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        reach = origin - first
        u = np.einsum("ij,ij->i", reach, across) / volume
        turned = np.cross(reach, edge)
        v = turned @ way / volume
        along = np.einsum("ij,ij->i", other, turned) / volume
        met = (u >= 0) & (v >= 0) & (u + v <= 1) & (along >= 0) & (along <= 1) & (np.abs(volume) > _FLAT * size)
    found: Floats = along[met]
    return found
