"""A part put elsewhere by hand: shifted along the car, or turned about its own axes, as the file would say it."""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np

from tests.oracles.shapes import Array, rotation_about
from tests.worlds.evaluate import Drawn
from tests.worlds.numbers import turn_of
from tests.worlds.scene import read

__all__ = ["shifted", "turned"]

Tree: TypeAlias = dict[str, Any]


def shifted(tree: Tree, part: str, by: Array) -> Tree:
    """The scene with `part` shifted by (3,) mm, axes of the car."""
    given = tree["parts"][part]
    stand = Drawn(read(tree)).stand(given.get("in", "car"))
    at = np.array(given["at"], float) + stand.rotation.T @ by
    return {**tree, "parts": {**tree["parts"], part: {**given, "at": at.tolist()}}}


def turned(tree: Tree, part: str, axis: int, degrees: float) -> Tree:
    """The scene with `part` turned about its own `axis` (0, 1, 2)."""
    given = tree["parts"][part]
    turn = turn_of(given.get("turn")) @ rotation_about(np.eye(3)[axis], degrees)
    return {**tree, "parts": {**tree["parts"], part: {**given, "turn": angles(turn)}}}


def angles(turn: Array) -> list[float]:
    """Degrees about x, then y, then z, fixed axes, of a turn (3, 3) that does not lift x upright."""
    y = np.arcsin(-turn[2, 0])
    x = np.arctan2(turn[2, 1], turn[2, 2])
    z = np.arctan2(turn[1, 0], turn[0, 0])
    return [float(np.degrees(angle)) for angle in (x, y, z)]
