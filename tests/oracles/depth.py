"""How deep two overlapping convex cores are in each other.

The depth is the least, over unit directions n, of ``h_A(n) + h_B(-n)`` about a common origin: the distance from
the origin to the boundary of the Minkowski difference A - B (Cameron & Culley, Determining the minimum
translational distance between two convex polyhedra, 1986).

Two hulls of points: the boundary's faces are parallel to a face of A, a face of B, or an edge of each, so
trying those directions is exact. With a curved core in play: hulls of points *on* the difference lie inside it,
so their nearest face is a lower bound; every direction tried is an upper bound; new points go where the nearest
faces are until the two meet. Where everything is round about one axis that never ends, so those cases have
their own closed form: a point in a frustum, and solids of revolution on one axis (plane figures).
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from scipy.spatial import ConvexHull

from tests.oracles.bodies import Frustum, PointHull, Whole
from tests.oracles.conic import separation_along
from tests.oracles.shapes import Array, Bracket, Pose

__all__ = ["face_and_edge_directions", "penetration"]

CLOSED = 1e-7  # mm; below the tolerance of every comparison made with this oracle
ROUNDS = 30
MOST_POINTS = 1500
ON_AXIS = 1e-9  # mm, and for unit vectors; counts as lying on one axis


def penetration(a: Whole, b: Whole) -> Bracket:
    """The core depth of two overlapping bodies, mm. A negative lower end means that they may be apart."""
    if isinstance(a, PointHull) and isinstance(b, PointHull):
        depth = -float(separation_along(a, b, _hull_directions(a, b)).max())
        return Bracket(depth, depth)
    for one, other in ((a, b), (b, a)):
        if isinstance(one, Frustum) and isinstance(other, PointHull) and len(other.points) == 1:
            depth = point_in_frustum(one, other.points[0])
            return Bracket(depth, depth)
    slices = _slices_on_one_axis(a, b)
    if slices:
        low, high = penetration(*slices)
        return Bracket(low - 10 * ON_AXIS, high + 10 * ON_AXIS)
    return _grow_inside(a, b)


def point_in_frustum(body: Frustum, point: Array) -> float:
    """How far inside the core `point` (3,) lies: the nearest of both ends and the side, mm."""
    own = (point - body.pose.translation) @ body.pose.rotation
    slope = (body.top - body.bottom) / (2 * body.half)
    allowed = (body.bottom + body.top) / 2 + slope * own[2]
    side = (allowed - np.hypot(own[0], own[1])) / np.hypot(1.0, slope)
    return float(min(side, body.half - abs(own[2])))


def _slices_on_one_axis(a: Whole, b: Whole) -> tuple[PointHull, PointHull] | None:
    """Cuts through the common axis, made thick across it, when both cores are round about one axis."""
    pose = next((body.pose for body in (a, b) if isinstance(body, Frustum)), None)
    if pose is None:
        return None
    cuts = [_axial_points(body, pose) for body in (a, b)]
    if cuts[0] is None or cuts[1] is None:
        return None
    thick = 10 * (a.reach + b.reach)
    first, second = ([[r, y, z] for r, z in cut for y in (-thick, thick)] for cut in cuts if cut is not None)
    return PointHull(np.array(first)), PointHull(np.array(second))


def _axial_points(body: Whole, pose: Pose) -> list[tuple[float, float]] | None:
    """Corners (across, along) of the cut through the axis of `pose`; None when not round about it."""
    match body:
        case Frustum(bottom, top, half):
            ends, radii = body.pose.apply(np.array([[0, 0, -half], [0, 0, half]])), (bottom, top)
        case PointHull(points) if len(points) == 2:
            ends, radii = points, (0.0, 0.0)
        case _:
            return None
    own = (ends - pose.translation) @ pose.rotation
    if np.hypot(own[:, 0], own[:, 1]).max() > ON_AXIS:
        return None
    return [(sign * r, z) for r, z in zip(radii, own[:, 2], strict=True) for sign in (-1, 1)]


def _hull_directions(a: PointHull, b: PointHull) -> Array:
    """Every direction a face of the Minkowski difference can have, both ways."""
    normals_a, edges_a, normals_b, edges_b = *_features(a), *_features(b)
    crossed = np.cross(edges_a[:, None], edges_b[None]).reshape(-1, 3)
    flat = _flat_directions(np.vstack([a.points - a.points[0], b.points - b.points[0]]))
    length = np.linalg.norm(crossed, axis=1)
    crossed = crossed[length > 1e-9] / length[length > 1e-9, None]
    directions = np.vstack([normals_a, normals_b, crossed, flat])
    return np.vstack([directions, -directions])


def _flat_directions(spans: Array) -> Array:
    """Directions (k, 3) across a difference that is flat; none when it has volume."""
    _, sizes, axes = np.linalg.svd(spans)
    flat: Array = axes[sizes <= 1e-12 * max(sizes[0], 1e-300)] if len(sizes) == 3 else axes[len(sizes) :]
    return flat if sizes[0] > 0 else np.eye(3)


def _features(body: PointHull) -> tuple[Array, Array]:
    return face_and_edge_directions(body.points.tobytes())


@lru_cache(maxsize=64)
def face_and_edge_directions(data: bytes) -> tuple[Array, Array]:
    """Unit face normals (n, 3) and edge directions (m, 3) of a hull of points, given as bytes of (k, 3)."""
    points = np.frombuffer(data).reshape(-1, 3)
    _, sizes, axes = np.linalg.svd(points - points.mean(axis=0), full_matrices=False)
    rank = int((sizes > 1e-10 * max(sizes[0], 1e-300)).sum()) if sizes[0] > 0 else 0
    if rank == 3:
        return _solid_features(points)
    if rank == 2:
        ring = points[ConvexHull((points - points.mean(axis=0)) @ axes[:2].T).vertices]
        return np.cross(axes[0], axes[1])[None], _distinct(np.roll(ring, -1, axis=0) - ring)
    return np.zeros((0, 3)), axes[:rank]


def _solid_features(points: Array) -> tuple[Array, Array]:
    """Edges between faces of one plane are left out: they are the triangulation's, not the hull's."""
    hull = ConvexHull(points)
    normals = hull.equations[:, :3]
    edges = []
    for face, (corners, neighbours) in enumerate(zip(hull.simplices, hull.neighbors, strict=True)):
        for opposite, neighbour in enumerate(neighbours):
            if neighbour > face and normals[face] @ normals[neighbour] < 1 - 1e-12:
                first, second = np.delete(corners, opposite)
                edges.append(points[second] - points[first])
    return _distinct(normals), _distinct(np.array(edges))


def _distinct(vectors: Array) -> Array:
    """Unit vectors, those that agree to the last figures (either way round) kept once."""
    units = vectors / np.linalg.norm(vectors, axis=1, keepdims=True)
    lead = np.argmax(np.abs(units) > 1e-6, axis=1)
    units = units * np.sign(np.take_along_axis(units, lead[:, None], axis=1))
    _, first = np.unique(np.round(units, 11), axis=0, return_index=True)
    distinct: Array = units[np.sort(first)]
    return distinct


def _grow_inside(a: Whole, b: Whole) -> Bracket:
    """Bracket the depth between a growing inner hull of A - B and the directions tried."""
    directions = _first_directions(a, b)
    points = a.support(directions) - b.support(-directions)
    high = -float(separation_along(a, b, directions).max())
    low = -np.inf
    for _ in range(ROUNDS):
        hull = ConvexHull(points)
        equations = np.unique(hull.equations, axis=0)
        faces, offsets = equations[:, :3], -equations[:, 3]
        low = float(offsets.min())
        open_faces = faces[offsets < high - CLOSED]
        if not len(open_faces) or len(points) > MOST_POINTS:
            break
        high = min(high, -float(separation_along(a, b, open_faces).max()))
        points = np.vstack([points[hull.vertices], a.support(open_faces) - b.support(-open_faces)])
    return Bracket(min(low, high), high)


def _first_directions(a: Whole, b: Whole) -> Array:
    """Axes, face normals and rims of both cores: the places where the nearest face often lies exactly."""
    found = [np.eye(3)]
    for body in (a, b):
        if isinstance(body, Frustum):
            angles = np.radians(np.arange(0, 360, 15))
            ring = np.column_stack([np.cos(angles), np.sin(angles), 0 * angles])
            ring[:, 2] = (body.bottom - body.top) / (2 * body.half)
            found += [body.pose.rotation.T, ring @ body.pose.rotation.T]
        else:
            found += list(_features(body))
    directions = np.vstack(found)
    directions = np.vstack([directions, -directions])
    unit: Array = directions / np.linalg.norm(directions, axis=1, keepdims=True)
    return unit
