"""Convex bodies as the oracles see them: a core grown by a ball.

Every convex shape is a hull of points or a frustum: a box is the hull of eight points, a sphere one point, a
capsule two; a cylinder is a frustum with equal ends. A wedge of a round disc covers a sector of a tube or an arc
of a bent pipe.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np

from tests.oracles.shapes import (
    Array,
    Box,
    Capsule,
    Cone,
    Cylinder,
    Hull,
    Piece,
    Pose,
    Sphere,
    along_matrix,
)

__all__ = ["Body", "Frustum", "PointHull", "Wedge", "Whole", "body_of", "box_corners", "shifted"]


@dataclass(frozen=True, slots=True, eq=False)
class PointHull:
    """Convex hull of `points` (n, 3), outer frame, grown by `radius`."""

    points: Array
    radius: float = 0.0

    def support(self, directions: Array) -> Array:
        """Farthest core points (k, 3) along `directions` (k, 3)."""
        farthest: Array = self.points[np.argmax(directions @ self.points.T, axis=1)]
        return farthest

    @property
    def middle(self) -> Array:
        middle: Array = (self.points.min(axis=0) + self.points.max(axis=0)) / 2
        return middle

    @property
    def reach(self) -> float:
        """Radius of a ball about `middle` that holds the core."""
        return float(np.linalg.norm(self.points - self.middle, axis=1).max())


@dataclass(frozen=True, slots=True, eq=False)
class Frustum:
    """Radius `bottom` at own z = -half, `top` at +half, straight between; grown by `radius`."""

    bottom: float
    top: float
    half: float
    pose: Pose
    radius: float = 0.0

    def support(self, directions: Array) -> Array:
        """Farthest core points (k, 3) along `directions` (k, 3)."""
        own = directions @ self.pose.rotation
        across = np.hypot(own[:, 0], own[:, 1])
        flat = np.where(across > 0, across, 1.0)[:, None]
        unit = np.where(across[:, None] > 0, own[:, :2] / flat, [1.0, 0.0])
        high = own[:, 2] * self.half + self.top * across > -own[:, 2] * self.half + self.bottom * across
        radius = np.where(high, self.top, self.bottom)[:, None]
        height = np.where(high, self.half, -self.half)[:, None]
        return self.pose.apply(np.hstack([unit * radius, height]))

    @property
    def middle(self) -> Array:
        return self.pose.translation

    @property
    def reach(self) -> float:
        return float(np.hypot(max(self.bottom, self.top), self.half))


@dataclass(frozen=True, slots=True, eq=False)
class Wedge:
    """A round disc cut by two planes through its axis and one chord; grown by `radius`.

    In own coordinates: `near` <= x, |angle about z| <= `angle`, distance from the axis <= `far`, |z| <= `half`:

              |`-.            The arc is true; only the chord and the sides are flat.
        axis  |   )
              |,-'
           near   far
    """

    near: float
    far: float
    angle: float
    half: float
    pose: Pose
    radius: float = 0.0

    def support(self, directions: Array) -> Array:
        """Farthest core points (k, 3) along `directions` (k, 3)."""
        own = directions @ self.pose.rotation
        across = np.hypot(own[:, 0], own[:, 1])
        corners = self.corners
        best = corners[np.argmax(own[:, :2] @ corners.T, axis=1)]
        on_arc = (np.abs(np.arctan2(own[:, 1], own[:, 0])) <= self.angle) & (across > 0)
        rim = own[:, :2] * (self.far / np.where(across > 0, across, 1.0))[:, None]
        plan = np.where(on_arc[:, None], rim, best)
        return self.pose.apply(np.column_stack([plan, np.where(own[:, 2] > 0, self.half, -self.half)]))

    @property
    def corners(self) -> Array:
        """Ends of the chord and of the arc, own x and y, (4, 2)."""
        ends = np.array([[self.near, self.near * np.tan(self.angle)], self.arc_end])
        return np.vstack([ends, ends * [1, -1]])

    @property
    def arc_end(self) -> list[float]:
        return [self.far * np.cos(self.angle), self.far * np.sin(self.angle)]

    @property
    def middle(self) -> Array:
        return self.pose.apply(np.array([(self.near + self.far) / 2, 0.0, 0.0]))

    @property
    def reach(self) -> float:
        """Radius of a ball about `middle` that holds the core."""
        centre = np.array([(self.near + self.far) / 2, 0.0])
        across = max(np.linalg.norm(self.corners - centre, axis=1).max(), (self.far - self.near) / 2)
        return float(np.hypot(across, self.half))


Whole: TypeAlias = PointHull | Frustum
"""A convex piece by itself."""

Body: TypeAlias = PointHull | Frustum | Wedge
"""A convex piece, or a wedge that covers part of one that is not."""


def shifted(body: Body, by: Array) -> Body:
    """The same body moved by `by` (3,), mm."""
    if isinstance(body, PointHull):
        return replace(body, points=body.points + by)
    return replace(body, pose=body.pose.shifted(by))


def body_of(piece: Piece, pose: Pose) -> Whole:
    """The body of a convex piece of a thing that stands at `pose`."""
    world = pose @ piece.pose
    match piece.shape:
        case Box(size):
            return PointHull(world.apply(box_corners(size)), piece.wrap)
        case Sphere(diameter):
            return PointHull(world.apply(np.zeros((1, 3))), diameter / 2 + piece.wrap)
        case Capsule(diameter, length, along):
            end = along_matrix(along) @ [0, 0, (length - diameter) / 2]
            return PointHull(world.apply(np.array([-end, end])), diameter / 2 + piece.wrap)
        case Cylinder(diameter, length, along):
            lying = world @ Pose(along_matrix(along))
            return Frustum(diameter / 2, diameter / 2, length / 2, lying, piece.wrap)
        case Cone(bottom, top, length, along):
            return Frustum(bottom / 2, top / 2, length / 2, world @ Pose(along_matrix(along)), piece.wrap)
        case Hull(vertices):
            return PointHull(world.apply(vertices), piece.wrap)
    raise ValueError(f"{type(piece.shape).__name__} is not one convex body")


def box_corners(size: tuple[float, float, float]) -> Array:
    """The eight corners (8, 3) of a box centred on the origin."""
    signs = np.array([[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)], float)
    corners: Array = signs * np.asarray(size) / 2
    return corners
