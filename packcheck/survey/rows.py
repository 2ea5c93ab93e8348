r"""What each kind of reading would read, given where its points are, and how that changes with them.

Every kind is a function of a few points. Directions are two points of one body, so that an axis of a frame that is
itself sought turns with it.

    distance   a, b          |a - b|                    angle      a, b, c      at b, between a and c, degrees
    along      p, q, u, v    (p - q) along u -> v       angle_to   a, b, u, v   between a -> b and u -> v, degrees
    plane      p, a, b, c,   height over a, b, c, on    elevation  a, b, u, v   of a -> b over the level, degrees
               u, v          the side u -> v points     widening   p, q, u, v   radius of p less radius of q
    radius     p, u, v       from the axis u - v
    beside     p, u, v       the two parts of the way from the axis u - v, square
    over       p, u, v       to each other and to the axis
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final, Literal, TypeAlias

import numpy as np

from packcheck.arrays import Floats

__all__ = ["KINDS", "Kind", "gradients", "values"]

Kind: TypeAlias = Literal[
    "distance", "along", "plane", "radius", "beside", "over", "angle", "angle_to", "elevation", "widening"
]

STEP: Final = 1e-3
"""mm. Half the width of a central difference: its error, width squared over length squared, is below 1e-8 for
points 10 mm apart, and rounding stays below that too."""

SMALLEST: Final = 1e-9
"""mm. Keeps the direction of a length of nothing from being undefined."""


def _length(vectors: Floats) -> Floats:
    length: Floats = np.sqrt(np.einsum("mi,mi->m", vectors, vectors))
    return length


def _unit(vectors: Floats) -> Floats:
    return vectors / np.maximum(_length(vectors), SMALLEST)[:, None]


def _dot(a: Floats, b: Floats) -> Floats:
    product: Floats = np.einsum("mi,mi->m", a, b)
    return product


def _cross(a: Floats, b: Floats) -> Floats:
    """Cross products of rows (m, 3); numpy's own spends six times as long on finding out which axis is meant."""
    product: Floats = a[:, _NEXT] * b[:, _LAST] - a[:, _LAST] * b[:, _NEXT]
    return product


_NEXT, _LAST = [1, 2, 0], [2, 0, 1]


def _distance(p: Floats) -> Floats:
    return _length(p[:, 0] - p[:, 1])


def _along(p: Floats) -> Floats:
    return _dot(p[:, 0] - p[:, 1], _unit(p[:, 3] - p[:, 2]))


def _plane(p: Floats) -> Floats:
    normal = _unit(_cross(p[:, 2] - p[:, 1], p[:, 3] - p[:, 1]))
    side = np.where(_dot(normal, p[:, 5] - p[:, 4]) < 0, -1.0, 1.0)
    return side * _dot(p[:, 0] - p[:, 1], normal)


def _radius(p: Floats) -> Floats:
    return _length(_cross(p[:, 0] - p[:, 1], _unit(p[:, 2] - p[:, 1])))


def _square(axis: Floats) -> Floats:
    """A unit vector square to each unit vector: to the car axis that lies most across it."""
    return _unit(_cross(axis, np.eye(3)[np.argmin(np.abs(axis), axis=1)]))


def _beside(p: Floats) -> Floats:
    return _dot(p[:, 0] - p[:, 1], _square(_unit(p[:, 2] - p[:, 1])))


def _over(p: Floats) -> Floats:
    axis = _unit(p[:, 2] - p[:, 1])
    return _dot(p[:, 0] - p[:, 1], _cross(axis, _square(axis)))


def _between(a: Floats, b: Floats) -> Floats:
    angle: Floats = np.degrees(np.arctan2(_length(_cross(a, b)), _dot(a, b)))  # sound near 0 and 180 too
    return angle


def _angle(p: Floats) -> Floats:
    return _between(p[:, 0] - p[:, 1], p[:, 2] - p[:, 1])


def _angle_to(p: Floats) -> Floats:
    return _between(p[:, 1] - p[:, 0], p[:, 3] - p[:, 2])


def _elevation(p: Floats) -> Floats:
    line, up = p[:, 1] - p[:, 0], _unit(p[:, 3] - p[:, 2])
    rise = _dot(line, up)
    angle: Floats = np.degrees(np.arctan2(rise, _length(line - rise[:, None] * up)))
    return angle


def _widening(p: Floats) -> Floats:
    return _radius(p[:, [0, 2, 3]]) - _radius(p[:, [1, 2, 3]])


_FUNCTIONS: Final[Mapping[Kind, tuple[int, Callable[[Floats], Floats]]]] = {
    "distance": (2, _distance),
    "along": (4, _along),
    "plane": (6, _plane),
    "radius": (3, _radius),
    "beside": (3, _beside),
    "over": (3, _over),
    "angle": (3, _angle),
    "angle_to": (4, _angle_to),
    "elevation": (4, _elevation),
    "widening": (4, _widening),
}

KINDS: Final[Mapping[Kind, int]] = {kind: count for kind, (count, _) in _FUNCTIONS.items()}
"""How many points each kind takes."""


def values(kind: Kind, points: Floats) -> Floats:
    """What m readings of one kind would read, mm or degrees (m,), for points (m, k, 3) mm."""
    return _FUNCTIONS[kind][1](points)


def gradients(kind: Kind, points: Floats) -> Floats:
    """How those readings change as each point moves (m, k, 3), per mm."""
    exact = _EXACT.get(kind)
    return exact(points) if exact else _by_difference(kind, points)


def _by_difference(kind: Kind, points: Floats) -> Floats:
    """Every point shifted along every axis, both ways, all asked at once."""
    count = points.shape[1]
    shifts = STEP * np.eye(3 * count).reshape(3 * count, count, 3)
    ahead, behind = ((points[:, None] + way * shifts).reshape(-1, count, 3) for way in (1.0, -1.0))
    slopes: Floats = (values(kind, ahead) - values(kind, behind)) / (2 * STEP)
    return slopes.reshape(points.shape)


def _distance_gradients(points: Floats) -> Floats:
    way = _unit(points[:, 0] - points[:, 1])
    return np.stack([way, -way], axis=1)


def _along_gradients(points: Floats) -> Floats:
    apart, axis = points[:, 0] - points[:, 1], points[:, 3] - points[:, 2]
    way, length = _unit(axis), np.maximum(_length(axis), SMALLEST)
    turning = (apart - _dot(apart, way)[:, None] * way) / length[:, None]
    return np.stack([way, -way, -turning, turning], axis=1)


_EXACT: Final[Mapping[Kind, Callable[[Floats], Floats]]] = {
    "distance": _distance_gradients,
    "along": _along_gradients,
}
