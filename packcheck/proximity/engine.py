"""The only door to fcl: exact distance between two sets of triangles, and nothing else of it.

Everything fcl was seen to get wrong is kept out here. Its primitive shapes and its signed mode are never used,
what goes in is validated (it would read stray memory otherwise), every query gets a fresh result object,
lengths are mm, and an answer that is not a distance raises `QueryError` instead of passing as one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import fcl
import numpy as np

from packcheck.arrays import Faces, Point, Points
from packcheck.errors import Fault, QueryError
from packcheck.frames import Pose

__all__ = ["Tree", "build_tree", "triangle_distance"]

_FARTHEST = 1e9  # mm; a thousand kilometres: beyond it is a sentinel, not a car
_SQUARE = 1e-9  # how far R R^T may be from the identity, rounding of a chain of poses


@dataclass(frozen=True, slots=True, eq=False)
class Tree:
    """A bounding-volume tree over triangles, ready for queries."""

    model: Any


def build_tree(vertices: Points, faces: Faces) -> Tree:
    """A tree over `faces` (m, 3), m >= 1, of `vertices` (n, 3) mm. Raises QueryError on anything invalid."""
    if len(faces) == 0 or faces.min() < 0 or faces.max() >= len(vertices):
        raise _refused("faces must be one or more triples of vertex numbers")
    if not np.isfinite(vertices).all() or np.abs(vertices).max() > _FARTHEST:
        raise _refused("vertices must be finite and within reach")
    model = fcl.BVHModel()
    model.beginModel(len(vertices), len(faces))
    model.addSubModel(vertices, faces)
    if model.endModel() != 0:
        raise _refused("the distance engine could not build a tree of these triangles")
    return Tree(model)


def triangle_distance(a: Tree, b: Tree, a_from_b: Pose) -> tuple[float, Point, Point]:
    """Distance, mm, and the nearest points of `a` and of `b`, both in a's frame; 0 when surfaces cross."""
    _check_pose(a_from_b)
    first = fcl.CollisionObject(a.model, fcl.Transform())
    second = fcl.CollisionObject(b.model, fcl.Transform(a_from_b.rotation, a_from_b.translation))
    result = fcl.DistanceResult()
    distance = fcl.distance(first, second, fcl.DistanceRequest(enable_nearest_points=True), result)
    points = np.array(result.nearest_points, dtype=np.float64)
    if not (0.0 <= distance < _FARTHEST) or not np.isfinite(points).all():
        raise _refused(f"the distance engine answered {distance}, which is no distance")
    return float(distance), points[0], points[1]


def _check_pose(pose: Pose) -> None:
    rotation = pose.rotation
    square = np.abs(rotation @ rotation.T - np.eye(3)).max() <= _SQUARE
    if not (square and np.linalg.det(rotation) > 0 and np.isfinite(pose.translation).all()):
        raise _refused("a pose must turn without stretching or mirroring, and stand at finite coordinates")


def _refused(what: str) -> QueryError:
    return QueryError([Fault(None, what)])
