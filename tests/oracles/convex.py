"""The exact signed gap of two convex bodies, as a certified bracket.

Apart: a conic program and its dual certificate (`conic`). Overlapping: the penetration depth (`depth`). Balls
around the cores shift both by their radii.
"""

from __future__ import annotations

from tests.oracles.bodies import Body, Whole
from tests.oracles.conic import closest
from tests.oracles.depth import penetration
from tests.oracles.shapes import Bracket

__all__ = ["core_distance", "signed_gap"]

APART = 1e-6  # mm; a certified distance above this needs no look at the depth


def signed_gap(a: Whole, b: Whole) -> Bracket:
    """The signed gap of two convex bodies, mm: negative is the length of the shortest freeing translation."""
    core = core_distance(a, b)
    grown = a.radius + b.radius
    if core.low > APART:
        return Bracket(core.low - grown, core.high - grown)
    depth = penetration(a, b)
    low = max(core.low, -depth.high)
    high = max(low, min(core.high, -depth.low) if depth.low > 0 else core.high)
    return Bracket(low - grown, high - grown)


def core_distance(a: Body, b: Body) -> Bracket:
    """How far apart the two cores are, mm; a lower end of zero or less leaves open whether they overlap."""
    found = closest(a, b)
    return Bracket(min(found.low, found.high), found.high)
