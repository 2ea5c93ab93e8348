r"""Where do borders of a surface run along each other without being joined?

    A-------C-------B      One face has the side AB, those across it AC and CB: a T-junction at C. Nothing tells
     \     / \     /       the faces on either side that they are neighbours, so that a skin made of them has no
      \   /   \   /        mitre there, and a fold loses its wedge.

`split_seams` cuts the longer side at C, which moves the surface by no more than C is off it. What is farther apart
than that stays a crack; `cracked` bounds what a skin lacks there.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Final

import numpy as np

from packcheck.arrays import Faces, Floats, Points
from packcheck.solids.core.topology import Edges, edges_of

__all__ = ["cracked", "split_seams"]

_CRACK: Final = 0.5
"""mm. Borders that run nearer than this along each other were cut apart by nobody: a saw takes 1 mm, a shut line 3
(common practice); triangles of two faces that were made apart leave as much."""

_AGAINST: Final = -0.5
"""Cosine of the least angle between borders of one crack: seen with the surface on the left, they run against each
other. Sides that follow each other round one border run along."""

_SHARPEST: Final = 1.0
"""rad. Half of the sharpest fold that is reckoned with, as of mitres."""


def split_seams(vertices: Points, faces: Faces, distance: float) -> tuple[Faces, float, int]:
    """Cut faces where border vertices lie on their sides, if that joins borders.

    Parameters
    ----------
    vertices, faces : (n, 3) mm, (m, 3)
    distance : float
        The farthest a vertex may be off a side, mm.

    Returns
    -------
    tuple
        Faces; the most a vertex lay off, mm; how many sides were cut.
    """
    edges = edges_of(faces)
    border = edges.ends[edges.uses % 2 == 1]
    chains, off = _chains(border, *_met(vertices, border, distance))
    if not chains:
        return faces, 0.0, 0
    sides = np.sort(np.array(list(chains)), axis=1)
    half_ends = np.sort(np.stack([faces.ravel(), faces[:, [1, 2, 0]].ravel()], axis=1), axis=1)
    count = len(vertices)
    hit = np.isin(half_ends @ [count, 1], sides @ [count, 1]).reshape(-1, 3).any(axis=1)
    fanned = [piece for face in faces[hit].tolist() for piece in _fanned(tuple(face), chains)]
    return np.concatenate([faces[~hit], np.array(fanned, dtype=faces.dtype)]), off, len(chains)


def cracked(vertices: Points, faces: Faces, edges: Edges, reach: float) -> float:
    """The most a skin that grows by `reach` may lack along the cracks of a surface, mm.

    Two slabs that stand side by side, their faces at an angle of a, leave out a wedge. None of its points is
    farther from them than reach tan(a/2), and none within the crack farther than half its width.
    """
    single = np.flatnonzero(edges.uses == 1)
    halves = edges.halves[edges.first[single]]
    starts, ends = faces.ravel()[halves], faces.ravel()[halves - halves % 3 + (halves + 1) % 3]
    along = vertices[ends] - vertices[starts]
    along /= np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1e-300)
    normals = _normals(vertices, faces[halves // 3])
    side, vertex, apart, _ = _met(vertices, np.stack([starts, ends], axis=1), _CRACK)
    worst = 0.0
    for tips in (starts, ends):
        near, other = _matched(vertex, tips)
        against = np.einsum("ij,ij->i", along[side[near]], along[other]) < _AGAINST
        near, other = near[against], other[against]
        cosines = np.einsum("ij,ij->i", normals[side[near]], normals[other])
        half = np.minimum(np.arccos(np.clip(cosines, -1.0, 1.0)) / 2, _SHARPEST)
        worst = max(worst, float((apart[near] / 2 + reach * np.tan(half)).max(initial=0.0)))
    return worst


def _normals(vertices: Points, faces: Faces) -> Floats:
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    normals = np.cross(b - a, c - a)
    unit: Floats = normals / np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-300)
    return unit


def _matched(wanted: Faces, keys: Faces) -> tuple[Faces, Faces]:
    """All (i, j) with ``wanted[i] == keys[j]``."""
    order = np.argsort(keys, kind="stable")
    low, high = (np.searchsorted(keys[order], wanted, side) for side in ("left", "right"))
    i = np.repeat(np.arange(len(wanted)), high - low)
    j = np.arange(len(i)) - np.repeat(np.cumsum(high - low) - (high - low), high - low) + np.repeat(low, high - low)
    return i, order[j]


def _met(vertices: Points, sides: Faces, distance: float) -> tuple[Faces, Faces, Floats, Floats]:
    """Border vertices within `distance` of `sides` (k, 2) of which they are no end.

    Returns
    -------
    tuple
        Side (p,), vertex (p,), how far it is off, mm (p,), and at which share of the side (p,).

    Each side is strung with beads no farther apart than sides are long in the mean, so that there are no more than
    two for each side, however the lengths differ.
    """
    none = np.zeros(0, dtype=np.int64)
    if not len(sides):
        return none, none, np.zeros(0), np.zeros(0)
    from scipy.spatial import KDTree

    start, step = vertices[sides[:, 0]], vertices[sides[:, 1]] - vertices[sides[:, 0]]
    lengths = np.linalg.norm(step, axis=1)
    pitch = max(float(lengths.mean()), distance)
    beads = np.ceil(lengths / pitch).astype(np.int64)
    owner = np.repeat(np.arange(len(sides)), beads)
    share = (np.arange(len(owner)) - np.repeat(np.cumsum(beads) - beads, beads) + 0.5) / beads[owner]
    used = np.unique(sides)
    tree = KDTree(vertices[used])
    radius = np.hypot(pitch / 2, distance) + distance
    found = tree.query_ball_point(start[owner] + share[:, None] * step[owner], radius)
    side = np.repeat(owner, [len(near) for near in found])
    vertex = used[np.concatenate([*found, none]).astype(np.int64)]
    side, vertex = np.unique(np.stack([side, vertex]), axis=1)
    away = vertices[vertex] - start[side]
    at = np.clip(np.einsum("ij,ij->i", away, step[side]) / np.maximum(lengths[side] ** 2, 1e-300), 0.0, 1.0)
    apart = np.linalg.norm(away - at[:, None] * step[side], axis=1)
    keep = (apart <= distance) & (vertex != sides[side, 0]) & (vertex != sides[side, 1])
    return side[keep], vertex[keep], apart[keep], at[keep]


Chains = dict[tuple[int, int], list[int]]
"""By the ends of a side: those, and between them in their order the vertices that it is cut at."""


def _chains(border: Faces, side: Faces, vertex: Faces, apart: Floats, at: Floats) -> tuple[Chains, float]:
    """The sides that are to be cut, and the most a vertex lies off its side, mm.

    A vertex stays only where it makes a part of the side that another border has, too.
    """
    within = (at > 0.0) & (at < 1.0)
    order = np.flatnonzero(within)[np.lexsort((at[within], side[within]))]
    chains = {(int(a), int(b)): [int(a), int(b)] for a, b in border.tolist()}
    for k in order.tolist():
        a, b = border[side[k]].tolist()
        chains[a, b].insert(-1, int(vertex[k]))
    chains = _paired(chains)
    offs = [
        float(apart[k]) for k in order.tolist() if int(vertex[k]) in chains.get(tuple(border[side[k]].tolist()), ())
    ]
    return chains, max(offs, default=0.0)


def _paired(chains: Chains) -> Chains:
    """Without the vertices that join nothing; only chains with a vertex between their ends."""
    while True:
        uses: dict[tuple[int, int], int] = {}
        for chain in chains.values():
            for link in _links(chain):
                uses[link] = uses.get(link, 0) + 1
        kept = {ends: _joining(chain, uses) for ends, chain in chains.items()}
        if kept == chains:
            return {ends: chain for ends, chain in chains.items() if len(chain) > 2}
        chains = kept


def _links(chain: list[int]) -> Iterator[tuple[int, int]]:
    return ((min(link), max(link)) for link in pairwise(chain))


def _joining(chain: list[int], uses: dict[tuple[int, int], int]) -> list[int]:
    shared = [uses[link] > 1 for link in _links(chain)]
    between = [here for here, joins in zip(chain[1:-1], pairwise(shared), strict=True) if any(joins)]
    return [chain[0], *between, chain[-1]]


def _fanned(face: tuple[int, ...], chains: Chains) -> list[tuple[int, ...]]:
    """The face, its sides cut one after the other: a fan from the corner across."""
    for k in range(3):
        a, b, c = face[k:] + face[:k]
        chain = chains.get((min(a, b), max(a, b)))
        if chain:
            ordered = chain if chain[0] == a else chain[::-1]
            return [piece for p, q in pairwise(ordered) for piece in _fanned((p, q, c), chains)]
    return [face]
