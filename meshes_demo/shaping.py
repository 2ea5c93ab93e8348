"""The sheet-metal and casting tools of the demo meshes: sweeps, lofts, turned parts, rounded boxes.

Closed shapes are `Manifold`s (mm), so that joining them always gives one clean outer surface.
Open skins are plain grids of points.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TypeAlias

import numpy as np
import numpy.typing as npt
from manifold3d import Manifold, Mesh64, OpType
from scipy.interpolate import CubicSpline

__all__ = [
    "Faces",
    "Points",
    "along_x",
    "along_y",
    "bar",
    "drum",
    "grid_faces",
    "joined",
    "loft",
    "ring_across_x",
    "ring_across_y",
    "rounded_box",
    "rounded_ring",
    "smooth_path",
    "sweep",
    "triangles",
    "turned",
]

Points: TypeAlias = npt.NDArray[np.float64]
Faces: TypeAlias = npt.NDArray[np.int64]
SHORTEST = 0.03  # mm; edges shorter than this are slivers left by a cut
GRID = 100  # points of the grid per mm, to which vertices are rounded before they are written


def joined(shapes: Iterable[Manifold]) -> Manifold:
    """All `shapes` welded into one."""
    return Manifold.batch_boolean(list(shapes), OpType.Add)


def triangles(shape: Manifold) -> tuple[Points, Faces]:
    """Vertices (n, 3) mm and faces (m, 3) of the outside of a shape, on a grid of 0.01 mm."""
    outside = max(shape.decompose(), key=Manifold.volume)
    for _ in range(3):  # rounding may close a sliver, closing it may leave another
        points, faces = _arrays(outside.simplify(SHORTEST))
        points = np.round(points * GRID) / GRID
        outside = Manifold(Mesh64(points, faces.astype(np.uint64)))
    return points, faces


def _arrays(shape: Manifold) -> tuple[Points, Faces]:
    mesh = shape.to_mesh64()
    return np.array(mesh.vert_properties)[:, :3], np.array(mesh.tri_verts).astype(np.int64)


def loft(rings: Points | Sequence[Points]) -> Manifold:
    """The solid skinned over `rings` (n, m, 3): n closed rings of m points, ends filled flat."""
    skin = np.asarray(rings)
    count, sides = skin.shape[:2]
    walls = grid_faces(count, sides, closed=True)
    caps = skin[[0, -1]].mean(axis=1)
    first, last = count * sides, count * sides + 1
    here = np.arange(sides)
    there = (here + 1) % sides
    top = (count - 1) * sides
    ends = [
        np.column_stack([np.full(sides, first), here, there]),
        np.column_stack([np.full(sides, last), top + there, top + here]),
    ]
    faces = np.vstack([walls, *ends])
    return _outward(np.vstack([skin.reshape(-1, 3), caps]), faces)


def grid_faces(rows: int, columns: int, *, closed: bool = False) -> Faces:
    """Triangles of a grid of `rows` x `columns` points, facing row x column; `closed` joins the columns up."""
    row, column = np.meshgrid(np.arange(rows - 1), np.arange(columns if closed else columns - 1), indexing="ij")
    a = (row * columns + column).ravel()
    b = (row * columns + (column + 1) % columns).ravel()
    c, d = a + columns, b + columns
    # alternate diagonals, so that a bulge does not lean to one side
    even = ((row + column) % 2 == 0).ravel()[:, None]
    first = np.where(even, np.column_stack([a, d, b]), np.column_stack([a, c, b]))
    second = np.where(even, np.column_stack([a, c, d]), np.column_stack([b, c, d]))
    faces: Faces = np.vstack([first, second]).astype(np.int64)
    return faces


def _outward(points: Points, faces: Faces) -> Manifold:
    corners = points[faces]
    volume = np.einsum("ij,ij->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2]))
    wound = faces if volume > 0 else faces[:, ::-1]
    return Manifold(Mesh64(np.ascontiguousarray(points), np.ascontiguousarray(wound).astype(np.uint64)))


def smooth_path(knots: Sequence[Sequence[float]], steps: int) -> Points:
    """A smooth curve (steps, 3) through `knots`, stepped evenly along the chords."""
    corners = np.asarray(knots, dtype=np.float64)
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(corners, axis=0), axis=1))])
    curve: Points = CubicSpline(along, corners)(np.linspace(0.0, along[-1], steps))
    return curve


def sweep(path: Points, radii: float | Sequence[float] | Points, sides: int = 24) -> Manifold:
    """A round bar along `path` (n, 3); `radii` one number or one per point."""
    forward = np.gradient(path, axis=0)
    forward /= np.linalg.norm(forward, axis=1, keepdims=True)
    across = _carried_across(forward)
    angle = np.linspace(0.0, 2 * np.pi, sides, endpoint=False)
    upright = np.cross(forward, across)
    circle = np.cos(angle)[:, None] * across[:, None] + np.sin(angle)[:, None] * upright[:, None]
    size = np.broadcast_to(np.asarray(radii, dtype=np.float64), (len(path),))
    return loft(path[:, None] + size[:, None, None] * circle)


def _carried_across(forward: Points) -> Points:
    """A direction square to the path, carried along without twisting."""
    start = np.cross(forward[0], np.eye(3)[np.argmin(np.abs(forward[0]))])
    across = [start / np.linalg.norm(start)]
    for ahead in forward[1:]:
        square = across[-1] - ahead * (across[-1] @ ahead)
        across.append(square / np.linalg.norm(square))
    return np.array(across)


def turned(profile: Sequence[tuple[float, float]], sides: int = 48) -> Manifold:
    """A lathe part about z: `profile` holds (height, radius) from the bottom up."""
    height, radius = np.asarray(profile, dtype=np.float64).T
    angle = np.linspace(0.0, 2 * np.pi, sides, endpoint=False)
    ring = np.column_stack([np.cos(angle), np.sin(angle), np.zeros(sides)])
    return loft(radius[:, None, None] * ring + height[:, None, None] * np.array([0.0, 0.0, 1.0]))


def drum(radius: float, low: float, high: float, edge: float = 1.5, sides: int = 32) -> Manifold:
    """A round boss about z from `low` to `high` with broken edges."""
    return turned([(low, radius - edge), (low + edge, radius), (high - edge, radius), (high, radius - edge)], sides)


def along_x(shape: Manifold) -> Manifold:
    """The same shape with its z axis laid along x."""
    return shape.rotate((0.0, 90.0, 0.0))


def along_y(shape: Manifold) -> Manifold:
    """The same shape with its z axis laid along y."""
    return shape.rotate((-90.0, 0.0, 0.0))


def rounded_box(low: Sequence[float], high: Sequence[float], radius: float, sides: int = 12) -> Manifold:
    """A box between two corners with edges rounded to `radius`."""
    ends = np.array([low, high], dtype=np.float64) + np.array([[radius], [-radius]])
    ball = Manifold.sphere(radius, sides)
    corners = [ball.translate((x, y, z)) for x in ends[:, 0] for y in ends[:, 1] for z in ends[:, 2]]
    return Manifold.batch_hull(corners)


def bar(start: Sequence[float], end: Sequence[float], width: float, sides: int = 8) -> Manifold:
    """A round-backed rib from `start` to `end`."""
    return sweep(np.linspace(start, end, 2), width / 2, sides)


def rounded_ring(width: float, height: float, power: float, sides: int = 64) -> Points:
    """A ring (sides, 2) between circle (`power` 2) and rectangle (large `power`): a superellipse."""
    angle = np.linspace(0.0, 2 * np.pi, sides, endpoint=False)
    cos, sin = np.cos(angle), np.sin(angle)
    reach = (np.abs(cos) ** power + np.abs(sin) ** power) ** (-1 / power)
    return np.column_stack([width / 2 * cos * reach, height / 2 * sin * reach])


def ring_across_x(ring: Points, x: float, y: float = 0.0, z: float = 0.0) -> Points:
    """`ring` (n, 2) stood square to the x axis, its middle at x, y, z."""
    return np.column_stack([np.full(len(ring), x), ring[:, 0] + y, ring[:, 1] + z])


def ring_across_y(ring: Points, x: float, y: float, z: float = 0.0) -> Points:
    """`ring` (n, 2) stood square to the y axis, its middle at x, y, z."""
    return np.column_stack([ring[:, 0] + x, np.full(len(ring), y), ring[:, 1] + z])
