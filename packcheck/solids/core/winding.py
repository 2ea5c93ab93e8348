"""How often does a surface wind round a point?"""

from __future__ import annotations

from typing import Final

import numpy as np

from packcheck.arrays import Faces, Floats, Points

__all__ = ["winding_numbers"]

_BLOCK: Final = 200_000
"""Point-triangle pairs worked on at once: a few arrays that fit a cache."""


def winding_numbers(points: Points, vertices: Points, faces: Faces) -> Floats:
    """How often does the surface wind round each point?

    Parameters
    ----------
    points : (p, 3)
        Anywhere; on the surface the answer is that of one side or between the two.
    vertices, faces : (n, 3), (m, 3)
        A surface in the same frame, closed or not.

    Returns
    -------
    (p,)
        1 inside a closed surface wound outward, 0 outside; any fraction where the surface is open.

    Notes
    -----
    Sum of solid angles over 4 pi. Source: van Oosterom and Strackee, "The solid angle of a plane triangle",
    IEEE Transactions on Biomedical Engineering 30, 1983, equation 8. Cost: points times faces, about 50 ns each.

    Examples
    --------
    >>> corners = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]])
    >>> sides = np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]])
    >>> winding_numbers(np.array([[0.1, 0.1, 0.1], [1.0, 1.0, 1.0]]), corners, sides).round(9).tolist()
    [1.0, 0.0]
    """
    rows = max(1, _BLOCK // max(len(faces), 1))
    columns = max(1, _BLOCK // rows)
    total = np.zeros(len(points))
    for start in range(0, len(points), rows):
        block = slice(start, start + rows)
        for begin in range(0, len(faces), columns):
            triangles = vertices[faces[begin : begin + columns]]
            total[block] += _half_angles(points[block, None], triangles[None]).sum(axis=1)
    return total / (2 * np.pi)


def _half_angles(points: Floats, triangles: Floats) -> Floats:
    """Half the solid angles (p, t) of triangles (1, t, 3, 3) seen from points (p, 1, 3)."""
    a, b, c = (triangles[:, :, corner] - points for corner in range(3))
    la, lb, lc = (np.sqrt(np.einsum("pti,pti->pt", side, side)) for side in (a, b, c))
    volume = np.einsum("pti,pti->pt", a, np.cross(b, c))
    ab, bc, ca = (np.einsum("pti,pti->pt", first, second) for first, second in ((a, b), (b, c), (c, a)))
    angles: Floats = np.arctan2(volume, la * lb * lc + ab * lc + bc * la + ca * lb)
    return angles
