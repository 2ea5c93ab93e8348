"""Small closed meshes, faces outward: convex ones, and the shapes that make engines stumble."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.spatial import ConvexHull

from tests.oracles.bodies import box_corners
from tests.oracles.polygons import ears_of
from tests.oracles.shapes import Array, Ints, Mesh

__all__ = ["angle_mesh", "ball_mesh", "box_mesh", "cup_mesh", "hull_mesh", "lathe_mesh", "ring_mesh", "torus_mesh"]


def box_mesh(size: tuple[float, float, float]) -> Mesh:
    """Twelve triangles about the middle."""
    return hull_mesh("box mesh", box_corners(size))


def ball_mesh(diameter: float) -> Mesh:
    """An icosahedron, its edges halved once: 80 triangles with corners on the sphere."""
    golden = (1 + np.sqrt(5)) / 2
    signs = [(a, b) for a in (-1, 1) for b in (-1, 1)]
    corners = np.array([np.roll([0, a, b * golden], k) for k in range(3) for a, b in signs])
    middles = [(p + q) / 2 for i, p in enumerate(corners) for q in corners[:i] if np.linalg.norm(p - q) < 2.1]
    points = np.vstack([corners, middles])
    return hull_mesh("ball", points / np.linalg.norm(points, axis=1, keepdims=True) * diameter / 2)


def torus_mesh(ring: float, bar: float, steps: int = 16, sides: int = 8) -> Mesh:
    """A ring of diameter `ring` (to the middle of the bar) of round bar of diameter `bar`, about z."""
    angles = 2 * np.pi * np.arange(sides) / sides
    profile = np.column_stack([ring / 2 + bar / 2 * np.cos(angles), bar / 2 * np.sin(angles)])
    return lathe_mesh("torus", profile, steps)


def ring_mesh(outer: float, inner: float, length: float, steps: int = 16) -> Mesh:
    """A ring of square section about z and the middle."""
    half = length / 2
    return lathe_mesh("ring", [(inner / 2, -half), (outer / 2, -half), (outer / 2, half), (inner / 2, half)], steps)


def cup_mesh(outer: float, height: float, wall: float, steps: int = 16) -> Mesh:
    """A cup standing on z = 0, open at the top."""
    inside = outer / 2 - wall
    profile = [(0, 0), (outer / 2, 0), (outer / 2, height), (inside, height), (inside, wall), (0, wall)]
    return lathe_mesh("cup", profile, steps)


def angle_mesh(width: float, height: float, wall: float, length: float) -> Mesh:
    """An angle bracket: legs along x and y from the origin, `length` along z."""
    outline = [(0, 0), (width, 0), (width, wall), (wall, wall), (wall, height), (0, height)]
    ring = np.array(outline, float)
    count = len(ring)
    cap = ears_of(ring)
    here, after = np.arange(count), (np.arange(count) + 1) % count
    sides = [np.column_stack([here, after, after + count]), np.column_stack([here, after + count, here + count])]
    vertices = np.vstack([np.column_stack([ring, np.full(count, z)]) for z in (0.0, length)])
    return Mesh("angle", vertices, np.vstack([cap[:, ::-1], cap + count, *sides]))


def lathe_mesh(name: str, profile: Sequence[tuple[float, float]] | Array, steps: int) -> Mesh:
    """A closed profile (n, 2) of (across, along z), anticlockwise, turned about z; points on the axis are tips."""
    corners = np.asarray(profile, float)
    angles = 2 * np.pi * np.arange(steps) / steps
    rings = [np.column_stack([r * np.cos(angles), r * np.sin(angles), np.full(steps, z)]) for r, z in corners]
    start = np.arange(len(corners)) * steps
    faces = []
    for k, low in enumerate(start):
        high = start[(k + 1) % len(corners)]
        for i in range(steps):
            j = (i + 1) % steps
            faces += [[low + i, low + j, high + j], [low + i, high + j, high + i]]
    return _merged(name, np.vstack(rings), np.array(faces))


def _merged(name: str, vertices: Array, faces: Ints) -> Mesh:
    """Points in one place become one vertex, and faces without area go."""
    _, first, place = np.unique(np.round(vertices, 9), axis=0, return_index=True, return_inverse=True)
    faces = place.reshape(-1)[faces]
    keep = (faces != np.roll(faces, 1, axis=1)).all(axis=1)
    return Mesh(name, vertices[first], faces[keep].astype(np.int64))


def hull_mesh(name: str, points: Array) -> Mesh:
    """The surface of the convex hull of points that are all its corners."""
    hull = ConvexHull(points)
    a, b, c = np.moveaxis(points[hull.simplices], 1, 0)
    inward = np.einsum("ij,ij->i", np.cross(b - a, c - a), hull.equations[:, :3]) < 0
    faces = np.where(inward[:, None], hull.simplices[:, ::-1], hull.simplices)
    return Mesh(name, points, faces.astype(np.int64))
