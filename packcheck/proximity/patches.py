"""A core cut into spatial patches, each with its box and a tree that is built when something comes near.

Most of a large mesh is never near anything, so most of its trees are never built. Patches also keep the ties of
parallel faces cheap: once the nearest patch is measured, equally near ones are skipped.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from packcheck.arrays import Floats, Point, Vector
from packcheck.frames import Pose
from packcheck.proximity.engine import Tree, build_tree, triangle_distance, where
from packcheck.solids.solid import Solid
from packcheck.tolerances import PATCH_FACES

__all__ = ["Patches", "core_distance"]

_TIE = 1e-9  # mm; patches no nearer than this under the best so far cannot better it by more than rounding
_SLAB_LEAST = 1e-6  # mm; nearest points closer than this give no direction worth trusting


class Patches:
    """The triangles of one core, every PATCH_FACES of them a patch. Trees are remembered once built.

    Solids list their faces so that a run of them is compact: round a lathe, along a pipe, and in
    `coherent_order` for meshes.
    """

    def __init__(self, solid: Solid) -> None:
        corners = solid.vertices[solid.faces]
        starts = np.arange(0, len(corners), PATCH_FACES)
        low = np.minimum.reduceat(corners.min(axis=1), starts)
        high = np.maximum.reduceat(corners.max(axis=1), starts)
        self._corners = [corners[start : start + PATCH_FACES].reshape(-1, 3) for start in starts]
        self.centres: Floats = (low + high) / 2
        self.halves: Floats = (high - low) / 2
        self.low: Point = low.min(axis=0)
        self.high: Point = high.max(axis=0)
        self.radii: Floats = np.linalg.norm(self.halves, axis=1)
        self._trees: list[Tree | None] = [None] * len(starts)

    def __len__(self) -> int:
        return len(self._trees)

    def box(self, pose: Pose) -> tuple[Point, Point]:
        """Least and greatest corner (3,), mm, of a box that holds the core when carried by `pose`."""
        centres = pose.apply(self.centres)
        halves = self.halves @ np.abs(pose.rotation).T
        return (centres - halves).min(axis=0), (centres + halves).max(axis=0)

    @property
    def trees_built(self) -> int:
        return sum(tree is not None for tree in self._trees)

    def least_along(self, index: int, direction: Vector) -> float:
        """The least projection, mm, of a patch's corners on a unit vector (3,)."""
        return float((self._corners[index] @ direction).min())

    def tree(self, index: int) -> Tree:
        tree = self._trees[index]
        if tree is None:
            corners = self._corners[index]
            faces = np.arange(len(corners), dtype=np.int64).reshape(-1, 3)
            tree = self._trees[index] = build_tree(corners, faces)
        return tree


def core_distance(
    a: Patches, b: Patches, a_from_b: Pose, beyond: float = np.inf
) -> tuple[float, Point, Point] | None:
    """Distance of two cores, mm, and their nearest points in a's frame; 0 when the surfaces cross.

    Patches are taken nearest box first and stop as soon as no box can better the best, so the answer is that
    of all triangles against all. None when nothing is nearer than `beyond` mm.
    """
    placed = where(a_from_b)
    best: tuple[float, Point, Point] | None = None
    slab: _Slab | None = None
    for nearest, i, j in _candidates(a, b, a_from_b, beyond):
        if best is not None and nearest >= best[0] - _TIE:
            break
        if best is not None and slab is not None and slab.between(i, j) >= best[0] - _TIE:
            continue
        answer = triangle_distance(a.tree(i), b.tree(j), placed)
        if best is None or answer[0] < best[0]:
            best = answer
            slab = _Slab(a, b, a_from_b, answer) if answer[0] > _SLAB_LEAST else None
    return best if best is not None and best[0] < beyond else None


class _Slab:
    """Lower bounds of patch distances from one direction: that of the nearest points found so far.

    Two patches are at least as far apart as the planes across the direction that touch them:

        a's patch  |<-- between -->|  b's patch
    """

    def __init__(self, a: Patches, b: Patches, a_from_b: Pose, nearest: tuple[float, Point, Point]) -> None:
        distance, on_a, on_b = nearest
        self._a, self._b = a, b
        self._across_a: Vector = (on_a - on_b) / distance
        self._across_b: Vector = self._across_a @ a_from_b.rotation
        self._offset = float(self._across_a @ a_from_b.translation)
        self._ends_a: dict[int, float] = {}
        self._ends_b: dict[int, float] = {}

    def between(self, i: int, j: int) -> float:
        """A lower bound, mm, on the distance of patch `i` of a and `j` of b; negative when it proves nothing."""
        if i not in self._ends_a:
            self._ends_a[i] = self._a.least_along(i, self._across_a)
        if j not in self._ends_b:
            self._ends_b[j] = -self._b.least_along(j, -self._across_b)
        return self._ends_a[i] - self._ends_b[j] - self._offset


def _candidates(a: Patches, b: Patches, a_from_b: Pose, beyond: float) -> Iterator[tuple[float, int, int]]:
    """Pairs of patches that may hold the nearest points, with a lower bound on their distance, nearest first."""
    if len(a) == len(b) == 1:
        yield 0.0, 0, 0
        return
    b_from_a = a_from_b.inverse()
    centres = a_from_b.apply(b.centres)
    apart = np.linalg.norm(a.centres[:, None] - centres[None], axis=2)
    reach = a.radii[:, None] + b.radii[None]
    surely = min(beyond, float((apart + reach).min()))
    rows, columns = np.nonzero(apart - reach <= surely + _TIE)
    seen_in_a = _gaps(a.centres[rows] - centres[columns], a.halves[rows], b.halves[columns] @ _spread(a_from_b))
    from_b = b.centres[columns] - b_from_a.apply(a.centres)[rows]
    seen_in_b = _gaps(from_b, b.halves[columns], a.halves[rows] @ _spread(b_from_a))
    nearest, middles = np.maximum(seen_in_a, seen_in_b), (apart - reach)[rows, columns]
    for k in np.lexsort((middles, nearest)):  # of boxes that overlap, those first that overlap most
        if nearest[k] > surely:
            break
        yield float(nearest[k]), int(rows[k]), int(columns[k])


def _spread(pose: Pose) -> Floats:
    """What turns half sizes of boxes (n, 3) into those of square boxes that hold them once they are turned."""
    spread: Floats = np.abs(pose.rotation).T
    return spread


def _gaps(apart: Floats, halves: Floats, other_halves: Floats) -> Floats:
    """Distances (n,) of pairs of boxes whose middles are `apart` (n, 3)."""
    distances: Floats = np.linalg.norm(np.maximum(np.abs(apart) - halves - other_halves, 0.0), axis=1)
    return distances
