"""Cells made smaller by themselves, as long as nothing is proven to fit and something is not proven either way."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final, TypeAlias

import numpy as np

from packcheck.arrays import Vector
from packcheck.search import FITS, UNDECIDED, Grid
from packcheck.studies.mapping import Region

__all__ = ["MOST_CELLS", "REFINED_CELLS", "finer", "refined"]

MOST_CELLS: Final = 4_000_000
"""Cells of one map: some minutes, and half a gigabyte."""

REFINED_CELLS: Final = 500_000
"""Cells of one map up to which they are halved without being asked to: some seconds for each."""

Box: TypeAlias = tuple[Vector, Vector]
Making: TypeAlias = Callable[[float], Region]


def refined(makers: Sequence[Making], box: Box, cell: float) -> tuple[Region, ...]:
    """The map of each turn in cells of `cell` mm, or of a half, a quarter of that, until something fits.

    A map of which all is proven stays as it is. It ends where cells of half the size would be too many.
    """
    regions = [make(cell) for make in makers]
    while not any((one.states == FITS).any() for one in regions) and _count(box, cell / 2) <= REFINED_CELLS:
        if not any(map(_open, regions)):
            break
        cell /= 2
        regions = [make(cell) if _open(one) else one for make, one in zip(makers, regions, strict=True)]
    return tuple(regions)


def finer(box: Box, cell: float, most: int) -> float | None:
    """A size of cells, mm, to try after `cell`: a quarter or a half of it; None where those are over `most`."""
    return next((cell / share for share in (4, 2) if _count(box, cell / share) <= most), None)


def _open(one: Region) -> bool:
    return bool((one.states == UNDECIDED).any())


def _count(box: Box, cell: float) -> float:
    return float(np.prod(Grid.over(*box, cell).counts.astype(np.float64)))
