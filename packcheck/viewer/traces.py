"""The outline of a part as a camera sees it, drawn as drawings draw parts in another position."""

from __future__ import annotations

import numpy as np

from packcheck.arrays import Faces, Floats, Points
from packcheck.solids.silhouettes import shadow
from packcheck.viewer.drafting import dashed

__all__ = ["outlines"]

CELL = 1.0  # px; outlines are true to about this
STEP = 2.5  # px from point to point
MOST_CELLS = 1200
LEAST_LOOP = 12.0  # px; smaller specks are left out


def outlines(seen: Floats, depth: Floats, faces: Faces, size: tuple[int, int], width: float) -> Floats:
    """The drawn pieces (m, 2, 2) px of the outline of a part, its corners seen at `seen` (n, 2) px.

    `depth` (n,) mm is how far in front of the eye the corners are; triangles that are not all in front of it, or
    nowhere in a picture of `size` px, are left out. `width` is that of the line, px.
    """
    corners = seen[faces]
    low, high = corners.min(axis=1), corners.max(axis=1)
    kept = (depth[faces] > 1.0).all(axis=1) & (high >= 0).all(axis=1) & (low <= np.array(size)).all(axis=1)
    if not kept.any():
        return np.empty((0, 2, 2))
    extent = float(np.ptp(corners[kept].reshape(-1, 2), axis=0).max())
    cells = int(np.clip(extent / CELL, 16, MOST_CELLS))
    loops = [loop for loop in shadow(corners[kept], 0.0, cells) if np.ptp(loop, axis=0).max() > LEAST_LOOP]
    return np.concatenate([np.empty((0, 2, 2)), *(dashed(_smooth(loop), width) for loop in loops)])


def _smooth(loop: Points) -> Points:
    """A closed loop in even steps, each point the middle of its neighbours: without the stairs of the cells."""
    closed = np.vstack([loop, loop[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(closed, axis=0), axis=1))])
    places = np.arange(0.0, along[-1], STEP)
    even = np.column_stack([np.interp(places, along, closed[:, axis]) for axis in (0, 1)])
    smooth: Points = np.mean([np.roll(even, shift, axis=0) for shift in range(-2, 3)], axis=0)
    return smooth
