"""Is a closed mesh convex?"""

from __future__ import annotations

from typing import Final

import numpy as np

from packcheck.arrays import Faces, Points
from packcheck.solids.core.topology import edges_of

__all__ = ["is_convex"]

_MOST_FACES: Final = 5_000
"""Beyond this the exact answer costs more than it saves; the mesh is treated as any other."""

_ROUNDING: Final = 1e-9
"""Of the size: how far a vertex may stand out of a face's plane by rounding."""

_BLOCK: Final = 256


def is_convex(vertices: Points, faces: Faces) -> bool:
    """Does every vertex lie behind the plane of every face?

    Parameters
    ----------
    vertices, faces : (n, 3) mm, (m, 3)
        One closed piece, wound outward.

    Returns
    -------
    bool
        False also when there are too many faces to tell soon.
    """
    if len(faces) > _MOST_FACES:
        return False
    corners = vertices[faces]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    normals = np.divide(normals, lengths, out=np.zeros_like(normals), where=lengths > 0)
    slack = _ROUNDING * float(np.ptp(vertices, axis=0).max())
    links = edges_of(faces).neighbours()[0]  # most meshes fail against their neighbours, at once
    near = corners[links[:, 1]] - corners[links[:, 0], :1]
    if (np.einsum("pcj,pj->pc", near, normals[links[:, 0]]) > slack).any():
        return False
    return all(
        _behind(vertices, corners[start : start + _BLOCK, 0], normals[start : start + _BLOCK], slack)
        for start in range(0, len(faces), _BLOCK)
    )


def _behind(vertices: Points, bases: Points, normals: Points, slack: float) -> bool:
    """Whether all vertices lie behind the planes through `bases` with unit `normals`, (b, 3) each."""
    centre = vertices[0]
    heights = ((vertices - centre) @ normals.T).max(axis=0)
    return bool((heights <= np.einsum("bj,bj->b", bases - centre, normals) + slack).all())
