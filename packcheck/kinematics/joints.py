r"""Chains of joints: where points go, how far at the most, and how sharply their way bends.

Every motion is made of turns about lines and straight shifts, each driven by one parameter, outermost first. Lines
and directions are those of the parts at rest, car frame, so that a chain carries a point from where it rests
(product of exponentials; Brockett 1984):

    x(q) = turn(line 1, q1) shift(way 2, q2) turn(line 3, q3) ... x at rest

Over a cell of parameters a point is carried round each line at no more than its *reach* from that line: the
distance of the point in the middle of the cell, and all that the joints further in may add. Largest reach times
angle is the motion bound of a part (Mirtich 1996; Tang, Kim and Manocha, "C2A: controlled conservative advancement
for continuous collision detection of polygonal models", ICRA 2009); here it is told per point and cell.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np

from packcheck.arrays import Floats, Point, Points, Vector, frozen
from packcheck.frames import IDENTITY, Pose, cross_matrix, rotation_about
from packcheck.search import Cell

__all__ = ["Chain", "Joint", "Spread", "about_line", "backwards", "carried", "spread"]


@dataclass(frozen=True, slots=True, eq=False)
class Joint:
    """One step of a chain, driven by parameter number `drive`: a turn, a shift, or a pose that stays as it is.

    A turn goes about the line through `point` (3,) mm along the unit vector `axis`, `rate` radians a unit of the
    parameter. A shift goes `rate` mm a unit along `axis`, with `point` None. With `drive` None the joint is `held`.
    """

    drive: int | None
    axis: Vector
    rate: float
    point: Point | None = None
    held: Pose = IDENTITY

    def pose(self, setting: Floats) -> Pose:
        """What the joint does to points at rest, at parameters (k,)."""
        if self.drive is None:
            return self.held
        amount = self.rate * float(setting[self.drive])
        if self.point is None:
            return Pose(IDENTITY.rotation, frozen(self.axis * amount))
        return about_line(self.point, self.axis, amount)

    @property
    def mark(self) -> tuple[object, ...]:
        """The bits of all that a joint does."""
        point = b"" if self.point is None else self.point.tobytes()
        return self.drive, self.axis.tobytes(), self.rate, point, *self.held.mark

    def backwards(self) -> Joint:
        return replace(self, rate=-self.rate, held=self.held.inverse())


Chain: TypeAlias = tuple[Joint, ...]
"""Joints, outermost first."""


def about_line(point: Point, axis: Vector, angle: float) -> Pose:
    """The turn by `angle` radians about the line through `point` (3,) mm along the unit vector `axis`."""
    rotation = rotation_about(axis, angle)
    return Pose(frozen(rotation), frozen(point - rotation @ point))


def backwards(chain: Chain) -> Chain:
    """The chain that undoes another."""
    return tuple(joint.backwards() for joint in reversed(chain))


def carried(chain: Chain, setting: Floats) -> Pose:
    """What a chain does to points at rest, at parameters (k,)."""
    pose = IDENTITY
    for joint in chain:
        pose = pose @ joint.pose(setting)
    return pose


@dataclass(frozen=True, slots=True, eq=False)
class Spread:
    """What a chain does to points (n, 3) over a cell of k parameters.

    `points` (n, 3): where they are in the middle. `travel` (k, n) mm: what each parameter adds, at the most, to how
    far a point gets from there. `speed` (n,) mm: the same as if all went straight on, without the chord of a turn
    being shorter than its arc. `bend` (n,) mm: no point's way, taken from the middle to anywhere in the cell, has a
    second derivative (per unit of that way) longer than this. `slopes` (k, n, 3) mm: first derivatives in the
    middle, times half the width.
    """

    points: Points
    travel: Floats
    speed: Floats
    bend: Floats
    slopes: Floats


def spread(chain: Chain, rest: Points, cell: Cell, error: float = 0.0) -> Spread:
    """What `chain` does to points `rest` (n, 3) over `cell`, and to any point within `error` mm of their hull."""
    count, centre, halves = len(rest), cell.centre, cell.halves
    standing = _standing(chain, centre)
    points = carried(chain, centre).apply(rest)
    travel, slopes = np.zeros((len(halves), count)), np.zeros((len(halves), count, 3))
    speed, bend, further_in = np.zeros(count), np.zeros(count), np.zeros(count)
    for joint, line, axis in reversed(standing):
        assert joint.drive is not None
        width = joint.rate * halves[joint.drive]
        if line is None:
            step = np.full(count, abs(width))
            way = np.broadcast_to(axis, points.shape)
        else:
            way = (points - line) @ cross_matrix(axis).T
            reach = np.sqrt(np.einsum("ij,ij->i", way, way)) + error + further_in
            turned = min(abs(width), np.pi)
            step = 2 * np.sin(turned / 2) * reach
            bend += width * width * reach + 2 * abs(width) * speed
        speed += abs(width) if line is None else abs(width) * reach
        slopes[joint.drive] += width * way
        travel[joint.drive] += step
        further_in = further_in + step
    return Spread(points, travel, speed, bend, slopes)


def _standing(chain: Chain, setting: Floats) -> list[tuple[Joint, Point | None, Vector]]:
    """Every driven joint with its line (None for a shift) and axis, carried by the joints outside it."""
    found: list[tuple[Joint, Point | None, Vector]] = []
    pose = IDENTITY
    for joint in chain:
        if joint.drive is not None:
            line = None if joint.point is None else pose.apply(joint.point)
            found.append((joint, line, pose.rotate(joint.axis)))
        pose = pose @ joint.pose(setting)
    return found
