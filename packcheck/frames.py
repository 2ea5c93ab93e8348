"""Poses: where a frame stands in another.

Names read like multiplication: ``p_car = car_from_part @ p_part``; ``car_from_pump = car_from_bulkhead @
bulkhead_from_pump``. Frames are right-handed; lengths are mm; `turn` is degrees about the parent's x, then y,
then z (fixed axes, right-handed), as ISO 8855 calls extrinsic rotations.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from packcheck.arrays import Floats, Matrix3, Points, Vector, frozen

__all__ = [
    "IDENTITY",
    "Pose",
    "angle_of",
    "cross_matrix",
    "rotation_about",
    "rotation_of",
    "sines_of",
    "turn_degrees",
    "turn_matrix",
]


@dataclass(frozen=True, slots=True, eq=False)
class Pose:
    """A rigid placement: `rotation` (3, 3) with determinant +1, `translation` (3,) mm."""

    rotation: Matrix3
    translation: Vector

    @staticmethod
    def of(at: Sequence[float] | Floats = (0, 0, 0), turn: Sequence[float] | Floats = (0, 0, 0)) -> Pose:
        """The pose of something put at `at` (mm) after `turn` (degrees about x, then y, then z)."""
        return Pose(frozen(turn_matrix(turn)), frozen(at))

    def __matmul__(self, other: Pose) -> Pose:
        return Pose(
            frozen(self.rotation @ other.rotation),
            frozen(self.rotation @ other.translation + self.translation),
        )

    def apply(self, points: Points) -> Points:
        """`points` (n, 3) or (3,), carried from the inner frame to the outer one."""
        return self.rotate(points) + self.translation

    def rotate(self, vectors: Points) -> Points:
        """`vectors` (n, 3) or (3,), turned but not shifted."""
        turned: Points = np.einsum("ij,...j->...i", self.rotation, vectors)  # a tall matmul is 15 times slower
        return turned

    def inverse(self) -> Pose:
        return Pose(frozen(self.rotation.T), frozen(-self.translation @ self.rotation))

    @property
    def mark(self) -> tuple[bytes, bytes]:
        """The bits of the pose: equal for no other, so that answers can be remembered by it."""
        return self.rotation.tobytes(), self.translation.tobytes()

    def shifted(self, by: Vector) -> Pose:
        """The same pose moved by `by` (mm, outer frame)."""
        return Pose(self.rotation, frozen(self.translation + by))


def turn_matrix(turn: Sequence[float] | Floats) -> Matrix3:
    """Rotation of `turn` degrees about fixed x, then y, then z: Rz @ Ry @ Rx."""
    (cx, cy, cz), (sx, sy, sz) = _cosines_and_sines(np.asarray(turn, dtype=np.float64))
    about_x = np.array([[1, 0, 0], [0, cx, -sx], [0, sx, cx]])
    about_y = np.array([[cy, 0, sy], [0, 1, 0], [-sy, 0, cy]])
    about_z = np.array([[cz, -sz, 0], [sz, cz, 0], [0, 0, 1]])
    matrix: Matrix3 = about_z @ about_y @ about_x
    return matrix


def turn_degrees(matrix: Matrix3) -> tuple[float, float, float]:
    """The turn, degrees about fixed x, then y, then z, that gives a rotation (3, 3): `turn_matrix` undone."""
    z = np.arctan2(matrix[1, 0], matrix[0, 0])
    y = np.arctan2(-matrix[2, 0], np.hypot(matrix[0, 0], matrix[1, 0]))
    back = np.cos(z) * matrix[1] - np.sin(z) * matrix[0]  # the turn about z undone: sound also where y is 90
    x = np.arctan2(-back[2], back[1])
    about = np.degrees([x, y, z])
    return float(about[0]), float(about[1]), float(about[2])


def cross_matrix(vector: Vector) -> Matrix3:
    """The matrix (3, 3) that makes the cross product of `vector` (3,) with another."""
    x, y, z = vector
    return np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])


def rotation_about(axis: Vector, angle: float) -> Matrix3:
    """The rotation (3, 3) by `angle` radians about the unit vector `axis` (3,).

    Rodrigues' formula, with 1 - cos as 2 sin^2 of half the angle, which keeps small turns exact.
    """
    across = cross_matrix(axis)
    rotation: Matrix3 = np.eye(3) + np.sin(angle) * across + 2 * np.sin(angle / 2) ** 2 * (across @ across)
    return rotation


def rotation_of(turn: Vector) -> Matrix3:
    """The rotation (3, 3) about the axis of `turn` (3,) by its length, radians."""
    angle = float(np.linalg.norm(turn))
    return rotation_about(turn / angle, angle) if angle > 0.0 else np.eye(3)


def sines_of(rotation: Matrix3) -> Vector:
    """Along the axis of a rotation (3, 3) the sine of its angle (3,)."""
    return np.array([rotation[i, j] - rotation[j, i] for i, j in ((2, 1), (0, 2), (1, 0))]) / 2


def angle_of(rotation: Matrix3) -> float:
    """The angle of a rotation (3, 3), radians, 0 to pi; as sound for a small one as for any."""
    return float(np.arctan2(np.linalg.norm(sines_of(rotation)), (np.trace(rotation) - 1) / 2))


def _cosines_and_sines(degrees: Floats) -> tuple[Floats, Floats]:
    """Exact at multiples of 90 degrees, so that a part turned square stays square."""
    quarters = np.round(degrees / 90.0)
    square = degrees == quarters * 90.0
    angles = np.radians(degrees)
    index = quarters.astype(np.int64) % 4
    cos = np.where(square, np.array([1.0, 0.0, -1.0, 0.0])[index], np.cos(angles))
    sin = np.where(square, np.array([0.0, 1.0, 0.0, -1.0])[index], np.sin(angles))
    return cos, sin


IDENTITY = Pose(frozen(np.eye(3)), frozen(np.zeros(3)))
