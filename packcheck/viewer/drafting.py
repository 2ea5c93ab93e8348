"""Lines as drawings have them: the long-dashed double-dotted one of parts in another position.

    ________ . . ________ . . ________

ISO 128-2 (line type 05.1): outlines of alternative and extreme positions of movable parts. Dash 24, gap 3, dot at
most 0.5, all in widths of the line; from memory. A dot is drawn as long as the line is wide, to be seen.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from packcheck.arrays import Floats, Points

__all__ = ["ALTERNATE", "dashed"]

ALTERNATE: Final = (24.0, 3.0, 1.0, 3.0, 1.0, 3.0)
"""Drawn, left out, drawn, ... in widths of the line."""


def dashed(loop: Points, width: float, pattern: Sequence[float] = ALTERNATE) -> Floats:
    """The drawn pieces (m, 2, 2) px of a closed loop (n, 2) px, for a line `width` px wide.

    A dash that runs round a corner is two pieces. The pattern is stretched so that it meets itself.
    """
    closed = np.vstack([loop, loop[:1]])
    sides = np.linalg.norm(np.diff(closed, axis=0), axis=1)
    corners = np.concatenate([[0.0], np.cumsum(sides)])
    if len(loop) < 2 or corners[-1] <= 0:
        return np.empty((0, 2, 2))
    period = sum(pattern) * width
    stretch = corners[-1] / (max(round(corners[-1] / period), 1) * period)
    marks = np.concatenate([[0.0], np.cumsum(pattern)]) * width * stretch
    begins = np.arange(round(corners[-1] / marks[-1])) * marks[-1]
    starts = (begins[:, None] + marks[:-1:2]).ravel()
    ends = (begins[:, None] + marks[1::2]).ravel()
    cuts = np.unique(np.concatenate([starts, ends, corners]).round(9))
    middles = (cuts[:-1] + cuts[1:]) / 2
    place = np.searchsorted(starts, middles, side="right") - 1
    drawn = (place >= 0) & (middles < ends[np.maximum(place, 0)])
    pieces: Floats = np.stack(
        [_at(closed, corners, cuts[:-1][drawn]), _at(closed, corners, cuts[1:][drawn])], axis=1
    )
    return pieces


def _at(closed: Points, corners: Floats, lengths: Floats) -> Floats:
    """The points (k, 2) of a line at these lengths along it."""
    return np.column_stack([np.interp(lengths, corners, closed[:, axis]) for axis in (0, 1)])
