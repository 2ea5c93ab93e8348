"""Plates and sections: a flat outline swept straight. Triangulation by mapbox-earcut."""

from __future__ import annotations

import numpy as np

from packcheck.arrays import Faces, Floats, Points, frozen, frozen_faces
from packcheck.solids.core.axes import turned_along
from packcheck.solids.core.solid import Solid
from packcheck.solids.core.support import polyhedron_support

__all__ = ["extrusion", "signed_area"]


def extrusion(outline: Floats, thickness: float, along: str) -> Solid:
    """The simple polygon `outline` (n, 2) mm swept from 0 to `thickness` mm along `along`."""
    ring = outline if signed_area(outline) > 0 else outline[::-1]
    count = len(ring)
    vertices = np.vstack([np.column_stack([ring, np.full(count, z)]) for z in (0.0, thickness)])
    solid = Solid(
        frozen(vertices),
        frozen_faces(_faces(ring)),
        support=polyhedron_support(vertices) if _is_convex(ring) else None,
        pieces=frozen(vertices[:1]),
    )
    return turned_along(solid, along)


def signed_area(outline: Floats) -> float:
    """Area of a polygon (n, 2), mm2, positive when it runs anticlockwise (shoelace formula)."""
    x, y = outline.T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2


def _faces(ring: Floats) -> Faces:
    count = len(ring)
    top = _triangulated(ring)
    here = np.arange(count)
    after = (here + 1) % count
    sides = np.vstack(
        [
            np.column_stack([here, after, after + count]),
            np.column_stack([here, after + count, here + count]),
        ]
    )
    return np.vstack([top[:, ::-1], top + count, sides])


def _triangulated(ring: Floats) -> Faces:
    import mapbox_earcut

    indices = mapbox_earcut.triangulate_float64(np.ascontiguousarray(ring), np.array([len(ring)], dtype=np.uint32))
    triangles = np.asarray(indices, dtype=np.int64).reshape(-1, 3)
    corners = ring[triangles]
    edges = corners[:, 1:] - corners[:, :1]
    clockwise = edges[:, 0, 0] * edges[:, 1, 1] < edges[:, 0, 1] * edges[:, 1, 0]
    return np.where(clockwise[:, None], triangles[:, ::-1], triangles)


def _is_convex(ring: Points) -> bool:
    """Every corner of an anticlockwise ring turns left or goes straight on."""
    edges = np.roll(ring, -1, axis=0) - ring
    following = np.roll(edges, -1, axis=0)
    turns = edges[:, 0] * following[:, 1] - edges[:, 1] * following[:, 0]
    return bool(np.all(turns >= 0))
