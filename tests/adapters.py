"""From the tests' plain descriptions to the package's own shapes and placed parts."""

from __future__ import annotations

from packcheck.arrays import frozen, frozen_faces
from packcheck.frames import Pose
from packcheck.proximity import Placed
from packcheck.scene.model import scene as model
from packcheck.solids.core.solid import Solid
from packcheck.solids.core.support import polyhedron_support
from packcheck.solids.primitives import build_shape
from tests.oracles import shapes
from tests.oracles.cover import is_convex_mesh

__all__ = ["to_placed", "to_scene_shape"]


def to_scene_shape(shape: shapes.Shape) -> model.Shape:
    """The scene's word for a described shape; a mesh or a bare hull of points has none."""
    match shape:
        case shapes.Box(size):
            return model.Box(size)
        case shapes.Sphere(diameter):
            return model.Sphere(diameter)
        case shapes.Cylinder(diameter, length, along):
            return model.Cylinder(diameter, length, along)
        case shapes.Capsule(diameter, length, along):
            return model.Capsule(diameter, length, along)
        case shapes.Cone(bottom, top, length, along):
            return model.Cone(bottom, top, length, along)
        case shapes.Tube(outer, inner, length, along):
            return model.Tube(outer, inner, length, along)
        case shapes.Pipe(outside, through, bend):
            return model.Pipe(outside, through, bend)
        case shapes.Extrude(outline, thickness, along):
            return model.Extrude(outline, thickness, along)
    raise TypeError(f"a scene states no {type(shape).__name__} by its numbers")


def to_placed(thing: shapes.Thing, name: str) -> Placed:
    """The described thing as a part of the scene."""
    solids = tuple(
        solid.placed(_pose(piece.pose)).wrapped(piece.wrap)
        for piece in thing.pieces
        for solid in _solids(piece.shape)
    )
    return Placed(name, solids, _pose(thing.pose))


def _pose(pose: shapes.Pose) -> Pose:
    return Pose(frozen(pose.rotation), frozen(pose.translation))


def _solids(shape: shapes.Shape) -> tuple[Solid, ...]:
    if isinstance(shape, shapes.Mesh):
        return (_mesh_solid(shape),)
    return build_shape(to_scene_shape(shape))


def _mesh_solid(mesh: shapes.Mesh) -> Solid:
    vertices = frozen(mesh.vertices)
    return Solid(
        vertices,
        frozen_faces(mesh.faces),
        support=polyhedron_support(vertices) if is_convex_mesh(mesh) else None,
        pieces=frozen(vertices[:1]),
    )
