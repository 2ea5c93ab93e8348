"""Round bars through points: hoses, tubes, exhausts. With sharp corners (no bend) they are mitred: see `mitre`.

The centreline is a polyline with a ball swept along it. A ball leaves rounded ends, so the ends proper are
cylinders cut square, as long as the first and last straight are at least a radius long:

       cylinder |  ball swept along the polyline  | cylinder
      [========]o---------------------------------o[========]

Where the first straight is shorter, the ball would stand proud of the cut. The line is then cut where the ball no
longer reaches past it, and the piece before that keeps its round end: it encloses the true one.
"""

from __future__ import annotations

from dataclasses import replace
from math import acos, ceil, tan

import numpy as np

from packcheck.arrays import Faces, Floats, Point, Points, Vector, frozen, frozen_faces
from packcheck.frames import Pose
from packcheck.solids.core.solid import Solid
from packcheck.solids.lathe import frustum
from packcheck.solids.mitre import mitred_legs, sharpest
from packcheck.tolerances import DRAFT_ERROR, FACET_ERROR

__all__ = ["centreline", "pipe"]


def pipe(outside: float, through: Points, bend: float) -> tuple[Solid, ...]:
    """A bar of diameter `outside` through points (n, 3), corners bent to centreline radius `bend`, all mm."""
    radius = outside / 2
    if len(through) == 2:
        return (_cylinder(through[0], through[1], radius),)
    if bend > 0:
        return _bent(radius, through, bend)
    return mitred_legs(radius, through, _frame_along) or _closely_bent(radius, through)


def _closely_bent(radius: float, through: Points) -> tuple[Solid, ...]:
    """A line of legs too short for their mitres, as a swept ball; the mitres' tips are in the error."""
    tips = radius * (1 / max(sharpest(through), 1e-3) - 1)
    head, line = _end(through, radius, tips)
    tail, line = _end(line[::-1], radius, tips)
    return _swept(line, radius, tips), head, tail


def _bent(radius: float, through: Points, bend: float) -> tuple[Solid, ...]:
    line, strays = centreline(through, bend)
    head, line = _end(line, radius, strays)
    tail, line = _end(line[::-1], radius, strays)
    bar = _swept(line, radius, strays)
    rough = centreline(through, bend, DRAFT_ERROR)[0]
    draft = _swept(_end(_end(rough, radius, 0)[1][::-1], radius, 0)[1], radius, DRAFT_ERROR)
    return replace(bar, draft=draft), head, tail


def _swept(line: Points, radius: float, error: float) -> Solid:
    """A ball swept along a polyline (n, 3) that strays from the true line by `error` mm."""
    return Solid(
        frozen(line),
        frozen_faces(_links(len(line))),
        radius=radius,
        error=error,
        closed=False,
        pieces=frozen(line[:1]),
    )


def centreline(through: Points, bend: float, error: float = FACET_ERROR) -> tuple[Points, float]:
    """The polyline (m, 3) through the points with its corners bent, and how far it strays from the arcs, mm."""
    if bend <= 0 or len(through) < 3:
        return through, 0.0
    arcs = [_arc(*corner, bend, error) for corner in zip(through, through[1:], through[2:], strict=False)]
    line = np.vstack([through[:1], *arcs, through[-1:]])
    steps = np.linalg.norm(np.diff(line, axis=0), axis=1)
    return line[np.concatenate([[True], steps > 1e-9])], error


def _arc(before: Point, corner: Point, after: Point, bend: float, error: float) -> Points:
    """Points on the arc that rounds a corner, so close that no chord strays by more than `error` mm."""
    arriving, leaving = _unit(corner - before), _unit(after - corner)
    angle = acos(float(np.clip(arriving @ leaving, -1, 1)))
    if angle < 1e-9:
        return corner[None]
    start = corner - arriving * bend * tan(angle / 2)
    inward = _unit(leaving - arriving * float(arriving @ leaving))
    count = max(2, ceil(angle / (2 * acos(max(0.0, 1 - error / bend)))) + 1)
    turned = np.linspace(0, angle, count)[:, None]
    return start + bend * (np.sin(turned) * arriving + (1 - np.cos(turned)) * inward)


def _end(line: Points, radius: float, error: float) -> tuple[Solid, Points]:
    """The piece at the first end, cut square if there is room, and the line with that piece taken off."""
    step = line[1] - line[0]
    length = float(np.linalg.norm(step))
    if length < radius:
        return _round_end(line, radius, error)
    inner = line[0] + step * (radius / length)
    rest = line[1:] if length == radius else np.vstack([inner, line[1:]])
    return _cylinder(line[0], inner, radius), rest


def _round_end(line: Points, radius: float, error: float) -> tuple[Solid, Points]:
    """The piece whose ball reaches past the cut, which encloses the true end, and the rest of the line."""
    inward = (line - line[0]) @ _unit(line[1] - line[0])
    clear = np.flatnonzero(inward >= radius)
    cut = int(clear[0]) if len(clear) else len(line) - 1
    return replace(_swept(line[: cut + 1], radius, error), encloses=True), line[cut:]


def _cylinder(start: Point, end: Point, radius: float) -> Solid:
    """A cylinder cut square between two points."""
    length = float(np.linalg.norm(end - start))
    pose = Pose(frozen(_frame_along((end - start) / length)), frozen((start + end) / 2))
    return frustum(2 * radius, 2 * radius, length, "z").placed(pose)


def _frame_along(along: Vector) -> Floats:
    """A rotation whose z column is `along`."""
    helper = np.eye(3)[int(np.argmin(np.abs(along)))]
    x = _unit(np.cross(helper, along))
    return np.column_stack([x, np.cross(along, x), along])


def _links(count: int) -> Faces:
    here = np.arange(max(count - 1, 1))
    after = np.minimum(here + 1, count - 1)
    return np.column_stack([here, after, after])


def _unit(vector: Vector) -> Vector:
    unit: Vector = vector / np.linalg.norm(vector)
    return unit
