"""Distances between axis-aligned boxes, many at once: the broad phase."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np

from packcheck.arrays import Floats, Point

__all__ = ["box_distance", "box_distances"]

Box: TypeAlias = Floats | tuple[Point, Point]


def box_distances(boxes: Floats, others: Floats) -> Floats:
    """Distances (n, m), mm, between boxes (n, 2, 3) and (m, 2, 3) given by least and greatest corners."""
    squared = np.zeros((len(boxes), len(others)))
    for axis in range(3):
        ahead = boxes[:, None, 0, axis] - others[None, :, 1, axis]
        behind = others[None, :, 0, axis] - boxes[:, None, 1, axis]
        squared += np.maximum(np.maximum(ahead, behind), 0.0) ** 2
    return np.sqrt(squared)


def box_distance(box: Box, other: Box) -> float:
    """Distance, mm, between two boxes, each its least and greatest corner (3,)."""
    return float(box_distances(np.array(box)[None], np.array(other)[None])[0, 0])
