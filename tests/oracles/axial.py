"""Solids of revolution about one axis: their gap is that of their profiles in a half plane.

    across
      |   ______            both profiles turn about the same line, so the nearest
      |  | tube |   ___     points may be taken in one half plane
      |  |______|  |cyl|
      +------------+---+-- axis

A ball is round about any line, so it may stand beside the other's axis.
"""

from __future__ import annotations

import numpy as np

from tests.oracles.bodies import PointHull
from tests.oracles.convex import core_distance
from tests.oracles.shapes import (
    Along,
    Array,
    Bracket,
    Capsule,
    Cone,
    Cylinder,
    Piece,
    Pose,
    Sphere,
    Tube,
    along_matrix,
)

__all__ = ["gap_on_one_axis"]

ON_AXIS = 1e-9  # mm, and for unit vectors


def gap_on_one_axis(one: Piece, one_at: Pose, other: Piece, other_at: Pose) -> Bracket | None:
    """The gap of two pieces round about one axis, mm, or None when they are not. Overlaps have no depth here."""
    axis = _standing(other, other_at) if isinstance(one.shape, Sphere) else _standing(one, one_at)
    first, second = _on_axis(one, one_at, axis), _on_axis(other, other_at, axis)
    if first is None or second is None:
        return None
    core = core_distance(PointHull(first), PointHull(second))
    grown = _ball(one) + _ball(other)
    low = core.low - grown - 10 * ON_AXIS
    return Bracket(low if core.low > 0 and low > 0 else -np.inf, core.high - grown + 10 * ON_AXIS)


def _profile(piece: Piece) -> Array | None:
    """Corners (across, along) in the half plane, before the ball is added."""
    match piece.shape:
        case Cylinder(diameter, length):
            return _quad(diameter / 2, diameter / 2, 0, length)
        case Cone(bottom, top, length):
            return _quad(bottom / 2, top / 2, 0, length)
        case Tube(outer, inner, length):
            return _quad(outer / 2, outer / 2, inner / 2, length)
        case Capsule(diameter, length):
            half = (length - diameter) / 2
            return np.array([[0, -half], [0, half]])
    return None


def _quad(bottom: float, top: float, inner: float, length: float) -> Array:
    return np.array([[inner, -length / 2], [bottom, -length / 2], [top, length / 2], [inner, length / 2]])


def _ball(piece: Piece) -> float:
    return piece.wrap + (piece.shape.diameter / 2 if isinstance(piece.shape, Sphere | Capsule) else 0.0)


def _standing(piece: Piece, at: Pose) -> Pose:
    along: Along = "z"
    if isinstance(piece.shape, Cylinder | Cone | Tube | Capsule):
        along = piece.shape.along
    return at @ piece.pose @ Pose(along_matrix(along))


def _on_axis(piece: Piece, at: Pose, axis: Pose) -> Array | None:
    """The profile as flat points (n, 3): across, 0, along `axis`; None when it does not turn about that."""
    pose = _standing(piece, at)
    centre = (pose.translation - axis.translation) @ axis.rotation
    across = np.hypot(centre[0], centre[1])
    if isinstance(piece.shape, Sphere):
        return np.array([[across, 0.0, centre[2]]])
    profile = _profile(piece)
    tilt = np.linalg.norm(np.cross(axis.rotation[:, 2], pose.rotation[:, 2]))
    if profile is None or across > ON_AXIS or tilt > 1e-3 * ON_AXIS:
        return None
    way = np.sign(axis.rotation[:, 2] @ pose.rotation[:, 2])
    return np.column_stack([profile[:, 0], np.zeros(len(profile)), centre[2] + way * profile[:, 1]])
