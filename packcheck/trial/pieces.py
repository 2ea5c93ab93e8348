"""Parts cut into pieces, and how far each reaches: the planes by which positions are told to be clear."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from packcheck.arrays import Floats, Points, frozen
from packcheck.proximity import Placed
from packcheck.search import Planes
from packcheck.solids.core.solid import Solid

__all__ = ["planes_between", "triangles_reach"]

_PATCH: Final = 16  # triangles in the finest patches
_BUNDLE: Final = 8  # such patches in a larger one: what is near that is asked of them
_MOST: Final = 20_000_000  # numbers in the planes of one cut; finer ones are left out, and leave more undecided
_CLOSEST: Final = 1e-3  # mm; solids that are not convex are proven apart, or nothing is proven of them


@dataclass(frozen=True, slots=True, eq=False)
class _Pieces:
    """How far the pieces of a part reach along directions, (p, n) mm, and of which larger piece each is a part."""

    reach: Floats
    parents: npt.NDArray[np.int64]


def planes_between(
    ways: Points,
    a: Placed,
    others: Sequence[Placed],
    needed: float,
    grown: Sequence[float] = (0.0,),
    *,
    boxes: Floats | None = None,
) -> Planes:
    """The planes across `ways` that clear `others`, stances of one part, of `a`: whole parts first, then pieces.

    `needed` mm apart, and for each stance so much more as it is `grown` by. `boxes`: of two convex parts, how
    each may be shifted off its place; along a direction only that counts.
    """
    least = needed if a.convex and others[0].convex else max(needed, _CLOSEST + _errors(a) + _errors(others[0]))
    along = 0.0 if boxes is None else np.abs(boxes @ ways.T).sum(axis=(0, 1))
    own = _steps(a, -ways)
    stances = [_steps(other, ways) for other in others]
    theirs = [_together(step, grown) for step in zip(*stances, strict=True)]
    planes: Planes | None = None
    for k in range(max(len(own), len(theirs)) - 1, -1, -1):
        of_a, of_b = own[min(k, len(own) - 1)], theirs[min(k, len(theirs) - 1)]
        if k and len(of_a.reach) * len(of_b.reach) * len(ways) > _MOST:
            continue
        heights = (of_a.reach[:, None] + of_b.reach[None]).reshape(-1, len(ways)) + least + along
        up_a = np.arange(len(of_a.reach)) if k >= len(own) else of_a.parents
        up_b = np.arange(len(of_b.reach)) if k >= len(theirs) else of_b.parents
        wide = len(theirs[min(k - 1, len(theirs) - 1)].reach) if k else 1
        parents = (up_a[:, None] * wide + up_b[None]).reshape(-1)
        planes = Planes(frozen(ways), frozen(heights), planes, parents)
    assert planes is not None
    return _under_one(planes) if len(others) > 1 else planes


def _together(stances: Sequence[_Pieces], grown: Sequence[float]) -> _Pieces:
    """The pieces of several stances as those of one part."""
    before = np.cumsum([0, *(int(one.parents.max()) + 1 for one in stances)])
    reach = [one.reach + more for one, more in zip(stances, grown, strict=True)]
    parents = [one.parents + first for one, first in zip(stances, before, strict=False)]
    return _Pieces(np.vstack(reach), np.concatenate(parents))


def _under_one(planes: Planes) -> Planes:
    """Planes with one that holds all pieces in front, which settles most cells."""
    whole = planes.heights.max(axis=0)[None]
    pieces = Planes(planes.directions, planes.heights, planes.finer, np.zeros(len(planes.heights), dtype=np.int64))
    return Planes(planes.directions, frozen(whole), pieces)


def _errors(placed: Placed) -> float:
    return max(solid.error for solid in placed.solids)


def _steps(placed: Placed, ways: Points) -> list[_Pieces]:
    """A part cut finer and finer: whole, by solids, by patches of those that are not convex, by smaller patches."""
    own = ways @ placed.pose.rotation
    along = ways @ placed.pose.translation
    solids = [_reach(solid, own) + along for solid in placed.solids]
    whole = np.max(solids, axis=0)[None]
    if placed.convex:
        return [_Pieces(whole, np.zeros(1, dtype=np.int64))]
    steps = [_Pieces(whole, np.zeros(1, dtype=np.int64))]
    steps.append(_Pieces(np.array(solids), np.zeros(len(solids), dtype=np.int64)))
    fine = [
        own_reach[None] if s.convex else _patches(s, own) + along
        for s, own_reach in zip(placed.solids, solids, strict=True)
    ]
    bundles = [np.arange(0, len(patches), _BUNDLE) for patches in fine]
    coarse = [np.maximum.reduceat(patches, starts) for patches, starts in zip(fine, bundles, strict=True)]
    owners = np.repeat(np.arange(len(coarse)), [len(c) for c in coarse])
    steps.append(_Pieces(np.vstack(coarse), owners))
    before = np.cumsum([0, *(len(c) for c in coarse)])
    parents = [first + np.arange(len(patches)) // _BUNDLE for first, patches in zip(before, fine, strict=False)]
    steps.append(_Pieces(np.vstack(fine), np.concatenate(parents)))
    return steps


def _patches(solid: Solid, own: Points) -> Floats:
    """How far each run of `_PATCH` triangles, which lie together, reaches along directions (n, 3): (p, n) mm."""
    corners = solid.vertices[solid.faces].reshape(-1, 3)
    size = 3 * _PATCH
    patches = np.vstack([corners, np.tile(corners[-1:], (-len(corners) % size, 1))]).reshape(-1, size, 3)
    reach = [(patches[k : k + 32] @ own.T).max(axis=1) for k in range(0, len(patches), 32)]
    return np.vstack(reach) + solid.radius + solid.error


def _reach(solid: Solid, own: Points) -> Floats:
    """How far the true solid reaches along directions (n, 3), own frame: never less."""
    if solid.support is not None:
        reach: Floats = np.einsum("ij,ij->i", solid.support(own), own) + solid.radius
        return reach
    return triangles_reach(solid, own)


def triangles_reach(solid: Solid, own: Points) -> Floats:
    """The same, of the triangles and their error, whatever the shape is known to be."""
    corners = solid.vertices
    parts = [(corners[k : k + 4096] @ own.T).max(axis=0) for k in range(0, len(corners), 4096)]
    reach: Floats = np.max(parts, axis=0) + solid.radius + solid.error
    return reach
