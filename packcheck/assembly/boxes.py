"""Distances between axis-aligned boxes, many at once: the broad phase."""

from __future__ import annotations

import numpy as np

from packcheck.arrays import Floats

__all__ = ["box_distances"]


def box_distances(boxes: Floats, others: Floats) -> Floats:
    """Distances (n, m), mm, between boxes (n, 2, 3) and (m, 2, 3) given by least and greatest corners."""
    squared = np.zeros((len(boxes), len(others)))
    for axis in range(3):
        ahead = boxes[:, None, 0, axis] - others[None, :, 1, axis]
        behind = others[None, :, 0, axis] - boxes[:, None, 1, axis]
        squared += np.maximum(np.maximum(ahead, behind), 0.0) ** 2
    return np.sqrt(squared)
