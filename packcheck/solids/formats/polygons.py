r"""Faces with more than three corners, cut into triangles that cover the polygon and nothing else.

A fan from the first corner covers a notch it should leave open:

    5---4          5---4
    |   |          |\  |        fan from 0: triangle 0-3-4 lies outside the L
    |   3---2      | \ 3---2
    |       |      |  \ \ /|
    0-------1      0-------1

so a fan is kept only when all its triangles turn the same way; otherwise ears are clipped.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Final

import numpy as np

from packcheck.arrays import Faces, Floats, Points
from packcheck.solids.formats.gate import RefusedError, check_finite

__all__ = ["MAX_CORNERS", "triangles_of"]

MAX_CORNERS: Final = 10_000
"""Most corners of one polygon; no drawn face comes near, and clipping ears grows with the square."""

_ROUNDING: Final = 1e-9
"""Of a polygon's area: what its triangles may miss or turn the wrong way by rounding."""

_FLAT: Final = 1e-3
"""Of a polygon's size: a corner farther from its plane makes the surface ambiguous, which is said."""


def triangles_of(vertices: Points, corners: Faces, counts: Faces) -> tuple[Faces, Faces, tuple[str, ...]]:
    """Which triangles make up the polygons, and what must be said about them?

    Parameters
    ----------
    vertices : (n, 3)
        Points, file units.
    corners : (k,)
        Vertex numbers of all polygons, one polygon after the other; all must exist.
    counts : (m,)
        Corners of each polygon.

    Returns
    -------
    tuple
        Triangles (t, 3), wound as their polygons; the polygon each is cut from (t,); remarks in words.

    Raises
    ------
    RefusedError
        When a polygon has fewer than three or too many corners, crosses itself, or a vertex is not finite.
    """
    _check_counts(counts)
    check_finite(vertices)
    starts = np.cumsum(counts) - counts
    faces, owners = [np.zeros((0, 3), dtype=np.int64)], [np.zeros(0, dtype=np.int64)]
    bent = 0
    order = np.argsort(counts, kind="stable")
    for which in np.split(order, np.flatnonzero(np.diff(counts[order])) + 1):
        count = int(counts[which[0]])
        rows = corners[starts[which, None] + np.arange(count)]
        if count == 3:
            faces.append(rows)
            owners.append(which)
            continue
        cut, owner, warped = _cut(vertices[rows], rows, which)
        faces.append(cut)
        owners.append(owner)
        bent += warped
    remark = f"faces of more than three corners that are not flat, so that which way they bend is a guess: {bent}"
    return np.concatenate(faces), np.concatenate(owners), (remark,) if bent else ()


def _check_counts(counts: Faces) -> None:
    for wrong, words in ((counts < 3, "fewer than three"), (counts > MAX_CORNERS, f"more than {MAX_CORNERS}")):
        if wrong.any():
            first = int(np.argmax(wrong))
            raise RefusedError(f"has a face of {words} corners (face {first + 1} has {counts[first]})")


def _cut(points: Points, rows: Faces, which: Faces) -> tuple[Faces, Faces, int]:
    """Triangles of the polygons `points` (k, n, 3), corners `rows` (k, n); owners; how many are not flat."""
    spokes = points[:, 1:] - points[:, :1]
    fans = np.cross(spokes[:, :-1], spokes[:, 1:])  # twice the area vector of each fan triangle
    rounding = _ROUNDING * np.abs(spokes).max(axis=(1, 2)) ** 2
    normals = fans.sum(axis=1)  # Newell's normal, twice the area long
    areas = np.linalg.norm(normals, axis=1)
    some = areas > rounding
    units = normals * np.divide(1.0, areas, out=np.zeros_like(areas), where=some)[:, None]
    alike = (np.einsum("kij,kj->ki", fans, units) >= -rounding[:, None]).all(axis=1)
    nothing = np.abs(fans).max(axis=(1, 2)) <= rounding
    plain = nothing | (alike & some)
    even = rows[plain]
    fan = np.stack([np.broadcast_to(even[:, :1], even[:, 2:].shape), even[:, 1:-1], even[:, 2:]], axis=-1)
    odd = np.flatnonzero(~plain)
    eared = [rows[k][_ears(points[k], units[k], int(which[k]))] for k in odd]
    owners = [np.repeat(which[plain], rows.shape[1] - 2), np.repeat(which[odd], [len(ears) for ears in eared])]
    return np.concatenate([fan.reshape(-1, 3), *eared]), np.concatenate(owners), _bent(spokes, units)


def _bent(spokes: Floats, units: Floats) -> int:
    """How many polygons have a corner off the plane through the first."""
    heights = np.einsum("kij,kj->ki", spokes, units)
    spread = heights.max(axis=1, initial=0.0) - heights.min(axis=1, initial=0.0)
    return int((spread > _FLAT * np.abs(spokes).max(axis=(1, 2))).sum())


def _ears(points: Points, normal: Floats, number: int) -> Faces:
    """Corner triples of one polygon (n, 3), cut in the plane it faces most."""
    from mapbox_earcut import triangulate_float64

    axis = int(np.argmax(np.abs(normal)))
    if not normal.any():
        raise _crossed(number, len(points))
    plane = [(axis + 1) % 3, (axis + 2) % 3][:: 1 if normal[axis] > 0 else -1]
    flat = np.ascontiguousarray((points - points[0])[:, plane])
    ears = triangulate_float64(flat, np.array([len(flat)], dtype=np.uint32)).astype(np.int64).reshape(-1, 3)
    backward = _turn(flat[ears]) < 0
    ears[backward] = ears[backward, ::-1]
    ears = _with_skipped_corners(ears, len(flat))
    whole = float(_turn(np.stack([np.broadcast_to(flat[0], flat[1:].shape), flat[:-1], flat[1:]], axis=1)).sum())
    missed = float(np.abs(_turn(flat[ears])).sum()) - whole
    if len(ears) != len(flat) - 2 or not abs(missed) <= _ROUNDING * float(np.abs(flat).max()) ** 2:
        raise _crossed(number, len(flat))
    return ears


def _crossed(number: int, corners: int) -> RefusedError:
    return RefusedError(f"has a face that crosses or touches itself (face {number + 1}, {corners} corners)")


def _turn(triangles: Floats) -> Floats:
    """Twice the signed area of flat triangles (t, 3, 2)."""
    first, second = triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]
    area: Floats = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
    return area


def _with_skipped_corners(ears: Faces, corners: int) -> Faces:
    r"""Put back corners in line with their neighbours, which clipping may leave out.

    A face next door may end there; without the corner the two would no longer share an edge.

        c              c
        |\             |\ \          edge a-b of a triangle skips x: fan from c over a, x, b
        a-x-b   ->     a-x-b
    """
    if len(ears) == corners - 2:
        return ears
    edges = {(a, b) for ear in ears.tolist() for a, b in zip(ear, ear[1:] + ear[:1], strict=True)}
    queue = ears.tolist()
    done: list[list[int]] = []
    while queue and len(done) + len(queue) <= corners:
        a, b, c = queue.pop()
        for _ in range(3):
            if (a + 1) % corners != b and (b, a) not in edges:
                chain = [(a + step) % corners for step in range((b - a) % corners + 1)]
                queue += [[x, y, c] for x, y in pairwise(chain)]
                edges |= {edge for x in chain[1:-1] for edge in ((x, c), (c, x))}
                break
            a, b, c = b, c, a
        else:
            done.append([a, b, c])
    return np.array(done, dtype=np.int64).reshape(-1, 3)
