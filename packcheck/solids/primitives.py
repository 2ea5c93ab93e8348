"""Solids from the shapes of a scene file: exact cores for flat and rounded shapes, close facets for curved ones."""

from __future__ import annotations

from functools import singledispatch
from itertools import product

import numpy as np

from packcheck.arrays import Floats, Points, frozen, frozen_faces
from packcheck.scene.model.scene import (
    Box,
    Capsule,
    Cone,
    Cylinder,
    Extrude,
    Pipe,
    Shape,
    Skin,
    Sphere,
    Strip,
    Tube,
)
from packcheck.solids.core.axes import turned_along
from packcheck.solids.core.solid import Solid
from packcheck.solids.core.support import polyhedron_support
from packcheck.solids.extrusion import extrusion
from packcheck.solids.lathe import frustum, tube
from packcheck.solids.meshes.measured_skin import measured_skin
from packcheck.solids.pipe import pipe
from packcheck.solids.strip import strip

__all__ = ["build_shape", "shape_corners", "shape_reach"]

_BOX_FACES = [
    *([0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5]),
    *([0, 4, 5], [0, 5, 1], [2, 3, 7], [2, 7, 6]),
    *([0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3]),
]


@singledispatch
def build_shape(shape: Shape) -> tuple[Solid, ...]:
    """The solids of one shape about its own zero: the middle, but for pipes and extrusions their own coordinates.

    Meshes are read by `mesh_files.read_mesh`. Raises TypeError for anything that is not a shape.
    """
    raise TypeError(f"no solid for a {type(shape).__name__}")


@build_shape.register
def _(shape: Box) -> tuple[Solid, ...]:
    corners = np.array(list(product((-0.5, 0.5), repeat=3))) * np.asarray(shape.size)
    return (
        Solid(
            frozen(corners),
            frozen_faces(_BOX_FACES),
            support=polyhedron_support(corners),
            pieces=frozen(corners[:1]),
        ),
    )


@build_shape.register
def _(shape: Cylinder) -> tuple[Solid, ...]:
    return (frustum(shape.diameter, shape.diameter, shape.length, shape.along),)


@build_shape.register
def _(shape: Cone) -> tuple[Solid, ...]:
    return (frustum(shape.bottom, shape.top, shape.length, shape.along),)


@build_shape.register
def _(shape: Tube) -> tuple[Solid, ...]:
    return (tube(shape.outer, shape.inner, shape.length, shape.along),)


@build_shape.register
def _(shape: Sphere) -> tuple[Solid, ...]:
    return (_thin([[0.0, 0.0, 0.0]], [[0, 0, 0]], shape.diameter / 2),)


@build_shape.register
def _(shape: Capsule) -> tuple[Solid, ...]:
    half = (shape.length - shape.diameter) / 2
    ends = [[0.0, 0.0, -half], [0.0, 0.0, half]]
    return (turned_along(_thin(ends, [[0, 1, 1]], shape.diameter / 2), shape.along),)


@build_shape.register
def _(shape: Pipe) -> tuple[Solid, ...]:
    return pipe(shape.outside, np.asarray(shape.through), shape.bend)


@build_shape.register
def _(shape: Extrude) -> tuple[Solid, ...]:
    return (extrusion(np.asarray(shape.outline), shape.thickness, shape.along),)


@build_shape.register
def _(shape: Strip) -> tuple[Solid, ...]:
    return (strip(shape),)


@build_shape.register
def _(shape: Skin) -> tuple[Solid, ...]:
    return (measured_skin(shape),)


def _thin(vertices: list[list[float]], faces: list[list[int]], radius: float) -> Solid:
    """A point or a segment with a ball round it."""
    corners = frozen(vertices)
    return Solid(
        corners,
        frozen_faces(faces),
        radius=radius,
        closed=False,
        support=polyhedron_support(corners),
        pieces=frozen(corners[:1]),
    )


def shape_corners(shape: Shape, solids: tuple[Solid, ...]) -> Points:
    """Least and greatest corner (2, 3), mm, of a shape's own bounding box, before turn and wrap."""
    axes = np.eye(3)
    return np.array([-shape_reach(shape, solids, -axes), shape_reach(shape, solids, axes)])


def shape_reach(shape: Shape, solids: tuple[Solid, ...], directions: Points) -> Floats:
    """How far a shape reaches along unit directions (n, 3) from its own zero: (n,) mm, before wrap.

    The true shape, not the facets: their error would otherwise shift what stands on them.
    """
    if isinstance(shape, Tube):
        solids = (frustum(shape.outer, shape.outer, shape.length, shape.along),)
    reach: Floats = np.max([_reach(solid, directions) for solid in solids], axis=0)
    return reach


def _reach(solid: Solid, directions: Points) -> Floats:
    if solid.support is not None:
        farthest: Floats = np.einsum("ij,ij->i", solid.support(directions), directions)
    else:
        vertices = (solid.whole or solid).vertices
        farthest = np.array([np.max(np.einsum("ij,j->i", vertices, way)) for way in directions])
    return farthest + solid.radius
