"""Is a point inside a closed surface? By generalized winding number, which overlapping pieces do not confuse.

Source: Van Oosterom and Strackee, "The solid angle of a plane triangle", IEEE Trans. Biomed. Eng. 30 (1983);
Jacobson, Kavan and Sorkine-Hornung, "Robust inside-outside segmentation using generalized winding numbers",
ACM Trans. Graph. 32 (2013).
"""

from __future__ import annotations

import numpy as np

from packcheck.arrays import Faces, Floats, Points

__all__ = ["INSIDE", "WINDS_ROUND", "winding_numbers"]

INSIDE = 0.5
"""A closed surface winds once or more round a point inside it, and not at all round one outside."""

WINDS_ROUND = 0.25
"""An open surface that winds this far round a point may well be meant to hold it."""


def winding_numbers(points: Points, vertices: Points, faces: Faces) -> Floats:
    """How often a surface winds round each of `points` (n, 3): (n,); 1 inside, 0 outside when it is closed."""
    return np.array([_winding(vertices - point, faces) for point in points])


def _winding(vertices: Points, faces: Faces) -> float:
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    la, lb, lc = (np.linalg.norm(side, axis=1) for side in (a, b, c))
    volume = np.einsum("ij,ij->i", a, np.cross(b, c))
    spread = (
        la * lb * lc
        + np.einsum("ij,ij->i", a, b) * lc
        + np.einsum("ij,ij->i", b, c) * la
        + np.einsum("ij,ij->i", c, a) * lb
    )
    return float(np.arctan2(volume, spread).sum() / (2 * np.pi))
