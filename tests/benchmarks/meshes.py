"""Closed meshes of about a given number of triangles, no two alike, and the plainest file that holds one."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from packcheck.arrays import Faces, Floats, Points

__all__ = ["drawn_mesh", "scanned_ball", "write_stl"]

_FACET = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def drawn_mesh(rng: np.random.Generator, triangles: int) -> tuple[Points, Faces]:
    """Vertices (n, 3) mm about the middle and faces (m, 3) of a bumpy ball, a ribbed box or a ring.

    `triangles` is met to within the next number that is four times a square.
    """
    kinds = (_bumpy_ball, _ribbed_box, _ring)
    rows = round((triangles / 4) ** 0.5)
    return kinds[rng.integers(len(kinds))](rng, rows)


def scanned_ball(triangles: int, radius: float) -> tuple[Points, Faces]:
    """A ball dented inward here and there by up to 2 %, of about so many triangles."""
    directions, faces = _globe(round((triangles / 4) ** 0.5))
    dents = 0.02 * np.square(np.sin(9 * directions)).prod(axis=1)
    return directions * (radius * (1 - dents))[:, None], faces


def write_stl(path: Path, vertices: Points, faces: Faces) -> None:
    """A binary STL file; readers work out the normals themselves."""
    facets = np.zeros(len(faces), dtype=_FACET)
    facets["corners"] = vertices[faces]
    path.write_bytes(bytes(80) + np.uint32(len(faces)).tobytes() + facets.tobytes())


def _bumpy_ball(rng: np.random.Generator, rows: int) -> tuple[Points, Faces]:
    directions, faces = _globe(rows)
    waves = rng.integers(2, 7, 3)
    bumps = np.sin(waves * np.pi * directions + rng.uniform(0, 6, 3)).prod(axis=1)
    return directions * rng.uniform(25, 45, 3) * (1 + rng.uniform(0.05, 0.2) * bumps)[:, None], faces


def _ribbed_box(rng: np.random.Generator, rows: int) -> tuple[Points, Faces]:
    directions, faces = _globe(rows)
    halves = rng.uniform(20, 45, 3)
    points = directions / np.abs(directions / halves).max(axis=1)[:, None]
    pitch, height = rng.uniform(8, 16), rng.uniform(0.03, 0.08)
    on_rib = np.floor(points[:, rng.integers(3)] / pitch) % 2
    return points * (1 + height * on_rib)[:, None], faces


def _ring(rng: np.random.Generator, rows: int) -> tuple[Points, Faces]:
    round_ring, round_tube = np.meshgrid(_turn(2 * rows), _turn(rows), indexing="ij")
    tube = rng.uniform(7, 13)
    out = rng.uniform(1.8, 3.5) * tube + tube * np.cos(round_tube)
    points = np.stack([out * np.cos(round_ring), out * np.sin(round_ring), tube * np.sin(round_tube)], axis=-1)
    return points.reshape(-1, 3), _quads(2 * rows, rows, closed=True)


def _globe(rows: int) -> tuple[Points, Faces]:
    """Unit directions on `rows` circles of latitude and at both poles, and faces that close them."""
    columns = 2 * rows
    latitude = (np.arange(rows) + 1) * np.pi / (rows + 1)
    down, round_pole = np.meshgrid(latitude, _turn(columns), indexing="ij")
    belt = np.stack([np.sin(down) * np.cos(round_pole), np.sin(down) * np.sin(round_pole), np.cos(down)], axis=-1)
    here = np.arange(columns)
    after, last = (here + 1) % columns, rows * columns
    north = np.column_stack([np.full(columns, last), here, after])
    south = np.column_stack([np.full(columns, last + 1), last - columns + after, last - columns + here])
    points = np.vstack([belt.reshape(-1, 3), [[0, 0, 1], [0, 0, -1]]])
    return points, np.vstack([_quads(rows, columns, closed=False), north, south])


def _quads(rows: int, columns: int, *, closed: bool) -> Faces:
    """Two triangles for each cell of a grid whose columns meet again, and whose rows do when `closed`."""
    row, column = np.meshgrid(np.arange(rows if closed else rows - 1), np.arange(columns), indexing="ij")
    here, right = (row * columns + (column + step) % columns for step in (0, 1))
    below, across = ((row + 1) % rows * columns + (column + step) % columns for step in (0, 1))
    return np.vstack([_rows(here, below, across), _rows(here, across, right)])


def _rows(*corners: Faces) -> Faces:
    return np.stack(corners, axis=-1).reshape(-1, 3)


def _turn(count: int) -> Floats:
    return np.linspace(0, 2 * np.pi, count, endpoint=False)
