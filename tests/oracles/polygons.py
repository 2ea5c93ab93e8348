"""Flat polygons cut into convex ones."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from tests.oracles.shapes import Array, Ints

__all__ = ["convex_parts", "ears_of"]


@lru_cache
def convex_parts(outline: tuple[tuple[float, float], ...]) -> list[Array]:
    """Convex polygons (n, 2) that make up a simple polygon: itself, or the ears cut off it."""
    ring = np.array(outline, float)
    if _area(ring) < 0:
        ring = ring[::-1]
    if np.all(_turns(ring) >= 0):
        return [ring]
    return list(ring[ears_of(ring)])


def ears_of(ring: Array) -> Ints:
    """Triangles (n - 2, 3) of a simple anticlockwise polygon (n, 2), as indices into it.

    Ear clipping (Meisters, Polygons have ears, 1975).
    """
    left = list(range(len(ring)))
    ears = []
    while len(left) > 3:
        k = next(k for k in range(len(left)) if _is_ear(ring, left, k))
        ears.append([left[k - 1], left[k], left[(k + 1) % len(left)]])
        del left[k]
    return np.array([*ears, left])


def _is_ear(ring: Array, left: list[int], k: int) -> bool:
    """A corner that turns left, with none of the other corners left in its triangle."""
    ear = [left[k - 1], left[k], left[(k + 1) % len(left)]]
    corners = ring[ear]
    if _area(corners) <= 0:
        return False
    others = [ring[i] for i in left if i not in ear]
    return not any(
        all(_area(np.array([corners[i], corners[(i + 1) % 3], other])) >= 0 for i in range(3)) for other in others
    )


def _area(ring: Array) -> float:
    x, y = ring.T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2


def _turns(ring: Array) -> Array:
    edges = np.roll(ring, -1, axis=0) - ring
    after = np.roll(edges, -1, axis=0)
    turns: Array = edges[:, 0] * after[:, 1] - edges[:, 1] * after[:, 0]
    return turns
