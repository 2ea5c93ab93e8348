"""How far must a part travel to be free of another, when shapes are not convex? The best verified answer.

The gap of overlapping parts is minus the shortest translation to any free pose. For shapes that are not convex
no method here proves a translation shortest, but every pose offered is verified free. The search starts from the
way out of the convex hulls, tries other ways inward from outside, never passing through anything since a pose
that is clear by g stays clear for a step of g, and outward from here, which finds the near pocket that a pin in a
hole needs; then it leans the best way a little to all sides.
Source of the inward march: conservative advancement, Mirtich 1996.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeAlias

import numpy as np

from packcheck.arrays import Floats, Points, Vector

__all__ = ["ClearBy", "drawn_in", "shortest_escape"]

ClearBy: TypeAlias = Callable[[Vector], float]
"""Clearance, mm, after a translation (3,): positive when surely free, else minus a proven distance to go."""

_CLOSE_ENOUGH = 1e-4  # mm; nearer than this to contact an advance is over
_GROWTH = 0.5  # outward steps grow with the distance gone: pockets thinner than half of it may be missed
_FIRST_STEP = 0.05  # mm
_STEPS = 30
_CONES = (0.3, 0.1, 0.03, 0.01)  # radians round the best direction, for its refinement


def shortest_escape(clear_by: ClearBy, start: Vector, ways: Points) -> Vector | None:
    """The shortest translation (3,) mm found after which `clear_by` is positive.

    `start` (3,) mm should be a way out already; None if it is not. `ways` (n, 3) are unit directions worth
    trying. Some 200 calls of `clear_by`.
    """
    best = drawn_in(clear_by, start / np.linalg.norm(start), _length(start))
    if best is None:
        return None
    for way in ways:
        best = _shorter(best, drawn_in(clear_by, way, _length(best)))
    for way in ways:
        best = _shorter(best, _outward(clear_by, way, _length(best)))
    for angle in _CONES:
        for way in _cone(best, angle):
            best = _shorter(best, drawn_in(clear_by, way, _length(best)))
    return best


def drawn_in(clear_by: ClearBy, way: Vector, start: float) -> Vector | None:
    """The last free pose (3,) mm on coming back from `start` mm out until contact; None if `start` is not free."""
    out = start
    clear = clear_by(way * out)
    if clear <= 0:
        return None
    for _ in range(_STEPS):
        if clear < _CLOSE_ENOUGH:
            break
        nearer = max(out - clear, 0.0)
        clear_there = clear_by(way * nearer)
        if clear_there > 0:
            out, clear = nearer, clear_there
        else:
            clear /= 2  # contact itself: rounding decides, so come closer by halves
    return way * out


def _outward(clear_by: ClearBy, way: Vector, limit: float) -> Vector | None:
    """Step outward from here to the first free pose nearer than `limit` mm, then close in on the contact."""
    blocked, out = 0.0, 0.0
    clear = clear_by(way * out)
    while clear <= 0:
        blocked, out = out, out + max(-clear, _FIRST_STEP + _GROWTH * out)
        if out >= limit:
            return None
        clear = clear_by(way * out)
    while out - blocked > _CLOSE_ENOUGH:
        middle = (out + blocked) / 2
        blocked, out = (blocked, middle) if clear_by(way * middle) > 0 else (middle, out)
    return way * out


def _cone(axis: Vector, angle: float) -> Floats:
    """Six unit directions leaning `angle` radians off `axis`."""
    along = axis / np.linalg.norm(axis)
    across = np.linalg.svd(along[None])[2][1:]
    turns = np.arange(6)[:, None] * (np.pi / 3)
    leaning: Floats = np.cos(angle) * along + np.sin(angle) * (
        np.cos(turns) * across[0] + np.sin(turns) * across[1]
    )
    return leaning


def _length(vector: Vector) -> float:
    return float(np.linalg.norm(vector))


def _shorter(best: Vector, other: Vector | None) -> Vector:
    return best if other is None or _length(other) >= _length(best) else other
