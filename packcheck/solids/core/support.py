"""How far does a convex core reach in a direction?"""

from __future__ import annotations

import numpy as np

from packcheck.arrays import Points, frozen
from packcheck.solids.core.solid import Support

__all__ = ["polyhedron_support"]


def polyhedron_support(vertices: Points) -> Support:
    """Which vertex of a convex polyhedron lies farthest along each direction?

    Parameters
    ----------
    vertices : (k, 3)
        Corners of the polyhedron, mm; points inside it or on its faces do no harm.

    Returns
    -------
    Support
        Directions (n, 3), of any length, to points (n, 3), mm, own frame. The first of equally far vertices.

    Examples
    --------
    >>> support = polyhedron_support(np.array([[0.0, 0, 0], [2, 0, 0], [0, 3, 0]]))
    >>> support(np.array([[1.0, 0.1, 0], [0, 0, 1]])).tolist()
    [[2.0, 0.0, 0.0], [0.0, 0.0, 0.0]]
    """
    corners = frozen(vertices)

    def support(directions: Points) -> Points:
        farthest: Points = corners[np.argmax(directions @ corners.T, axis=1)]
        return farthest

    return support
