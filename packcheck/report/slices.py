r"""A map of places cut at one height, as a PNG seen from above: forward is up, left is left.

Grey fits, orange does not, blue is undecided; lines are the parts cut at that height. A ring with a dot is a place
proposed near that height, a cross where the part's middle stands now.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt

from packcheck.arrays import Floats, Point, Points
from packcheck.report.pictures.png import png
from packcheck.report.pictures.section import cut
from packcheck.surfaces import FAIL, INK, PLAIN, UNSURE, Colour, MapSlice, Surface

__all__ = ["Plan", "near", "outlines", "slice_png"]

Pixels = npt.NDArray[np.uint8]

WIDTH: Final = 720
"""Pixels of the longer side, about."""

NEAR: Final = 25.0
"""mm. Places proposed so near to the height are marked."""

_PALE: Final = 0.62  # of white, in what the map says: lines and marks stand out
_WORDS: Final = {"fore": (1.0, 0.0), "aft": (-1.0, 0.0), "left": (0.0, -1.0), "right": (0.0, 1.0)}  # up, right


def slice_png(drawn: MapSlice) -> bytes:
    """A map of places at one height."""
    plan, box, height = Plan(drawn), drawn.box, drawn.height
    layers = drawn.states.shape[2]
    pixels = plan.ground(int(np.clip((height - box[0, 2]) / drawn.thick, 0, layers - 1)))
    for surface in drawn.parts:
        for line in outlines(surface, height):
            plan.line(pixels, line)
    for spot in drawn.spots:
        if near(drawn, spot):
            plan.ring(pixels, spot)
    plan.cross(pixels, drawn.here)
    return png(pixels)


def _pale(colour: Colour) -> Colour:
    red, green, blue = (round(255 - (255 - shade) * (1 - _PALE)) for shade in colour)
    return red, green, blue


def near(drawn: MapSlice, spot: Point) -> bool:
    """Whether a place proposed is marked at this height."""
    return bool(abs(spot[2] - drawn.height) <= max(drawn.thick, NEAR))


class Plan:
    """Where a point of the car is in the picture, `shape` (rows, columns) pixels, `scale` pixels to the mm."""

    SHADES: Final = (_pale(FAIL), _pale(PLAIN), _pale(UNSURE))
    """By state: does not fit, fits, undecided."""

    def __init__(self, drawn: MapSlice) -> None:
        self._states, self._box, axes, box = drawn.states, drawn.box, drawn.axes, drawn.box
        self._ways = np.array([_WORDS[axes[0]], _WORDS[axes[1]]])  # (2, 2): of x and of y, up and to the right
        size = np.abs(self._ways.T @ (box[1, :2] - box[0, :2]))
        self.scale = WIDTH / float(size.max())
        self.shape = tuple(max(1, round(float(side) * self.scale)) for side in size)
        ends = np.stack([box[0, :2] @ self._ways, box[1, :2] @ self._ways])
        self._top, self._left = ends[:, 0].max(), ends[:, 1].min()

    def pixel(self, points: Points) -> npt.NDArray[np.int64]:
        """Row and column (n, 2) of points (n, 3) mm."""
        up_right = points[:, :2] @ self._ways
        rows = (self._top - up_right[:, 0]) * self.scale
        columns = (up_right[:, 1] - self._left) * self.scale
        pixels: npt.NDArray[np.int64] = np.floor(np.stack([rows, columns], axis=1)).astype(np.int64)
        return pixels

    def place(self, point: Point) -> Floats:
        """Across and down (2,), pixels and their parts, of a point (3,) mm."""
        up, right = point[:2] @ self._ways
        found: Floats = np.array([(right - self._left) * self.scale, (self._top - up) * self.scale])
        return found

    def holds(self, place: Floats) -> bool:
        """Whether a place (2,), across and down, lies in the picture."""
        return bool(0 <= place[0] <= self.shape[1] and 0 <= place[1] <= self.shape[0])

    def ground(self, layer: int) -> Pixels:
        """The cells of one layer, each pixel by the cell it lies in."""
        height, width = self.shape
        rows, columns = (np.arange(height) + 0.5) / self.scale, (np.arange(width) + 0.5) / self.scale
        up_right = np.stack(np.broadcast_arrays(self._top - rows[:, None], self._left + columns[None]), axis=-1)
        flat = up_right @ np.linalg.inv(self._ways)
        low, size = self._box[0, :2], self._box[1, :2] - self._box[0, :2]
        counts = np.array(self._states.shape[:2])
        cells = np.clip(((flat - low) / size * counts).astype(np.int64), 0, counts - 1)
        picture: Pixels = np.array(self.SHADES, dtype=np.uint8)[self._states[cells[..., 0], cells[..., 1], layer]]
        return picture

    def line(self, pixels: Pixels, points: Points) -> None:
        """A line through points (n, 3), one pixel wide."""
        for start, end in pairwise(points):
            steps = int(np.linalg.norm(end - start) * self.scale) + 2
            self._dots(pixels, self.pixel(start + np.linspace(0, 1, steps)[:, None] * (end - start)))

    def ring(self, pixels: Pixels, point: Point) -> None:
        turns = np.linspace(0, 2 * np.pi, 60)
        circle = np.stack([np.cos(turns), np.sin(turns)], axis=1)
        for radius in (0.0, 1.0, 7.0, 8.0):
            self._dots(pixels, self.pixel(point[None]) + np.round(radius * circle).astype(np.int64))

    def cross(self, pixels: Pixels, point: Point) -> None:
        arms = np.arange(-8, 9)
        for sign in (1, -1):
            for wide in (0, 1):
                self._dots(pixels, self.pixel(point[None]) + np.stack([arms + wide, sign * arms], axis=1))

    def _dots(self, pixels: Pixels, at: npt.NDArray[np.int64]) -> None:
        inside = ((at >= 0) & (at < np.array(self.shape))).all(axis=1)
        pixels[tuple(at[inside].T)] = INK


def outlines(surface: Surface, height: float) -> list[Points]:
    """Lines (n, 3) mm, car frame, where a height cuts a part."""
    middle, up = np.array([0.0, 0.0, height]), np.array([0.0, 0.0, 1.0])
    loops, lines = cut(surface.vertices, surface.faces, middle, up)
    return [*(np.vstack([loop, loop[:1]]) for loop in loops), *lines]
