"""The only door to fcl: exact distance between two sets of triangles, and nothing else of it.

Everything fcl was seen to get wrong is kept out here. Its primitive shapes and its signed mode are never used,
what goes in is validated (it would read stray memory otherwise), every query gets a fresh result object,
lengths are mm, and an answer that is not a distance raises `QueryError` instead of passing as one.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from typing import Any

import fcl
import numpy as np

from packcheck.arrays import Faces, Point, Points
from packcheck.errors import Fault, QueryError
from packcheck.frames import Pose

__all__ = ["Tree", "Where", "build_tree", "triangle_distance", "where"]

_FARTHEST = 1e9  # mm; a thousand kilometres: beyond it is a sentinel, not a car
_NEAREST_POINTS = fcl.DistanceRequest(enable_nearest_points=True)
_SQUARE = 1e-9  # how far R R^T may be from the identity, rounding of a chain of poses


@dataclass(frozen=True, slots=True, eq=False)
class Tree:
    """A bounding-volume tree over triangles, standing at the origin, ready for queries."""

    model: Any
    still: Any


@dataclass(frozen=True, slots=True, eq=False)
class Where:
    """A validated pose and its inverse, in the engine's terms."""

    pose: Pose
    forth: Any
    back: Any


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
    return Tree(model, fcl.CollisionObject(model, fcl.Transform()))


def where(pose: Pose) -> Where:
    """`pose` checked and ready for queries. Raises QueryError unless it is finite and turns only."""
    if not (_turns_only(*pose.rotation.tolist()) and all(map(isfinite, pose.translation.tolist()))):
        raise _refused("a pose must turn without stretching or mirroring, and stand at finite coordinates")
    back = pose.inverse()
    return Where(pose, _transform(pose), _transform(back))


def _turns_only(x: list[float], y: list[float], z: list[float]) -> bool:
    """Whether three rows are unit vectors, square to each other and right-handed; plain numbers are quickest."""
    square = all(
        abs(a[0] * b[0] + a[1] * b[1] + a[2] * b[2] - one) <= _SQUARE
        for a, b, one in ((x, x, 1.0), (y, y, 1.0), (z, z, 1.0), (x, y, 0.0), (y, z, 0.0), (z, x, 0.0))
    )
    across = (x[1] * y[2] - x[2] * y[1], x[2] * y[0] - x[0] * y[2], x[0] * y[1] - x[1] * y[0])
    return square and across[0] * z[0] + across[1] * z[1] + across[2] * z[2] > 0


def _transform(pose: Pose) -> Any:
    return fcl.Transform(pose.rotation, pose.translation)


def triangle_distance(a: Tree, b: Tree, a_from_b: Where) -> tuple[float, Point, Point]:
    """Distance, mm, and the nearest points of `a` and of `b`, both in a's frame; 0 when surfaces cross.

    Asked both ways round: on sliver triangles one way was seen to miss the nearest features, never both. Each
    answer is the distance of two points that are on the triangles, so the lesser is the better.
    """
    forth, on_a, on_b = _asked(a, b, a_from_b.forth)
    if forth == 0.0:
        return forth, on_a, on_b
    back, on_b_back, on_a_back = _asked(b, a, a_from_b.back)
    if back >= forth:
        return forth, on_a, on_b
    return back, a_from_b.pose.apply(on_a_back), a_from_b.pose.apply(on_b_back)


def _asked(a: Tree, b: Tree, a_from_b: Any) -> tuple[float, Point, Point]:
    result = fcl.DistanceResult()
    distance = fcl.distance(a.still, fcl.CollisionObject(b.model, a_from_b), _NEAREST_POINTS, result)
    if not 0.0 <= distance < _FARTHEST:
        raise _refused(f"the distance engine answered {distance}, which is no distance")
    return float(distance), *result.nearest_points


def _refused(what: str) -> QueryError:
    return QueryError([Fault(None, what)])
