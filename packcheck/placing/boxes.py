"""Distances between axis-aligned boxes, many at once: the broad phase."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final, TypeAlias

import numpy as np
import numpy.typing as npt

from packcheck.arrays import Floats, Point

__all__ = ["BLOCK", "Indices", "box_distance", "box_distances", "near_blocks", "near_pairs"]

BLOCK: Final = 400
"""Boxes that stand together and are asked at once: arrays of all pairs of two blocks take some MiB."""

Indices: TypeAlias = npt.NDArray[np.intp]
Box: TypeAlias = Floats | tuple[Point, Point]


def box_distances(boxes: Floats, others: Floats) -> Floats:
    """Distances (n, m), mm, between boxes (n, 2, 3) and (m, 2, 3) given by least and greatest corners."""
    squared = np.zeros((len(boxes), len(others)))
    for axis in range(3):
        ahead = boxes[:, None, 0, axis] - others[None, :, 1, axis]
        behind = others[None, :, 0, axis] - boxes[:, None, 1, axis]
        squared += np.maximum(np.maximum(ahead, behind), 0.0) ** 2
    return np.sqrt(squared)


def box_distance(box: Box, other: Box) -> float:
    """Distance, mm, between two boxes, each its least and greatest corner (3,)."""
    return float(box_distances(np.array(box)[None], np.array(other)[None])[0, 0])


def near_blocks(boxes: Floats, reach: float) -> Iterator[tuple[Indices, Indices]]:
    """Blocks of boxes (n, 2, 3), by their places, of which some may be within `reach` mm: each pair once.

    So no array grows with the square of n. A block comes with itself, too.
    """
    blocks = list(_blocks(boxes, np.arange(len(boxes))))
    around = np.array([[boxes[block, 0].min(axis=0), boxes[block, 1].max(axis=0)] for block in blocks])
    for i, block in enumerate(blocks):
        for j in np.flatnonzero(box_distances(around[i : i + 1], around[i:])[0] <= reach):
            yield block, blocks[i + int(j)]


def near_pairs(boxes: Floats, widest: float, reach: Callable[[Indices], Floats]) -> set[tuple[int, int]]:
    """The pairs of boxes (n, 2, 3), by their places, the lesser first, that come within the reach of the two.

    `reach` (k, k) mm is asked of any k places, and is nowhere more than `widest`.
    """
    near: set[tuple[int, int]] = set()
    for one, other in near_blocks(boxes, widest):
        both = np.union1d(one, other)
        apart = box_distances(boxes[both], boxes[both])
        near |= {(int(both[i]), int(both[j])) for i, j in np.argwhere(np.triu(apart <= reach(both), 1))}
    return near


def _blocks(boxes: Floats, places: Indices) -> Iterator[Indices]:
    """Places of boxes that stand together, halved along the axis on which their middles lie farthest apart."""
    if len(places) <= BLOCK:
        yield from [places] if len(places) else []
        return
    middles = boxes[places].mean(axis=1)
    axis = int(np.argmax(np.ptp(middles, axis=0)))
    order = places[np.argsort(middles[:, axis], kind="stable")]
    yield from _blocks(boxes, order[: len(order) // 2])
    yield from _blocks(boxes, order[len(order) // 2 :])
