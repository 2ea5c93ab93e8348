"""Looking at the bay without perspective: from where, and what lands where on the picture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from packcheck.arrays import Matrix3, Point, Points, Vector

__all__ = ["View", "facing", "from_words", "way"]

OPPOSITE: Final = {"fore": "aft", "aft": "fore", "left": "right", "right": "left", "up": "down", "down": "up"}
SIDES: Final = {"fore": "the front", "aft": "the rear", "left": "the left", "right": "the right"}
SIDES_UP: Final = {"up": "above", "down": "below"}
NOTABLE: Final = 0.3  # of a unit direction: a side that is named


def way(axes: Sequence[str], word: str) -> Vector:
    """The unit vector (3,), car frame, that a direction word means in a scene with these axes."""
    signs = [1.0 if axis == word else -1.0 if OPPOSITE[axis] == word else 0.0 for axis in axes]
    return np.array(signs)


@dataclass(frozen=True, slots=True, eq=False)
class View:
    """A picture `width` by `height` px of what lies about `middle` (3,) mm, `scale` px to the mm.

    `turn` (3, 3) has for rows the car-frame directions that point right, up and at the viewer in the picture.
    """

    middle: Point
    turn: Matrix3
    scale: float
    width: int
    height: int

    def project(self, points: Points) -> Points:
        """Points (..., 3) mm as x from the left, y from the top, and depth away from the viewer, all px."""
        seen = np.einsum("ij,...j->...i", self.turn, points - self.middle) * self.scale
        placed: Points = seen * [1.0, -1.0, -1.0] + [self.width / 2, self.height / 2, 0.0]
        return placed

    def zoomed(self, scale: float, width: int, height: int) -> View:
        return View(self.middle, self.turn, scale, width, height)


def facing(toward: Vector, up: Vector, spare: Vector) -> Matrix3:
    """The turn of a view that looks from `toward`, `up` upright in it, or `spare` where it looks along `up`."""
    upright = up - toward * float(up @ toward)
    if float(np.linalg.norm(upright)) < 0.05:
        upright = spare - toward * float(spare @ toward)
    upright = upright / np.linalg.norm(upright)
    return np.array([np.cross(upright, toward), upright, toward])


def from_words(toward: Vector, axes: Sequence[str]) -> str:
    """From where a view looks: "the left and above"."""
    named = [(abs(part), axis if part > 0 else OPPOSITE[axis]) for part, axis in zip(toward, axes, strict=True)]
    said = [word for part, word in sorted(named, reverse=True) if part > NOTABLE]
    flat = [SIDES[word] for word in said if word in SIDES]
    return " and ".join([*flat, *(SIDES_UP[word] for word in said if word in SIDES_UP)])
