"""How far apart are two true solids? Signed gaps of convex pieces by a second engine, of tubes in sectors.

The engine is GJK with expanding polytopes (coal). `certified` asks the conic programs of the oracles: slowly, and
with a certificate. Every complaint must pass that.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import coal
import numpy as np
from scipy.spatial import ConvexHull

from tests.oracles.bodies import Frustum, PointHull, Whole, box_corners
from tests.oracles.convex import signed_gap
from tests.oracles.shapes import Array, Pose
from tests.worlds.pieces import Piece

__all__ = [
    "ENGINE",
    "Gap",
    "Solid",
    "certified",
    "convex",
    "gap",
    "moved_body",
    "nearest",
    "solid",
    "way_apart",
    "witness",
]

ENGINE = 1e-4
"""mm; how far the quick engine is trusted."""

SECTORS = 120
"""Convex sectors of a tube: their flats stand off its round by less than 0.0004 of its radius."""


@dataclass(frozen=True, slots=True, eq=False)
class Gap:
    """A signed gap, mm, good to `error`. Unless `exact` it is only an upper end: overlaps that are not convex."""

    value: float
    error: float
    exact: bool = True


@dataclass(frozen=True, slots=True, eq=False)
class Body:
    """A convex piece in the car: the engine's shape, its place, the layer round it, and the ball that holds it."""

    shape: coal.CollisionGeometry
    place: coal.Transform3s
    layer: float
    middle: Array
    reach: float
    piece: Piece


@dataclass(slots=True, eq=False)
class Solid:
    """A part in the car: `held` are its convex pieces, sectors of tubes among them, and the balls round them.

    Bodies are made when they are asked for, since of a tube few sectors are ever near.
    """

    held: list[tuple[Piece, Pose]]
    middles: Array
    reaches: Array
    pose: Pose
    _made: dict[int, Body]

    def __len__(self) -> int:
        return len(self.held)

    def body(self, place: int) -> Body:
        if place not in self._made:
            piece, turned = self.held[place]
            self._made[place] = _body(piece, self.pose, turned)
        return self._made[place]

    def bodies(self) -> list[Body]:
        return [self.body(place) for place in range(len(self))]


def solid(pieces: Sequence[Piece], pose: Pose) -> Solid:
    """The solid of a part that stands at `pose`, which may reflect."""
    held: list[tuple[Piece, Pose]] = []
    middles, reaches = [], []
    for piece in pieces:
        world = pose @ piece.pose
        if piece.form == "tube":
            sector, mids, reach = _ring(*piece.size)
            held += [(Piece("tube", sector, piece.pose, piece.wrap), turn) for turn in _TURNS]
            middles.append(world.apply(mids))
            reaches += [reach + piece.wrap] * SECTORS
        else:
            held.append((piece, _STRAIGHT))
            middles.append(world.translation[None])
            reaches.append(_shape(piece.form, piece.size)[2] + piece.wrap)
    return Solid(held, np.vstack(middles), np.array(reaches), pose, {})


def convex(a: Solid) -> bool:
    return len(a) == 1


_STRAIGHT = Pose()
_TURNS = [
    Pose(np.array([[np.cos(t), -np.sin(t), 0.0], [np.sin(t), np.cos(t), 0.0], [0.0, 0.0, 1.0]]))
    for t in 2 * np.pi / SECTORS * np.arange(SECTORS)
]


def _body(piece: Piece, pose: Pose, turned: Pose) -> Body:
    """Every shape is its own reflection from left to right, so that a reflected one is put there turned instead."""
    shape, middle, reach = _shape(piece.form, piece.size)
    world = pose @ piece.pose
    if turned is not _STRAIGHT:
        world = world @ turned
    rotation, at = world.rotation, world.translation
    if np.linalg.det(rotation) < 0:
        rotation = rotation * [1.0, -1.0, 1.0]
    whole = Piece(piece.form, piece.size, Pose(rotation, at), piece.wrap)
    return Body(shape, coal.Transform3s(rotation, at), piece.wrap, world.apply(middle), reach + piece.wrap, whole)


@lru_cache(maxsize=200_000)
def _shape(form: str, size: tuple[float, ...]) -> tuple[coal.CollisionGeometry, Array, float]:
    zero = np.zeros(3)
    match form:
        case "box":
            return coal.Box(*size), zero, float(np.linalg.norm(size)) / 2
        case "cylinder":
            return coal.Cylinder(size[0], 2 * size[1]), zero, float(np.hypot(size[0], size[1]))
        case "sphere":
            return coal.Sphere(size[0]), zero, size[0]
        case "capsule":
            return coal.Capsule(size[0], 2 * size[1]), zero, size[0] + size[1]
    points = np.array(size).reshape(-1, 3)
    middle = points.mean(axis=0)
    return _hull(points), middle, float(np.linalg.norm(points - middle, axis=1).max())


