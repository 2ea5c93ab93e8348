r"""Moments of the shapes of a scene in closed form, solid or as walls of a given thickness.

Solids of revolution are integrated in slices along their axis: the square of the radius is a polynomial of at most
second degree there, so that three Gauss points a piece are exact. Bars are swept discs: straight legs exactly, with
their mitres, and bends by Gauss points along the arc (to the rounding of a float):

    volume of a bar = area of its section times the length of its centreline        (Pappus)
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import singledispatch
from itertools import pairwise
from math import acos, hypot, pi, sqrt, tan

import numpy as np

from packcheck.arrays import Floats, Point, Points, Vector
from packcheck.frames import IDENTITY, Pose
from packcheck.scene.model.scene import (
    Box,
    Capsule,
    Cone,
    Cylinder,
    Extrude,
    Mesh,
    Pipe,
    Shape,
    Skin,
    Sphere,
    Strip,
    Tube,
)
from packcheck.solids.bulk import Bulk, added, of_triangles
from packcheck.solids.core.solid import Solid
from packcheck.solids.meshes.sheets import skin_of

__all__ = ["hollow", "shape_bulk"]

_GAUSS = np.polynomial.legendre.leggauss(3)
_ALONG_ARC = np.polynomial.legendre.leggauss(24)
_AXES = {"x": (1, 2, 0), "y": (2, 0, 1), "z": (0, 1, 2)}
"""Which axes of the shape lie across it, and which along."""


@singledispatch
def shape_bulk(shape: Shape, solids: Sequence[Solid]) -> Bulk | None:  # noqa: ARG001 - those registered use it
    """Moments of one shape about its own zero, before wrap; `solids` are its cores. None: it has no inside."""
    raise TypeError(f"no bulk for a {type(shape).__name__}")


@shape_bulk.register
def _(shape: Box, _: Sequence[Solid]) -> Bulk:
    return _box(*shape.size)


@shape_bulk.register
def _(shape: Cylinder, _: Sequence[Solid]) -> Bulk:
    return _cone(shape.diameter, shape.diameter, shape.length, shape.along)


@shape_bulk.register
def _(shape: Cone, _: Sequence[Solid]) -> Bulk:
    return _cone(shape.bottom, shape.top, shape.length, shape.along)


@shape_bulk.register
def _(shape: Tube, _: Sequence[Solid]) -> Bulk:
    return _tube(shape.outer, shape.inner, shape.length, shape.along)


@shape_bulk.register
def _(shape: Sphere, _: Sequence[Solid]) -> Bulk:
    return _capsule(shape.diameter, shape.diameter, "z")


@shape_bulk.register
def _(shape: Capsule, _: Sequence[Solid]) -> Bulk:
    return _capsule(shape.diameter, shape.length, shape.along)


@shape_bulk.register
def _(shape: Pipe, _: Sequence[Solid]) -> Bulk:
    return _bar(shape, shape.outside / 2)


@shape_bulk.register(Extrude)
@shape_bulk.register(Strip)
@shape_bulk.register(Skin)
@shape_bulk.register(Mesh)
def _(_: Extrude | Strip | Skin | Mesh, solids: Sequence[Solid]) -> Bulk | None:
    (solid,) = solids
    if not solid.closed or solid.radius:
        return None
    return of_triangles(solid.vertices, solid.faces, solid.error)


def hollow(shape: Shape, solids: Sequence[Solid], wall: float) -> Bulk | str:
    """What `shape` holds within walls `wall` mm thick, its shape being their outside; or why that is not known.

    The ends of a pipe or tube are open, those of everything else closed.
    """
    match shape:
        case Pipe():
            inside: Bulk | str = _bar(shape, shape.outside / 2 - wall) if shape.outside > 2 * wall else ""
        case Box():
            inside = _box(*(side - 2 * wall for side in shape.size)) if min(shape.size) > 2 * wall else ""
        case Cylinder():
            inner, length = shape.diameter - 2 * wall, shape.length - 2 * wall
            inside = _cone(inner, inner, length, shape.along) if min(inner, length) > 0 else ""
        case Sphere() | Capsule():
            inner = shape.diameter - 2 * wall
            length = shape.length - 2 * wall if isinstance(shape, Capsule) else inner
            inside = _capsule(inner, length, getattr(shape, "along", "z")) if inner > 0 else ""
        case Mesh():
            return _inside_of_mesh(solids[0], wall)
        case _:
            return f"a wall is not reckoned for a {type(shape).__name__.lower()}"
    return inside or f"a wall of {wall:g} mm leaves nothing inside"


def _inside_of_mesh(solid: Solid, wall: float) -> Bulk | str:
    if not solid.closed or solid.radius:
        return "an open mesh holds nothing"
    skin = skin_of(solid.vertices, solid.faces, wall, "outer")
    if skin.reason:
        return f"no wall of even thickness ({skin.reason})"
    outside = of_triangles(solid.vertices, solid.faces, solid.error)
    walls = of_triangles(skin.vertices, skin.faces, skin.error + solid.error)
    inside = outside + walls.times(-1.0)
    area = walls.area - outside.area
    return Bulk(inside.volume, inside.first, inside.second, area, inside.low, inside.high)


def _box(a: float, b: float, c: float) -> Bulk:
    volume = a * b * c
    second = np.diag(np.square([a, b, c])) * volume / 12
    return Bulk.exact(volume, np.zeros(3), second, 2 * (a * b + b * c + c * a))


def _cone(bottom: float, top: float, length: float, along: str) -> Bulk:
    low, high = bottom / 2, top / 2

    def squared(z: Floats) -> Floats:
        return (low + (high - low) * (z / length + 0.5)) ** 2

    area = pi * (low * low + high * high + (low + high) * hypot(high - low, length))
    return _turned([(-length / 2, length / 2, squared)], area, along)


def _tube(outer: float, inner: float, length: float, along: str) -> Bulk:
    """The outside less its bore."""
    bulk = _cone(outer, outer, length, along) + _cone(inner, inner, length, along).times(-1.0)
    area = pi * (outer + inner) * length + pi / 2 * (outer**2 - inner**2)
    return Bulk.exact(bulk.volume, bulk.first, bulk.second, area)


def _capsule(diameter: float, length: float, along: str) -> Bulk:
    radius, half = diameter / 2, (length - diameter) / 2

    def cap(z: Floats) -> Floats:
        return radius**2 - (np.abs(z) - half) ** 2

    def barrel(z: Floats) -> Floats:
        return np.full_like(z, radius**2)

    pieces = [(-half - radius, -half, cap), (-half, half, barrel), (half, half + radius, cap)]
    return _turned(pieces, pi * diameter * length, along)


def _turned(pieces: Sequence[tuple[float, float, Callable[[Floats], Floats]]], area: float, along: str) -> Bulk:
    """A solid of revolution about `along`: pieces of axis with the square of the radius on each."""
    volume = lift = axial = across = 0.0
    for start, end, squared in pieces:
        z = (start + end) / 2 + (end - start) / 2 * _GAUSS[0]
        weights, square = _GAUSS[1] * (end - start) / 2, squared(z)
        volume += pi * float(weights @ square)
        lift += pi * float(weights @ (square * z))
        axial += pi * float(weights @ (square * z * z))
        across += pi / 4 * float(weights @ (square * square))
    first, second = np.zeros(3), np.zeros(3)
    first[_AXES[along][2]] = lift
    second[list(_AXES[along])] = across, across, axial
    return Bulk.exact(volume, first, np.diag(second), area)


def _bar(shape: Pipe, radius: float) -> Bulk:
    """A round bar of `radius` along the centreline of a pipe, cut square at its ends."""
    through = np.asarray(shape.through, dtype=np.float64)
    steps = np.diff(through, axis=0)
    along = steps / np.linalg.norm(steps, axis=1)[:, None]
    turns = [acos(float(np.clip(a @ b, -1, 1))) for a, b in pairwise(along)]
    taken = [0.0, *(shape.bend * tan(turn / 2) for turn in turns), 0.0]
    bulks = []
    for k, way in enumerate(along):
        start, end = through[k] + taken[k] * way, through[k + 1] - taken[k + 1] * way
        before = None if k == 0 or shape.bend else (-way, -along[k - 1])
        after = None if k == len(turns) or shape.bend else (way, along[k + 1])
        middle = (start + end) / 2
        bulks += [_leg(middle, start, -way, before, radius), _leg(middle, end, way, after, radius)]
        if shape.bend and k < len(turns) and turns[k] > 1e-9:
            bulks.append(_arc(end, way, along[k + 1], turns[k], shape.bend, radius))
    bar = added(bulks)
    length = bar.volume / (pi * radius * radius)
    area = 2 * pi * radius * length + 2 * pi * radius * radius
    return Bulk.exact(bar.volume, bar.first, bar.second, area)


def _leg(start: Point, end: Point, way: Vector, mitre: tuple[Vector, Vector] | None, radius: float) -> Bulk:
    r"""A straight bar from a square cut to a square or mitred one, in closed form.

    A mitre of half the turn h reaches s(u) = length + u tan h along the bar, u counting towards its tip.
    """
    length = float(np.linalg.norm(end - start))
    section, spread = pi * radius**2, pi * radius**4 / 4
    tip, rise = _mitre(mitre)
    first_way = (length**2 * section + rise**2 * spread) / 2
    first = first_way * way + rise * spread * tip
    along = (length**3 * section + 3 * length * rise**2 * spread) / 3
    aslant = length * rise * spread * (np.outer(way, tip) + np.outer(tip, way))
    across = np.eye(3) - np.outer(way, way)
    second = along * np.outer(way, way) + aslant + length * spread * across
    bulk = Bulk.exact(section * length, first, second, 0.0)
    return bulk.placed(Pose(IDENTITY.rotation, start))


def _mitre(mitre: tuple[Vector, Vector] | None) -> tuple[Vector, float]:
    """The direction of a mitre's tip across the bar, and the tangent of half the turn."""
    if mitre is None:
        return np.zeros(3), 0.0
    arriving, leaving = mitre
    cosine = float(np.clip(arriving @ leaving, -1, 1))
    inward = leaving - arriving * cosine
    size = float(np.linalg.norm(inward))
    return (-inward / size, sqrt((1 - cosine) / (1 + cosine))) if size > 1e-12 else (np.zeros(3), 0.0)


def _arc(start: Point, arriving: Vector, leaving: Vector, turn: float, bend: float, radius: float) -> Bulk:
    """A bar bent to centreline radius `bend` through `turn` radians, from `start`."""
    inward = leaving - arriving * float(arriving @ leaving)
    inward = inward / np.linalg.norm(inward)
    normal = np.cross(arriving, inward)
    section, spread = pi * radius**2, pi * radius**4 / 4
    angles, weights = turn / 2 * (1 + _ALONG_ARC[0]), turn / 2 * _ALONG_ARC[1]
    out: Points = np.sin(angles)[:, None] * arriving - np.cos(angles)[:, None] * inward
    first = (bend**2 * section + spread) * (weights @ out)
    second = (bend**3 * section + 3 * bend * spread) * np.einsum("i,ij,ik->jk", weights, out, out)
    second = second + bend * spread * turn * np.outer(normal, normal)
    bulk = Bulk.exact(bend * section * turn, first, second, 0.0)
    return bulk.placed(Pose(IDENTITY.rotation, start + bend * inward))
