r"""Flat bars bent flatwise: brackets, straps, hangers.

       flat, into the page     Every section is a rectangle square to the line. Two follow each other along a
 _______                       straight, many round a bend, where the chords fall short of the arc outside by
|  __   \  outer               at most `error`. A corner without a bend is mitred.
|_|  \   |
      |__|  thickness
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import acos, ceil, tan

import numpy as np

from packcheck.arrays import Faces, Floats, Points, Vector, frozen, frozen_faces
from packcheck.scene.model.scene import Strip
from packcheck.solids.core.solid import Solid
from packcheck.solids.core.support import polyhedron_support
from packcheck.tolerances import DRAFT_ERROR, FACET_ERROR

__all__ = ["strip"]


def strip(shape: Strip) -> Solid:
    """The strip about its own zero; with the coarser draft that searches ask."""
    fine = _made(shape, FACET_ERROR)
    return replace(fine, draft=_made(shape, DRAFT_ERROR)) if shape.bend and len(shape.through) > 2 else fine


def _made(shape: Strip, error: float) -> Solid:
    line, across = _stations(shape, error)
    half, flat = shape.thickness / 2, np.asarray(shape.flat) * shape.width / 2
    corners = [line + half * across + flat, line - half * across + flat]
    corners += [line - half * across - flat, line + half * across - flat]
    vertices = np.stack(corners, axis=1).reshape(-1, 3)
    faces = _wound(vertices, _faces(len(line)))
    return Solid(
        frozen(vertices),
        frozen_faces(faces),
        error=error if shape.bend and len(shape.through) > 2 else 0.0,
        support=polyhedron_support(vertices) if len(shape.through) == 2 else None,
        pieces=frozen(vertices[:1]),
    )


def _stations(shape: Strip, error: float) -> tuple[Points, Points]:
    """Points (n, 3) of the middle line, and there the vector (n, 3) across the thickness, of length 1 or more."""
    through, flat = np.asarray(shape.through), np.asarray(shape.flat)
    steps = np.diff(through, axis=0)
    along = steps / np.linalg.norm(steps, axis=1)[:, None]
    across = np.cross(flat, along)
    stations: list[tuple[Vector, Vector]] = [(through[0], across[0])]
    for corner in range(1, len(through) - 1):
        both = slice(corner - 1, corner + 1)
        stations += _corner(through[corner], along[both], across[both], shape, error)
    stations.append((through[-1], across[-1]))
    line, normals = zip(*stations, strict=True)
    return np.array(line), np.array(normals)


def _corner(
    corner: Vector, along: Points, across: Points, shape: Strip, error: float
) -> Iterator[tuple[Vector, Vector]]:
    """The sections round one corner; `along` and `across` (2, 3) before and behind it."""
    angle = acos(float(np.clip(along[0] @ along[1], -1, 1)))
    halving = across[0] + across[1]
    if not shape.bend or angle < 1e-9:
        yield corner, halving * 2 / float(halving @ halving)
        return
    start = corner - along[0] * shape.bend * tan(angle / 2)
    side = 1.0 if float(along[1] @ across[0]) > 0 else -1.0
    inward = side * across[0]
    outer = shape.bend + shape.thickness / 2
    count = max(2, ceil(angle / (2 * acos(max(0.0, 1 - error / outer)))) + 1)
    for turned in np.linspace(0, angle, count):
        radial = np.cos(turned) * inward - np.sin(turned) * along[0]
        yield start + shape.bend * (inward - radial), side * radial


def _faces(count: int) -> Faces:
    """Four sides between every two sections of four corners, and the two ends."""
    here = 4 * np.arange(count - 1)[:, None] + np.arange(4)
    beside = 4 * np.arange(count - 1)[:, None] + (np.arange(4) + 1) % 4
    sides = [np.stack([here, beside, beside + 4], axis=2), np.stack([here, beside + 4, here + 4], axis=2)]
    last = 4 * (count - 1)
    ends = [[0, 2, 1], [0, 3, 2], [last, last + 1, last + 2], [last, last + 2, last + 3]]
    return np.concatenate([np.stack(sides, axis=2).reshape(-1, 3), np.array(ends)])


def _wound(vertices: Floats, faces: Faces) -> Faces:
    """The faces with their outside out."""
    a, b, c = (vertices[faces[:, k]] - vertices[0] for k in range(3))
    volume = float(np.einsum("mi,mi->", a, np.cross(b, c)))
    return faces if volume > 0 else faces[:, ::-1]
