"""A core cut into spatial patches, each with its box and a tree that is built when something comes near.

Most of a large mesh is never near anything, so most of its trees are never built.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from packcheck.arrays import Floats, Point, Vector
from packcheck.frames import Pose
from packcheck.proximity.engine import Tree, build_tree
from packcheck.solids.core.solid import Solid
from packcheck.tolerances import PATCH_FACES

__all__ = ["Numbers", "Patches", "near_pairs"]

Numbers: TypeAlias = npt.NDArray[np.intp]

_ROUNDING = 1e-9  # mm
_REPEATED = 12  # patches; among more than that, many are the same
_FEW = 64  # pairs of patches; so few are held against each other at once


class Patches:
    """The triangles of one core, every PATCH_FACES of them a patch. Trees are remembered once built.

    Solids list their faces so that a run of them is compact: round a lathe, along a pipe, and in
    `coherent_order` for meshes.
    """

    def __init__(self, solid: Solid) -> None:
        self._faces = len(solid.faces)
        self._run = min(PATCH_FACES, self._faces)
        count = -(-self._faces // self._run)
        filled = np.minimum(np.arange(count * self._run), self._faces - 1)  # the last patch ends in copies
        self._corners: Floats = solid.vertices[solid.faces[filled]].reshape(count, -1, 3)
        low, high = self._corners.min(axis=1), self._corners.max(axis=1)
        self.centres: Floats = (low + high) / 2
        self.halves: Floats = (high - low) / 2
        self.low: Point = low.min(axis=0)
        self.high: Point = high.max(axis=0)
        self.radii: Floats = np.linalg.norm(self.halves, axis=1)
        self.centre: Point = (self.low + self.high) / 2
        self.radius = float((np.linalg.norm(self.centres - self.centre, axis=1) + self.radii).max())
        self._trees: list[Tree | None] = [None] * count

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

    def travelled(self, before: Pose, now: Pose) -> float:
        """How far any point of the core lies from where it was, mm, at the most: all are in one ball."""
        turn = now.rotation - before.rotation
        step = turn @ self.centre + now.translation - before.translation
        chord = float(np.sqrt((turn * turn).sum() / 2))  # 2 sin(angle / 2)
        return float(np.sqrt(step @ step)) + chord * self.radius + _ROUNDING

    def least_along(self, patches: Numbers, direction: Vector) -> Floats:
        """The least projections (n,), mm, of the corners of some patches (n,) on a unit vector (3,)."""
        if len(patches) > _REPEATED:
            patches, places = np.unique(patches, return_inverse=True)
            return self._least_along(patches, direction)[places]
        return self._least_along(patches, direction)

    def _least_along(self, patches: Numbers, direction: Vector) -> Floats:
        least: Floats = (self._corners[patches] @ direction).min(axis=1)
        return least

    def tree(self, index: int) -> Tree:
        tree = self._trees[index]
        if tree is None:
            corners = self._corners[index, : 3 * min(self._run, self._faces - index * self._run)]
            faces = np.arange(len(corners), dtype=np.int64).reshape(-1, 3)
            tree = self._trees[index] = build_tree(corners, faces)
        return tree


def near_pairs(a: Patches, b: Patches, a_from_b: Pose, beyond: float) -> tuple[Numbers, Numbers, Floats, float]:
    """Pairs of patches that may be nearer than `beyond` mm, with lower bounds by their boxes, nearest first.

    And the least distance, mm, of all other pairs.
    """
    b_from_a = a_from_b.inverse()
    centres = a_from_b.apply(b.centres)
    mine, yours = _near_patches(a, b, centres, b.halves @ _spread(a_from_b), beyond)
    apart = np.linalg.norm(a.centres[mine, None] - centres[None, yours], axis=2)
    reach = a.radii[mine, None] + b.radii[None, yours]
    surely = min(beyond, float((apart + reach).min(initial=np.inf)))
    row, column = np.nonzero(apart - reach <= surely + _ROUNDING)
    rows, columns = mine[row], yours[column]
    seen_in_a = _gaps(a.centres[rows] - centres[columns], a.halves[rows], b.halves[columns] @ _spread(a_from_b))
    from_b = b.centres[columns] - b_from_a.apply(a.centres[rows])
    seen_in_b = _gaps(from_b, b.halves[columns], a.halves[rows] @ _spread(b_from_a))
    nearest, middles = np.maximum(seen_in_a, seen_in_b), (apart - reach)[row, column]
    order = np.lexsort((middles, nearest))  # of boxes that overlap, those first that overlap most
    order = order[nearest[order] <= surely]
    return rows[order], columns[order], nearest[order], surely


def _near_patches(
    a: Patches, b: Patches, centres: Floats, halves: Floats, beyond: float
) -> tuple[Numbers, Numbers]:
    """The patches of either core that may be nearest, or within `beyond` mm; boxes of b in the frame of a."""
    mine, yours = np.arange(len(a)), np.arange(len(b))
    if len(a) * len(b) <= _FEW:
        return mine, yours
    low, high = (centres - halves).min(axis=0), (centres + halves).max(axis=0)
    to_b = _gaps(a.centres - (low + high) / 2, a.halves, (high - low) / 2)
    near = int(np.argmin(to_b))
    steps = np.linalg.norm(centres - a.centres[near], axis=1) + b.radii
    surely = min(beyond, float(steps.min() + a.radii[near])) + _ROUNDING
    mine = np.flatnonzero(to_b <= surely)
    if not len(mine):
        return mine, yours
    low, high = (a.centres[mine] - a.halves[mine]).min(axis=0), (a.centres[mine] + a.halves[mine]).max(axis=0)
    yours = np.flatnonzero(_gaps(centres - (low + high) / 2, halves, (high - low) / 2) <= surely)
    return mine, yours


def _spread(pose: Pose) -> Floats:
    """What turns half sizes of boxes (n, 3) into those of square boxes that hold them once they are turned."""
    spread: Floats = np.abs(pose.rotation).T
    return spread


def _gaps(apart: Floats, halves: Floats, other_halves: Floats) -> Floats:
    """Distances (n,) of pairs of boxes whose middles are `apart` (n, 3)."""
    between = np.maximum(np.abs(apart) - halves - other_halves, 0.0)
    distances: Floats = np.sqrt(np.einsum("ij,ij->i", between, between))
    return distances
