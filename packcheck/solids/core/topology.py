"""How triangles hang together: edges, pieces, and which way they wind.

Half-edge ``3 * f + c`` runs from corner c of face f to the next corner. A surface is closed when every edge is
run as often one way as the other. That holds for two boxes that touch along an edge and for faces that stand
twice, and it is exactly what makes a winding number whole everywhere.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from packcheck.arrays import Faces

__all__ = ["Edges", "Flags", "components", "edges_of", "pieces_of", "wound_alike"]

Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Edges:
    """The k undirected edges of m faces.

    Parameters
    ----------
    ends : (k, 2)
        Lower and higher vertex.
    uses : (k,)
        Faces that use the edge.
    net : (k,)
        Uses from lower to higher vertex less uses the other way; 0 in a closed surface.
    halves : (3m,)
        Half-edges, those of one edge in a row.
    first : (k,)
        Where the half-edges of an edge begin in `halves`.
    """

    ends: Faces
    uses: Faces
    net: Faces
    halves: Faces
    first: Faces

    @property
    def balanced(self) -> bool:
        return not self.net.any()

    @property
    def unpaired(self) -> int:
        """Edges used an odd number of times: no winding closes the surface there."""
        return int((self.uses % 2).sum())

    def neighbours(self) -> tuple[Faces, Flags]:
        """Faces (p, 2) that share an edge with each other only, and whether they wind alike (p,)."""
        shared = self.uses == 2
        first = self.first[shared]
        return np.stack([self.halves[first], self.halves[first + 1]], axis=1) // 3, self.net[shared] == 0


def edges_of(faces: Faces) -> Edges:
    """The edges of `faces` (m, 3), ordered by their vertices."""
    starts, ends = faces.ravel(), faces[:, [1, 2, 0]].ravel()
    low, high = np.minimum(starts, ends), np.maximum(starts, ends)
    key = low * (faces.max(initial=0) + 1) + high
    halves = np.argsort(key, kind="stable")
    key = key[halves]
    first = np.flatnonzero(np.concatenate([[True], key[1:] != key[:-1]])) if len(key) else halves
    uses = np.diff(np.concatenate([first, [len(key)]]))
    ways = np.where(starts < ends, 1, -1)[halves]
    net = np.add.reduceat(ways, first) if len(key) else halves
    lead = halves[first]
    return Edges(np.stack([low[lead], high[lead]], axis=1), uses, net, halves, first)


def components(count: int, links: Faces) -> Faces:
    """Labels (count,) of the groups that `links` (p, 2) tie together, numbered by their first member."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    graph = coo_matrix((np.ones(len(links), dtype=np.int8), (links[:, 0], links[:, 1])), shape=(count, count))
    labels: Faces = connected_components(graph, directed=False)[1].astype(np.int64)
    return _numbered(labels)


def _numbered(labels: Faces) -> Faces:
    """The same groups, numbered in order of their first member."""
    _, first, inverse = np.unique(labels, return_index=True, return_inverse=True)
    rank = np.empty(len(first), dtype=np.int64)
    rank[np.argsort(first)] = np.arange(len(first))
    numbered: Faces = rank[inverse.reshape(-1)]
    return numbered


def wound_alike(faces: Faces, edges: Edges) -> tuple[Faces, int]:
    """The faces with neighbours wound alike, and how many were turned: in each patch the smaller party.

    A patch is what hangs together over edges of just two faces. Each face stands twice in the graph, as it is and
    turned; neighbours that agree are tied like to like, others crosswise. What ends up tied to its own turned
    self has only one side (a Moebius strip) and stays as it is.
    """
    links, agree = edges.neighbours()
    if agree.all():
        return faces, 0
    count = len(faces)
    other = links[:, 1] + np.where(agree, 0, count)
    mirrored = (links + count) % (2 * count)
    crossed = (other + count) % (2 * count)
    labels = components(2 * count, np.stack([np.r_[links[:, 0], mirrored[:, 0]], np.r_[other, crossed]], axis=1))
    upright, turned = labels[:count], labels[count:]
    patch, as_first = np.minimum(upright, turned), upright < turned
    votes = np.bincount(patch, np.where(as_first, 1, -1), minlength=2 * count)
    turn = (upright != turned) & (as_first != (votes[patch] >= 0))
    faces = faces.copy()
    faces[turn] = faces[turn, ::-1]
    return faces, int(turn.sum())


def pieces_of(faces: Faces, edges: Edges) -> tuple[Faces, Flags]:
    """Which piece each face (m,) belongs to, and which pieces (s,) are closed.

    Pieces hang together over edges of two faces. Over edges of more (two boxes that touch) only those are tied
    that are not closed by themselves.
    """
    patch = components(len(faces), edges.neighbours()[0])
    seams = np.flatnonzero((edges.uses != 2) | (edges.net != 0))
    if not len(seams):
        return patch, np.ones(patch.max(initial=-1) + 1, dtype=bool)
    edge = np.repeat(np.arange(len(edges.uses)), edges.uses)
    on_seam = np.isin(edge, seams, assume_unique=False)
    edge, half = edge[on_seam], edges.halves[on_seam]
    way = np.where(_runs_up(faces, half), 1, -1)
    closed = _closed(edge, patch[half // 3], way, patch.max() + 1)
    loose = ~closed[patch[half // 3]]
    at, owner = edge[loose], patch[half[loose] // 3]
    tied = at[1:] == at[:-1]
    piece = components(len(closed), np.stack([owner[1:][tied], owner[:-1][tied]], axis=1))[patch]
    return piece, _closed(edge, piece[half // 3], way, piece.max() + 1)


def _runs_up(faces: Faces, half: Faces) -> Flags:
    """Whether half-edges run from the lower to the higher vertex."""
    face, corner = half // 3, half % 3
    up: Flags = faces[face, corner] < faces[face, (corner + 1) % 3]
    return up


def _closed(edge: Faces, owner: Faces, way: Faces, owners: int) -> Flags:
    """Which owners run every edge as often one way as the other."""
    pairs, inverse = np.unique(edge * owners + owner, return_inverse=True)
    net = np.bincount(inverse.reshape(-1), way, minlength=len(pairs))
    closed = np.ones(owners, dtype=bool)
    closed[pairs[net != 0] % owners] = False
    return closed
