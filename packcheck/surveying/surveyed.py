"""A scene whose frames and parts are set in place by what was measured.

The readings become one network, which is settled (`packcheck.survey`), searched for blunders, and read back: where
each sought frame and part stands, how sure that is, and how the errors of all of them hang together.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from packcheck.arrays import Floats
from packcheck.errors import Fault
from packcheck.frames import Pose, turn_degrees
from packcheck.placing.placing import SolidMaker, poses
from packcheck.proximity import Placed, Session
from packcheck.scene.model.directions import axis_of
from packcheck.scene.model.scene import CAR, Frame, Part, Scene
from packcheck.scene.model.survey import Observation, Survey
from packcheck.survey.adjust import Adjustment, Lack, adjusted_from, lacks
from packcheck.survey.blunders import Verdicts, find_blunders
from packcheck.survey.network import Network, Reading, Row, Spot
from packcheck.survey.solve import Guess, Hints, Solution, solve
from packcheck.surveying.survey_places import place_guess, place_readings
from packcheck.surveying.survey_rows import Repeats, mean_of, readings_of
from packcheck.surveying.survey_spots import GRAVITY, Spots

__all__ = ["Surveyed", "surveyed"]

ROUNDS: Final = 8
"""Times that gaps between parts are measured anew, to see where their nearest points have gone."""

SETTLED: Final = 0.001
"""mm. Nearest points that wander no more than this have been found."""


@dataclass(frozen=True, eq=False)
class Surveyed:
    """What the readings come to. `verdicts` hold the adjustment without what was set aside.

    `scene` has every sought frame and part in its place, hung on the car; `repeats` the mean of each observation by
    label; `unread` the labels of those still open; `faults` what makes the answer no answer.
    """

    survey: Survey
    scene: Scene
    network: Network
    solution: Solution
    verdicts: Verdicts
    lacking: tuple[Lack, ...]
    repeats: Repeats
    unread: tuple[str, ...]
    faults: tuple[Fault, ...]
    guesses: Mapping[str, Guess]

    @property
    def adjustment(self) -> Adjustment:
        return self.verdicts.adjustment

    @property
    def bodies(self) -> tuple[str, ...]:
        """The frames and parts set in place, scene order."""
        return tuple(name for name in self.network.bodies if name != GRAVITY)

    def put(self, scene: Scene) -> Scene:
        """`scene` with everything sought hung on the car where the readings say."""
        return _placed(scene, self.adjustment)

    def covariance(self) -> Floats:
        """Of shift, mm, and turn, radians, of every one of `bodies` about its own zero, car frame."""
        return self.adjustment.body_covariance(self.bodies)


def surveyed(scene: Scene, maker: SolidMaker) -> Surveyed | None:
    """Everything the survey of `scene` says, or None without one. Its parts placed by faces are settled."""
    survey = scene.survey
    if survey is None:
        return None
    spots = Spots(scene, survey, poses(scene))
    extents = {one.of: maker.extents(scene.parts[one.of], np.eye(3)) for one in survey.observations if one.face}
    readings, repeats, unread = readings_of(survey.observations, spots, scene.parts, extents)
    guesses = _guesses(survey, spots)
    for axis in range(3):
        spots.axis(CAR, axis)
    for place in survey.places.values():
        spots.at(place.name)
        readings += place_readings(place, spots)
    touched = [one for one in survey.observations if one.kind == "gap" and one.values]
    network = _network(survey, spots, [*spots.readings, *readings])
    hints = Hints(guesses, *_hints(survey, spots), {GRAVITY: spots.gravity_pose()})
    solution = solve(network, hints)
    if touched:
        repeats |= {one.label: mean_of(one, survey.instruments) for one in touched}
        solution = _with_gaps(scene, maker, spots, solution, touched, repeats)
    verdicts = find_blunders(solution.adjustment)
    return Surveyed(
        survey=survey,
        scene=_placed(scene, verdicts.adjustment),
        network=solution.adjustment.network,
        solution=solution,
        verdicts=verdicts,
        lacking=lacks(solution.adjustment),
        repeats=repeats,
        unread=tuple(unread),
        faults=tuple(spots.faults),
        guesses=guesses,
    )


def _network(survey: Survey, spots: Spots, readings: list[Reading]) -> Network:
    carried = {spot.body for spot in spots.spots}
    bodies = [*survey.places, *([GRAVITY] if GRAVITY in carried else [])]
    return Network(tuple(spots.spots), tuple(bodies), tuple(readings))


def _guesses(survey: Survey, spots: Spots) -> dict[str, Guess]:
    made = {name: place_guess(place, spots) for name, place in survey.places.items()}
    return {name: guess for name, guess in made.items() if guess is not None}


def _hints(survey: Survey, spots: Spots) -> tuple[dict[str, Floats], dict[str, Floats]]:
    near = {point.name: np.array(point.near) for point in survey.points.values() if point.near is not None}
    way = {}
    for point in survey.points.values():
        if point.way is not None:
            axis, sign = axis_of(spots.ways, point.way)
            way[point.name] = sign * np.eye(3)[axis]
    return near, way


def _placed(scene: Scene, adjustment: Adjustment) -> Scene:
    """The scene with everything sought hung on the car where the readings say."""
    frames, parts = dict(scene.frames), dict(scene.parts)
    for name, pose in zip(adjustment.network.bodies, adjustment.state.poses, strict=True):
        if name in frames:
            frames[name] = _put(frames[name], pose)
        elif name in parts:
            parts[name] = replace(_put_part(parts[name], pose), placed=True)
    return replace(scene, frames=frames, parts=parts)


def _put(frame: Frame, pose: Pose) -> Frame:
    x, y, z = (float(v) for v in pose.translation)
    return replace(frame, parent=CAR, at=(x, y, z), turn=turn_degrees(pose.rotation))


def _put_part(part: Part, pose: Pose) -> Part:
    x, y, z = (float(v) for v in pose.translation)
    return replace(part, parent=CAR, at=(x, y, z), turn=turn_degrees(pose.rotation))


def _with_gaps(
    scene: Scene,
    maker: SolidMaker,
    spots: Spots,
    solution: Solution,
    touched: list[Observation],
    repeats: Repeats,
) -> Solution:
    """The network with gaps between parts as readings: between their nearest points, followed until they stay."""
    base = solution.adjustment.network
    session, current = Session(), solution.adjustment
    before = np.zeros((0, 3))
    for _ in range(ROUNDS):
        moved = _placed(scene, current)
        gaps = list(_nearest(moved, maker, session, touched))
        network = _bridged(base, spots, moved, gaps, repeats)
        current = adjusted_from(network, current.state)
        after = np.array([point for _, pair in gaps for point in pair])
        if before.shape == after.shape and np.abs(after - before).max(initial=0.0) < SETTLED:
            break
        before = after
    return replace(solution, adjustment=current)


def _nearest(
    scene: Scene, maker: SolidMaker, session: Session, touched: Collection[Observation]
) -> Iterator[tuple[Observation, Floats]]:
    """The nearest points (2, 3) of the two parts of each reading, car frame; none where they overlap."""
    placed_at = poses(scene)
    for one in touched:
        a, b = (Placed(name, maker.solids(scene.parts[name]), placed_at[name]) for name in one.names)
        found = session.gap(a, b)
        if found.points is not None and found.value > 0:
            yield one, found.points


def _bridged(
    base: Network, spots: Spots, scene: Scene, gaps: list[tuple[Observation, Floats]], repeats: Repeats
) -> Network:
    made = list(base.spots)
    readings = list(base.readings)
    placed_at = poses(scene)
    for one, points in gaps:
        numbers = []
        for name, point in zip(one.names, points, strict=True):
            body, _ = spots.carrier(name)
            pose = placed_at.get(body)
            local = point if pose is None or body not in base.bodies else pose.inverse().apply(point)
            numbers.append(len(made))
            made.append(Spot(f"{one.label} on {name}", body, local))
        mean = repeats[one.label]
        row = Row("distance", (numbers[0], numbers[1]), mean.value, mean.standard)
        readings.append(Reading(one.label, (row,), mark=one.mark))
    return Network(tuple(made), base.bodies, tuple(readings))
