"""Gaps with known answers, and one that gives away as little as it may."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from packcheck.arrays import Floats
from packcheck.search import Cell, Problem, Sample


@dataclass
class Counted:
    """A gauge of a function of the parameters, in the way of a distance engine: told up to `enough` only."""

    function: object
    blur: float = 0.0
    asked: list[Floats] = field(default_factory=list)

    def __call__(self, at: Floats, enough: float) -> Sample:
        self.asked.append(at)
        value = float(self.function(at))  # type: ignore[operator]
        if value - self.blur > enough:
            return Sample(enough, np.inf)
        return Sample(value - self.blur, value + self.blur)


@dataclass
class Points:
    """The least distance, less `radius`, of points (n, 3) from fixed points (m, 3).

    The former are carried by shifts along `ways` (k, 3), then turned by the last parameter, rad, about the z axis:
    the plainest parts that move, of which every speed and curvature can be written down.
    """

    moving: Floats
    fixed: Floats
    ways: Floats
    radius: float = 0.0

    def carried(self, at: Floats) -> Floats:
        shifted = self.moving + at[:-1] @ self.ways
        c, s = np.cos(at[-1]), np.sin(at[-1])
        turned: Floats = shifted @ np.array([[c, s, 0], [-s, c, 0], [0, 0, 1]])
        return turned

    def __call__(self, at: Floats) -> float:
        apart = np.linalg.norm(self.carried(at)[:, None] - self.fixed[None], axis=2)
        return float(apart.min()) - self.radius

    def reach(self, cell: Cell) -> float:
        """The farthest any point gets from the z axis."""
        corners = [self.moving + corner[:-1] @ self.ways for corner in cell.corners()]
        return float(max(np.hypot(points[:, 0], points[:, 1]).max() for points in corners))

    def travel(self, cell: Cell) -> Floats:
        halves = cell.halves
        return np.array([*(halves[:-1] * np.linalg.norm(self.ways, axis=1)), halves[-1] * self.reach(cell)])

    def sag(self, cell: Cell, distance: float) -> float:
        """|p''| <= reach w^2 + 2 w |shift|: a turn bends a circle, and turns the shifts along."""
        *shifts, turn = self.travel(cell)
        bend = turn * cell.halves[-1] + 2 * sum(shifts) * cell.halves[-1]
        return float((sum(shifts) + turn) ** 2 / (2 * distance) + bend / 2)


def slope(steepness: Floats) -> object:
    """The travel of a gap that changes by no more than `steepness` (k,) a unit."""
    return lambda cell: steepness * cell.halves


def problem(function: object, low: list[float], high: list[float], steepness: list[float]) -> Problem:
    return Problem(
        Counted(function),
        (Cell.of(low, high),),
        slope(np.array(steepness)),  # type: ignore[arg-type]
    )


def grid(cell: Cell, count: int) -> Floats:
    """Settings (n, k) spread over a cell, ends included."""
    axes = [np.linspace(low, high, count) for low, high in zip(cell.low, cell.high, strict=True)]
    return np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, len(axes))
