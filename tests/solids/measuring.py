"""Measures of a triangle mesh, taken independently of the package."""

from __future__ import annotations

import numpy as np

from packcheck.arrays import Faces, Floats, Point, Points
from packcheck.solids.core.solid import Solid

__all__ = ["area_of", "solid_angles", "volume_of", "winding_at"]


def volume_of(solid: Solid) -> float:
    """Signed volume, mm3: tetrahedra over the first vertex."""
    corners = solid.vertices[solid.faces] - solid.vertices[0]
    return float(np.linalg.det(corners).sum() / 6)


def area_of(solid: Solid) -> float:
    corners = solid.vertices[solid.faces]
    sides = corners[:, 1:] - corners[:, :1]
    return float(np.linalg.norm(np.cross(sides[:, 0], sides[:, 1]), axis=1).sum() / 2)


def solid_angles(point: Point, vertices: Points, faces: Faces) -> Floats:
    """Signed solid angle (m,) of each triangle from `point`, sr: spherical excess over the three dihedral angles.

    Source: any text on spherical trigonometry (Girard's theorem).
    """
    rays = vertices[faces] - point
    rays = rays / np.linalg.norm(rays, axis=2, keepdims=True)
    angles = np.zeros(len(faces))
    for here in range(3):
        a, b, c = rays[:, here], rays[:, (here + 1) % 3], rays[:, (here + 2) % 3]
        left, right = np.cross(a, b), np.cross(a, c)
        lengths = np.linalg.norm(left, axis=1) * np.linalg.norm(right, axis=1)
        angles += np.arccos(np.clip((left * right).sum(axis=1) / lengths, -1, 1))
    solid_angles: Floats = np.sign(np.linalg.det(rays)) * (angles - np.pi)
    return solid_angles


def winding_at(point: Point, solid: Solid) -> float:
    """How often the core winds round `point`."""
    return float(solid_angles(point, solid.vertices, solid.faces).sum() / (4 * np.pi))
