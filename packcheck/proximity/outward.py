"""Where to look for a way out of an overlap: a first one that surely works, and directions worth trying."""

from __future__ import annotations

from contextlib import suppress

import numpy as np

from packcheck.arrays import Floats, Point, Points, Vector
from packcheck.errors import QueryError
from packcheck.frames import IDENTITY, Pose
from packcheck.proximity.depth import penetration_depth
from packcheck.proximity.pairs import PairGap
from packcheck.solids.core.solid import Solid, Support
from packcheck.tolerances import DRAFT_ERROR

__all__ = ["out_of_hulls", "ways_out"]

_SPARE = 5 * DRAFT_ERROR  # mm; so that the start is seen to be free also with coarse facets on both sides
_ALIKE = 0.97  # cosine of 14 degrees; the search leans the best way by more than that


def ways_out(a: tuple[Solid, ...], b: tuple[Solid, ...], a_from_b: Pose, worst: PairGap) -> Points:
    """Unit directions (n, 3) worth trying, in a's frame: axes of both, and away from where they meet."""
    axes = np.vstack([np.eye(3), a_from_b.rotation.T])
    away = np.array([_middle(a, IDENTITY) - worst.on_a, worst.on_b - _middle(b, a_from_b)])
    flattened = away[:, None] - np.einsum("ij,kj->ik", away, axes)[:, :, None] * axes
    ways = np.vstack([axes, -axes, away, flattened.reshape(-1, 3), _across(worst)])
    return _distinct(ways)


def _distinct(ways: Points) -> Points:
    """Unit vectors of `ways`, leaving out those nearly along one before."""
    lengths = np.linalg.norm(ways, axis=1)
    kept: list[Vector] = []
    for way in ways[lengths > 1e-6] / lengths[lengths > 1e-6, None]:
        if all(way @ other < _ALIKE for other in kept):
            kept.append(way)
    return np.array(kept)


def out_of_hulls(a: tuple[Solid, ...], b: tuple[Solid, ...], a_from_b: Pose) -> Vector:
    """A translation (3,) mm that surely frees A of B: the shortest way out of the convex hulls, and a hair more."""
    hull_a, hull_b = _hull_support(a), _hull_support(b)
    with suppress(QueryError):
        depth = penetration_depth(hull_a, hull_b, a_from_b)
        start: Vector = depth.direction * (depth.high + _SPARE)
        return start
    axes = np.vstack([np.eye(3), -np.eye(3)])
    reach = np.einsum("ij,ij->i", hull_a(-axes), -axes) + np.einsum(
        "ij,ij->i", a_from_b.apply(hull_b(axes @ a_from_b.rotation)), axes
    )
    way = int(np.argmin(reach))
    along_axis: Vector = axes[way] * max(float(reach[way]) + _SPARE, _SPARE)
    return along_axis


def _hull_support(solids: tuple[Solid, ...]) -> Support:
    """Support points of the convex hull of solids, their radii and errors included."""
    vertices = np.vstack([solid.vertices for solid in solids])
    grown = np.concatenate([np.full(len(s.vertices), s.radius + s.error) for s in solids])

    def support(directions: Points) -> Points:
        lengths = np.linalg.norm(directions, axis=1)
        heights: Floats = directions @ vertices.T + lengths[:, None] * grown
        best = np.argmax(heights, axis=1)
        points: Points = vertices[best] + directions * (grown[best] / np.maximum(lengths, 1e-300))[:, None]
        return points

    return support


def _middle(solids: tuple[Solid, ...], pose: Pose) -> Point:
    vertices = np.vstack([solid.vertices for solid in solids])
    middle: Point = pose.apply((vertices.min(axis=0) + vertices.max(axis=0)) / 2)
    return middle


def _across(worst: PairGap) -> Points:
    return np.empty((0, 3)) if worst.direction is None else worst.direction[None]
