"""Flat polygons cut into convex ones."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tests.oracles.shapes import Array

__all__ = ["convex_parts"]


def convex_parts(outline: Sequence[tuple[float, float]]) -> list[Array]:
    """Convex polygons (n, 2) that make up a simple polygon: itself, or the ears cut off it."""
    ring = np.array(outline, float)
    if _area(ring) < 0:
        ring = ring[::-1]
    if np.all(_turns(ring) >= 0):
        return [ring]
    return _ears(ring)


def _ears(ring: Array) -> list[Array]:
    """Ear clipping (Meisters, Polygons have ears, 1975)."""
    parts = []
    while len(ring) > 3:
        k = next(k for k in range(len(ring)) if _is_ear(ring, k))
        parts.append(ring[[k - 1, k, (k + 1) % len(ring)]])
        ring = np.delete(ring, k, axis=0)
    return [*parts, ring]


def _is_ear(ring: Array, k: int) -> bool:
    corners = ring[[k - 1, k, (k + 1) % len(ring)]]
    if _area(corners) <= 0:
        return False
    others = np.delete(ring, [k - 1, k, (k + 1) % len(ring)], axis=0)
    sides = [_area(np.array([corners[i], corners[(i + 1) % 3], other])) for other in others for i in range(3)]
    return not np.any(np.all(np.reshape(sides, (-1, 3)) >= 0, axis=1))


def _area(ring: Array) -> float:
    x, y = ring.T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2


def _turns(ring: Array) -> Array:
    edges = np.roll(ring, -1, axis=0) - ring
    after = np.roll(edges, -1, axis=0)
    turns: Array = edges[:, 0] * after[:, 1] - edges[:, 1] * after[:, 0]
    return turns
