"""The points of a survey, each on the body that carries it: the car, or a frame or part that is itself sought."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

import numpy as np

from packcheck.arrays import Point, Vector, frozen
from packcheck.errors import Fault
from packcheck.frames import Pose, turn_matrix
from packcheck.scene.model.directions import Ways, axis_of
from packcheck.scene.model.scene import CAR, Direction, Frame, Part, Scene
from packcheck.scene.model.survey import Survey, SurveyPoint
from packcheck.survey.network import Reading, Row, Spot

__all__ = ["AXIS", "GRAVITY", "TIGHT", "Spots", "ways_of"]

AXIS: Final = 1000.0
"""mm. How far out on an axis the point stands that gives its direction."""

TIGHT: Final = 1e-3
"""mm, standard. What is so by definition holds to this: a thousand times better than anything read with a tape."""

GRAVITY: Final = "gravity"
"""The body that knows which way is down; sought when the stance is not known exactly."""

CROSSWISE: Final = ("x", "y", "z")


def ways_of(scene: Scene) -> Ways:
    """Where positive x, y and z of the scene point."""
    return {"x": scene.axes.x, "y": scene.axes.y, "z": scene.axes.z}


class Spots:
    """Collects points by name; those of directions and of gravity are made when they are first asked for."""

    def __init__(self, scene: Scene, survey: Survey, poses: Mapping[str, Pose]) -> None:
        self.spots: list[Spot] = []
        self.readings: list[Reading] = []
        self.faults: list[Fault] = []
        self.survey = survey
        self.ways = ways_of(scene)
        self._number: dict[str, int] = {}
        self._nodes: dict[str, Frame | Part] = {**scene.frames, **scene.parts}
        self._poses = poses
        self._level = turn_matrix(survey.stance.turn).T
        for point in survey.points.values():
            self._point(point)

    def add(self, name: str, body: str | None, local: Point) -> int:
        """The number of a point; one of that name that is there already is kept."""
        if name not in self._number:
            self._number[name] = len(self.spots)
            self.spots.append(Spot(name, body, frozen(local)))
        return self._number[name]

    def at(self, name: str) -> int:
        """The point `name`, or the zero of the frame or part of that name."""
        return self._number[name] if name in self._number else self.on(name, np.zeros(3), name)

    def on(self, node: str, local: Point, name: str) -> int:
        """A point known at `local` (3,) mm in a frame or part."""
        body, pose = self.carrier(node)
        return self.add(name, body, pose.apply(local))

    def stated(self, name: str) -> Point:
        """Where a known point is said to be (3,) mm, on the body that carries it."""
        return self.spots[self._number.get(f"{name} as stated", self._number[name])].local

    def carrier(self, node: str) -> tuple[str, Pose]:
        """The sought frame or part that carries `node`, or the car; and where `node` stands in it."""
        name = node
        while name not in self.survey.places and name in self._nodes:
            name = self._nodes[name].parent
        return name, self._poses[name].inverse() @ self._poses[node]

    def direction(self, way: Direction, node: str = CAR) -> tuple[int, int]:
        """Two points of `node`, the second lying `way` of the first."""
        axis, sign = axis_of(self.ways, way)
        return self.axis(node, axis, sign)

    def axis(self, node: str, axis: int, sign: int = 1) -> tuple[int, int]:
        """Two points of `node`, the second up (or for -1 down) its own axis 0, 1 or 2."""
        zero = self.on(node, np.zeros(3), node)
        tip = self.on(node, sign * AXIS * np.eye(3)[axis], f"{node} {'+' if sign > 0 else '-'}{CROSSWISE[axis]}")
        return zero, tip

    def up(self) -> tuple[int, int]:
        """Two points, the second straight above the first as a plumb line hangs."""
        axis, sign = axis_of(self.ways, "up")
        return self._gravity(sign * np.eye(3)[axis], "up")

    def level(self) -> Iterator[tuple[int, int]]:
        """Two directions square to the plumb line."""
        axis, _ = axis_of(self.ways, "up")
        for other in {0, 1, 2} - {axis}:
            yield self._gravity(np.eye(3)[other], CROSSWISE[other])

    def _gravity(self, way: Vector, name: str) -> tuple[int, int]:
        if self.survey.stance.standard == 0.0:
            return self.on(CAR, np.zeros(3), CAR), self.add(f"level {name}", CAR, AXIS * self._level @ way)
        if GRAVITY not in self._number:
            self._hang()
        return self._number[GRAVITY], self.add(f"{GRAVITY} {name}", GRAVITY, AXIS * way)

    def _hang(self) -> None:
        """Gravity as a body: at the car's zero, turned as the stance says, its two tilts good to its accuracy."""
        zero = self.add(GRAVITY, GRAVITY, np.zeros(3))
        car, axes = self.on(CAR, np.zeros(3), CAR), [self.axis(CAR, axis) for axis in range(3)]
        axis, sign = axis_of(self.ways, "up")
        up = self.add(f"{GRAVITY} up", GRAVITY, AXIS * sign * np.eye(3)[axis])
        first, second = sorted({0, 1, 2} - {axis})
        level = [self.add(f"level {k}", CAR, AXIS * self._level @ np.eye(3)[k]) for k in (first, second)]
        side = self.add(f"{GRAVITY} {CROSSWISE[first]}", GRAVITY, AXIS * np.eye(3)[first])
        still = tuple(Row("along", (zero, car, *way), 0.0, TIGHT) for way in axes)
        spin = Row("along", (side, car, car, level[1]), 0.0, TIGHT)
        tilt = AXIS * float(np.tan(np.radians(self.survey.stance.standard)))
        mark = self.survey.stance.mark
        self.readings.append(Reading("gravity", (*still, spin), role="defining", mark=mark))
        rows = tuple(Row("along", (up, car, car, way), 0.0, tilt) for way in level)
        self.readings.append(Reading("stance", rows, mark=mark, note="in mm at 1 m"))

    def gravity_pose(self) -> Pose:
        """Where gravity stands in the car, as the stance says."""
        return Pose(frozen(self._level), frozen(np.zeros(3)))

    def _point(self, point: SurveyPoint) -> None:
        if point.at is None:
            self.add(point.name, None, np.zeros(3))
            return
        body, pose = self.carrier(point.on)
        local = pose.apply(np.array(point.at))
        self._refuse_loose(point, body)
        if point.standard == 0.0:
            self.add(point.name, body, local)
            return
        # Known, but only so well: free, and held to where it is said to be.
        free = self.add(point.name, None, local)
        stated = self.add(f"{point.name} as stated", body, local)
        rows = tuple(Row("along", (free, stated, *self.axis(body, axis)), 0.0, point.standard) for axis in range(3))
        self.readings.append(Reading(f"place of {point.name}", rows, mark=point.mark))

    def _refuse_loose(self, point: SurveyPoint, body: str) -> None:
        """A known point must not hang on something that is itself not known exactly, below what is sought."""
        name = point.on
        while name != body:
            node = self._nodes[name]
            if any(node.tolerance) or node.uncertainty is not None:
                what = (
                    f"survey point {point.name!r}: {name!r}, which it stands on, has a tolerance or an uncertainty"
                )
                why = "what is measured from must not itself be off in a way that the survey does not know"
                mend = f"take it from {name!r}, and give the point an accuracy"
                self.faults.append(Fault(point.mark, what, why, mend))
                return
            name = node.parent
