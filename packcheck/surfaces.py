"""What can be seen of the bay: posed triangles with names and kinds, for pictures, pages and exports.

Nothing is measured on these: curved faces are coarser here than in the kernel.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, TypeAlias

import numpy as np
import numpy.typing as npt

from packcheck.arrays import Faces, Floats, Matrix3, Point, Points, Vector, frozen

__all__ = [
    "FAIL",
    "INK",
    "OTHER",
    "PLAIN",
    "SHADES",
    "UNSURE",
    "Colour",
    "MapSlice",
    "Model",
    "Stance",
    "Surface",
    "shade",
]

Colour: TypeAlias = tuple[int, int, int]
"""sRGB, 0 to 255."""

FAIL: Final = (204, 84, 0)
"""What falls short. This orange and the blue stay apart for every kind of colour vision; neither says good."""
UNSURE: Final = (0, 102, 170)
"""What is undecided or was not checked; always drawn dashed as well."""
PLAIN: Final = (110, 116, 121)
"""What passes."""
INK: Final = (32, 38, 43)

SHADES: Final[dict[str, Colour]] = {
    "body": (198, 207, 213),
    "structure": (150, 158, 164),
    "shield": (214, 214, 206),
    "restraint": (172, 150, 150),
    "exhaust": (193, 172, 158),
    "hot": (193, 172, 158),
    "air": (205, 214, 220),
    "fuel": (202, 193, 168),
    "gas": (202, 193, 168),
    "oil": (190, 184, 160),
    "coolant": (176, 194, 200),
    "brake": (184, 178, 196),
    "clutch": (184, 178, 196),
    "electrical": (190, 186, 180),
    "battery": (190, 186, 180),
    "loom": (168, 160, 152),
    "engine": (199, 194, 184),
    "hand": (226, 214, 200),
}
OTHER: Final = (205, 203, 198)


@dataclass(frozen=True, slots=True, eq=False)
class Surface:
    """A part as it stands: `vertices` (n, 3) mm, car frame; `faces` (m, 3), wound outward where it is closed."""

    name: str
    kinds: tuple[str, ...]
    vertices: Points
    faces: Faces


@dataclass(frozen=True, slots=True, eq=False)
class Stance:
    """Where parts stand in one `pose` of the motions: turn (3, 3), shift (3,) mm from rest of each moved part."""

    pose: Mapping[str, object]
    moved: Mapping[str, tuple[Matrix3, Vector]]

    def carry(self, surface: Surface) -> Surface:
        """The surface as it stands in this pose."""
        if surface.name not in self.moved:
            return surface
        turn, shift = self.moved[surface.name]
        vertices = frozen(np.einsum("ij,nj->ni", turn, surface.vertices) + shift)
        return replace(surface, vertices=vertices)


@dataclass(frozen=True, slots=True, eq=False)
class Model:
    """The bay to be looked at, at rest. `axes` are what the positive x, y and z point to: fore, aft, left ...

    `sources` are the names and texts of the scene files it was made from; `stances` the poses that decide findings.
    """

    surfaces: tuple[Surface, ...] = ()
    axes: tuple[str, str, str] = ("aft", "right", "up")
    sources: tuple[tuple[str, str], ...] = ()
    stances: tuple[Stance, ...] = ()

    def stance(self, pose: Mapping[str, object]) -> Stance | None:
        """The stance of a finding's `pose`; None at rest, or where it is not known."""
        return next((stance for stance in self.stances if pose and stance.pose == pose), None)

    def at(self, pose: Mapping[str, object]) -> Model:
        """The bay with its motions where a finding's `pose` has them."""
        stance = self.stance(pose)
        if stance is None:
            return self
        return replace(self, surfaces=tuple(stance.carry(surface) for surface in self.surfaces))


@dataclass(frozen=True, slots=True, eq=False)
class MapSlice:
    """A map of places to be drawn at one `height`, mm along the third axis, which runs up or down.

    `states` (nx, ny, nz) of equal cells in `box` (2, 3) mm: 0 does not fit, 1 fits, 2 is undecided. `axes` as in a
    `Model`. `parts` stand around; the middle of the part to be placed stands `here` (3,) mm, and `spots` are places
    proposed for it.
    """

    states: npt.NDArray[np.int8]
    box: Floats
    axes: tuple[str, str, str]
    height: float
    parts: tuple[Surface, ...]
    here: Point
    spots: tuple[Point, ...]

    @property
    def thick(self) -> float:
        """Height of a layer of cells, mm."""
        return float(self.box[1, 2] - self.box[0, 2]) / int(self.states.shape[2])


def shade(kinds: Sequence[str]) -> Colour:
    """The calm colour of a part: that of the first of its kinds that has one."""
    return next((SHADES[kind] for kind in kinds if kind in SHADES), OTHER)
