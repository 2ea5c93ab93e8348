"""The bound from the corners of a cell, where a curvature bound makes the gap all but concave."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from packcheck.search.problem import Bound, Cell, Probe
from packcheck.tolerances import SEARCH_ROUNDING

__all__ = ["corner_bound"]


def corner_bound(sag: Callable[[Cell, float], float], spare: float = 0.0) -> Bound:
    r"""The bound from the corners of a cell.

    Each pair of points, one of either part, has a distance f whose second derivative along parameters that change
    by v is at most M(v) = |p'|^2 / f + |p''|, p being the vector between them: the gap, the least of all f, bends
    upwards no more sharply than the sharpest of them. With Q a sum of squares about the middle whose second
    derivative is M(v) or more everywhere in the cell, gap - Q is concave:

         *---___      ___---*      gap     gap - Q, and so the gap, lies above the least of (gap - Q) at the
          \     ^^^^^^     /               corners; Q is greatest there, and `sag` is that much
           *- - - - - - - *       gap - Q at the corners

    Parameters
    ----------
    sag : callable, (cell, distance) -> length
        The value of Q at the corners, for parts whose points are `distance` or more apart all over the cell.
    spare : float
        How much farther the points are apart than the gap says (ball radii), at the least.
    """

    def bound(probe: Probe) -> float:
        distance = probe.centre.low + spare - probe.travel
        if distance <= 0:
            return -np.inf
        sinks = sag(probe.cell, distance)
        if sinks >= probe.travel or probe.centre.low - sinks < probe.wanted:
            return -np.inf
        floor = np.inf
        for corner in probe.cell.corners():
            floor = min(floor, probe.at(corner, probe.wanted + sinks + SEARCH_ROUNDING).low)
            if floor - sinks < probe.wanted:
                break
        else:
            return floor - sinks - SEARCH_ROUNDING
        return -np.inf

    return bound
