"""From triangles as a file has them to a surface that is understood, every change said in words.

Nothing is closed that was open, and a cavity never becomes a solid: what is turned, dropped or joined is listed
in `repaired`, what still is not right in `unrepaired`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from packcheck.arrays import Faces, Points
from packcheck.solids.core.facing import enclosing_nothing, faced_outward
from packcheck.solids.core.mend import Mend, mended, repeats, twins
from packcheck.solids.core.topology import Edges, Flags, components, wound_alike
from packcheck.solids.core.wording import counted
from packcheck.solids.meshes.cut import without_crumbs

__all__ = ["Surface", "understood"]


@dataclass(frozen=True, slots=True, eq=False)
class Surface:
    """Triangles in mm, their pieces, and what was done to them.

    Parameters
    ----------
    vertices, faces : (n, 3) mm, (m, 3)
        Every vertex is used; those at one place are one.
    piece : (m,)
        Piece of each face, numbered in file order.
    closed : (s,)
        Which pieces are closed.
    error : float
        How far a vertex was moved to join it with another, mm.
    """

    vertices: Points
    faces: Faces
    piece: Faces
    closed: Flags
    repaired: tuple[str, ...] = ()
    unrepaired: tuple[str, ...] = ()
    error: float = 0.0

    @property
    def is_closed(self) -> bool:
        return bool(self.closed.all())


def understood(mend: Mend, least_piece: float = 0.0) -> Surface | None:
    """Mend and orient a surface as far as that is beyond doubt.

    Parameters
    ----------
    mend : Mend
        Merged, finite and within range.
    least_piece : float
        Connected pieces smaller than this are left out, mm.

    Returns
    -------
    Surface or None
        None when no face has an area.
    """
    if not mend.has_area:
        return None
    mend, crumbs = without_crumbs(mended(mend), least_piece)
    mend = _without_backs(_wound(mend))
    piece, closed = mend.pieces
    if not closed.all():
        doubts = crumbs + _open_words(mend.edges, closed)
        return Surface(mend.vertices, mend.faces, piece, closed, mend.words, doubts, mend.error)
    faces, turned, doubts = faced_outward(mend.vertices, mend.faces, piece, mend.measures[0])
    doubts = crumbs + doubts + _closed_words(mend)
    return Surface(mend.vertices, faces, piece, closed, mend.words + turned, doubts, mend.error)


def _wound(mend: Mend) -> Mend:
    faces, turned = wound_alike(mend.faces, mend.edges)
    if not turned:
        return mend
    return replace(
        mend, faces=faces, words=(*mend.words, f"turned {counted(turned, 'face')} to agree with the rest")
    )


def _without_backs(mend: Mend) -> Mend:
    """A sheet drawn from both sides encloses nothing: keep its first side, which is then open."""
    piece, closed = mend.pieces
    flat = enclosing_nothing(*mend.measures) & closed
    if not flat.any():
        return mend
    return mend.keeping(~(flat[piece] & twins(mend.faces)), "lying back to back on others")


def _closed_words(mend: Mend) -> tuple[str, ...]:
    """What is odd about a closed surface: faces that stand twice, pieces without volume."""
    words = []
    if (mend.edges.uses > 2).any() and (twice := int(repeats(mend.faces).sum())):
        words.append(f"{counted(twice, 'face stands', 'faces stand')} twice")
    if hollow := int(enclosing_nothing(*mend.measures).sum()):
        words.append(f"pieces that enclose nothing: {hollow} of {len(mend.pieces[1])}")
    return tuple(words)


def _open_words(edges: Edges, closed: Flags) -> tuple[str, ...]:
    """What keeps the surface from being closed."""
    border = edges.ends[edges.uses == 1]
    words = []
    if len(border):
        loops = len(np.unique(_loops(border)))
        words.append(f"open border: {counted(len(border), 'edge')} in {counted(loops, 'loop')}")
    if crowded := int((edges.uses > 2).sum()):
        words.append(f"edges shared by more than two faces: {crowded}")
    if one_sided := int(((edges.uses == 2) & (edges.net != 0)).sum()):
        words.append(f"edges where no winding agrees (a surface with one side): {one_sided}")
    if len(closed) > 1:
        words.append(f"open pieces: {int((~closed).sum())} of {len(closed)}")
    return tuple(words)


def _loops(border: Faces) -> Faces:
    """Group of each border edge (k,): those that hang together by their ends."""
    ends, at = np.unique(border, return_inverse=True)
    at = at.reshape(border.shape)
    loops: Faces = components(len(ends), at)[at[:, 0]]
    return loops
