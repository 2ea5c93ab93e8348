r"""Points, lines and planes of measures as they stand in the car, and how far off each may be.

A tolerance that is a ball lets every point of a part be off by as much, so that a line through it may also turn:
over its length L by asin(2 t / L), and beyond its ends it may stray by more than t.

        t |    ______-----  the true line
          ---------------   as drawn, L long
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import asin, degrees

import numpy as np

from packcheck.arrays import Point, Points, Vector
from packcheck.assembly.assembly import Assembly
from packcheck.notknown.doubt import Doubt
from packcheck.scene.model.features import Feature, Line, Plane, Spot
from packcheck.scene.model.middles import has_own_middle
from packcheck.solids.core.solid import Solid

__all__ = ["Directed", "Flat", "Standing", "standing"]

_AXES = {"x": 0, "y": 1, "z": 2}


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """A point (3,) mm, car frame, on `node`."""

    node: str
    at: Point

    @property
    def nodes(self) -> tuple[str, ...]:
        return (self.node,)

    @property
    def held_by(self) -> tuple[Standing, ...]:
        """The points that hold it."""
        return (self,)

    def doubt(self, assembly: Assembly, other: Standing) -> Doubt:
        """What is not known of where it stands against another."""
        return assembly.account.points(self.node, self.at, other.node, other.at)


@dataclass(frozen=True, slots=True, eq=False)
class Directed:
    """A straight through two points, which may hang on different nodes; with `ends` only what lies between."""

    start: Standing
    end: Standing
    ends: bool = False

    @property
    def nodes(self) -> tuple[str, str]:
        return self.start.node, self.end.node

    @property
    def held_by(self) -> tuple[Standing, ...]:
        """The points that hold it."""
        return self.start, self.end

    @property
    def length(self) -> float:
        return float(np.linalg.norm(self.end.at - self.start.at))

    @property
    def way(self) -> Vector:
        way: Vector = (self.end.at - self.start.at) / self.length
        return way

    @property
    def middle(self) -> Point:
        middle: Point = (self.start.at + self.end.at) / 2
        return middle

    def tilt(self, assembly: Assembly, besides: Sequence[str] = ()) -> float:
        """How far it may turn, degrees, against the car or against what hangs on the nodes `besides`."""
        apart = self.start.doubt(assembly, self.end).most
        both = 2 * _common(assembly, self.start.node, self.end.node, besides)
        return _turned_by(apart + both, self.length)


@dataclass(frozen=True, slots=True, eq=False)
class Flat:
    """A plane through a point; `way` (3,) its unit normal; `size` mm across the part it is a face of, or None."""

    point: Standing
    way: Vector
    size: float | None

    @property
    def nodes(self) -> tuple[str, ...]:
        return self.point.nodes

    def tilt(self, assembly: Assembly, besides: Sequence[str] = ()) -> float:
        """How far it may turn, degrees; a frame has no size, and what it turns is not known: none."""
        if self.size is None:
            return 0.0
        return _turned_by(2 * assembly.account.tilting(self.point.node, besides), self.size)


def _common(assembly: Assembly, a: str, b: str, besides: Sequence[str]) -> float:
    """What carries both ends and may turn them together, mm; the own ball of one part counts in `of_points`."""
    carried = assembly.account.tilting(a, besides)
    if a == b:
        return max(0.0, carried - (assembly.account.sources.ball(a) if a in assembly.parts else 0.0))
    return carried - assembly.account.tilting(a, [*besides, b])


def _turned_by(off: float, length: float) -> float:
    return 90.0 if off >= length else degrees(asin(off / length))


def standing(assembly: Assembly, feature: Feature) -> Standing | Directed | Flat:
    """A feature of a measure as it stands in the car."""
    match feature:
        case Spot():
            return _point(assembly, feature)
        case Line():
            return _line(assembly, feature)
        case Plane():
            axis = _AXES[feature.normal]
            way = assembly.poses[feature.spot.node].rotation[:, axis]
            return Flat(_point(assembly, feature.spot), way, _across(assembly, feature.spot.node, axis))


def _point(assembly: Assembly, spot: Spot) -> Standing:
    if spot.face:
        return Standing(spot.node, _face(assembly, spot))
    return Standing(spot.node, assembly.poses[spot.node].apply(np.array(spot.at)))


def _face(assembly: Assembly, spot: Spot) -> Point:
    """The middle of a face of the part's box as it stands."""
    low, high = assembly.parts[spot.node].box()
    axes = assembly.scene.axes
    words = {"front": "fore", "rear": "aft", "top": "up", "bottom": "down"}
    wanted = words.get(spot.face, spot.face)
    point = (low + high) / 2
    opposite = {"fore": "aft", "aft": "fore", "left": "right", "right": "left", "up": "down", "down": "up"}
    for axis, word in enumerate((axes.x, axes.y, axes.z)):
        if wanted == word:
            point[axis] = high[axis]
        elif wanted == opposite[word]:
            point[axis] = low[axis]
    return point


def _line(assembly: Assembly, line: Line) -> Directed:
    start = _point(assembly, line.start)
    if line.end is not None:
        return Directed(start, _point(assembly, line.end), line.ends)
    assert line.along is not None
    axis = _AXES[line.along]
    pose = assembly.poses[start.node]
    length = line.length or _extent(assembly, start.node)[axis]
    half = pose.rotation[:, axis] * length / 2
    centred = line.centred and start.node in assembly.parts
    middle = pose.apply(_middle(assembly, start.node, axis)) if centred else start.at
    return Directed(Standing(start.node, middle - half), Standing(start.node, middle + half), line.ends)


def _middle(assembly: Assembly, part: str, axis: int) -> Point:
    """The middle (3,) mm of an axis of the part, own coordinates.

    Wherever the anchor of a single shape is, its axis runs through its middle. What has several, or comes from a
    file, has the axis that its own zero was put on, and is halved along it.
    """
    low, high = _reach(assembly, part)
    middle: Point = (low + high) / 2
    return middle if has_own_middle(assembly.scene.parts[part]) else np.where(np.arange(3) == axis, middle, 0.0)


def _extent(assembly: Assembly, part: str) -> Vector:
    """Sizes (3,) mm of a part along its own axes."""
    low, high = _reach(assembly, part)
    size: Vector = high - low
    return size


def _reach(assembly: Assembly, part: str) -> tuple[Point, Point]:
    """Least and greatest own coordinates (3,) mm of a part."""
    solids = assembly.parts[part].solids
    ways = np.vstack([-np.eye(3), np.eye(3)])
    reach = np.max([np.diag(_outmost(solid, ways) @ ways.T) + solid.radius for solid in solids], axis=0)
    return -reach[:3], reach[3:]


def _outmost(solid: Solid, ways: Points) -> Points:
    """The points (n, 3) mm of a core farthest along unit vectors (n, 3): of the true shape where it is known."""
    if solid.support is not None:
        return solid.support(ways)
    farthest: Points = solid.vertices[np.argmax(solid.vertices @ ways.T, axis=0)]
    return farthest


def _across(assembly: Assembly, node: str, axis: int) -> float | None:
    """The least size of a part across an axis; None for a frame or the car."""
    if node not in assembly.parts:
        return None
    return float(np.delete(_extent(assembly, node), axis).min())
