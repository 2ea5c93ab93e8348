"""The map of places to be looked at: the bay, the pockets as blocks of cells, the part at each place proposed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

import numpy as np
import numpy.typing as npt

from packcheck.arrays import Faces, Points, frozen, frozen_faces
from packcheck.assembly.assembly import Assembly
from packcheck.drawing.looks import surfaces, up_from_car
from packcheck.frames import Pose
from packcheck.search import Grid
from packcheck.solids.exports import exported
from packcheck.surfaces import PLAIN, UNSURE, Surface, shade

__all__ = ["blocks", "exported_places"]

_TURNS: Final = ((0, 1, 2), (1, 2, 0), (2, 0, 1))


def exported_places(
    assembly: Assembly,
    part: str,
    pockets: Mapping[str, tuple[Grid, npt.NDArray[np.bool_]]],
    spots: Iterable[tuple[str, Pose]],
) -> bytes:
    """The bay as GLB, each of some pockets (cells (nx, ny, nz) of a grid), and `part` at each of some poses."""
    standing = surfaces(assembly)
    shown = [(surface, shade(surface.kinds)) for surface in standing]
    for name, (grid, cells) in pockets.items():
        vertices, faces = blocks(grid, cells)
        shown.append((Surface(name, (), frozen(vertices), frozen_faces(faces)), PLAIN))
    (own,) = (surface for surface in standing if surface.name == part)
    back = assembly.poses[part].inverse()
    for name, pose in spots:
        moved = frozen((pose @ back).apply(own.vertices))
        shown.append((Surface(name, own.kinds, moved, own.faces), UNSURE))
    return exported(shown, ".glb", up_from_car(assembly.scene.axes))


def blocks(grid: Grid, cells: npt.NDArray[np.bool_]) -> tuple[Points, Faces]:
    """The faces between cells that are in a block and those that are not: vertices (n, 3) mm, faces (m, 3)."""
    padded = np.pad(cells, 1)
    squares = []
    for axis, second, third in _TURNS:
        after = np.roll(padded, -1, axis=axis)
        for outward, border in ((True, padded & ~after), (False, after & ~padded)):
            at = np.argwhere(border).astype(np.float64) - 1.0
            at[:, axis] += 1.0
            steps = np.zeros((4, 3))
            steps[[1, 2], second] = 1.0
            steps[[2, 3], third] = 1.0
            squares.append(at[:, None] + (steps if outward else steps[::-1]))
    corners = grid.low + np.vstack(squares).reshape(-1, 3) * grid.cell
    first = 4 * np.arange(len(corners) // 4)[:, None]
    faces = np.concatenate([first + corner for corner in ((0, 1, 2), (0, 2, 3))])
    return corners, faces.astype(np.int64)
