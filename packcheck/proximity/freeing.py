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
from packcheck.search.march import Ended, closed_in, first_kept, kept_until

__all__ = ["ClearBy", "drawn_in", "room_left", "shortest_escape"]

ClearBy: TypeAlias = Callable[[Vector], float]
"""Clearance, mm, after a translation (3,): positive when surely free, else minus a proven distance to go."""

_CLOSE_ENOUGH = 1e-4  # mm; nearer than this to contact an advance is over
_SPARE = _CLOSE_ENOUGH / 2  # mm; left of what is clear, so that rounding leaves the next pose clear as well
_GROWTH = 0.5  # outward steps grow with the distance gone: pockets thinner than half of it may be missed
_FIRST_STEP = 0.05  # mm
_STEPS = 30
_SHARES = (0.1, 0.5, 1.0)  # of a seat: how far shifts go that may free what is joined
_ENOUGH = 0.25  # of a seat; room enough to go on with
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

    def step(gone: float) -> tuple[float, float]:
        clear = clear_by(way * (start - gone))
        return -1.0 if clear <= 0.0 else clear - _SPARE if clear >= _CLOSE_ENOUGH else 0.0, 0.0

    come = kept_until(step, 0.0, start, _STEPS)
    if come.at is None:
        return None
    gone = come.at
    if come.ended is Ended.MISSED:  # rounding decides there, or facets do: come closer by halves
        gone = closed_in(step, come.proven, come.at, _CLOSE_ENOUGH).kept
    return way * (start - gone)


def room_left(clear_by: ClearBy, ways: Points, seat: float, *, straight: bool) -> tuple[float, int]:
    """How far, mm, may all points travel while some shift of no more than `seat` mm still frees the part, surely?

    A shift of d that leaves the two c apart goes on freeing them until points have travelled c, turned or not.
    Where all travel alike (`straight`), a longer one may take its place: seat - d + c. 0 where none tried frees it.
    With the number of the way that gave it.
    """
    best = 0.0, 0
    for share in _SHARES if straight else _SHARES[::-1]:
        for k, way in enumerate(ways):
            clear = clear_by(way * (share * seat))
            if clear > 0.0:
                best = max(best, (clear + (1.0 - share) * seat if straight else clear, k))
            if best[0] >= _ENOUGH * seat:
                return best
    return best


def _outward(clear_by: ClearBy, way: Vector, limit: float) -> Vector | None:
    """Step outward from here to the first free pose nearer than `limit` mm, then close in on the contact."""

    def step(out: float) -> tuple[float, float]:
        clear = clear_by(way * out)
        return (0.0, 0.0) if clear > 0.0 else (-1.0, -clear)

    found = first_kept(step, 0.0, limit, lambda out: _FIRST_STEP + _GROWTH * out, _CLOSE_ENOUGH)
    return None if found.at is None else way * found.at


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
