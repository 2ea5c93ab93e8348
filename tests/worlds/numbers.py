"""How does a scene write a length or a place? Bare numbers, numbers with a unit, and direction words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from tests.oracles.shapes import Array

__all__ = ["Axes", "direction", "length", "point", "row", "turn_of"]

UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
OPPOSITE = {"fore": "aft", "aft": "fore", "left": "right", "right": "left", "up": "down", "down": "up"}


@dataclass(frozen=True, slots=True, eq=False)
class Axes:
    """Unit vectors (3,) of the six direction words, and mm of a bare number."""

    ways: dict[str, Array]
    unit: float

    @staticmethod
    def of(given: dict[str, str] | None, units: str) -> Axes:
        named = given or {"x": "aft", "y": "right", "z": "up"}
        ways: dict[str, Array] = {}
        for axis, letter in enumerate("xyz"):
            ways[named[letter]] = np.eye(3)[axis]
            ways[OPPOSITE[named[letter]]] = -np.eye(3)[axis]
        return Axes(ways, UNITS[units])

    @property
    def left(self) -> int:
        """The axis from left to right."""
        return int(np.argmax(np.abs(self.ways["left"])))


def length(value: Any, axes: Axes) -> float:
    """mm of a bare number, or of one with a unit."""
    if not isinstance(value, str):
        return float(value) * axes.unit
    number, _, unit = value.strip().partition(" ")
    return float(number) * (UNITS[unit.strip()] if unit else axes.unit)


def row(value: Any, axis: int, axes: Axes) -> float:
    """A coordinate along `axis`: a length, perhaps with a direction word behind it."""
    if isinstance(value, str):
        words = value.split()
        if words[-1] in axes.ways:
            sign = axes.ways[words[-1]][axis]
            if sign == 0:
                raise ValueError(f"{value!r} does not lie along axis {axis}")
            return float(sign) * length(" ".join(words[:-1]), axes)
    return length(value, axes)


def point(given: Any, axes: Axes) -> Array:
    """A point (3,), mm."""
    return np.array([row(value, axis, axes) for axis, value in enumerate(given)])


def direction(given: Any) -> Array:
    """A unit vector (3,): a letter, or three numbers."""
    if isinstance(given, str):
        letter: Array = np.eye(3)["xyz".index(given)]
        return letter
    vector = np.array(given, float)
    unit: Array = vector / np.linalg.norm(vector)
    return unit


def turn_of(given: Any) -> Array:
    """The turn (3, 3) about x, then y, then z, fixed axes, degrees."""
    turned = np.eye(3)
    for axis, angle in enumerate(given or (0, 0, 0)):
        turned = _about(axis, float(angle)) @ turned
    return turned


def _about(axis: int, degrees: float) -> Array:
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    turned = np.eye(3)
    i, j = (axis + 1) % 3, (axis + 2) % 3
    turned[i, i] = turned[j, j] = c
    turned[i, j], turned[j, i] = -s, s
    return turned
