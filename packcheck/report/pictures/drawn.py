"""Shaded drawings of surfaces: calm flat shades, dark outlines, and stripes where two parts must be told apart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from packcheck.arrays import Floats
from packcheck.report.pictures.raster import NOTHING, Seen, seen_faces
from packcheck.report.pictures.view import View
from packcheck.surfaces import INK, Colour, Surface

__all__ = ["Painted", "drawing"]

Pixels = npt.NDArray[np.uint8]
Flags = npt.NDArray[np.bool_]

LIGHT: Final = (-0.35, 0.55, 0.76)  # right, up, at the viewer: over the left shoulder
DARKEST: Final = 0.55  # share of its colour that a face turned from the light keeps
SHADE_STEPS: Final = 10
STRIPE: Final = 14  # px from stripe to stripe
STRIPE_WIDTH: Final = 5  # px
CREASE: Final = 0.75  # cosine: faces that meet at a sharper angle have a line between them
FLAT: Final = 0.95  # cosine: faces that meet flatter have no line between them, however steep they are seen
STEP: Final = 9.0  # px of depth: a jump within one part that has a line


@dataclass(frozen=True, slots=True, eq=False)
class Painted:
    """A surface and how it is painted: its colour, stripes over it, how much shows through it (0 to 1)."""

    surface: Surface
    colour: Colour
    stripes: Colour | None = None
    clear: float = 0.0


def drawing(view: View, layers: Sequence[Sequence[Painted]]) -> Pixels:
    """The picture (height, width, 3), sRGB: layers laid one over the other.

    An opaque surface covers all layers before its own; one that is clear only what really lies behind it.
    """
    pixels = np.full((view.height, view.width, 3), 255.0)
    depth = np.full((view.height, view.width), np.inf)
    for layer in layers:
        _lay(pixels, depth, view, layer)
    painted: Pixels = np.clip(pixels, 0, 255).astype(np.uint8)
    return painted


def _lay(pixels: Floats, depth: Floats, view: View, layer: Sequence[Painted]) -> None:
    triangles, owner = _in_sight(view, layer)
    seen = seen_faces(triangles, view.width, view.height)
    clear = np.array([painted.clear for painted in layer])
    shown = seen.face != NOTHING
    shown &= (seen.depth < depth) | (clear[owner[seen.face]] == 0) if len(owner) else False
    depth[shown] = seen.depth[shown]
    rows, columns = np.nonzero(shown)
    face = seen.face[rows, columns]
    normals = _normals(triangles)
    colours = _painted(layer, owner[face], rows + columns) * _shading(normals)[face, None]
    colours[_lines(seen, owner, normals)[rows, columns]] = INK
    through = clear[owner[face], None]
    pixels[rows, columns] = colours * (1 - through) + pixels[rows, columns] * through


def _in_sight(view: View, layer: Sequence[Painted]) -> tuple[Floats, npt.NDArray[np.int64]]:
    """The triangles (m, 3, 3) that reach into the picture, px, and the place of their surface in the layer (m,)."""
    found, owners = [np.empty((0, 3, 3))], [np.empty(0, dtype=np.int64)]
    for place, painted in enumerate(layer):
        points = view.project(painted.surface.vertices)
        if (points.max(axis=0)[:2] < 0).any() or (points.min(axis=0)[:2] > [view.width, view.height]).any():
            continue
        corners = points[painted.surface.faces]
        low, high = corners[..., :2].min(axis=1), corners[..., :2].max(axis=1)
        kept = corners[((high >= 0) & (low <= [view.width, view.height])).all(axis=1)]
        found.append(kept)
        owners.append(np.full(len(kept), place))
    return np.concatenate(found), np.concatenate(owners)


def _normals(triangles: Floats) -> Floats:
    """Unit normals (m, 3), right, up and at the viewer, turned to the viewer."""
    a, b = triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]
    normals = np.cross(a, b) * [1.0, -1.0, -1.0]
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    normals = np.divide(normals, lengths, out=np.zeros_like(normals), where=lengths > 0)
    turned: Floats = normals * np.where(normals[:, 2:] < 0, -1.0, 1.0)
    return turned


def _shading(normals: Floats) -> Floats:
    lit = np.clip(np.round((normals @ np.array(LIGHT)) * SHADE_STEPS) / SHADE_STEPS, 0, 1)
    shade: Floats = DARKEST + (1 - DARKEST) * lit
    return shade


def _painted(layer: Sequence[Painted], part: npt.NDArray[np.int64], diagonal: npt.NDArray[np.int64]) -> Floats:
    """The bare colour (n, 3) of pixels of these parts, stripes and all."""
    table = np.array([[painted.colour, painted.stripes or painted.colour] for painted in layer], dtype=np.float64)
    bare: Floats = table.reshape(-1, 3)[2 * part + (diagonal % STRIPE < STRIPE_WIDTH)]
    return bare


def _lines(seen: Seen, owner: npt.NDArray[np.int64], normals: Floats) -> Flags:
    """Pixels on an outline, a crease or a step, on the nearer side of it."""
    lines = np.zeros(seen.face.shape, dtype=bool)
    for down, right in ((1, 0), (0, 1)):
        height, width = seen.face.shape
        rows, columns = np.nonzero(seen.face[: height - down, : width - right] != seen.face[down:, right:])
        here, there = seen.face[rows, columns], seen.face[rows + down, columns + right]
        bend = np.einsum("ni,ni->n", normals[here], normals[there])
        with np.errstate(invalid="ignore"):
            step = np.abs(seen.depth[rows, columns] - seen.depth[rows + down, columns + right]) > STEP
        ends = (here == NOTHING) | (there == NOTHING) | (owner[here] != owner[there])
        drawn = ends | (bend < CREASE) | (step & (bend < FLAT))
        far = seen.depth[rows, columns] > seen.depth[rows + down, columns + right]
        lines[(rows + down * far)[drawn], (columns + right * far)[drawn]] = True
    return lines
