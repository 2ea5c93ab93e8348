r"""The outline a solid shows from far away, as polygons in the plane of the paper.

 ____           Convex: the hull of its corners. Few triangles: the hull of each. Many: the shadow is laid
/    \___       on a grid of small cells and its edge followed, so it is true to a cell either way.
\________|      A ball radius grows all three.
"""

from __future__ import annotations

from collections import defaultdict
from typing import Final

import numpy as np
import numpy.typing as npt

from packcheck.arrays import Floats, Points, frozen
from packcheck.solids.core.solid import Solid

__all__ = ["shadow", "silhouette"]

CELLS: Final = 320
"""Cells along the longer side of a shadow: a cell is a third of a percent of it."""

OFF: Final = 0.3
"""mm. Corners that matter less are left out."""

STAIRS: Final = 1.05
"""Cells. A straight edge aslant comes out as stairs of one cell, which this lays flat."""

FEW: Final = 300
"""Faces that are drawn one by one."""

ROUND: Final = 24
"""Corners of a circle."""

_SIDES: Final = {
    (0, -1): ((0, 0), (1, 0)),
    (1, 0): ((1, 0), (1, 1)),
    (0, 1): ((1, 1), (0, 1)),
    (-1, 0): ((0, 1), (0, 0)),
}
"""Where the neighbour of a cell lies, and the side between the two, the cell on its left."""

_Grid = npt.NDArray[np.bool_]


def silhouette(solid: Solid, view: Floats) -> list[Points]:
    """The outline of a solid seen along the normal of a plane.

    Parameters
    ----------
    solid : Solid
        In its own frame; its coarser twin is drawn where it has one.
    view : (2, 3)
        Unit vectors of the paper, to the right and up, in the solid's own frame.

    Returns
    -------
    list of (n, 2) arrays
        Closed polygons, mm. Overlapping ones run the same way round, holes the other: together they fill the
        shadow by the non-zero rule.
    """
    drawn = solid.draft or solid
    flat = drawn.vertices @ view.T
    if drawn.convex:
        return [_simplified(_hull(_grown(flat, drawn.radius)), OFF)]
    faces = np.unique(np.sort(drawn.faces, axis=1), axis=0)
    if len(faces) <= FEW:
        return [_hull(_grown(flat[face], drawn.radius)) for face in faces]
    return shadow(flat[drawn.faces], drawn.radius)


def _grown(points: Points, radius: float) -> Points:
    if not radius:
        return points
    angles = np.arange(ROUND) * (2 * np.pi / ROUND)
    circle = radius * np.column_stack([np.cos(angles), np.sin(angles)])
    grown: Points = (points[:, None] + circle[None]).reshape(-1, 2)
    return grown


def _hull(points: Points) -> Points:
    """The convex hull (n, 2), counter-clockwise; of points in a line its two ends."""
    ordered = np.unique(points.round(6), axis=0)
    if len(ordered) < 3:
        return frozen(ordered)
    corners = [_chain(ordered), _chain(ordered[::-1])]
    return frozen(np.vstack([corners[0][:-1], corners[1][:-1]]))


def _chain(ordered: Points) -> Points:
    """One side of the hull of points in the order of their first coordinate."""
    chain: list[tuple[float, float]] = []
    for x, y in ordered.tolist():
        while len(chain) > 1 and _turn(chain[-2], chain[-1], (x, y)) <= 0:
            chain.pop()
        chain.append((x, y))
    return np.array(chain)


