"""True surfaces that a builder might have measured at a few points, and how far things really are from them.

Nothing of the package is used but the figures it is given. A surface is a smooth dome or hollow, or waves; the grid
is read off it; `between` is how far it really stands off the straight-edges between the points, found by sampling.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

__all__ = ["Trial", "drawn", "true_gap"]

Array = npt.NDArray[np.float64]
Heights = Callable[[Array, Array], Array]

SPAN = {"inner": (0.0, 1.0), "outer": (-1.0, 0.0), "middle": (-0.5, 0.5)}
"""Where the sheet lies along the normal that looks up, in thicknesses."""


@dataclass(frozen=True)
class Trial:
    """One surface, what was read off it, and a body near it: a ball, or a box turned about the upright."""

    heights: Heights
    x: Array
    y: Array
    side: str
    thickness: float
    between: float
    ball: float
    box: Array
    place: Array
    swing: float

    @property
    def grid(self) -> Array:
        return self.heights(self.x[:, None], self.y[None])


def _surface(rng: np.random.Generator, size: float) -> Heights:
    """A dome or a hollow over +-size, or waves no shorter than that."""
    rise = rng.uniform(5, 60) * rng.choice([-1.0, 1.0])
    sharp = rng.uniform(0.4, 1.6, 2) / size
    tilt = rng.uniform(-0.3, 0.3, 2)
    waves = rng.uniform(0, 8) * rng.choice([0.0, 1.0])
    phase = rng.uniform(0, 2 * np.pi, 2)

    def heights(x: Array, y: Array) -> Array:
        dome = rise * np.exp(-((sharp[0] * x) ** 2) - (sharp[1] * y) ** 2)
        wave = waves * np.sin(2.5 * x / size + phase[0]) * np.sin(2.5 * y / size + phase[1])
        made: Array = dome + wave + tilt[0] * x + tilt[1] * y
        return made

    return heights


def _strays(heights: Heights, x: Array, y: Array, fine: int = 33) -> float:
    """The most a surface stands off whatever straight-edges and diagonals can be laid between its points, mm."""
    share = np.linspace(0, 1, fine)
    u, v = share[:, None], share[None]
    most = 0.0
    for i in range(len(x) - 1):
        for j in range(len(y) - 1):
            a, b = heights(x[i], y[j]), heights(x[i + 1], y[j])
            c, d = heights(x[i + 1], y[j + 1]), heights(x[i], y[j + 1])
            one = np.where(u >= v, a + u * (b - a) + v * (c - b), a + v * (d - a) + u * (c - d))
            other = np.where(u + v <= 1, a + u * (b - a) + v * (d - a), c + (1 - u) * (d - c) + (1 - v) * (b - c))
            true = heights(x[i] + u * (x[i + 1] - x[i]), y[j] + v * (y[j + 1] - y[j]))
            off = np.maximum(true - np.maximum(one, other), np.minimum(one, other) - true)
            most = max(most, float(off.max()))
    return most


def drawn(seed: int) -> Trial:
    """A trial, the body between a little inside the sheet and somewhat farther than `between` away from it."""
    rng = np.random.default_rng(seed)
    size = rng.uniform(100, 400)
    x, y = (_places(rng, size) for _ in range(2))
    heights = _surface(rng, size)
    between = 1.02 * _strays(heights, x, y) + 0.05  # what sampling a smooth surface may have missed
    side, thickness = str(rng.choice(list(SPAN))), float(rng.uniform(1, 5))
    ball, box = (rng.uniform(5, 60), np.zeros(3)) if rng.random() < 0.5 else (0.0, rng.uniform(8, 80, 3))
    at = rng.uniform(-0.7, 0.7, 2) * size
    reach = ball if ball else float(np.linalg.norm(box)) / 2
    away = rng.choice([-1.0, 1.0]) * (reach + thickness + rng.uniform(-0.2, 2.0) * between)
    place = np.array([*at, float(heights(at[:1], at[1:])[0]) + away])
    return Trial(heights, x, y, side, thickness, between, float(ball), box, place, float(rng.uniform(0, 90)))


def _places(rng: np.random.Generator, size: float) -> Array:
    """Two to five readings over +-size, not quite even."""
    count = int(rng.integers(2, 6))
    made: Array = np.linspace(-size, size, count) + rng.uniform(-0.15, 0.15, count) * size / count
    return made


def true_gap(trial: Trial) -> float:
    """How far the body is from the true sheet, mm, or a hair more; 0 when they overlap.

    Samples of the sheet, away from the rim by as much as it is thick, closer and closer round the nearest one.
    """
    low = np.array([trial.x[0], trial.y[0]]) + trial.thickness
    high = np.array([trial.x[-1], trial.y[-1]]) - trial.thickness
    best = np.inf
    for _ in range(5):
        x, y = (np.linspace(low[k], high[k], 41) for k in range(2))
        points = _sheet(trial, x, y)
        apart = _off(trial, points)
        where = np.unravel_index(int(np.argmin(apart)), apart.shape)
        best = min(best, float(apart[where]))
        step = np.array([x[1] - x[0], y[1] - y[0]]) * 2
        middle = np.array([x[where[0]], y[where[1]]])
        low, high = np.maximum(low, middle - step), np.minimum(high, middle + step)
    return best


def _sheet(trial: Trial, x: Array, y: Array) -> Array:
    """Points (n, m, 5, 3) of the true sheet, from one face to the other."""
    across, along = np.meshgrid(x, y, indexing="ij")
    hair = 1e-4
    slope_x = (trial.heights(across + hair, along) - trial.heights(across - hair, along)) / (2 * hair)
    slope_y = (trial.heights(across, along + hair) - trial.heights(across, along - hair)) / (2 * hair)
    normals = np.stack([-slope_x, -slope_y, np.ones_like(slope_x)], axis=-1)
    normals /= np.linalg.norm(normals, axis=-1, keepdims=True)
    points = np.stack([across, along, trial.heights(across, along)], axis=-1)
    depths = np.linspace(*SPAN[trial.side], 5) * trial.thickness
    sheet: Array = points[:, :, None] + depths[None, None, :, None] * normals[:, :, None]
    return sheet


def _off(trial: Trial, points: Array) -> Array:
    """How far points are from the body: closed forms of a ball and a box."""
    offset = points - trial.place
    if trial.ball:
        ball: Array = np.maximum(np.linalg.norm(offset, axis=-1) - trial.ball, 0.0)
        return ball
    c, s = np.cos(np.radians(trial.swing)), np.sin(np.radians(trial.swing))
    turned = np.stack([c * offset[..., 0] + s * offset[..., 1], c * offset[..., 1] - s * offset[..., 0]], axis=-1)
    own = np.concatenate([turned, offset[..., 2:]], axis=-1)
    box: Array = np.linalg.norm(np.maximum(np.abs(own) - trial.box / 2, 0.0), axis=-1)
    return box
