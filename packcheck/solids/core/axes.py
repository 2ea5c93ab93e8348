"""Laying a solid that was made along z along another of its own axes."""

from __future__ import annotations

from typing import Final

from packcheck.arrays import frozen
from packcheck.frames import IDENTITY, Pose
from packcheck.solids.core.solid import Solid

__all__ = ["turned_along"]

_ALONG: Final = {
    "x": Pose(frozen([[0, 0, 1], [1, 0, 0], [0, 1, 0]]), frozen([0, 0, 0])),
    "y": Pose(frozen([[0, 1, 0], [0, 0, 1], [1, 0, 0]]), frozen([0, 0, 0])),
    "z": IDENTITY,
}


def turned_along(solid: Solid, along: str) -> Solid:
    """`solid`, made along z, laid along `along`; x, y, z change places in cyclic order, so nothing mirrors."""
    return solid if along == "z" else solid.placed(_ALONG[along])