def _hull(points: Array) -> coal.CollisionGeometry:
    hull = ConvexHull(points)
    found, triangles = coal.StdVec_Vec3s(), coal.StdVec_Triangle()
    for point in points:
        found.append(point)
    for (i, j, k), plane in zip(hull.simplices, hull.equations, strict=True):
        outward = np.cross(points[j] - points[i], points[k] - points[i]) @ plane[:3] > 0
        triangles.append(coal.Triangle(*map(int, (i, j, k) if outward else (i, k, j))))
    return coal.Convex(found, triangles)


@lru_cache(maxsize=5000)
def _ring(outer: float, inner: float, half: float) -> tuple[tuple[float, ...], Array, float]:
    """The corners of a sector about own x, symmetric from left to right; middles of all sectors, their reach."""
    angle = np.pi / SECTORS
    plan = [(r * np.cos(s), r * np.sin(s)) for r in (inner, outer) for s in (-angle, angle)]
    sector = tuple(float(v) for x, y in plan for z in (-half, half) for v in (x, y, z))
    _, middle, reach = _shape("tube", sector)
    return sector, np.array([turn.apply(middle) for turn in _TURNS]), reach


def gap(a: Solid, b: Solid) -> Gap:
    """The signed gap of two solids, by the quick engine."""
    if convex(a) and convex(b):
        return Gap(nearest(a.body(0), b.body(0)), ENGINE)
    best, i, j = _least(a, b)
    return Gap(best, ENGINE + _flats(a.body(i)) + _flats(b.body(j)), exact=best >= 0)


def _least(a: Solid, b: Solid) -> tuple[float, int, int]:
    """The least gap of any two bodies and which they are; those whose balls are nearest are asked first."""
    apart = np.linalg.norm(a.middles[:, None] - b.middles[None], axis=2)
    lows = apart - a.reaches[:, None] - b.reaches[None]
    best, which = np.inf, (0, 0)
    for flat in np.argsort(lows, axis=None):
        i, j = divmod(int(flat), len(b))
        if lows[i, j] > best:
            break
        found = nearest(a.body(i), b.body(j))
        if found < best:
            best, which = found, (i, j)
    return best, *which


def _flats(body: Body) -> float:
    """How far the flats of a sector stand off the round."""
    if body.piece.form != "tube":
        return 0.0
    return max(map(abs, body.piece.size)) * (1 - float(np.cos(np.pi / SECTORS))) * 1.01


_REQUEST = coal.DistanceRequest()
_REQUEST.gjk_tolerance = 1e-8
_REQUEST.gjk_max_iterations = 1000
_RESULT = coal.DistanceResult()


def moved_body(body: Body, by: Array) -> Body:
    """A body shifted by (3,) mm."""
    place = coal.Transform3s(body.place.getRotation(), body.place.getTranslation() + by)
    piece = Piece(body.piece.form, body.piece.size, body.piece.pose.shifted(by), body.piece.wrap)
    return Body(body.shape, place, body.layer, body.middle + by, body.reach, piece)


def nearest(a: Body, b: Body) -> float:
    """The signed gap of two convex bodies, mm."""
    _RESULT.clear()
    found = coal.distance(a.shape, a.place, b.shape, b.place, _REQUEST, _RESULT)
    return float(found) - a.layer - b.layer


def witness(a: Body, b: Body) -> tuple[float, Array]:
    """The signed gap of two convex bodies and the unit vector (3,) from B to A along which it grows."""
    value = nearest(a, b)
    return value, -np.array(_RESULT.normal)


def certified(a: Solid, b: Solid) -> Gap:
    """The same by conic programs, with a certificate, for the two bodies that are nearest."""
    _, i, j = _least(a, b)
    one, other = a.body(i), b.body(j)
    bracket = signed_gap(_whole(one.piece), _whole(other.piece))
    whole = convex(a) and convex(b)
    return Gap(bracket.middle, bracket.width / 2 + _flats(one) + _flats(other), exact=whole or bracket.low >= 0)


def _whole(piece: Piece) -> Whole:
    match piece.form:
        case "box":
            return PointHull(
                piece.pose.apply(box_corners((piece.size[0], piece.size[1], piece.size[2]))), piece.wrap
            )
        case "cylinder":
            return Frustum(piece.size[0], piece.size[0], piece.size[1], piece.pose, piece.wrap)
        case "sphere":
            return PointHull(piece.pose.apply(np.zeros((1, 3))), piece.size[0] + piece.wrap)
        case "capsule":
            ends = np.array([[0, 0, -piece.size[1]], [0, 0, piece.size[1]]])
            return PointHull(piece.pose.apply(ends), piece.size[0] + piece.wrap)
    return PointHull(piece.pose.apply(np.array(piece.size).reshape(-1, 3)), piece.wrap)


def way_apart(a: Solid, b: Solid) -> Array:
    """The unit vector (3,) from B to A along which the gap of their nearest bodies grows."""
    _, i, j = _least(a, b)
    return witness(a.body(i), b.body(j))[1]
