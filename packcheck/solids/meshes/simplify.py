"""Fewer triangles for a large surface, and how far they stray from it, proven both ways.

The library that leaves triangles out knows nothing of distances: a thin pin may go without a trace. So what it
makes is held against the original, every point of each surface against the other (`deviation`), and what is not
proven to lie within the limit is thrown away, and more triangles are tried.
"""

from __future__ import annotations

from dataclasses import replace
from importlib.util import find_spec
from typing import Final

import numpy as np

from packcheck.arrays import Faces, Floats, Points, frozen, frozen_faces
from packcheck.solids.core.coherent import coherent_order
from packcheck.solids.core.solid import Solid
from packcheck.solids.core.topology import edges_of
from packcheck.solids.formats.gate import RefusedError
from packcheck.solids.meshes.deviation import MOST_PIECES, Nearest, TooMuchWork, strays

__all__ = ["INSTALL", "fewer", "simplified"]

INSTALL: Final = 'in the folder of packcheck run  pip install ".[scan]"'

_SHARES: Final = (0.01, 0.02, 0.04, 0.08, 0.15, 0.25, 0.4, 0.6, 0.8)
"""Of the triangles: what is tried, least first."""

_TRIALS: Final = 2
"""Without a proof, before it is given up: the more triangles stay, the easier is the proof, but the longer, too."""

_ROOM: Final = 0.75
"""Of the limit: what the corners may be off for a proof to be tried; nearer to it, a proof takes long."""


def simplified(solid: Solid, limit: float) -> tuple[Solid, str]:
    """`solid` with fewer triangles, none straying more than `limit` mm, and what was done in words.

    Raises
    ------
    RefusedError
        When the libraries are not installed.
    """
    if any(find_spec(name) is None for name in ("fast_simplification", "igl")):
        raise RefusedError("cannot be simplified: the extra for scans is not installed", mend=INSTALL)
    try:
        found = fewer(solid.vertices, solid.faces, limit)
    except TooMuchWork:
        return solid, f"not simplified: {limit:g} mm takes too much work to prove; crop it, or allow more"
    if found is None:
        return solid, f"not simplified: no fewer triangles stay within {limit:g} mm"
    vertices, faces, error = found
    words = f"simplified from {len(solid.faces)} to {len(faces)} triangles, all within {error:.3g} mm"
    made = replace(
        solid,
        vertices=frozen(vertices),
        faces=frozen_faces(faces[coherent_order(vertices, faces)]),
        error=solid.error + error,
        support=None,
        whole=solid,
    )
    return made, words


def fewer(
    vertices: Points, faces: Faces, limit: float, *, most: int = MOST_PIECES
) -> tuple[Points, Faces, float] | None:
    """The fewest triangles found that stray no more than `limit` mm, either way; None when none do.

    Returns
    -------
    tuple or None
        Vertices (n, 3) and faces (m, 3), closed where the original is; the proven bound of the distance, mm.

    Raises
    ------
    TooMuchWork
        When two trials in a row came to no proof with `most` pieces looked at.
    """
    toils = 0
    closed = edges_of(faces).balanced
    onto_original = _nearest(vertices, faces)
    for share in _SHARES:
        points, triangles = _decimated(vertices, faces, int(share * len(faces)))
        if not len(triangles) or len(triangles) >= len(faces) or edges_of(triangles).balanced != closed:
            continue
        onto_fewer = _nearest(points, triangles)
        if max(onto_fewer(vertices)[0].max(), onto_original(points)[0].max()) > _ROOM * limit:
            continue
        try:
            missing = strays(vertices, faces, points[triangles], onto_fewer, limit, most=most)
            added = strays(points, triangles, vertices[faces], onto_original, limit, most=most)
        except TooMuchWork:
            toils += 1
            if toils == _TRIALS:
                raise
            continue
        if missing is not None and added is not None:
            return points, triangles, max(missing, added)
    return None


def _decimated(vertices: Points, faces: Faces, count: int) -> tuple[Points, Faces]:
    """About `count` of the triangles; none when the library will not."""
    import fast_simplification

    try:
        made = fast_simplification.simplify(
            vertices.copy(), faces.astype(np.int32), target_count=count, preserve_border=True
        )
    except (ValueError, RuntimeError):
        return np.zeros((0, 3)), np.zeros((0, 3), dtype=np.int64)
    return np.asarray(made[0], dtype=np.float64), np.asarray(made[1], dtype=np.int64).reshape(-1, 3)


def _nearest(vertices: Points, faces: Faces) -> Nearest:
    """Which face is nearest, by a library whose word is only a hint."""
    import igl

    corners, rows = np.ascontiguousarray(vertices), np.ascontiguousarray(faces, dtype=np.int64)

    def nearest(points: Points) -> tuple[Floats, Faces]:
        if not len(points):
            return np.zeros(0), np.zeros(0, dtype=np.int64)
        squares, found, _ = igl.point_mesh_squared_distance(np.ascontiguousarray(points), corners, rows)
        return np.sqrt(squares), found

    return nearest
