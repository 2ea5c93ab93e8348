"""Random parts on random chains of joints, and their points, for properties of what moves."""

from __future__ import annotations

import numpy as np

from packcheck.arrays import Floats, Points, frozen
from packcheck.frames import Pose
from packcheck.kinematics.joints import Chain, Joint
from packcheck.proximity import Placed
from packcheck.scene.model.scene import Box, Capsule, Cone, Cylinder, Shape, Sphere, Tube
from packcheck.search import Cell
from packcheck.solids.core.solid import Solid
from packcheck.solids.primitives import build_shape

DEGREE = np.pi / 180


def unit(rng: np.random.Generator) -> Floats:
    way = rng.normal(size=3)
    return frozen(way / np.linalg.norm(way))


def a_turn(rng: np.random.Generator, drive: int) -> Joint:
    return Joint(drive, unit(rng), DEGREE, frozen(rng.uniform(-200, 200, 3)))


def a_shift(rng: np.random.Generator, drive: int) -> Joint:
    return Joint(drive, unit(rng), 1.0)


def a_chain(rng: np.random.Generator, drives: list[int]) -> Chain:
    """A joint for each of `drives`, turns and shifts mixed, some with a pose held between them."""
    joints: list[Joint] = []
    for drive in drives:
        if rng.random() < 0.3:
            held = Pose.of(rng.uniform(-50, 50, 3), rng.uniform(-90, 90, 3))
            joints.append(Joint(None, unit(rng), 0.0, None, held))
        joints.append((a_turn if rng.random() < 0.6 else a_shift)(rng, drive))
    return tuple(joints)


def a_cell(rng: np.random.Generator, width: int, largest: float = 40.0) -> Cell:
    low = rng.uniform(-60, 60, width)
    return Cell.of(low, low + rng.uniform(0, largest, width))


def a_convex_shape(rng: np.random.Generator) -> Shape:
    a, b, c = (float(x) for x in rng.uniform(5, 120, 3))
    shapes: list[Shape] = [Box((a, b, c)), Sphere(a), Cylinder(a, b), Cone(a, b / 2, c)]
    return [*shapes, Capsule(min(a, b), max(a, b) + 1)][rng.integers(5)]


def a_part(rng: np.random.Generator, name: str, shape: Shape | None = None, spread: float = 200) -> Placed:
    pose = Pose.of(rng.uniform(-spread, spread, 3), rng.uniform(-180, 180, 3))
    return Placed(name, build_shape(shape or a_convex_shape(rng)), pose)


def a_tube(rng: np.random.Generator) -> Shape:
    outer = float(rng.uniform(40, 120))
    return Tube(outer, outer * float(rng.uniform(0.3, 0.9)), float(rng.uniform(10, 150)))


def points_of(rng: np.random.Generator, solid: Solid, count: int) -> Points:
    """Random points within the ball-swept core: mixtures of a triangle's corners, and up to the radius beside."""
    triangles = solid.vertices[solid.faces[rng.integers(len(solid.faces), size=count)]]
    shares = rng.dirichlet([1, 1, 1], size=count)
    beside = rng.normal(size=(count, 3))
    beside *= solid.radius * rng.random((count, 1)) / np.linalg.norm(beside, axis=1)[:, None]
    mixed: Points = np.einsum("ni,nij->nj", shares, triangles) + beside
    return mixed


def settings_in(rng: np.random.Generator, cell: Cell, count: int) -> Floats:
    """Settings (count, k) of a cell, many of them on its faces and corners."""
    share = np.clip(rng.uniform(-0.4, 1.4, (count, len(cell.low))), 0, 1)
    settings: Floats = np.clip(cell.low + share * (cell.high - cell.low), cell.low, cell.high)
    return settings
