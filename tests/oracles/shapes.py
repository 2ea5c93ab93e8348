"""Plain descriptions of posed shapes: numbers only, mm, shared by the oracles and the generator of pairs.

Sizes are full diameters and full lengths. A shape with `along` lies on that axis of its own frame, centred on
the origin (an extrusion starts at 0 and ends at its thickness).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Literal, NamedTuple, TypeAlias

import numpy as np
import numpy.typing as npt

__all__ = [
    "Along",
    "Array",
    "Box",
    "Bracket",
    "Capsule",
    "Cone",
    "Cylinder",
    "Extrude",
    "Hull",
    "Ints",
    "Mesh",
    "Pair",
    "Piece",
    "Pipe",
    "Pose",
    "Shape",
    "Sphere",
    "Thing",
    "Tube",
    "along_matrix",
    "rotation_about",
    "single",
]

Array: TypeAlias = npt.NDArray[np.float64]
Ints: TypeAlias = npt.NDArray[np.int64]
Along: TypeAlias = Literal["x", "y", "z"]
Triple: TypeAlias = tuple[float, float, float]


class Bracket(NamedTuple):
    """The true number lies between `low` and `high`, mm."""

    low: float
    high: float

    @property
    def middle(self) -> float:
        return (self.low + self.high) / 2

    @property
    def width(self) -> float:
        return self.high - self.low


@dataclass(frozen=True, slots=True)
class Box:
    size: Triple


@dataclass(frozen=True, slots=True)
class Sphere:
    diameter: float


@dataclass(frozen=True, slots=True)
class Cylinder:
    diameter: float
    length: float
    along: Along = "z"


@dataclass(frozen=True, slots=True)
class Capsule:
    """`length` is overall, rounded ends included."""

    diameter: float
    length: float
    along: Along = "z"


@dataclass(frozen=True, slots=True)
class Cone:
    """A frustum: diameters `bottom` at the low end and `top` at the high end; one may be zero."""

    bottom: float
    top: float
    length: float
    along: Along = "z"


@dataclass(frozen=True, slots=True)
class Tube:
    outer: float
    inner: float
    length: float
    along: Along = "z"


@dataclass(frozen=True, slots=True)
class Pipe:
    """A ball of diameter `outside` swept along a polyline whose corners are rounded to radius `bend`."""

    outside: float
    through: tuple[Triple, ...]
    bend: float = 0.0


@dataclass(frozen=True, slots=True)
class Extrude:
    """A simple polygon swept from 0 to `thickness`; its two coordinates follow `along` in cyclic order."""

    outline: tuple[tuple[float, float], ...]
    thickness: float
    along: Along = "z"


@dataclass(frozen=True, slots=True, eq=False)
class Mesh:
    """A closed surface: `vertices` (n, 3), `faces` (m, 3) winding outward, in one connected piece."""

    name: str
    vertices: Array
    faces: Ints


@dataclass(frozen=True, slots=True, eq=False)
class Hull:
    """The convex hull of `vertices` (n, 3): one is a point, two a segment."""

    vertices: Array


Shape: TypeAlias = Box | Sphere | Cylinder | Capsule | Cone | Tube | Pipe | Extrude | Mesh | Hull


@dataclass(frozen=True, slots=True, eq=False)
class Pose:
    """`p_outer = rotation @ p_inner + translation`."""

    rotation: Array = field(default_factory=lambda: np.eye(3))
    translation: Array = field(default_factory=lambda: np.zeros(3))

    def __matmul__(self, other: Pose) -> Pose:
        return Pose(self.rotation @ other.rotation, self.apply(other.translation))

    def apply(self, points: Array) -> Array:
        moved: Array = points @ self.rotation.T + self.translation
        return moved

    def shifted(self, by: Array) -> Pose:
        return Pose(self.rotation, self.translation + by)


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """One shape of a thing, put at `pose` in the thing's own frame and grown by a ball of radius `wrap`."""

    shape: Shape
    pose: Pose = field(default_factory=Pose)
    wrap: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Thing:
    """A rigid part of one or several pieces. `kind` is the word the tables sort by."""

    kind: str
    pieces: tuple[Piece, ...]
    pose: Pose = field(default_factory=Pose)

    def shifted(self, by: Array) -> Thing:
        return Thing(self.kind, self.pieces, self.pose.shifted(by))


@dataclass(frozen=True, slots=True, eq=False)
class Pair:
    """Two things and the situation they were put in; `label` finds the pair again."""

    label: str
    situation: str
    a: Thing
    b: Thing


def single(
    shape: Shape, at: Sequence[float] = (0, 0, 0), rotation: Array | None = None, *, wrap: float = 0.0
) -> Thing:
    """A thing of one piece, its own zero put at `at`."""
    turned = np.eye(3) if rotation is None else rotation
    return Thing(type(shape).__name__.lower(), (Piece(shape, Pose(), wrap),), Pose(turned, np.array(at, float)))


@lru_cache
def along_matrix(along: Along) -> Array:
    """Carries a shape built along z to lie along `along`: a cyclic change of axes."""
    shift = {"z": 0, "x": 1, "y": 2}[along]
    return np.roll(np.eye(3), shift, axis=0)


def rotation_about(axis: Sequence[float] | Array, degrees: float) -> Array:
    """Right-handed turn about `axis` through the origin (Rodrigues' formula)."""
    x, y, z = np.asarray(axis, float) / np.linalg.norm(axis)
    cross = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    angle = np.radians(degrees)
    matrix: Array = np.eye(3) + np.sin(angle) * cross + (1 - np.cos(angle)) * cross @ cross
    return matrix
