"""Pairs whose signed gap can be checked by hand. All lengths mm."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np

from tests.oracles.shapes import (
    Box,
    Capsule,
    Cone,
    Cylinder,
    Hull,
    Pair,
    Pipe,
    Sphere,
    Thing,
    Tube,
    rotation_about,
    single,
)

__all__ = ["CASES", "ClosedForm"]


@dataclass(frozen=True, slots=True, eq=False)
class ClosedForm:
    """Two things, their signed gap, and why it is that."""

    name: str
    a: Thing
    b: Thing
    expected: float
    source: str

    @property
    def pair(self) -> Pair:
        return Pair(self.name, "closed form", self.a, self.b)


_Z45 = rotation_about((0, 0, 1), 45)
_LONG = 1000.0


def _segment(*ends: tuple[float, float, float]) -> Thing:
    return single(Hull(np.array(ends, float)))


def _needle(diameter: float, *ends: tuple[float, float, float]) -> Thing:
    """The ball-swept segment between two points."""
    start, end = np.array(ends, float)
    run = end - start
    length = float(np.linalg.norm(run))
    axis = np.cross((0, 0, 1), run)
    turn = np.degrees(np.arctan2(np.linalg.norm(axis), run[2]))
    rotation = rotation_about(axis, turn) if np.any(axis) else np.eye(3)
    return single(Capsule(diameter, length + diameter), tuple((start + end) / 2), rotation)


CASES: tuple[ClosedForm, ...] = (
    ClosedForm(
        "crossing segments one above the other",
        _segment((-1, 0, 0), (1, 0, 0)),
        _segment((0, -1, 2), (0, 1, 2)),
        2.0,
        "common perpendicular along z, from z = 0 to z = 2",
    ),
    ClosedForm(
        "segments end to end",
        _segment((0, 0, 0), (1, 0, 0)),
        _segment((2, 1, 0), (3, 2, 0)),
        sqrt(2),
        "end (1, 0, 0) to end (2, 1, 0)",
    ),
    ClosedForm(
        "crossing capsules one above the other",
        _needle(0.5, (-1, 0, 0), (1, 0, 0)),
        _needle(0.25, (0, -1, 2), (0, 1, 2)),
        2 - 0.375,
        "the crossing segments, less both radii",
    ),
    ClosedForm(
        "capsules end to end",
        _needle(0.5, (0, 0, 0), (1, 0, 0)),
        _needle(0.25, (2, 1, 0), (3, 2, 0)),
        sqrt(2) - 0.375,
        "the segments end to end, less both radii",
    ),
    ClosedForm(
        "unit cube and one turned 45 degrees",
        single(Box((1, 1, 1))),
        single(Box((1, 1, 1)), (3, 0, 0), _Z45),
        3 - 0.5 - sqrt(2) / 2,
        "face at x = 1/2 to edge at x = 3 - half the diagonal",
    ),
    ClosedForm(
        "cube of 2 and one turned 45 degrees",
        single(Box((2, 2, 2))),
        single(Box((2, 2, 2)), (4, 0, 0), _Z45),
        3 - sqrt(2),
        "face at x = 1 to edge at x = 4 - sqrt 2",
    ),
    ClosedForm(
        "boxes corner to corner that share a centre coordinate",
        single(Box((12, 156, 51))),
        single(Box((145, 154, 154)), (80.5, 0, 103.5)),
        sqrt(5),
        "apart by 2 along x and by 1 along z, overlapping along y",
    ),
    ClosedForm(
        "long parallel cylinders",
        single(Cylinder(40, _LONG)),
        single(Cylinder(30, _LONG), (50, 0, 0)),
        15.0,
        "axes 50 apart, radii 20 and 15",
    ),
    ClosedForm(
        "long skew cylinders at right angles",
        single(Cylinder(50, _LONG, "x")),
        single(Cylinder(20, _LONG, "y"), (0, 0, 60)),
        25.0,
        "axes 60 apart, radii 25 and 10",
    ),
    ClosedForm(
        "parallel cylinders rim to rim",
        single(Cylinder(2, 2)),
        single(Cylinder(2, 2), (4, 0, 4)),
        sqrt(8),
        "rim (1, 0, 1) to rim (3, 0, 3)",
    ),
    ClosedForm(
        "cylinder end to cylinder side",
        single(Cylinder(2, 40)),
        single(Cylinder(2, 2, "x"), (5, 0, 0)),
        3.0,
        "side at x = 1 to flat end at x = 4",
    ),
    ClosedForm(
        "spheres overlapping",
        single(Sphere(20)),
        single(Sphere(10), (3, 4, 12)),
        -2.0,
        "centres 13 apart, radii 10 and 5",
    ),
    ClosedForm(
        "box in box",
        single(Box((100, 80, 60))),
        single(Box((10, 10, 10))),
        -35.0,
        "least axis overlap of axis-aligned boxes: 60/2 + 10/2",
    ),
    ClosedForm(
        "boxes face on face",
        single(Box((10, 20, 30))),
        single(Box((6, 8, 10)), (8, 3, 5)),
        0.0,
        "faces at x = 5 and 8 - 3",
    ),
    ClosedForm(
        "sphere in cylinder off its axis",
        single(Cylinder(100, 300)),
        single(Sphere(10), (30, 40, 7)),
        -5.0,
        "centre on the side at distance 50 from the axis: depth is the ball's radius",
    ),
    ClosedForm(
        "cylinder standing in a cylinder on its axis",
        single(Cylinder(100, 300)),
        single(Cylinder(20, 100)),
        -60.0,
        "sideways 50 + 10, against 150 + 50 endways",
    ),
    ClosedForm(
        "ball beside a cone",
        single(Cone(60, 0, 40)),
        single(Sphere(4), (30, 0, 20)),
        22.0,
        "side line 4 x + 3 z = 60 in the plane y = 0, centre at (120 + 60 - 60) / 5 = 24 from it, radius 2",
    ),
    ClosedForm(
        "tip of a cone over a box",
        single(Cone(0, 60, 40)),
        single(Box((200, 200, 10)), (0, 0, -32)),
        7.0,
        "tip at z = -20, face at z = -27",
    ),
    ClosedForm(
        "capsule lying under a wide flat cone",
        single(Cone(477, 521, 0.6)),
        single(Capsule(5, 11, "y"), (-68, 0, -5.8)),
        3.0,
        "lower end at z = -0.3, capsule up to z = -5.8 + 2.5, well within the radius of 238.5",
    ),
    ClosedForm(
        "capsule sunk into a wide flat cone",
        single(Cone(477, 521, 0.6)),
        single(Capsule(5, 11, "y"), (-68, 0, -2.2)),
        -0.6,
        "lower end at z = -0.3, capsule up to z = 0.3; down is the shortest way out",
    ),
    ClosedForm(
        "cylinder in the bore of a tube, off its axis",
        single(Tube(60, 50, 400)),
        single(Cylinder(20, 400), (9, 12, 0)),
        0.0,
        "bore radius 25, cylinder radius 10, axes 15 apart: it lies against the bore",
    ),
    ClosedForm(
        "cylinder in the bore of a tube, on its axis",
        single(Tube(60, 50, 400)),
        single(Cylinder(20, 100), (0, 0, 30)),
        15.0,
        "bore radius 25 less cylinder radius 10",
    ),
    ClosedForm(
        "square bar in the bore of a tube",
        single(Tube(60, 50, 400)),
        single(Box((30, 30, 100))),
        25 - 15 * sqrt(2),
        "bore radius 25 less half the diagonal of the bar",
    ),
    ClosedForm(
        "ball beside a tube",
        single(Tube(60, 50, 400, "x")),
        single(Sphere(10), (0, 30, 40)),
        15.0,
        "centre 50 from the axis, outer radius 30, ball radius 5",
    ),
    ClosedForm(
        "ball in the plane of a bent pipe, inside the bend",
        single(Pipe(20, ((-200, 0, 0), (0, 0, 0), (0, 200, 0)), 100)),
        single(Sphere(40), (-100, 100, 0)),
        70.0,
        "bend of radius 100 about the ball's centre: 100 - 10 - 20",
    ),
    ClosedForm(
        "ball at the square end of a pipe",
        single(Pipe(20, ((-200, 0, 0), (0, 0, 0), (0, 200, 0)), 100)),
        single(Sphere(10), (-215, 9, 0)),
        10.0,
        "end face at x = -200 of radius 10, ball to x = -210",
    ),
)
