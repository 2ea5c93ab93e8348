"""Repairs that change no shape: what is merged, dropped or joined lies within rounding of what stays."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

import numpy as np

from packcheck.arrays import Faces, Floats, Points
from packcheck.solids.core.facing import piece_measures
from packcheck.solids.core.seams import split_seams
from packcheck.solids.core.topology import Edges, Flags, components, edges_of, pieces_of
from packcheck.solids.core.wording import counted
from packcheck.tolerances import MERGE_DISTANCE, WELD_DISTANCE

__all__ = ["Mend", "mended", "merged", "repeats", "twins"]

_MIXING: Final = tuple(map(np.uint64, (0x9E3779B97F4A7C15, 0xC2B2AE3D27D4EB4F, 0x165667B19E3779F9)))
"""Odd factors without pattern, so that rows that differ get keys that differ."""

_BLOCK: Final = 4096

_ROUNDS: Final = 32
"""Rows of area-less faces peeled off a border; more are no rubbish but a surface of slivers."""

_NEIGHBOURS: Final = 16
"""Nearest vertices looked at for joining: more than the faces that usually meet in a point."""


@dataclass(frozen=True, eq=False)
class Mend:
    """Vertices (n, 3) mm and faces (m, 3) so far, how far a vertex was moved, mm, and what was done."""

    vertices: Points
    faces: Faces
    error: float = 0.0
    words: tuple[str, ...] = ()

    @cached_property
    def edges(self) -> Edges:
        return edges_of(self.faces)

    @cached_property
    def pieces(self) -> tuple[Faces, Flags]:
        """Piece of each face (m,), and which pieces (s,) are closed."""
        return pieces_of(self.faces, self.edges)

    @cached_property
    def measures(self) -> tuple[Floats, Floats]:
        """Signed volume mm3 and area mm2 of each piece (s,)."""
        return piece_measures(self.vertices, self.faces, self.pieces[0])

    @property
    def has_area(self) -> bool:
        """Whether any face has a height to speak of."""
        blocks = (self.faces[start : start + _BLOCK] for start in range(0, len(self.faces), _BLOCK))
        return any((heights_of(self.vertices, block) > MERGE_DISTANCE).any() for block in blocks)

    def keeping(self, keep: Flags, words: str) -> Mend:
        """Without the faces that are not to `keep` (m,); `words` say what those were."""
        dropped = len(keep) - int(keep.sum())
        if not dropped:
            return self
        return replace(
            self, faces=self.faces[keep], words=(*self.words, f"dropped {counted(dropped, 'face')} {words}")
        )

    def compact(self) -> Mend:
        """Without the vertices that no face uses."""
        used = np.zeros(len(self.vertices), dtype=bool)
        used[self.faces] = True
        if used.all():
            return self
        return replace(self, vertices=self.vertices[used], faces=(np.cumsum(used) - 1)[self.faces])


def merged(vertices: Points, faces: Faces, *, soup: bool) -> Mend:
    """One vertex for each place, and no faces that have lost a corner by it.

    Parameters
    ----------
    soup : bool
        The format repeats every corner, so that merging them mends nothing.
    """
    start = Mend(vertices, faces).compact()
    first, same = _equal_rows(start.vertices)
    doubles = len(start.vertices) - len(first)
    words = (
        (f"merged {counted(doubles, 'duplicate vertex', 'duplicate vertices')}",) if doubles and not soup else ()
    )
    return _without_collapsed(Mend(start.vertices[first], same[start.faces], words=words))


def _without_collapsed(mend: Mend) -> Mend:
    a, b, c = mend.faces.T
    return mend.keeping((a != b) & (b != c) & (c != a), "without area")


def _equal_rows(rows: Points) -> tuple[Faces, Faces]:
    """First index of each distinct row, in file order, and which of those every row equals."""
    keys = np.zeros(len(rows), dtype=np.uint64)
    for column, factor in zip(rows.T, _MIXING, strict=True):
        keys ^= (column + 0.0).view(np.uint64)  # adding zero makes one zero of the two
        keys *= factor
        keys ^= keys >> np.uint64(29)
    _, first, same = np.unique(keys, return_index=True, return_inverse=True)
    if not (rows[first][same] == rows).all():  # two rows of one key
        _, first, same = np.unique(rows, axis=0, return_index=True, return_inverse=True)
    order = np.argsort(first)
    rank = np.empty_like(order)
    rank[order] = np.arange(len(order))
    return first[order], rank[same.reshape(-1)]


def heights_of(vertices: Points, faces: Faces) -> Floats:
    """Least height (m,) of each triangle, mm."""
    corners = vertices[faces]
    sides = corners[:, [1, 2, 0]] - corners
    longest = np.sqrt(np.einsum("mij,mij->mi", sides, sides)).max(axis=1, initial=0.0)
    double = np.linalg.norm(np.cross(sides[:, 0], sides[:, 1]), axis=1)
    heights: Floats = np.divide(double, longest, out=np.zeros_like(double), where=longest > 0)
    return heights


def mended(mend: Mend) -> Mend:
    """Try what may join open borders: drop repeated and area-less faces, weld border vertices, cut T-junctions."""
    if mend.edges.balanced:
        return mend
    mend = mend.keeping(~repeats(mend.faces), "that stood twice")
    mend = _without_slivers(mend)
    for distance in (MERGE_DISTANCE, WELD_DISTANCE):
        mend = _welded(mend, distance)
    return _split(mend).compact()


def _split(mend: Mend) -> Mend:
    """Faces cut where corners of others lie on their sides (T-junctions), so that they are neighbours."""
    faces, off, count = split_seams(mend.vertices, mend.faces, WELD_DISTANCE)
    if not count:
        return mend
    words = f"cut {counted(count, 'side')} at corners of others that lie on them"
    words += f", up to {off:.1g} mm away" if off > MERGE_DISTANCE else ""
    return replace(mend, faces=faces, error=max(mend.error, off), words=(*mend.words, words))


def repeats(faces: Faces) -> Flags:
    """Which faces (m,) have the corners and the winding of an earlier one."""
    again: Flags = _first_alike(_turned_to_least(faces)) != np.arange(len(faces))
    return again


def twins(faces: Faces) -> Flags:
    """Which faces (m,) lie back to back on an earlier one: the same corners, wound the other way."""
    ordered = _turned_to_least(faces)
    up = ordered[:, 1] < ordered[:, 2]
    back: Flags = up != up[_first_alike(np.sort(faces, axis=1))]
    return back


def _turned_to_least(faces: Faces) -> Faces:
    """The same faces, each beginning with its lowest corner."""
    start = np.argmin(faces, axis=1)[:, None]
    turned: Faces = np.take_along_axis(faces, (start + np.arange(3)) % 3, axis=1)
    return turned


def _first_alike(rows: Faces) -> Faces:
    """For each row (m, 3) the number of the first row equal to it."""
    order = np.lexsort(rows.T)
    fresh = np.ones(len(rows), dtype=bool)
    fresh[1:] = (rows[order[1:]] != rows[order[:-1]]).any(axis=1)
    first = np.empty(len(rows), dtype=np.int64)
    first[order] = order[np.maximum.accumulate(np.where(fresh, np.arange(len(rows)), 0))]
    return first


def _without_slivers(mend: Mend) -> Mend:
    """Drop area-less faces from the border inwards; those that close a seam between others stay."""
    flat = heights_of(mend.vertices, mend.faces) <= MERGE_DISTANCE
    keep = np.ones(len(flat), dtype=bool)
    for _ in range(_ROUNDS if flat.any() else 0):
        alive = np.flatnonzero(keep)
        loose = flat[alive] & _on_border(edges_of(mend.faces[alive]), len(alive))
        if not loose.any():
            break
        keep[alive[loose]] = False
    return mend.keeping(keep, "without area")


def _on_border(edges: Edges, faces: int) -> Flags:
    """Which faces have an edge that is used an odd number of times."""
    odd = np.repeat(edges.uses % 2 == 1, edges.uses)
    marked = np.zeros(faces, dtype=bool)
    marked[edges.halves[odd] // 3] = True
    return marked


def _welded(mend: Mend, distance: float) -> Mend:
    """Border vertices within `distance` (and a tenth of a border edge) joined, if that leaves less border."""
    border = mend.edges.ends[mend.edges.uses % 2 == 1]
    if not len(border):
        return mend
    lengths = np.linalg.norm(mend.vertices[border[:, 0]] - mend.vertices[border[:, 1]], axis=1)
    moved_to = _joined(mend.vertices, np.unique(border), min(distance, 0.1 * float(np.median(lengths))))
    count = int((moved_to != np.arange(len(moved_to))).sum())
    if not count:
        return mend
    moved = float(np.linalg.norm(mend.vertices - mend.vertices[moved_to], axis=1).max())
    trial = _without_collapsed(replace(mend, faces=moved_to[mend.faces]))
    if moved > 2 * distance or trial.edges.unpaired >= mend.edges.unpaired:
        return mend
    words = f"joined {counted(count, 'border vertex', 'border vertices')} to others up to {moved:.1g} mm away"
    return replace(trial, error=max(mend.error, moved), words=(*trial.words, words))


def _joined(vertices: Points, which: Faces, distance: float) -> Faces:
    """For every vertex the first of `which` it is tied to by steps of at most `distance`, else itself."""
    from scipy.spatial import KDTree

    points = vertices[which]
    near = KDTree(points).query(points, k=min(_NEIGHBOURS, len(which)), distance_upper_bound=distance)[1]
    here = np.repeat(np.arange(len(which)), near.size // len(which))
    found = near.ravel() < len(which)
    groups = components(len(which), np.stack([here[found], near.ravel()[found]], axis=1))
    lead = np.unique(groups, return_index=True)[1]
    moved_to = np.arange(len(vertices))
    moved_to[which] = which[lead[groups]]
    return moved_to
