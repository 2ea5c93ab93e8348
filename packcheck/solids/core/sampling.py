"""Points spread over the core of a solid, for proofs that need any point of it."""

from __future__ import annotations

import numpy as np

from packcheck.arrays import Points
from packcheck.solids.core.solid import Solid

__all__ = ["sampled"]

_MOST = 300_000
"""Points made of one solid; for more than that they are spread wider."""


def sampled(solid: Solid, spacing: float) -> Points:
    """Points (n, 3) of the triangles of a core, own frame, no farther than some `spacing` mm from each other.

    All are on the core. Of those that are nearer to each other than half of that, one is kept; of what would need
    too many, fewer are taken.
    """
    corners = _longest_first(solid.vertices[solid.faces])
    longest = np.linalg.norm(corners[:, 1] - corners[:, 0], axis=1)
    areas = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1)
    sizes = np.stack([longest, areas / np.maximum(longest, 1e-12)], axis=1)
    while np.prod(np.ceil(sizes / spacing) + 1, axis=1).sum() > max(_MOST, 8 * len(corners)):
        spacing *= 1.5
    cuts = np.maximum(1, np.ceil(sizes / spacing)).astype(np.int64)
    found = [
        np.einsum("ns,tsi->tni", _shares(*pair), corners[(cuts == pair).all(axis=1)]).reshape(-1, 3)
        for pair in np.unique(cuts, axis=0)
    ]
    return _thinned(np.vstack(found), spacing / 2)


def _longest_first(corners: Points) -> Points:
    """Triangles (m, 3, 3) with their corners gone round until the longest side is the first."""
    sides = np.linalg.norm(corners[:, [1, 2, 0]] - corners, axis=2)
    first = np.argmax(sides, axis=1)
    turned: Points = np.take_along_axis(corners, ((first[:, None] + np.arange(3)) % 3)[:, :, None], axis=1)
    return turned


def _shares(along: int, across: int) -> Points:
    """Shares (n, 3) of a triangle's corners: `across` + 1 rows from its first side to its third corner."""
    v, u = (ends.ravel() for ends in np.meshgrid(np.linspace(0, 1, across + 1), np.linspace(0, 1, along + 1)))
    return np.stack([(1 - v) * (1 - u), (1 - v) * u, v], axis=1)


def _thinned(points: Points, spacing: float) -> Points:
    """One point of each cube `spacing` mm wide."""
    cubes = np.floor(points / spacing).astype(np.int64)
    cubes -= cubes.min(axis=0)
    wide = cubes.max(axis=0) + 1
    _, first = np.unique((cubes[:, 0] * wide[1] + cubes[:, 1]) * wide[2] + cubes[:, 2], return_index=True)
    thinned: Points = points[np.sort(first)]
    return thinned
