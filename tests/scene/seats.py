"""What a scene's axes mean to someone seated facing forward, worked out apart from the package."""

from __future__ import annotations

from itertools import permutations, product

import numpy as np
import numpy.typing as npt

__all__ = ["AXES", "OPPOSITE", "SEEN", "Array", "head", "rotation", "seen"]

Array = npt.NDArray[np.float64]

SEEN = {
    "aft": np.array([1.0, 0.0, 0.0]),
    "right": np.array([0.0, 1.0, 0.0]),
    "up": np.array([0.0, 0.0, 1.0]),
    "fore": np.array([-1.0, 0.0, 0.0]),
    "left": np.array([0.0, -1.0, 0.0]),
    "down": np.array([0.0, 0.0, -1.0]),
}
"""Every direction as (aft, right, up)."""

OPPOSITE = {"aft": "fore", "fore": "aft", "left": "right", "right": "left", "up": "down", "down": "up"}


def _right_handed(ways: tuple[str, ...]) -> bool:
    return bool(np.linalg.det(np.array([SEEN[way] for way in ways])) > 0)


AXES = [
    ways
    for order in permutations((("aft", "fore"), ("left", "right"), ("up", "down")))
    for ways in product(*order)
    if _right_handed(ways)
]
"""All 24 axes a scene may have: where x, y and z point."""


def head(ways: tuple[str, ...]) -> str:
    """The beginning of a scene with these axes."""
    return f"packcheck: 1\naxes: {{x: {ways[0]}, y: {ways[1]}, z: {ways[2]}}}\n"


def seen(vector: Array | tuple[float, ...], ways: tuple[str, ...]) -> Array:
    """A vector (3,) of the scene as (aft, right, up)."""
    made: Array = sum((v * SEEN[way] for v, way in zip(vector, ways, strict=True)), np.zeros(3))
    return made


def rotation(degrees: tuple[float, ...]) -> Array:
    """Rz Ry Rx written out from the textbook."""
    (cx, cy, cz), (sx, sy, sz) = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    about_x = np.array([[1, 0, 0], [0, cx, -sx], [0, sx, cx]])
    about_y = np.array([[cy, 0, sy], [0, 1, 0], [-sy, 0, cy]])
    about_z = np.array([[cz, -sz, 0], [sz, cz, 0], [0, 0, 1]])
    made: Array = about_z @ about_y @ about_x
    return made
