"""Volume, first and second moments of solids: what their weight, middle and inertia follow from.

Moments are taken about the zero of the frame, at unit density, so that they add up:

    volume  int dV      first  int x dV      second  int x x^T dV      (mm^3, mm^4, mm^5)

Inertia about the centre of mass follows by the parallel axis rule.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import reduce

import numpy as np

from packcheck.arrays import Faces, Floats, Matrix3, Point, Points, Vector
from packcheck.frames import Pose

__all__ = ["NOTHING", "Bulk", "added", "of_triangles", "triangle_area"]


@dataclass(frozen=True, slots=True, eq=False)
class Bulk:
    """Moments of a solid. The true volume lies in [low, high] mm^3; `area` is its surface, mm^2."""

    volume: float
    first: Vector
    second: Matrix3
    area: float
    low: float
    high: float

    @staticmethod
    def exact(volume: float, first: Vector, second: Matrix3, area: float) -> Bulk:
        """Moments known to the rounding of a float."""
        return Bulk(volume, first, second, area, volume, volume)

    @property
    def middle(self) -> Point:
        """Centre of volume (3,), mm."""
        centre: Point = self.first / self.volume
        return centre

    def __add__(self, other: Bulk) -> Bulk:
        return Bulk(
            self.volume + other.volume,
            self.first + other.first,
            self.second + other.second,
            self.area + other.area,
            self.low + other.low,
            self.high + other.high,
        )

    def times(self, factor: float) -> Bulk:
        """The same with every moment multiplied; -1 takes a bore away, a density makes masses of volumes.

        The area stays as it is.
        """
        ends = sorted((self.low * factor, self.high * factor))
        return Bulk(self.volume * factor, self.first * factor, self.second * factor, self.area, *ends)

    def placed(self, pose: Pose) -> Bulk:
        """The same solid seen from the frame into which `pose` leads."""
        turned, shift = pose.rotation @ self.first, pose.translation
        second = pose.rotation @ self.second @ pose.rotation.T
        second = second + np.outer(turned, shift) + np.outer(shift, turned)
        second = second + self.volume * np.outer(shift, shift)
        return Bulk(self.volume, turned + self.volume * shift, second, self.area, self.low, self.high)

    def inertia(self) -> Matrix3:
        """Inertia tensor (3, 3) about the centre of mass, along the axes of the frame; diagonal is moments."""
        central = self.second - np.outer(self.first, self.first) / self.volume
        tensor: Matrix3 = np.trace(central) * np.eye(3) - central
        return tensor


NOTHING = Bulk.exact(0.0, np.zeros(3), np.zeros((3, 3)), 0.0)


def added(bulks: Iterable[Bulk]) -> Bulk:
    """All of them together; what overlaps counts as often as it is there."""
    return reduce(Bulk.__add__, bulks, NOTHING)


def of_triangles(vertices: Points, faces: Faces, error: float = 0.0) -> Bulk:
    """Moments of a closed surface, as a sum of tetrahedra over its triangles (divergence theorem).

    Parameters
    ----------
    vertices, faces : (n, 3) mm, (m, 3)
        Wound outward.
    error : float
        Largest distance of the true surface from the triangles, mm. The volume can be off by the layer of that
        thickness, taken as 1.1 times area and thickness for what the layer gains round its edges.
    """
    middle = vertices.mean(axis=0)  # near the surface, so that little is lost to cancellation
    a, b, c = (vertices[faces[:, k]] - middle for k in range(3))
    parts = np.einsum("ij,ij->i", a, np.cross(b, c)) / 6
    volume = float(parts.sum())
    total = a + b + c
    first = (parts[:, None] * total).sum(axis=0) / 4
    second = sum(np.einsum("i,ij,ik->jk", parts, x, x) for x in (a, b, c, total)) / 20
    area = triangle_area(vertices, faces)
    off = 1.1 * area * error
    bulk = Bulk(volume, first, np.asarray(second), area, volume - off, volume + off)
    return bulk.placed(Pose(np.eye(3), middle))


def triangle_area(vertices: Points, faces: Faces) -> float:
    """Area of the triangles, mm^2."""
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    areas: Floats = np.linalg.norm(np.cross(b - a, c - a), axis=1)
    return float(areas.sum()) / 2
