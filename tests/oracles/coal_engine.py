"""A second engine for the distance of two convex shapes that are apart: coal (GJK).

It works to about 1e-6 of the sizes, has no frustum, and is trusted only where the shapes do not overlap.
"""

from __future__ import annotations

import coal
import numpy as np
from scipy.spatial import ConvexHull

from tests.oracles.shapes import (
    Array,
    Box,
    Capsule,
    Cone,
    Cylinder,
    Hull,
    Piece,
    Pose,
    Shape,
    Sphere,
    Thing,
    along_matrix,
    rotation_about,
)

__all__ = ["coal_distance", "coal_supports"]


def coal_supports(shape: Shape) -> bool:
    """Whether the engine has this shape: of cones only those with a tip, of hulls only those with volume."""
    match shape:
        case Cone(bottom, top):
            return min(bottom, top) == 0
        case Hull(vertices):
            return len(vertices) >= 4
    return isinstance(shape, Box | Sphere | Cylinder | Capsule)


def coal_distance(a: Thing, b: Thing) -> float:
    """Distance of two things of one convex piece each, mm, for things that are apart."""
    (one,), (other,) = a.pieces, b.pieces
    origin = a.pose.translation
    placed = [_placed(one, a.pose.shifted(-origin)), _placed(other, b.pose.shifted(-origin))]
    request = coal.DistanceRequest()
    request.gjk_tolerance = 1e-9
    request.gjk_max_iterations = 1000
    found = coal.distance(*placed[0], *placed[1], request, coal.DistanceResult())
    return float(found) - one.wrap - other.wrap


def _placed(piece: Piece, pose: Pose) -> tuple[coal.CollisionGeometry, coal.Transform3s]:
    geometry, turn = _geometry(piece.shape)
    world = pose @ piece.pose @ Pose(turn)
    return geometry, coal.Transform3s(world.rotation, world.translation)


def _geometry(shape: Shape) -> tuple[coal.CollisionGeometry, Array]:
    """The engine's shape along its own z, and the turn that lays it along the described axis."""
    match shape:
        case Box(size):
            return coal.Box(*size), np.eye(3)
        case Sphere(diameter):
            return coal.Sphere(diameter / 2), np.eye(3)
        case Cylinder(diameter, length, along):
            return coal.Cylinder(diameter / 2, length), along_matrix(along)
        case Capsule(diameter, length, along):
            return coal.Capsule(diameter / 2, length - diameter), along_matrix(along)
        case Cone(bottom, 0, length, along):
            return coal.Cone(bottom / 2, length), along_matrix(along)
        case Cone(0, top, length, along):
            return coal.Cone(top / 2, length), along_matrix(along) @ rotation_about((1, 0, 0), 180)
        case Hull(vertices):
            return _convex(vertices), np.eye(3)
    raise ValueError(f"coal has no {type(shape).__name__}")


def _convex(vertices: Array) -> coal.CollisionGeometry:
    hull = ConvexHull(vertices)
    points, triangles = coal.StdVec_Vec3s(), coal.StdVec_Triangle()
    for vertex in vertices:
        points.append(vertex)
    for (i, j, k), plane in zip(hull.simplices, hull.equations, strict=True):
        outward = np.cross(vertices[j] - vertices[i], vertices[k] - vertices[i]) @ plane[:3] > 0
        triangles.append(
            coal.Triangle(int(i), int(j), int(k)) if outward else coal.Triangle(int(i), int(k), int(j))
        )
    return coal.Convex(points, triangles)
