"""Rigid fits: one set of points laid on another, and planes through many.

Source: Kabsch 1976; Arun, Huang, Blostein 1987; Umeyama 1991 (the sign that keeps a fit from being a reflection).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from packcheck.arrays import Floats, Point, Points, Vector, frozen
from packcheck.frames import Pose

__all__ = ["Fit", "axes_pose", "mirrored", "plane_of", "rigid_fit"]


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """`target = scale * rotation @ source + translation`, and what is left of each point (n,), mm."""

    pose: Pose
    scale: float
    residuals: Floats

    @property
    def rms(self) -> float:
        return float(np.sqrt(np.mean(self.residuals**2)))


def rigid_fit(source: Points, target: Points, *, scaled: bool = False, mirror: bool = False) -> Fit:
    """The turn and shift that lay `source` on `target`, both (n, 3) mm, with the least sum of squares.

    Parameters
    ----------
    scaled : bool
        Fit a scale too. Off: the scale is 1.
    mirror : bool
        Fit a reflection instead of a rotation; to see whether left and right were exchanged. Then `pose` holds the
        reflection and is no pose to place anything by.

    Notes
    -----
    The unconstrained answer may be a reflection, also for good points; the last singular direction is turned round
    then (Umeyama 1991, eq. 39-43).
    """
    centre_s, centre_t = source.mean(axis=0), target.mean(axis=0)
    s, t = source - centre_s, target - centre_t
    u, size, vt = np.linalg.svd(t.T @ s)
    sign = np.sign(np.linalg.det(u) * np.linalg.det(vt)) * (-1.0 if mirror else 1.0)
    turned = np.array([1.0, 1.0, sign])
    rotation = (u * turned) @ vt
    spread = float((s**2).sum())
    scale = float((size * turned).sum()) / spread if scaled and spread else 1.0
    shift = centre_t - scale * rotation @ centre_s
    left = np.linalg.norm(scale * source @ rotation.T + shift - target, axis=1)
    return Fit(Pose(frozen(rotation), frozen(shift)), scale, left)


def plane_of(points: Points) -> tuple[Point, Vector, Floats]:
    """Middle (3,), unit normal (3,) and spreads (3,) mm, greatest first, of points (n, 3): least squares."""
    middle = points.mean(axis=0)
    _, size, vt = np.linalg.svd(points - middle, full_matrices=False)
    normal = vt[2] if len(vt) == 3 else np.cross(vt[0], vt[1])
    spreads = np.zeros(3)
    spreads[: len(size)] = size / np.sqrt(len(points))
    return middle, normal, spreads


def mirrored(points: Points, middle: Point, normal: Vector) -> Points:
    """`points` (n, 3) or (3,) on the other side of a plane."""
    height = (points - middle) @ normal
    other: Points = points - 2 * np.multiply.outer(height, normal)
    return other


def axes_pose(origin: Point, first: Vector, second: Vector, axes: tuple[int, int] = (0, 1)) -> Pose:
    """The pose whose axis `axes[0]` points along `first` and whose axis `axes[1]` lies on the side of `second`.

    Where the points leave a direction open (they are one, or in one line), any will do: what is open is told later.
    """
    length = np.linalg.norm(first)
    along = first / length if length > 0 else np.eye(3)[axes[0]]
    side = second - (second @ along) * along
    size = np.linalg.norm(side)
    if size <= 1e-9 * np.linalg.norm(second):
        side = np.cross(along, np.eye(3)[int(np.argmin(np.abs(along)))])
        size = np.linalg.norm(side)
    columns = np.zeros((3, 3))
    columns[:, axes[0]], columns[:, axes[1]] = along, side / size
    third = 3 - axes[0] - axes[1]
    cyclic = (axes[1] - axes[0]) % 3 == 1
    columns[:, third] = np.cross(along, side / size) * (1.0 if cyclic else -1.0)
    return Pose(frozen(columns), frozen(origin))
