"""Any piece as a handful of cells, each held between two bodies whose gaps are known exactly.

    inner body  <=  the cell of the piece  <=  outer body

A convex piece is one exact cell. A hollow or bent one is cut until inner and outer meet: a tube into sectors, an
arc of a pipe into shorter arcs. A mesh that is not convex is one exact shell of triangles.

    sector of a tube, half angle d     outer: wedge from the bore's chord (r_i cos d) to the outer face
                                       inner: wedge from the bore's tangent (r_i) to the outer face
    arc of a pipe                      outer: flat wedge from the arc's chord to the arc, grown by the ball
                                       inner: the ball at the point of the arc nearest to the outer's witness

so the outer faces are true from the start, and only bores and the inside of bends need many cells.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np

from tests.oracles.bodies import Body, Frustum, PointHull, Wedge, Whole, body_of
from tests.oracles.polygons import convex_parts
from tests.oracles.shapes import (
    Array,
    Extrude,
    Mesh,
    Piece,
    Pipe,
    Pose,
    Thing,
    Tube,
    along_matrix,
    rotation_about,
)
from tests.oracles.triangles import Soup

__all__ = ["Cell", "Shell", "cells_of", "convex_body", "is_convex_mesh", "reach_along"]

FIRST_SECTORS = 8


@dataclass(frozen=True, slots=True, eq=False)
class Shell:
    """A closed surface that is not convex, grown by `radius`."""

    soup: Soup
    radius: float

    @property
    def middle(self) -> Array:
        used = self.soup.used
        middle: Array = (used.min(axis=0) + used.max(axis=0)) / 2
        return middle

    @property
    def reach(self) -> float:
        return float(np.linalg.norm(self.soup.used - self.middle, axis=1).max())

    def support(self, directions: Array) -> Array:
        """Farthest points (k, 3) along `directions` (k, 3)."""
        return PointHull(self.soup.used).support(directions)


@dataclass(frozen=True, slots=True, eq=False)
class Cell:
    """Part of a piece between `inner` and `outer`; `looseness` mm says how far those differ, 0 when exact."""

    outer: Body | Shell
    inner: Callable[[Array], Body | Shell]  # given a point of `outer` near which the gap may be
    looseness: float = 0.0
    split: Callable[[], list[Cell]] | None = None


def convex_body(piece: Piece, pose: Pose) -> Whole | None:
    """The piece as one exact convex body, or None when it is not convex."""
    world = pose @ piece.pose
    match piece.shape:
        case Tube():
            return None
        case Pipe(outside, through):
            return _straight(outside, np.array(through), world, piece.wrap) if len(through) == 2 else None
        case Extrude():
            hulls = _prisms(piece.shape, world)
            return PointHull(hulls[0], piece.wrap) if len(hulls) == 1 else None
        case Mesh(_, vertices):
            return PointHull(world.apply(vertices), piece.wrap) if is_convex_mesh(piece.shape) else None
    return body_of(piece, pose)


def cells_of(piece: Piece, pose: Pose) -> list[Cell]:
    """Cells that cover a piece of a thing at `pose`."""
    body = convex_body(piece, pose)
    if body is not None:
        return [_exact(body)]
    world = pose @ piece.pose
    match piece.shape:
        case Tube():
            half = np.pi / FIRST_SECTORS
            return [_sector(piece.shape, world, piece.wrap, 2 * k * half, half) for k in range(FIRST_SECTORS)]
        case Pipe():
            return _bar(piece.shape, world, piece.wrap)
        case Extrude():
            return [_exact(PointHull(points, piece.wrap)) for points in _prisms(piece.shape, world)]
        case Mesh(_, vertices, faces):
            return [_exact(Shell(Soup(world.apply(vertices), faces), piece.wrap))]
    raise ValueError(f"no cells for {type(piece.shape).__name__}")


def reach_along(thing: Thing, directions: Array) -> Array:
    """How far a thing reaches (k,) along unit `directions` (k, 3), mm; never understated."""
    bodies = [cell.outer for piece in thing.pieces for cell in cells_of(piece, thing.pose)]
    heights = [np.einsum("ij,ij->i", body.support(directions), directions) + body.radius for body in bodies]
    reach: Array = np.max(heights, axis=0)
    return reach


def _exact(body: Body | Shell) -> Cell:
    return Cell(body, lambda _: body)


def is_convex_mesh(mesh: Mesh) -> bool:
    """Every vertex behind every face."""
    a, b, c = np.moveaxis(mesh.vertices[mesh.faces], 1, 0)
    normals = np.cross(b - a, c - a)
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    heights = mesh.vertices @ normals.T - np.einsum("ij,ij->i", a, normals)
    return bool(heights.max() <= 1e-9 * np.abs(mesh.vertices).max())


def _prisms(shape: Extrude, world: Pose) -> list[Array]:
    """Corners of convex prisms whose union is the extrusion."""
    lying = world @ Pose(along_matrix(shape.along))
    prisms = []
    for outline in convex_parts(shape.outline):
        ends = [np.column_stack([outline, np.full(len(outline), z)]) for z in (0.0, shape.thickness)]
        prisms.append(lying.apply(np.vstack(ends)))
    return prisms


def _sector(tube: Tube, world: Pose, wrap: float, middle: float, half: float) -> Cell:
    turned = world @ Pose(along_matrix(tube.along)) @ Pose(rotation_about((0, 0, 1), np.degrees(middle)))
    inside, outside, height = tube.inner / 2, tube.outer / 2, tube.length / 2
    outer = Wedge(inside * np.cos(half), outside, half, height, turned, wrap)
    inner = Wedge(inside, outside, min(half, float(np.arccos(inside / outside))), height, turned, wrap)
    halves = partial(_halves, partial(_sector, tube, world, wrap), middle, half)
    return Cell(outer, lambda _: inner, inside * (1 - np.cos(half)), halves)


def _halves(build: Callable[[float, float], Cell], middle: float, half: float) -> list[Cell]:
    return [build(middle - half / 2, half / 2), build(middle + half / 2, half / 2)]


def _straight(outside: float, ends: Array, world: Pose, wrap: float) -> Frustum:
    """A round bar cut square at both `ends` (2, 3), own frame."""
    run = ends[1] - ends[0]
    length = float(np.linalg.norm(run))
    x = np.cross(np.eye(3)[np.argmin(np.abs(run))], run)
    x /= np.linalg.norm(x)
    axes = np.column_stack([x, np.cross(run / length, x), run / length])
    return Frustum(outside / 2, outside / 2, length / 2, world @ Pose(axes, ends.mean(axis=0)), wrap)


def _bar(pipe: Pipe, world: Pose, wrap: float) -> list[Cell]:
    """Square-cut ends a radius long, ball-swept straights between, and arcs at the corners."""
    radius = pipe.outside / 2
    through = np.array(pipe.through)
    arcs = [_corner(*triple, pipe.bend) for triple in zip(through, through[1:], through[2:], strict=False)]
    stops = [
        through[0],
        *(point for arc in arcs for point in (arc.at(-arc.angle / 2), arc.at(arc.angle / 2))),
        through[-1],
    ]
    runs = np.array([stops[k : k + 2] for k in range(0, len(stops), 2)])
    ends = []
    for run, (tip, rest) in ((runs[0], (0, 1)), (runs[-1], (1, 0))):
        length = float(np.linalg.norm(run[1] - run[0]))
        if length < radius:
            raise ValueError("the first and last straight of a pipe must be at least a radius long")
        root = run[tip] + (run[rest] - run[tip]) * (radius / length)
        ends.append(_exact(_straight(pipe.outside, np.array([run[tip], root]), world, wrap)))
        run[tip] = root
    straights = [_exact(PointHull(world.apply(run), radius + wrap)) for run in runs]
    bends = [_arc_cell(arc, radius + wrap, world, 0.0, arc.angle / 2) for arc in arcs if arc.bend > 0]
    return [*ends, *straights, *bends]


@dataclass(frozen=True, slots=True, eq=False)
class _Arc:
    """A bend of the centreline about `pose`: radius `bend`, from own -x turned by -angle / 2 to +angle / 2."""

    pose: Pose
    bend: float
    angle: float

    def at(self, turned: float) -> Array:
        """The point `turned` radians from the middle of the bend."""
        return self.pose.apply(self.bend * np.array([np.cos(turned), np.sin(turned), 0.0]))


def _corner(before: Array, corner: Array, after: Array, bend: float) -> _Arc:
    """Own x from the centre of the bend to its middle, own z across the plane of the bend."""
    ahead, leaving = ((v / np.linalg.norm(v)) for v in (corner - before, after - corner))
    angle = float(np.arctan2(np.linalg.norm(np.cross(ahead, leaving)), ahead @ leaving))
    x, y = ahead - leaving, ahead + leaving
    axes = np.column_stack([x / np.linalg.norm(x), y / np.linalg.norm(y), np.cross(x, y)])
    axes[:, 2] /= np.linalg.norm(axes[:, 2])
    return _Arc(Pose(axes, corner - axes[:, 0] * bend / np.cos(angle / 2)), bend, angle)


def _arc_cell(arc: _Arc, radius: float, world: Pose, middle: float, half: float) -> Cell:
    """The bar within `half` radians of `middle` along the bend."""
    turned = world @ arc.pose @ Pose(rotation_about((0, 0, 1), np.degrees(middle)))
    outer = Wedge(arc.bend * np.cos(half), arc.bend, half, 0.0, turned, radius)

    def inner(witness: Array) -> PointHull:
        own = (witness - turned.translation) @ turned.rotation
        angle = np.clip(np.arctan2(own[1], own[0]), -half, half)
        point = turned.apply(arc.bend * np.array([[np.cos(angle), np.sin(angle), 0.0]]))
        return PointHull(point, radius)

    halves = partial(_halves, partial(_arc_cell, arc, radius, world), middle, half)
    return Cell(outer, inner, arc.bend * (1 - np.cos(half)), halves)
