"""How far along a way does a part come to rest on another? Newton's method on the distance of convex pieces.

Led along a straight way the distance of two convex bodies is a convex function of the way, so that from far off the
plane across the nearest points never leads past the touch, and closes in on it.
"""

from __future__ import annotations

import numpy as np

from tests.oracles.shapes import Array
from tests.worlds.gap import Body, Solid, moved_body, witness

__all__ = ["contact"]

TOUCH = 1e-6
"""mm; two that are nearer touch."""

ROUNDS = 200

PAST = 1e-7
"""A plane that leans no more than this against the way is passed by."""


def contact(led: Solid, other: Solid, way: Array) -> float | None:
    """How far along unit `way` (3,), mm, from where it stands, `led` first touches `other`, coming from far off.

    None where it never does.
    """
    found = [
        height for one in led.bodies() for body in other.bodies() if (height := _touch(one, body, way)) is not None
    ]
    return max(found, default=None)


def _touch(led: Body, other: Body, way: Array) -> float | None:
    height = float(way @ (other.middle - led.middle)) + led.reach + other.reach + 1.0
    across = other.middle - led.middle - way * (way @ (other.middle - led.middle))
    if np.linalg.norm(across) > led.reach + other.reach:
        return None
    for _ in range(ROUNDS):
        value, direction = witness(moved_body(led, way * height), other)
        if value <= TOUCH:
            return height
        lean = float(direction @ way)
        if lean <= PAST:
            return None
        height -= max(value - TOUCH / 2, TOUCH / 2) / lean
    return height
