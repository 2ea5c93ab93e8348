r"""A sheet through a grid of measured heights, and how far the true one may be from it.

Four points span a cell, and they rarely lie in one plane: a straight-edge laid over one diagonal passes above or
below one laid over the other. The cell is drawn as four triangles round the place where the diagonals cross,
half-way between the two:

    o-----o          every triangulation of the cell stays within half of what the diagonals are apart, `twist`;
    | \ / |          a surface within `between` of any straight-edge stays within between + twist / 2 of this,
    | / \ |          counted along the heights, and so no farther in any direction
    o-----o

Whatever lies within the thickness on one side of the true surface then lies as near to the drawn sheet, away from
the rim, which is cut square to the drawing.
"""

from __future__ import annotations

import numpy as np

from packcheck.arrays import Faces, Floats, Points, flat_cross, frozen, frozen_faces
from packcheck.scene.model.scene import Skin
from packcheck.solids.core.coherent import coherent_order
from packcheck.solids.core.solid import Solid
from packcheck.solids.meshes.sheets import skin_of

__all__ = ["measured_skin"]


def measured_skin(shape: Skin) -> Solid:
    """The sheet about its own zero. Its `error` holds `between`, the twist of the cells, and what mitres leave."""
    grid = np.asarray(shape.grid)
    axis, sign = shape.up
    plan = [k for k in range(3) if k != axis]
    middles, twist = _middles(grid, axis, plan)
    vertices = np.concatenate([grid.reshape(-1, 3), middles.reshape(-1, 3)])
    faces = _facing(vertices, _fans(*grid.shape[:2]), axis, sign)
    made = skin_of(vertices, faces, shape.thickness, shape.side)
    return Solid(
        frozen(made.vertices),
        frozen_faces(made.faces[coherent_order(made.vertices, made.faces)]),
        radius=made.radius,
        error=made.error + shape.between + twist / 2,
        closed=not made.reason,
        pieces=frozen(made.vertices[made.faces[0, 0]][None]),
    )


def _middles(grid: Floats, axis: int, plan: list[int]) -> tuple[Floats, float]:
    """Where the diagonals of each cell cross (n, m, 3), half-way between them, and the most they are apart, mm."""
    a, b, c, d = grid[:-1, :-1], grid[1:, :-1], grid[1:, 1:], grid[:-1, 1:]
    one, other, between = (_flat(v, plan) for v in (c - a, d - b, b - a))
    share = (flat_cross(between, other) / flat_cross(one, other))[..., None]
    back = (flat_cross(between, one) / flat_cross(one, other))[..., None]
    on_one, on_other = a + share * (c - a), b + back * (d - b)
    twist = float(np.abs(on_one - on_other)[..., axis].max())
    middles: Floats = (on_one + on_other) / 2
    return middles, twist


def _flat(vectors: Floats, plan: list[int]) -> Floats:
    return vectors[..., plan]


def _fans(rows: int, places: int) -> Faces:
    """Four triangles for each cell: corners of the grid first, middles behind them."""
    corner = np.arange(rows * places).reshape(rows, places)
    middle = rows * places + np.arange((rows - 1) * (places - 1)).reshape(rows - 1, places - 1)
    a, b, c, d = corner[:-1, :-1], corner[1:, :-1], corner[1:, 1:], corner[:-1, 1:]
    fans = [np.stack([p, q, middle], axis=-1) for p, q in ((a, b), (b, c), (c, d), (d, a))]
    return np.stack(fans, axis=2).reshape(-1, 3)


def _facing(vertices: Points, faces: Faces, axis: int, sign: int) -> Faces:
    """The faces, all wound alike, so that they look the way the heights count."""
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    looks = float(np.cross(b - a, c - a)[:, axis].sum()) * sign
    return faces if looks > 0 else faces[:, ::-1]
