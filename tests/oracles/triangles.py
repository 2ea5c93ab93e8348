"""Triangle soups by brute force: the exact distance of two, and whether a point is inside a closed one.

The distance of two triangles is zero where an edge of one pierces the other, else the least of vertex to edge,
edge to edge between their ends, and vertex to face within the face (Ericson, Real-Time Collision Detection,
2005, sections 5.1.9 to 5.1.11). Triangles may be degenerate: three equal corners are a point, two a segment.

Inside or outside is the generalized winding number: the solid angles of all triangles seen from the point, over
4 pi (Van Oosterom & Strackee, The solid angle of a plane triangle, IEEE Trans. Biomed. Eng. 30, 1983).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from tests.oracles.shapes import Array, Ints

__all__ = ["Soup", "soup_distance", "winding_number"]

CHUNK = 400_000  # pairs of features looked at in one go: some tens of megabytes


@dataclass(frozen=True, eq=False)
class Soup:
    """Triangles `faces` (m, 3) over `vertices` (n, 3), mm."""

    vertices: Array
    faces: Ints

    @cached_property
    def corners(self) -> Array:
        """(m, 3, 3)."""
        return self.vertices[self.faces]

    @cached_property
    def edges(self) -> Array:
        """Every edge once, (k, 2, 3)."""
        ends = np.sort(self.faces[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
        return self.vertices[np.unique(ends, axis=0)]

    @cached_property
    def used(self) -> Array:
        """The vertices some face uses, (k, 3)."""
        return self.vertices[np.unique(self.faces)]

    def shifted(self, by: Array) -> Soup:
        return Soup(self.vertices + by, self.faces)

    def near(self, low: Array, high: Array, reach: float) -> Soup:
        """The faces whose own box is within `reach` of the box from `low` to `high`."""
        away = np.maximum(self.corners.min(axis=1) - high, low - self.corners.max(axis=1))
        return Soup(self.vertices, self.faces[np.linalg.norm(np.maximum(away, 0), axis=1) <= reach])


def soup_distance(a: Soup, b: Soup) -> float:
    """Least distance between any triangle of `a` and any of `b`, mm; 0 when surfaces cross."""
    origin = a.vertices.mean(axis=0)
    a, b = a.shifted(-origin), b.shifted(-origin)
    reach = _least_vertex_distance(a.used, b.used) * (1 + 1e-12)
    box_a, box_b = ((soup.used.min(axis=0), soup.used.max(axis=0)) for soup in (a, b))
    a, b = a.near(*box_b, reach), b.near(*box_a, reach)
    if _pierces(a.edges, b.corners) or _pierces(b.edges, a.corners):
        return 0.0
    found = [
        _in_chunks(_edge_to_edge, a.edges, b.edges),
        _in_chunks(_point_to_segment, a.used, b.edges),
        _in_chunks(_point_to_segment, b.used, a.edges),
        _in_chunks(_point_to_face, a.used, b.corners),
        _in_chunks(_point_to_face, b.used, a.corners),
    ]
    return min(found)


def winding_number(point: Array, soup: Soup) -> float:
    """How often the closed soup winds round `point` (3,): about 1 inside, 0 outside."""
    a, b, c = np.moveaxis(soup.corners - point, 1, 0)
    la, lb, lc = (np.linalg.norm(side, axis=1) for side in (a, b, c))
    volume = _dot(a, np.cross(b, c))
    spread = la * lb * lc + _dot(a, b) * lc + _dot(b, c) * la + _dot(c, a) * lb
    return float(np.arctan2(volume, spread).sum() / (2 * np.pi))


def _in_chunks(measure: Callable[[Array, Array], float], first: Array, second: Array) -> float:
    step = max(1, CHUNK // len(second))
    return min(measure(first[i : i + step], second) for i in range(0, len(first), step))


def _least_vertex_distance(first: Array, second: Array) -> float:
    squared = (first**2).sum(1)[:, None] + (second**2).sum(1) - 2 * first @ second.T
    i, j = np.unravel_index(np.argmin(squared), squared.shape)
    return float(np.linalg.norm(first[i] - second[j]))


def _dot(first: Array, second: Array) -> Array:
    product: Array = np.einsum("...i,...i->...", first, second)
    return product


def _least(vectors: Array, valid: npt.NDArray[np.bool_] | None = None) -> float:
    squared = _dot(vectors, vectors)
    if valid is not None:
        squared = np.where(valid, squared, np.inf)
    return float(np.sqrt(squared.min(initial=np.inf)))


def _point_to_segment(points: Array, segments: Array) -> float:
    start, run = segments[:, 0], segments[:, 1] - segments[:, 0]
    offset = points[:, None] - start
    length = np.maximum(_dot(run, run), np.finfo(float).tiny)
    along = np.clip(_dot(offset, run) / length, 0.0, 1.0)
    return _least(offset - along[..., None] * run)


def _edge_to_edge(first: Array, second: Array) -> float:
    """Between inner points of both edges only; ends are the business of `_point_to_segment`.

    The points found are clamped to the edges, so near parallel ones overstate at worst, never understate.
    """
    u, v = first[:, 1] - first[:, 0], second[:, 1] - second[:, 0]
    w = first[:, None, 0] - second[:, 0]
    a, b, c = _dot(u, u)[:, None], u @ v.T, _dot(v, v)
    d, e = np.einsum("id,ijd->ij", u, w), np.einsum("jd,ijd->ij", v, w)
    spread = a * c - b * b
    valid = spread > 1e-14 * a * c
    spread = np.where(valid, spread, 1.0)
    s = np.clip((b * e - c * d) / spread, 0.0, 1.0)
    t = np.clip((a * e - b * d) / spread, 0.0, 1.0)
    return _least(w + s[..., None] * u[:, None] - t[..., None] * v, valid)


def _point_to_face(points: Array, faces: Array) -> float:
    """Where the foot of the perpendicular falls within the face."""
    normal = np.cross(faces[:, 1] - faces[:, 0], faces[:, 2] - faces[:, 0])
    area = np.linalg.norm(normal, axis=1)
    solid = area > 0
    unit = normal[solid] / area[solid, None]
    corners = faces[solid]
    height = points @ unit.T - _dot(corners[:, 0], unit)
    inside = np.ones(height.shape, bool)
    for k in range(3):
        across = np.cross(unit, corners[:, (k + 1) % 3] - corners[:, k])
        inside &= points @ across.T - _dot(corners[:, k], across) >= 0
    return float(np.where(inside, np.abs(height), np.inf).min(initial=np.inf))


def _pierces(edges: Array, faces: Array) -> bool:
    """Does an edge pass through the inside of a face, its ends on either side of the plane?"""
    step = max(1, CHUNK // max(len(faces), 1))
    return any(_chunk_pierces(edges[i : i + step], faces) for i in range(0, len(edges), step))


def _chunk_pierces(edges: Array, faces: Array) -> bool:
    """The signs of five volumes: both ends against the plane, and the edge's line against each side."""
    corners = np.moveaxis(faces, 1, 0)
    normal = np.cross(corners[1] - corners[0], corners[2] - corners[0])
    heights = [end @ normal.T - _dot(corners[0], normal) for end in (edges[:, 0], edges[:, 1])]
    edge, face = np.nonzero(heights[0] * heights[1] < 0)
    run = edges[edge, 1] - edges[edge, 0]
    from_start = [corner[face] - edges[edge, 0] for corner in corners]
    turns = [_dot(run, np.cross(from_start[k], from_start[(k + 1) % 3])) for k in range(3)]
    same = np.all(np.array(turns) > 0, axis=0) | np.all(np.array(turns) < 0, axis=0)
    return bool(same.any())
