"""How much of a part lies within an open surface, as far as its holes let that be told?

A scan with holes has no inside, yet what lies within its folds must not be called clear, nor what reaches in
through a hole and touches nothing. So places spread over the whole surface of the part are asked how far the scan
winds round them: its corners, its outermost vertices, and spots spread evenly by area. Between a quarter and three
quarters of a turn nothing can be told; above, it lies within, if the holes are no more than holes.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from packcheck.arrays import Floats, Points
from packcheck.proximity.inside import WINDS_ROUND, FarField
from packcheck.solids.core.solid import Solid

__all__ = ["spots", "turns_round", "wound_words"]

_SPREAD: Final = 24
"""Spots spread over a part: each costs a millisecond, however large the scan."""

_WAYS: Final = np.array([[x, y, z] for x in (-1, 0, 1) for y in (-1, 0, 1) for z in (-1, 0, 1) if x or y or z])
_GOLDEN: Final = (0.7548776662466927, 0.5698402909980532)
"""Steps that spread points evenly over a square: powers of the root of x^3 = x + 1 (Roberts, 2018)."""


def spots(solid: Solid) -> tuple[Points, int]:
    """Places (n, 3) mm on the core of a part to ask about, and how many of the first are spread by area."""
    corners = solid.vertices[solid.faces]
    sides = np.linalg.norm(corners[:, [1, 2, 0]] - corners, axis=2)
    sizes = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1)
    sizes = sizes if sizes.any() else sides.max(axis=1) + 1e-12  # rods and balls: by length
    ends = np.cumsum(sizes)
    faces = np.searchsorted(ends, (np.arange(_SPREAD) + 0.5) / _SPREAD * ends[-1])
    spread = np.einsum("ns,nsi->ni", _shares(), corners[np.minimum(faces, len(corners) - 1)])
    outermost = solid.vertices[np.unique(np.argmax(solid.vertices @ _WAYS.T, axis=0))]
    pieces = solid.vertices[:1] if solid.pieces is None else solid.pieces
    return np.concatenate([spread, outermost, pieces]), _SPREAD


def _shares() -> Floats:
    """Shares (n, 3) of a triangle's corners, spread evenly over it."""
    u, v = (np.arange(1, _SPREAD + 1) * step % 1.0 for step in _GOLDEN)
    flip = u + v > 1
    u, v = np.where(flip, 1 - u, u), np.where(flip, 1 - v, v)
    return np.stack([u, v, 1 - u - v], axis=1)


def wound_words(turns: Floats, spread: int) -> str:
    """What is said of a part whose spots are wound round `turns` (n,) times, the first `spread` of them by area.

    Empty when no spot is wound round by more than a quarter.

    Examples
    --------
    >>> wound_words(np.array([0.0, 0.1, 0.02]), 3)
    ''
    >>> wound_words(np.array([0.9, 0.6, 0.02, 0.0]), 4)
    'an open surface without thickness and side winds round it: about 25 % of it lies within, 25 % is undecided'
    """
    if not (turns > WINDS_ROUND).any():
        return ""
    shares = turns[:spread]
    within, undecided = (100 * np.mean(flags) for flags in (shares >= 1 - WINDS_ROUND, _between(shares)))
    told = f"about {within:.0f} % of it lies within, {undecided:.0f} % is undecided"
    told = told if within + undecided > 0 else "a small part of it is undecided"
    return f"an open surface without thickness and side winds round it: {told}"


def _between(turns: Floats) -> Floats:
    return ((turns > WINDS_ROUND) & (turns < 1 - WINDS_ROUND)).astype(np.float64)


def turns_round(field: FarField, points: Points, low: Points, high: Points) -> Floats:
    """How far the surface of `field` winds round each point (n,); nought outside its box."""
    turns = np.zeros(len(points))
    for k in np.flatnonzero(((points >= low) & (points <= high)).all(axis=1)):
        turns[k] = abs(field.winding(points[k], WINDS_ROUND))
    return turns
