"""How long is the piece that a bent part is made from?

A tube is taken to keep its length along its centreline, as tube benders reckon. A strip keeps it along a neutral
line that lies nearer to the inside of each bend: K thicknesses from there. Soft stock in tight bends has K near
0.33, wide bends have 0.5 (common practice). The figure given is for K = 0.41, soft steel and aluminium: the bend
allowance 0.64 T + 1.57 R for a right angle (Machinery's Handbook, bending sheet metal, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import acos, dist, tan
from typing import Final

import numpy as np

from packcheck.scene.model.scene import Extrude, Pipe, Shape, Strip, Triple

__all__ = ["Developed", "developed"]

NEUTRAL: Final = (0.33, 0.41, 0.5)
"""K of a strip: the least, the usual and the greatest part of its thickness from the inside to the neutral line."""


@dataclass(frozen=True, slots=True)
class Developed:
    """A length to cut, mm, and the ends it lies between; how many bends it has, and on what it is counted.

    `stock` is what sort it is cut from, `sizes` are that one's, mm.
    """

    stock: str
    sizes: tuple[float, ...]
    length: float
    low: float
    high: float
    bends: int
    counted: str


def developed(shape: Shape) -> Developed | None:
    """The length to cut for a pipe or strip, or round an outline; None for any other shape.

    Examples
    --------
    >>> developed(Pipe(20.0, ((0, 0, 0), (100, 0, 0), (100, 100, 0)), 50.0)).length.__round__(4)
    178.5398
    """
    match shape:
        case Pipe():
            length, bends = _along(shape.through, shape.bend, shape.bend)
            counted = "centreline" if shape.bend else _MITRED if bends else "centreline"
            return Developed("round", (shape.outside,), length, length, length, bends, counted)
        case Strip():
            return _strip(shape)
        case Extrude():
            edge = sum(
                dist(a, b) for a, b in zip(shape.outline, (*shape.outline[1:], shape.outline[0]), strict=True)
            )
            return Developed("plate", (shape.thickness,), edge, edge, edge, 0, "edge all round the outline")
        case _:
            return None


_MITRED: Final = "centreline, corners mitred"


def _strip(shape: Strip) -> Developed:
    inside = shape.bend - shape.thickness / 2
    lengths = [
        _along(shape.through, shape.bend, inside + k * shape.thickness if shape.bend else 0.0) for k in NEUTRAL
    ]
    (low, bends), (length, _), (high, _) = lengths
    counted = f"neutral line at {NEUTRAL[1]:g} of the thickness" if shape.bend and bends else "centreline"
    counted = counted if shape.bend or not bends else _MITRED
    return Developed("strip", (shape.width, shape.thickness), length, low, high, bends, counted)


def _along(through: Sequence[Triple], bend: float, neutral: float) -> tuple[float, int]:
    """The length, mm, of a line through points whose corners are arcs of radius `neutral`; how many there are.

    Each bend of centreline radius `bend` takes bend tan(half its turn) from both of its legs.
    """
    legs = np.diff(np.asarray(through), axis=0)
    lengths = np.linalg.norm(legs, axis=1)
    along = legs / lengths[:, None]
    turns = [acos(float(np.clip(a @ b, -1, 1))) for a, b in pairwise(along)]
    turns = [turn for turn in turns if turn > 1e-9]
    length = float(lengths.sum()) + sum(neutral * turn - 2 * bend * tan(turn / 2) for turn in turns)
    return length, len(turns)
