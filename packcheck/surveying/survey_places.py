"""What sets a frame or part in place, as equations, and a first guess of where it lies.

Every frame or part sought is a body with six unknowns. A frame from three points, an axis or a plane takes its zero
and its spin from what is so by definition; a part laid on matched marks, and the flatness of a plane, are as good
as the marks, and each leaves a residual.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

import numpy as np

from packcheck.arrays import Point, Points, Vector
from packcheck.frames import Pose
from packcheck.scene.model.directions import axis_of
from packcheck.scene.model.scene import CAR, Scene
from packcheck.scene.model.survey import Place
from packcheck.survey.fits import axes_pose, plane_of, rigid_fit
from packcheck.survey.network import Reading, Row
from packcheck.survey.solve import Guess
from packcheck.surveying.survey_spots import TIGHT, Spots, ways_of

__all__ = ["hinge_axis", "place_guess", "place_readings"]


def place_readings(place: Place, spots: Spots) -> Iterator[Reading]:
    """The equations that hold a body to its points."""
    maker: Callable[[Place, Spots], Iterator[Reading]] | None = _READINGS.get(place.how)
    return maker(place, spots) if maker else iter(())


def place_guess(place: Place, spots: Spots) -> Guess | None:
    """Where the body lies, from where its points are; None when only readings know."""
    maker = _GUESSES.get(place.how)
    return maker(place, spots) if maker else None


def _defining(place: Place, rows: list[Row]) -> Reading:
    return Reading(f"{place.name} by definition", tuple(rows), role="defining", mark=place.mark)


def _matched_row(place: Place, label: str, rows: list[Row]) -> Reading:
    return Reading(label, tuple(rows), role="matched", mark=place.mark)


def _axis(place: Place, spots: Spots, default: str) -> tuple[int, int]:
    """The own axis a place is about, and which way along it."""
    axis, sign = axis_of(spots.ways, place.ways[0] if place.ways else default)  # type: ignore[arg-type]
    return axis, sign


def _zero_at(place: Place, spots: Spots, point: int) -> list[Row]:
    """The body's zero stands at a point."""
    zero = spots.at(place.name)
    return [Row("along", (point, zero, *spots.axis(CAR, axis)), 0.0, TIGHT) for axis in range(3)]


def _on_axis(place: Place, spots: Spots, point: int, axis: int) -> list[Row]:
    """A point stands on one of the body's own axes."""
    return [_flat(place, spots, point, other) for other in range(3) if other != axis]


def _flat(place: Place, spots: Spots, point: int, axis: int, standard: float = TIGHT) -> Row:
    """A point has no coordinate along one of the body's own axes."""
    way = spots.axis(place.name, axis)
    return Row("along", (point, way[0], *way), 0.0, standard)


def _three_points(place: Place, spots: Spots) -> Iterator[Reading]:
    origin, toward, side = (spots.at(name) for name in place.points)
    (first, _), (second, _) = (axis_of(spots.ways, way) for way in place.ways)
    third = 3 - first - second
    rows = [
        *_zero_at(place, spots, origin),
        *_on_axis(place, spots, toward, first),
        _flat(place, spots, side, third),
    ]
    yield _defining(place, rows)


def _guess_three_points(place: Place, spots: Spots) -> Guess:
    (first, one), (second, two) = (axis_of(spots.ways, way) for way in place.ways)

    def guess(points: Mapping[str, Point]) -> Pose:
        origin, toward, side = (points[name] for name in place.points)
        return axes_pose(origin, one * (toward - origin), two * (side - origin), (first, second))

    return guess


def _two_points(place: Place, spots: Spots) -> Iterator[Reading]:
    start, end = (spots.at(name) for name in place.points)
    axis, _ = _axis(place, spots, spots.ways["x"])
    rows = [*_zero_at(place, spots, start), *_on_axis(place, spots, end, axis), _level_side(place, spots, axis)]
    yield _defining(place, rows)


def _level_side(place: Place, spots: Spots, axis: int) -> Row:
    """What keeps a line from spinning: its next own axis lies square to the car's one after that."""
    zero, tip = spots.axis(place.name, (axis + 1) % 3)
    return Row("along", (tip, zero, *spots.axis(CAR, (axis + 2) % 3)), 0.0, TIGHT)


def _guess_two_points(place: Place, spots: Spots) -> Guess:
    axis, sign = _axis(place, spots, spots.ways["x"])
    side = (axis + 1) % 3

    def guess(points: Mapping[str, Point]) -> Pose:
        start, end = (points[name] for name in place.points)
        along = sign * (end - start)
        level = np.cross(np.eye(3)[(axis + 2) % 3], along)  # square to the axis and to the car's third
        return axes_pose(start, along, level, (axis, side))

    return guess


