"""Which side of a closed surface is solid?

Every piece is wound outward (it adds one inside) or inward (a cavity, it takes one away). No place may count
less than nothing, so a piece whose inside would is turned, together with all that lies in it: what its author
drew inside out is turned as one, and keeps its cavities.

    +-----------+        count 1 between the boxes, 1 - 1 = 0 in the inner one: a cavity, left alone
    |  +-----+  |        both wound the other way: -1 between and 0 within: both turned
    |  |     |  |        both wound outward: 1 between, 2 within: a solid in a solid, left and said
    |  +-----+  |
    +-----------+
"""

from __future__ import annotations

from typing import Final

import numpy as np

from packcheck.arrays import Faces, Floats, Points
from packcheck.solids.core.topology import Flags
from packcheck.solids.core.winding import winding_numbers

__all__ = ["enclosing_nothing", "faced_outward", "piece_measures"]

_FLAT: Final = 1e-9
"""Volume over area times size: a closed piece below this encloses nothing but rounding."""

_PROBES: Final = 8
"""Vertices of a piece that must all lie within another for the piece to lie in it."""

_MAX_WORK: Final = 30_000_000
"""Point-triangle pairs, about two seconds, spent on telling which piece lies in which."""

_MAX_PIECES: Final = 3_000


def faced_outward(
    vertices: Points, faces: Faces, piece: Faces, volumes: Floats
) -> tuple[Faces, tuple[str, ...], tuple[str, ...]]:
    """Turn closed pieces so that no place counts less than nothing.

    Parameters
    ----------
    vertices, faces, piece : (n, 3) mm, (m, 3), (m,)
        Closed pieces, each wound alike.
    volumes : (s,)
        Signed volume of each piece, mm3.

    Returns
    -------
    tuple
        Faces; what was turned; what remains in doubt, in words.
    """
    outward = volumes >= 0
    count = len(outward)
    if count == 1:
        turn, doubts = ~outward, list[str]()
    elif outward.all() and count > _MAX_PIECES:
        return faces, (), ()
    else:
        turn, doubts = _turning(vertices, faces, piece, outward)
    if not turn.any():
        return faces, (), tuple(doubts)
    turned = turn[piece]
    faces = faces.copy()
    faces[turned] = faces[turned, ::-1]
    return faces, _turned_words(turn), tuple(doubts)


def _turning(vertices: Points, faces: Faces, piece: Faces, outward: Flags) -> tuple[Flags, list[str]]:
    """Which pieces to turn, and what is in doubt."""
    within = _within(vertices, faces, piece)
    if within is None:
        doubt = f"{len(outward)} pieces are too many to tell cavities from solids: all taken as solids"
        return ~outward, [doubt] if not outward.all() else []
    sign = np.where(outward, 1, -1)
    turn = np.zeros(len(outward), dtype=bool)
    for k in np.argsort(within.sum(axis=1), kind="stable"):
        if within[k] @ sign + sign[k] < 0:
            inside = within[:, k].copy()
            inside[k] = True
            turn ^= inside
            sign = np.where(inside, -sign, sign)
    solid = np.flatnonzero((within @ sign > 0) & (sign > 0))
    return turn, [f"{_named(solid)} inside another and wound as solid, not as cavity"] if len(solid) else []


def _within(vertices: Points, faces: Faces, piece: Faces) -> Flags | None:
    """[k, j]: does piece k lie wholly in piece j? None when that is too much work."""
    count = int(piece.max()) + 1
    if count > _MAX_PIECES:
        return None
    order = np.argsort(piece, kind="stable")
    starts = np.searchsorted(piece[order], np.arange(count + 1))
    low, high = _boxes(vertices[faces[order]], starts[:-1])
    nested = [(low[j] <= low).all(axis=1) & (high <= high[j]).all(axis=1) for j in range(count)]
    work = sum((int(flags.sum()) - 1) * int(size) for flags, size in zip(nested, np.diff(starts), strict=True))
    if work > _MAX_WORK:
        return None
    probes = min(_PROBES, _MAX_WORK // max(work, 1))
    within = np.zeros((count, count), dtype=bool)
    for j, flags in enumerate(nested):
        flags[j] = False
        inner = np.flatnonzero(flags)
        if len(inner):
            places = np.linspace(starts[inner], starts[inner + 1] - 1, probes).astype(np.int64).T
            own = faces[order[starts[j] : starts[j + 1]]]
            turns = np.abs(winding_numbers(vertices[faces[order[places.ravel()], 0]], vertices, own))
            turns = turns.reshape(places.shape)
            # a vertex that touches the outer piece counts between 0 and 1
            within[inner, j] = (turns > 0.1).all(axis=1) & (turns > 0.9).any(axis=1)
    return within


def _boxes(corners: Floats, starts: Faces) -> tuple[Points, Points]:
    """Least and greatest corner (s, 3) of each run of triangles (m, 3, 3)."""
    return np.minimum.reduceat(corners.min(axis=1), starts), np.maximum.reduceat(corners.max(axis=1), starts)


def piece_measures(vertices: Points, faces: Faces, piece: Faces) -> tuple[Floats, Floats]:
    """Signed volume mm3 and area mm2 of each piece, taken about its own first vertex."""
    first = np.unique(piece, return_index=True)[1]
    corners = vertices[faces] - vertices[faces[first, 0]][piece][:, None]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    volumes: Floats = np.einsum("mi,mi->m", corners[:, 0], normals) / 6
    areas = np.linalg.norm(normals, axis=1) / 2
    return _sums(piece, volumes), _sums(piece, areas)


def _sums(piece: Faces, values: Floats) -> Floats:
    return np.bincount(piece, weights=values).astype(np.float64)


def enclosing_nothing(volumes: Floats, areas: Floats) -> Flags:
    """Which closed pieces (s,) have no volume: a surface drawn from both sides."""
    flat: Flags = np.abs(volumes) <= _FLAT * areas**1.5
    return flat


def _turned_words(turn: Flags) -> tuple[str, ...]:
    if turn.all():
        return ("turned the whole surface outward",)
    which = np.flatnonzero(turn)
    return (f"turned piece {which[0] + 1} outward" if len(which) == 1 else f"turned {len(which)} pieces outward",)


def _named(pieces: Faces) -> str:
    return f"piece {pieces[0] + 1} lies" if len(pieces) == 1 else f"{len(pieces)} pieces lie"
