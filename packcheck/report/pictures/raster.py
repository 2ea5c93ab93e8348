"""Which triangle is seen in each pixel: scan lines and a depth buffer, over arrays.

A triangle covers the pixels whose middles it holds. Each is cut into runs, one for every row of pixels it reaches:

        /\\           row of pixel middles
    ---/--\\----     [======] run
      /    \\
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from packcheck.arrays import Floats

__all__ = ["NOTHING", "Seen", "seen_faces"]

NOTHING = -1
AT_ONCE = 2_000_000  # pixels filled in one go: 200 MB at the most

Ints = npt.NDArray[np.int64]


class Seen:
    """The nearest face in every pixel, `face` (height, width), NOTHING where there is none; and its `depth`."""

    def __init__(self, width: int, height: int) -> None:
        self.face: Ints = np.full((height, width), NOTHING)
        self.depth: Floats = np.full((height, width), np.inf)


def seen_faces(corners: Floats, width: int, height: int) -> Seen:
    """What is seen of triangles (m, 3, 3), given as px from the left, px from the top, and depth."""
    seen = Seen(width, height)
    kept = _in_sight(corners, width, height)
    triangles = corners[kept]
    for some in _shares(triangles, width, height):
        _fill(seen, triangles[some], kept[some])
    return seen


def _in_sight(corners: Floats, width: int, height: int) -> Ints:
    """Triangles that reach into the picture and are not seen edge-on."""
    low, high = corners.min(axis=1), corners.max(axis=1)
    inside = (high[:, :2] > 0).all(axis=1) & (low[:, 0] < width) & (low[:, 1] < height)
    broad = np.abs(_twice_area(corners)) > 1e-9
    kept: Ints = np.flatnonzero(inside & broad)
    return kept


def _twice_area(corners: Floats) -> Floats:
    a, b = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    area: Floats = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    return area


def _shares(triangles: Floats, width: int, height: int) -> Iterator[Ints]:
    """The triangles a share at a time, so that no share fills too many pixels at once."""
    corners = np.clip(triangles[..., :2], 0, [width, height])
    spans = corners.max(axis=1) - corners.min(axis=1) + 1
    loads = np.cumsum(spans[:, 0] * spans[:, 1] / 2)
    share = (loads // AT_ONCE).astype(np.int64)
    yield from np.split(np.arange(len(triangles)), np.flatnonzero(np.diff(share)) + 1)


def _fill(seen: Seen, triangles: Floats, faces: Ints) -> None:
    height, width = seen.face.shape
    owner, rows, starts, counts = _runs(triangles, width, height)
    pixel_owner = np.repeat(owner, counts)
    columns = np.repeat(starts, counts) + _counted(counts)
    place = np.repeat(rows, counts) * width + columns
    depth = _depths(triangles, pixel_owner, columns, np.repeat(rows, counts))
    buffer = seen.depth.reshape(-1)
    np.minimum.at(buffer, place, depth)
    nearest = depth == buffer[place]
    seen.face.reshape(-1)[place[nearest]] = faces[pixel_owner[nearest]]


def _runs(triangles: Floats, width: int, height: int) -> tuple[Ints, Ints, Ints, Ints]:
    """For every run of pixels: its triangle, its row, its first column, and how many pixels it has."""
    low, high = triangles[..., 1].min(axis=1), triangles[..., 1].max(axis=1)
    first = np.clip(np.ceil(low - 0.5), 0, height).astype(np.int64)
    last = np.clip(np.floor(high - 0.5), -1, height - 1).astype(np.int64)
    counts = np.maximum(last - first + 1, 0)
    owner = np.repeat(np.arange(len(triangles)), counts)
    rows = np.repeat(first, counts) + _counted(counts)
    left, right = _crossings(triangles[owner], rows)
    start = np.clip(np.ceil(left - 0.5), 0, width).astype(np.int64)
    end = np.clip(np.floor(right - 0.5), -1, width - 1).astype(np.int64)
    return owner, rows, start, np.maximum(end - start + 1, 0)


def _counted(counts: Ints) -> Ints:
    """0, 1, ... up to each count, one after the other."""
    starts = np.cumsum(counts) - counts
    steps: Ints = np.arange(int(counts.sum())) - np.repeat(starts, counts)
    return steps


def _crossings(triangles: Floats, row: Ints) -> tuple[Floats, Floats]:
    """Where the middle line of a row of pixels enters and leaves each triangle, px."""
    rows: Floats = np.asarray(row + 0.5, dtype=np.float64)
    left, right = np.full(len(rows), np.inf), np.full(len(rows), -np.inf)
    for i, j in ((0, 1), (1, 2), (2, 0)):
        (xa, ya), (xb, yb) = triangles[:, i, :2].T, triangles[:, j, :2].T
        crosses = (ya <= rows) != (yb <= rows)
        run = np.divide(rows - ya, yb - ya, out=np.zeros_like(rows), where=crosses)
        x = xa + run * (xb - xa)
        left, right = np.where(crosses, np.minimum(left, x), left), np.where(crosses, np.maximum(right, x), right)
    return np.where(np.isfinite(left), left, 0.0), np.where(np.isfinite(right), right, -1.0)


def _depths(triangles: Floats, owner: Ints, column: Ints, row: Ints) -> Floats:
    """Depth of the plane of each pixel's triangle at the middle of that pixel."""
    a, b = triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]
    area = _twice_area(triangles)
    along_x = (a[:, 2] * b[:, 1] - b[:, 2] * a[:, 1]) / area
    along_y = (b[:, 2] * a[:, 0] - a[:, 2] * b[:, 0]) / area
    base = triangles[:, 0, 2] - along_x * triangles[:, 0, 0] - along_y * triangles[:, 0, 1]
    depth: Floats = base[owner] + along_x[owner] * (column + 0.5) + along_y[owner] * (row + 0.5)
    return depth
