"""Array aliases (shapes live here, once) and the one way to make an array read-only."""

from __future__ import annotations

from itertools import product
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

__all__ = [
    "Faces",
    "Floats",
    "Matrix3",
    "Point",
    "Points",
    "Vector",
    "corners_of",
    "flat_cross",
    "frozen",
    "frozen_faces",
]

Floats: TypeAlias = npt.NDArray[np.float64]
Point: TypeAlias = Floats  # (3,), mm
Vector: TypeAlias = Floats  # (3,), mm or unitless
Points: TypeAlias = Floats  # (n, 3), mm
Matrix3: TypeAlias = Floats  # (3, 3)
Faces: TypeAlias = npt.NDArray[np.int64]  # (m, 3), indices into Points


def corners_of(low: Point, high: Point) -> Points:
    """The corners (8, 3) of a box, by its least and greatest one (3,)."""
    return np.array(list(product(*zip(low, high, strict=True))))


def flat_cross(a: Floats, b: Floats) -> Floats:
    """The cross product of vectors in a plane, (..., 2): twice the signed area between them."""
    crossed: Floats = a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]
    return crossed


def frozen(values: npt.ArrayLike) -> Floats:
    """A read-only, C-contiguous float64 copy of `values`."""
    array = np.array(values, dtype=np.float64, order="C")
    array.setflags(write=False)
    return array


def frozen_faces(values: npt.ArrayLike) -> Faces:
    """A read-only, C-contiguous int64 copy of `values`."""
    array = np.array(values, dtype=np.int64, order="C")
    array.setflags(write=False)
    return array
