r"""Where a part may be shifted to beside one thing: convex bounds that hold for every position of a cell at once.

Under shifts alone the gap of two convex cores is the distance from the position x to one convex set C, the
positions where they meet. So one plane, and one inner polytope, answer for all positions:

      ______        n.x - h(n)     no position is nearer to C than its plane across n says, whatever n
     /  C   \  |
    |   ___  | | n  plane          clear: for some n the whole cell is beyond the plane by what is needed
     \_/ Q \_/ |
                                   blocked: the whole cell is inside Q, the hull of points known to be too near

What is not convex is cut into pieces for the planes (all must be cleared) and known by points for the polytope
(one too near is enough). Both are only bounds: what is neither is undecided.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import product
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt

from packcheck.arrays import Floats, Points, Vector, frozen
from packcheck.tolerances import SEARCH_ROUNDING

__all__ = ["Barrier", "Blocker", "Crowd", "Flags", "Planes", "Polytope", "inner_polytope", "spread_directions"]

Flags = npt.NDArray[np.bool_]
Indices = npt.NDArray[np.int64]
Polytope: TypeAlias = tuple[Points, Floats]

_CHUNK = 1 << 20  # numbers in one working array: they stay in the processor's cache
_FIRST = 26  # directions asked first of pairs of a cell and a piece: axes, edges and corners of a cube
_FEW = 24  # faces of a polytope asked first
_TRIED = 3  # points of a crowd tried in full for one cell
_GOLDEN = np.pi * (3.0 - np.sqrt(5.0))


@lru_cache(maxsize=32)
def spread_directions(count: int) -> Points:
    """Unit vectors (26 + count, 3): axes, edges and corners of a cube, then a spiral spread evenly over a ball."""
    cube = np.array([way for way in product((-1.0, 0.0, 1.0), repeat=3) if any(way)])
    cube = cube[np.argsort(np.abs(cube).sum(axis=1), kind="stable")]
    heights = 1 - 2 * (np.arange(count) + 0.5) / max(count, 1)
    across, turns = np.sqrt(1 - heights**2), _GOLDEN * np.arange(count)
    spiral = np.stack([across * np.cos(turns), across * np.sin(turns), heights], axis=1)
    return frozen(np.vstack([cube / np.linalg.norm(cube, axis=1)[:, None], spiral]))


@dataclass(frozen=True, slots=True, eq=False)
class Planes:
    """Pieces to be cleared: position x is clear of piece p when ``directions[n] @ x >= heights[p, n]`` for some n.

    `directions` (n, 3) unit vectors, `heights` (p, n) mm. `finer`: the same pieces cut up, of which piece k is a
    part of piece ``parents[k]`` here.
    """

    directions: Points
    heights: Floats
    finer: Planes | None = None
    parents: npt.NDArray[np.int64] | None = None

    def clear(self, centres: Points, halves: Vector) -> Flags:
        """Which cells, centres (m, 3) and half sizes (3,) mm, are clear of every piece all over."""
        spent = np.abs(self.directions) @ halves + SEARCH_ROUNDING
        clear = np.ones(len(centres), dtype=bool)
        for part in _chunks(np.arange(len(centres)), _FIRST):
            rooms = centres[part] @ self.directions[:_FIRST].T - spent[:_FIRST]
            near = [~(rooms >= heights[:_FIRST]).any(axis=1) for heights in self.heights]
            clear[part] = ~np.any(near, axis=0)
        for part in _chunks(np.flatnonzero(~clear), len(self.directions)):
            clear[part] = self._clear(centres[part] @ self.directions.T - spent)
        return clear

    def _clear(self, rooms: Floats) -> Flags:
        """Which cells are clear, from how far each reaches along every direction at the least, (m, n) mm."""
        near = np.array([~(rooms >= heights).any(axis=1) for heights in self.heights])
        pieces, cells = np.nonzero(near)
        planes: Planes | None = self
        while planes is not None and planes.finer is not None and len(cells):
            cells, pieces = planes._cut(cells, pieces)
            planes = planes.finer
            cells, pieces = planes._near(rooms, cells, pieces)
        clear = np.ones(len(rooms), dtype=bool)
        clear[cells] = False
        return clear

    def _cut(self, cells: Indices, pieces: Indices) -> tuple[Indices, Indices]:
        """Pairs of a cell and a piece, with the finer pieces in place of each."""
        assert self.finer is not None and self.finer.parents is not None
        order = np.argsort(self.finer.parents, kind="stable")
        starts = np.searchsorted(self.finer.parents[order], np.arange(len(self.heights) + 1))
        counts = starts[pieces + 1] - starts[pieces]
        offsets = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
        return np.repeat(cells, counts), order[np.repeat(starts[pieces], counts) + offsets]

    def _near(self, rooms: Floats, cells: Indices, pieces: Indices) -> tuple[Indices, Indices]:
        """The pairs of a cell and a piece that no plane keeps apart. The few first planes settle most.

        Among the finest pieces, one that is near is enough for a cell: the likeliest is asked first.
        """
        most = self._most(rooms, cells, pieces, slice(0, _FIRST))
        left = np.flatnonzero(most < 0)
        cells, pieces, most = cells[left], pieces[left], most[left]
        if self.finer is None:
            order = np.lexsort((most, cells))
            cells, pieces = cells[order], pieces[order]
            first = np.ones(len(cells), dtype=bool)
            first[1:] = cells[1:] != cells[:-1]
            lost = cells[first][self._most(rooms, cells[first], pieces[first], slice(_FIRST, None)) < 0]
            others = ~first & ~np.isin(cells, lost)
            cells, pieces = cells[others], pieces[others]
            near = self._most(rooms, cells, pieces, slice(_FIRST, None)) < 0
            return np.concatenate([lost, cells[near]]), np.empty(0, dtype=np.int64)
        near = self._most(rooms, cells, pieces, slice(_FIRST, None)) < 0
        return cells[near], pieces[near]

    def _most(self, rooms: Floats, cells: Indices, pieces: Indices, columns: slice) -> Floats:
        """How far pairs of a cell and a piece are kept apart by the best of some planes, mm; negative: not."""
        most = np.full(len(cells), -np.inf)
        if len(self.directions[columns]):
            for part in _chunks(np.arange(len(cells)), len(self.directions[columns])):
                most[part] = (rooms[cells[part], columns] - self.heights[pieces[part], columns]).max(axis=1)
        return most


@dataclass(frozen=True, slots=True, eq=False)
class Crowd:
    """Points (k, 3), to be looked up by the one nearest when space is stretched by `shape` (3, 3).

    None farther than `reach`, in stretched terms, is worth looking at.
    """

    points: Points
    shape: Floats
    reach: float = np.inf
    _tree: list[Any] = field(default_factory=list)

    def nearest(self, places: Points, count: int) -> Points:
        """The points (m, count, 3) nearest to each place (m, 3); endlessly far ones where none is within
        `reach`."""
        if not self._tree:
            from scipy.spatial import cKDTree

            self._tree.append((cKDTree(self.points @ self.shape), np.vstack([self.points, np.full(3, 1e12)])))
        tree, points = self._tree[0]
        _, found = tree.query(places @ self.shape, k=count, distance_upper_bound=self.reach)
        nearest: Points = points[found.reshape(len(places), count)]
        return nearest


@dataclass(frozen=True, slots=True, eq=False)
class Blocker:
    """Positions known to be too near: x - o inside the polytope, for some offset o.

    `polytopes`, each within the next: where ``normals @ x <= offsets``, (f, 3) and (f,) mm. Without a `crowd` the
    one offset is zero. Of a crowd the points nearest to x + `looks[j]`, for each j, are tried: o is the point
    less `shifts[j]`.
    """

    polytopes: Sequence[Polytope]
    crowd: Crowd | None = None
    looks: Points = field(default_factory=lambda: np.zeros((1, 3)))
    shifts: Points = field(default_factory=lambda: np.zeros((1, 3)))

    def blocked(self, centres: Points, halves: Vector) -> Flags:
        """Which cells, centres (m, 3) and half sizes (3,) mm, are blocked all over."""
        within = [offsets - np.abs(normals) @ halves - SEARCH_ROUNDING for normals, offsets in self.polytopes]
        if self.crowd is None:
            return self._inside(centres, within)
        blocked = np.zeros(len(centres), dtype=bool)
        for look, shift in zip(self.looks, self.shifts, strict=True):
            asked = np.flatnonzero(~blocked)
            nearest = self.crowd.nearest(centres[asked] + look, _TRIED)
            for column in range(_TRIED):
                left = np.flatnonzero(~blocked[asked])
                relative = centres[asked[left]] - nearest[left, column] + shift
                blocked[asked[left]] = self._inside(relative, within)
        return blocked

    def _inside(self, points: Points, within: Sequence[Floats]) -> Flags:
        """Which points (m, 3) are inside one of the polytopes drawn in. A few faces of the largest settle most."""
        last, few = self.polytopes[-1][0], slice(None, None, max(1, len(within[-1]) // _FEW))
        left = np.flatnonzero(_all_below(points, last[few], within[-1][few]))
        inside = np.zeros(len(points), dtype=bool)
        for (normals, _), offsets in zip(self.polytopes, within, strict=True):
            inside[left] = _all_below(points[left], normals, offsets)
            left = left[~inside[left]]
        return inside


def _all_below(points: Points, normals: Points, offsets: Floats) -> Flags:
    """Which points (m, 3) lie below every one of some planes."""
    parts = [(part @ normals.T <= offsets).all(axis=1) for part in _chunks(points, len(normals))]
    return np.concatenate(parts) if parts else np.zeros(0, dtype=bool)


@dataclass(frozen=True, slots=True, eq=False)
class Barrier:
    """One thing to keep clear of. `planes` prove cells clear; any of `blockers` proves them blocked.

    `holds`: what stays clear of its surface may still lie inside it, or hold it, which is asked elsewhere.
    `passing`: it only comes by at times.
    """

    planes: Sequence[Planes]
    blockers: Sequence[Blocker] = ()
    holds: bool = False
    passing: bool = False

    def clear(self, centres: Points, halves: Vector) -> Flags:
        """Which cells are clear of it all over; what any of several ways of cutting it up proves holds."""
        clear = np.ones(len(centres), dtype=bool)
        for planes in self.planes:
            left = np.flatnonzero(clear)
            clear[left] = planes.clear(centres[left], halves)
        return clear

    def blocked(self, centres: Points, halves: Vector) -> Flags:
        """Which cells are surely too near all over."""
        blocked = np.zeros(len(centres), dtype=bool)
        for blocker in self.blockers:
            left = np.flatnonzero(~blocked)
            blocked[left] = blocker.blocked(centres[left], halves)
        return blocked


def inner_polytope(points: Points) -> Polytope | None:
    """The hull of points (n, 3) as normals (f, 3) and offsets (f,): inside is ``normals @ x <= offsets``.

    None where the points lie in a plane, or nearly.
    """
    from scipy.spatial import ConvexHull, QhullError

    with suppress(QhullError):
        found = np.unique(np.round(ConvexHull(points).equations, 9), axis=0)
        return frozen(found[:, :3]), frozen(-found[:, 3] - 2e-9 * np.abs(points).max() - SEARCH_ROUNDING)
    return None


def _chunks(rows: Any, width: int) -> Iterator[Any]:
    """`rows` in runs short enough for a working array `width` numbers wide."""
    step = max(1, _CHUNK // max(1, width))
    for start in range(0, len(rows), step):
        yield rows[start : start + step]