def _turn(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def shadow(triangles: Floats, radius: float, cells: int = CELLS) -> list[Points]:
    """The outline of the shadow of triangles (m, 3, 2), grown by `radius`; the longer side has so many `cells`."""
    low, high = triangles.min(axis=(0, 1)), triangles.max(axis=(0, 1))
    cell = max(float((high - low).max()), 1e-3) / cells
    margin = int(np.ceil(radius / cell)) + 2
    shape = np.ceil((high - low) / cell).astype(int) + 2 * margin + 1
    filled = _filled((triangles - low) / cell + margin, shape)
    if radius:
        filled = _dilated(filled, radius / cell)
    return [frozen((_simplified(loop, STAIRS) - margin) * cell + low) for loop in _edges(filled)]


def _filled(triangles: Floats, shape: npt.NDArray[np.int_]) -> _Grid:
    """The cells under triangles (m, 3, 2), in cells: in each column, from the lowest point to the highest."""
    across = triangles[..., 0]
    first, last = np.floor(across.min(axis=1)).astype(int), np.floor(across.max(axis=1)).astype(int)
    columns = last - first + 1
    owner = np.repeat(np.arange(len(triangles)), columns)
    column = np.arange(len(owner)) - np.repeat(np.cumsum(columns) - columns - first, columns)
    under = triangles[owner]
    at = np.clip(column + 0.5, under[..., 0].min(axis=1), under[..., 0].max(axis=1))
    low, high = _heights(under, at)
    count = np.zeros((shape[0], shape[1] + 1))
    np.add.at(count, (column, np.floor(low).astype(int)), 1)
    np.add.at(count, (column, np.floor(high).astype(int) + 1), -1)
    filled: _Grid = np.cumsum(count, axis=1)[:, :-1] > 0
    return filled


def _heights(triangles: Floats, at: Floats) -> tuple[Floats, Floats]:
    """Lowest and highest point of each triangle (m, 3, 2) on the line `at` (m,) that runs up through it."""
    low, high = np.full(len(at), np.inf), np.full(len(at), -np.inf)
    for k in range(3):
        (px, py), (qx, qy) = triangles[:, k].T, triangles[:, k - 1].T
        crosses = (px - at) * (qx - at) <= 0
        upright = px == qx
        along = np.where(upright, 0.0, (at - px) / np.where(upright, 1.0, qx - px))
        for height in (py + along * (qy - py), np.where(upright, qy, py + along * (qy - py))):
            low = np.where(crosses, np.minimum(low, height), low)
            high = np.where(crosses, np.maximum(high, height), high)
    return low, high


def _dilated(filled: _Grid, radius: float) -> _Grid:
    from scipy.ndimage import distance_transform_edt

    grown: _Grid = distance_transform_edt(~filled) <= radius
    return grown


def _edges(filled: _Grid) -> list[Points]:
    """The loops round the filled cells, the cells on their left."""
    following = defaultdict(list)
    for start, end in _steps(filled):
        following[start].append(end)
    loops = []
    while following:
        first = at = next(iter(following))
        loop = [first]
        while (at := _next(following, at)) != first:
            loop.append(at)
        loops.append(np.array(loop, dtype=np.float64))
    return loops


def _next(following: dict[tuple[int, int], list[tuple[int, int]]], at: tuple[int, int]) -> tuple[int, int]:
    ends = following[at]
    end = ends.pop()
    if not ends:
        del following[at]
    return end


def _steps(filled: _Grid) -> list[tuple[tuple[int, int], tuple[int, int]]]:
    """Each side of a filled cell that borders on an empty one, from corner to corner."""
    steps = []
    for (dx, dy), (begin, end) in _SIDES.items():
        beside = np.roll(filled, (-dx, -dy), axis=(0, 1))
        for x, y in np.argwhere(filled & ~beside).tolist():
            steps.append(((x + begin[0], y + begin[1]), (x + end[0], y + end[1])))
    return steps


def _simplified(loop: Points, off: float) -> Points:
    """The loop with only those corners that matter by more than `off`."""
    if len(loop) < 4:
        return loop
    far = int(np.argmax(np.linalg.norm(loop - loop[0], axis=1)))
    kept = np.zeros(len(loop) + 1, dtype=np.bool_)
    closed = np.vstack([loop, loop[:1]])
    spans = [(0, far), (far, len(loop))]
    while spans:
        start, end = spans.pop()
        kept[[start, end]] = True
        if end - start < 2:
            continue
        chord = closed[end] - closed[start]
        away = closed[start + 1 : end] - closed[start]
        length = max(float(np.hypot(*chord)), 1e-12)
        distances = np.abs(chord[0] * away[:, 1] - chord[1] * away[:, 0]) / length
        if distances.max() > off:
            middle = start + 1 + int(np.argmax(distances))
            spans += [(start, middle), (middle, end)]
    simplified: Points = closed[:-1][kept[:-1]]
    return simplified
