"""Random shapes of every kind, on a grid or free: ordinary ones, plates, needles and wild ones."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from tests.oracles import meshes
from tests.oracles.bodies import box_corners
from tests.oracles.shapes import (
    Along,
    Array,
    Box,
    Capsule,
    Cone,
    Cylinder,
    Extrude,
    Mesh,
    Piece,
    Pipe,
    Pose,
    Shape,
    Sphere,
    Thing,
    Tube,
    rotation_about,
)

__all__ = ["KINDS", "Maker"]

KINDS = (
    "box",
    "sphere",
    "cylinder",
    "capsule",
    "cone",
    "tube",
    "pipe",
    "extrude",
    "mesh convex",
    "mesh closed",
    "compound",
)

SMALLEST, LARGEST = 0.5, 2000.0  # mm
SHEET = 0.6  # mm, the thinnest plate
STYLES = ("ordinary", "plate", "needle", "wild")


@dataclass(frozen=True, slots=True)
class Maker:
    """Draws shapes from `rng`. With `grid` (mm) all sizes are multiples of it, but for sheets and needles."""

    rng: np.random.Generator
    grid: float | None
    base: float
    style: str

    @staticmethod
    def drawn(rng: np.random.Generator, grid: float | None, largest: float = 600.0) -> Maker:
        """A maker of things of about one size, between 2 mm and `largest`."""
        base = float(np.exp(rng.uniform(np.log(2), np.log(max(largest, 2.1)))))
        return Maker(rng, grid, base, str(rng.choice(STYLES, p=[0.65, 0.12, 0.08, 0.15])))

    def thing(self, kind: str) -> Thing:
        """A thing of one piece (of several when it is a compound), its own zero at the origin."""
        if kind == "compound":
            return Thing(kind, tuple(self._joined() for _ in range(self.rng.integers(2, 4))))
        return Thing(kind, (Piece(self._shape(kind), Pose(), self._wrap()),))

    def rotation(self) -> Array:
        """Any turn; on a grid one of the 24 that keep the axes, half the time none."""
        if self.grid is None:
            return rotation_about(self.rng.normal(size=3), self.rng.uniform(0, 180))
        return _square_turn(self.rng) if self.rng.random() < 0.5 else np.eye(3)

    def offset(self, reach: Array) -> Array:
        """A shift within +-`reach` (3,), on the grid."""
        shift = self.rng.uniform(-1, 1, 3) * reach
        return shift if self.grid is None else np.round(shift / self.grid) * self.grid

    def _length(self, least: float = SMALLEST) -> float:
        if self.style == "wild":
            drawn = float(np.exp(self.rng.uniform(np.log(SMALLEST), np.log(LARGEST))))
        else:
            drawn = min(self.base * self.rng.uniform(0.2, 1.5), LARGEST)
        return self._on_grid(max(drawn, least))

    def _on_grid(self, length: float) -> float:
        return length if self.grid is None else max(round(length / self.grid), 1) * self.grid

    def _thin(self, least: float = SMALLEST) -> float:
        """The measure that makes a plate or a needle; an ordinary length for other styles."""
        return SHEET if self.style in ("plate", "needle") else self._length(least)

    def _wide(self) -> float:
        return SHEET if self.style == "needle" else self._length()

    def _along(self) -> Along:
        axes: tuple[Along, ...] = ("x", "y", "z")
        return axes[self.rng.integers(3)]

    def _wrap(self) -> float:
        if self.rng.random() > 0.12:
            return 0.0
        return self._on_grid(self.rng.uniform(1, 20))

    def _joined(self) -> Piece:
        kind = str(self.rng.choice(["box", "cylinder", "sphere", "capsule", "cone", "tube", "extrude"]))
        return Piece(self._shape(kind), Pose(self.rotation(), self.offset(np.full(3, self.base))))

    def _shape(self, kind: str) -> Shape:
        return _DRAW[kind](self)

    def _box(self) -> Box:
        size = self.rng.permutation([self._thin(), self._wide(), self._length()])
        return Box((float(size[0]), float(size[1]), float(size[2])))

    def _sphere(self) -> Sphere:
        return Sphere(self._length())

    def _bar(self) -> tuple[float, float]:
        """Diameter and length of something round: a disc when flat, a needle when thin."""
        if self.style == "plate":
            return self._length(), SHEET
        return self._wide(), self._length()

    def _cylinder(self) -> Cylinder:
        return Cylinder(*self._bar(), self._along())

    def _capsule(self) -> Capsule:
        diameter = self._wide()
        return Capsule(diameter, diameter + self._length(), self._along())

    def _cone(self) -> Cone:
        wide, length = self._bar()
        ends = [wide, self.rng.choice([0.0, self._length(), self._on_grid(wide / 2)])]
        bottom, top = self.rng.permutation(ends)
        return Cone(float(bottom), float(top), length, self._along())

    def _tube(self) -> Tube:
        outer, length = self._bar()
        inner = outer * self.rng.choice([0.3, 0.5, 0.8, 0.95])
        if self.grid is not None and self._on_grid(inner) < outer:
            inner = self._on_grid(inner)
        return Tube(outer, float(inner), length, self._along())

    def _pipe(self) -> Pipe:
        """Steps long enough for their bends, and a radius more at both ends."""
        outside = min(self._wide(), self.base)
        bend = self._on_grid(outside * self.rng.choice([0.6, 1.0, 1.5, 3.0])) * (self.rng.random() < 0.7)
        bend = max(bend, outside / 2)
        steps = self._steps(int(self.rng.integers(1, 5)))
        turns = [0.0, *(_turn(before, after) for before, after in pairwise(steps)), 0.0]
        points = [np.zeros(3)]
        for step, (first, last) in zip(steps, pairwise(turns), strict=True):
            bent = bend * (np.tan(first / 2) + np.tan(last / 2))
            length = bent + outside + self._length()
            length = length if self.grid is None else np.ceil(length / self.grid) * self.grid
            points.append(points[-1] + step * length)
        return Pipe(outside, tuple((float(x), float(y), float(z)) for x, y, z in points), float(bend))

    def _steps(self, count: int) -> list[Array]:
        """Unit directions, each turned from the one before by 90 degrees on a grid, by 20 to 120 else."""
        steps = [self.rotation()[0]]
        while len(steps) < count:
            across = np.cross(steps[-1], np.roll(steps[-1], 1) if self.grid else self.rng.normal(size=3))
            degrees = self.rng.choice([90.0, -90.0]) if self.grid else self.rng.uniform(20, 120)
            turned = rotation_about(across, degrees) @ steps[-1]
            steps.append(np.round(turned) if self.grid else turned)
        return steps

    def _extrude(self) -> Extrude:
        width, height = self._length(), self._length()
        if self.rng.random() < 0.5:
            wall = self._on_grid(min(width, height) * 0.3)
            if wall < min(width, height):
                corners = [(0, 0), (width, 0), (width, wall), (wall, wall), (wall, height), (0, height)]
                return Extrude(tuple((float(x), float(y)) for x, y in corners), self._thin(), self._along())
        shape = self.rng.choice(3)
        slope = self._on_grid(width / 2)
        outline = [
            ((0.0, 0.0), (width, 0.0), (slope, height)),
            ((0.0, 0.0), (width + slope, 0.0), (width, height), (0.0, height)),
            ((-slope, 0.0), (0.0, -height), (width, 0.0), (width, height), (0.0, 2 * height)),
        ][shape]
        return Extrude(outline, self._thin(), self._along())

    def _convex_mesh(self) -> Mesh:
        if self.rng.random() < 0.4:
            return meshes.ball_mesh(self._length())
        if self.rng.random() < 0.7:
            return meshes.box_mesh(self._box().size)
        corners = box_corners(self._box().size)
        return meshes.hull_mesh("trimmed box", np.delete(corners, self.rng.integers(8), axis=0))

    def _closed_mesh(self) -> Mesh:
        wide, wall = self._length(), self._thin()
        wall = min(wall, wide / 4)
        drawn: list[Callable[[], Mesh]] = [
            lambda: meshes.torus_mesh(wide, wall),
            lambda: meshes.ring_mesh(wide, wide - 2 * wall, self._length()),
            lambda: meshes.cup_mesh(wide, max(self._length(), 2 * wall), wall),
            lambda: meshes.angle_mesh(wide, max(self._length(), 2 * wall), wall, self._length()),
        ]
        return drawn[self.rng.integers(len(drawn))]()


_DRAW: dict[str, Callable[[Maker], Shape]] = {
    "box": Maker._box,
    "sphere": Maker._sphere,
    "cylinder": Maker._cylinder,
    "capsule": Maker._capsule,
    "cone": Maker._cone,
    "tube": Maker._tube,
    "pipe": Maker._pipe,
    "extrude": Maker._extrude,
    "mesh convex": Maker._convex_mesh,
    "mesh closed": Maker._closed_mesh,
}


def _square_turn(rng: np.random.Generator) -> Array:
    """One of the 24 turns that carry the axes onto the axes."""
    turn: Array = np.eye(3)[rng.permutation(3)] * rng.choice([-1.0, 1.0], 3)[:, None]
    return turn if np.linalg.det(turn) > 0 else -turn


def _turn(before: Array, after: Array) -> float:
    """Angle between two directions, radians."""
    return float(np.arctan2(np.linalg.norm(np.cross(before, after)), before @ after))
