"""What the kernel says of two placed parts."""

from __future__ import annotations

from dataclasses import dataclass, replace

from packcheck.arrays import Point, Points, Vector, frozen
from packcheck.frames import Pose
from packcheck.solids.core.solid import Solid

__all__ = ["Placed", "Separation"]


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """A part as it stands: its solids, in its own frame, and where that frame stands in the car."""

    name: str
    solids: tuple[Solid, ...]
    pose: Pose

    def at(self, pose: Pose) -> Placed:
        """The same part somewhere else."""
        return replace(self, pose=pose)

    @property
    def convex(self) -> bool:
        """Whether the part is one convex solid."""
        return len(self.solids) == 1 and self.solids[0].convex

    def box(self) -> tuple[Point, Point]:
        """Least and greatest corner (3,), mm, of a box in the car frame that surely holds the part."""
        lows, highs = zip(*(_placed_box(solid, self.pose) for solid in self.solids), strict=True)
        return frozen(lows).min(axis=0), frozen(highs).max(axis=0)


def _placed_box(solid: Solid, pose: Pose) -> tuple[Point, Point]:
    corners = pose.apply(solid.vertices)
    grown = solid.radius + solid.error
    return corners.min(axis=0) - grown, corners.max(axis=0) + grown


@dataclass(frozen=True, slots=True, eq=False)
class Separation:
    """The signed gap of two parts, negative when they overlap, and where it is.

    Obeys ``points[0] - points[1] == value * direction``: `points` (2, 3) mm on the first and second part,
    `direction` (3,) the unit vector from the second towards the first along which the gap grows fastest; both
    None where overlapping parts that are not convex have no nearest points. The true gap lies in [`low`, `high`];
    None is no bound. `doubt` says in words why nothing better can be said.
    """

    value: float
    low: float | None
    high: float | None
    points: Points | None = None
    direction: Vector | None = None
    doubt: str = ""

    def swapped(self) -> Separation:
        """The same gap with the parts named the other way round."""
        points = None if self.points is None else frozen(self.points[::-1])
        direction = None if self.direction is None else frozen(-self.direction)
        return replace(self, points=points, direction=direction)

    def carried(self, pose: Pose) -> Separation:
        """The same gap seen from the frame into which `pose` leads."""
        points = None if self.points is None else frozen(pose.apply(self.points))
        direction = None if self.direction is None else frozen(pose.rotate(self.direction))
        return replace(self, points=points, direction=direction)