def _plane(place: Place, spots: Spots) -> Iterator[Reading]:
    axis, _ = _axis(place, spots, "up")
    first, second = (axis + 1) % 3, (axis + 2) % 3
    at = [spots.at(name) for name in place.points]
    rows = [
        _flat(place, spots, at[0], first),
        _flat(place, spots, at[0], second),
        _flat(place, spots, at[1], second),
    ]
    yield _defining(place, rows)
    for name, point in zip(place.points, at, strict=True):
        yield _matched_row(place, f"{name} in {place.name}", [_flat(place, spots, point, axis, place.standard)])


def _guess_plane(place: Place, spots: Spots) -> Guess:
    axis, sign = _axis(place, spots, "up")

    def guess(points: Mapping[str, Point]) -> Pose:
        at = np.array([points[name] for name in place.points])
        _, normal, _ = plane_of(at)
        upward = normal if normal[axis] * sign >= 0 else -normal
        return axes_pose(at[0], sign * upward, at[1] - at[0], (axis, (axis + 1) % 3))

    return guess


def _matched(place: Place, spots: Spots) -> Iterator[Reading]:
    for match in place.matches:
        mark, point = spots.at(match.mark_on_part), spots.at(match.point)
        rows = [Row("along", (point, mark, *spots.axis(CAR, axis)), 0.0, place.standard) for axis in range(3)]
        yield _matched_row(place, f"{match.mark_on_part} of {place.name} at {match.point}", rows)


def matched_points(place: Place, spots: Spots, points: Mapping[str, Point]) -> tuple[Points, Points]:
    """The marks (n, 3) in the part's own frame, and where they were found (n, 3) in the car."""
    marks = [spots.stated(match.mark_on_part) for match in place.matches]
    return np.array(marks), np.array([points[match.point] for match in place.matches])


def _guess_matched(place: Place, spots: Spots) -> Guess:
    return lambda points: rigid_fit(*matched_points(place, spots, points)).pose


def hinge_axis(place: Place, scene: Scene) -> int:
    """The own axis of a place on the line of a hidden hinge that runs along that line."""
    ways = ways_of(scene)
    return axis_of(ways, place.ways[0] if place.ways else ways["y"])[0]


def _hinge(place: Place, spots: Spots) -> Iterator[Reading]:
    """Each dot keeps its distance from the line and its place along it, at every opening."""
    axis, sign = _axis(place, spots, spots.ways["y"])
    way = spots.axis(place.name, axis, sign)
    start = spots.at(place.dots[0][0])
    yield _defining(place, [_flat(place, spots, start, axis), _level_side(place, spots, axis)])
    for dot in place.dots:
        first, *others = (spots.at(name) for name in dot)
        for name, other in zip(dot[1:], others, strict=True):
            rows = [
                Row("along", (other, first, *way), 0.0, place.standard),
                Row("widening", (other, first, *way), 0.0, place.standard),
            ]
            yield _matched_row(place, f"{name} round {place.name}", rows)


def _guess_hinge(place: Place, spots: Spots) -> Guess:
    axis, sign = _axis(place, spots, spots.ways["y"])

    def guess(points: Mapping[str, Point]) -> Pose:
        circles = [_circle(*(points[name] for name in (dot[0], dot[1], dot[-1]))) for dot in place.dots]
        centre, line = max(circles, key=lambda circle: float(np.linalg.norm(circle[1])))
        line = line if line[axis] * sign >= 0 else -line
        first = points[place.dots[0][0]]
        unit = line / max(float(np.linalg.norm(line)), 1e-12)
        zero = centre + ((first - centre) @ unit) * unit
        level = np.cross(np.eye(3)[(axis + 2) % 3], sign * line)
        return axes_pose(zero, sign * line, level, (axis, (axis + 1) % 3))

    return guess


def _circle(a: Point, b: Point, c: Point) -> tuple[Point, Vector]:
    """The centre (3,) of the circle through three points, and a vector (3,) along its axis."""
    ab, ac = b - a, c - a
    normal = np.cross(ab, ac)
    square = max(float(normal @ normal), 1e-12)
    out = (np.cross(normal, ab) * (ac @ ac) + np.cross(ac, normal) * (ab @ ab)) / (2 * square)
    return a + out, normal


_READINGS: Mapping[str, Callable[[Place, Spots], Iterator[Reading]]] = {
    "points": _three_points,
    "axis": _two_points,
    "plane": _plane,
    "matched": _matched,
    "hinge": _hinge,
}
_GUESSES: Mapping[str, Callable[[Place, Spots], Guess]] = {
    "points": _guess_three_points,
    "axis": _guess_two_points,
    "plane": _guess_plane,
    "matched": _guess_matched,
    "hinge": _guess_hinge,
}
