"""The number of each sort of measure as drawn, and the interval the tolerances leave it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import product
from math import asin, degrees, hypot, radians, sin, sqrt

import numpy as np

from packcheck.arrays import Point, Points, Vector
from packcheck.assembly.assembly import Assembly
from packcheck.assembly.features import Directed, Flat, Standing
from packcheck.tolerances import EXACT_WIDTH

__all__ = ["Reckoned", "reckon"]


@dataclass(frozen=True, slots=True, eq=False)
class Reckoned:
    """`value` as drawn, mm or degrees; the true one lies in [low, high].

    `points` (2, 3) mm where it was taken; `note` what more to know.
    """

    value: float
    low: float
    high: float
    points: Points | None = None
    note: str = ""


_PARALLEL = 1e-9
"""Sine of the angle of two lines below which they are taken as parallel: a metre of them parts by 1e-6 mm."""

_ALIKE = "turned within their tolerances, lines without ends may meet far away: say length or ends"

Stood = Standing | Directed | Flat


def reckon(assembly: Assembly, sort: str, features: Sequence[Stood]) -> Reckoned:
    """What a measure of this sort between these features comes to."""
    return _SORTS[sort](assembly, *features)


def _distance(assembly: Assembly, a: Standing, b: Standing) -> Reckoned:
    apart = a.at - b.at
    value = float(np.linalg.norm(apart))
    doubt, points = a.doubt(assembly, b), np.array([a.at, b.at])
    way = apart / value if value > 0 else None
    low = max(0.0, doubt.least_gap(value, way, convex=True))
    return Reckoned(value, low, doubt.greatest_gap(value, way, points), points)


def _height(assembly: Assembly, a: Standing, b: Standing) -> Reckoned:
    up = _up(assembly)
    value = float((a.at - b.at) @ up)
    off = a.doubt(assembly, b).across(up)
    return Reckoned(value, value - off, value + off, np.array([a.at, b.at]))


def _to_line(assembly: Assembly, point: Standing, line: Directed) -> Reckoned:
    return _near(assembly, point, line, _on_line(point.at, line), point.at)


def _between_lines(assembly: Assembly, a: Directed, b: Directed) -> Reckoned:
    on_a, on_b = _nearest(a, b)
    return _near(assembly, a, b, on_b, on_a)


def _near(assembly: Assembly, a: Standing | Directed, b: Directed, on_b: Point, on_a: Point) -> Reckoned:
    """Segments are the hulls of their ends: no point of one strays farther than its ends, nor does the distance.

    What has no ends strays the more, the farther from the two points that hold it: by `grows` for each mm. Lines at
    an angle of c part by sqrt(1 - cos c) for each mm that both are followed, which bounds what that takes off.
    """
    value = float(np.linalg.norm(on_a - on_b))
    off = max(one.doubt(assembly, other).most for one, other in product(a.held_by, b.held_by))
    endless = [(line, at) for line, at in ((a, on_a), (b, on_b)) if isinstance(line, Directed) and not line.ends]
    grows = max((2 * off / line.length for line, _ in endless), default=0.0)
    parts = sqrt(1 - abs(float(a.way @ b.way))) if isinstance(a, Directed) else 1.0
    off *= 1 + 2 * max((_beyond(line, at) for line, at in endless), default=0.0)
    least = value if not grows else value * sqrt(1 - (grows / parts) ** 2) if grows < parts else 0.0
    note = _ALIKE if least == 0.0 < value else _carried_on(a, b, value)
    return Reckoned(value, max(0.0, least - off), value + off, np.array([on_a, on_b]), note)


def _beyond(line: Directed, at: Point) -> float:
    """How far a point of a line lies past the nearer of the two that hold it, in lengths between those."""
    share = float((at - line.start.at) @ line.way) / line.length
    return max(0.0, -share, share - 1.0)


def _carried_on(a: Standing | Directed, b: Directed, value: float) -> str:
    """What is nearer than an end of a line, were it carried on."""
    freed = replace(b, ends=False)
    if isinstance(a, Standing):
        nearer = float(np.linalg.norm(a.at - _on_line(a.at, freed)))
    else:
        nearer = float(np.linalg.norm(np.subtract(*_nearest(replace(a, ends=False), freed))))
    return (
        f"taken to an end; the line, carried on, passes at {nearer:.1f} mm" if nearer < value - EXACT_WIDTH else ""
    )


def _to_plane(assembly: Assembly, point: Standing, plane: Flat) -> Reckoned:
    r"""Along the normal; beyond its part, a plane that may turn strays by more than its tolerance.

    A straight that stays within t over a disc of radius r stays within t (d / r) at d from its middle.
    """
    apart = point.at - plane.point.at
    value = float(apart @ plane.way)
    foot = point.at - value * plane.way
    off = point.doubt(assembly, plane.point).across(plane.way)
    if plane.size is not None:
        turning = assembly.account.tilting(plane.point.node, [point.node])
        beyond = float(np.linalg.norm(foot - plane.point.at)) / (plane.size / 2)
        off += turning * max(0.0, beyond - 1.0)
        off += abs(value) * (1 - np.cos(radians(plane.tilt(assembly, [point.node]))))
    return Reckoned(value, value - off, value + off, np.array([point.at, foot]))


def _between_planes(assembly: Assembly, a: Flat, b: Flat) -> Reckoned:
    return _to_plane(assembly, a.point, b)


def _angle(assembly: Assembly, a: Directed | Flat, b: Directed | Flat) -> Reckoned:
    turned = degrees(asin(min(1.0, float(np.linalg.norm(np.cross(a.way, b.way))))))
    value = turned if isinstance(a, Flat) == isinstance(b, Flat) else 90.0 - turned
    off = a.tilt(assembly, b.nodes) + b.tilt(assembly, a.nodes)
    return Reckoned(value, max(0.0, value - off), min(90.0, value + off), np.array([_middle(a), _middle(b)]))


def _incline(assembly: Assembly, line: Directed) -> Reckoned:
    value = abs(_rise(assembly, line))
    off = line.tilt(assembly)
    return Reckoned(value, max(0.0, value - off), min(90.0, value + off), np.array([line.start.at, line.end.at]))


def _slope(assembly: Assembly, start: Standing, end: Standing) -> Reckoned:
    line = Directed(start, end)
    value, off = -_rise(assembly, line), line.tilt(assembly)
    return Reckoned(value, max(-90.0, value - off), min(90.0, value + off), np.array([start.at, end.at]))


def _restraint(assembly: Assembly, start: Standing, end: Standing) -> Reckoned:
    return _incline(assembly, Directed(start, end))


def _pulley_offset(assembly: Assembly, a: Directed, b: Directed) -> Reckoned:
    """Along the axis of the first; if that turns, the mid plane of the other strays with its distance."""
    apart = b.middle - a.middle
    along = float(apart @ a.way)
    beside = hypot(*(apart - along * a.way))
    off = max(one.doubt(assembly, other).across(a.way) for one, other in product(a.held_by, b.held_by))
    off += beside * sin(radians(a.tilt(assembly, b.nodes)))
    value = abs(along)
    return Reckoned(value, max(0.0, value - off), value + off, np.array([a.middle, b.middle]))


def _rise(assembly: Assembly, line: Directed) -> float:
    """Degrees that a line climbs from its start to its end."""
    return degrees(asin(float(np.clip(line.way @ _up(assembly), -1.0, 1.0))))


def _up(assembly: Assembly) -> Vector:
    axes = assembly.scene.axes
    words = (axes.x, axes.y, axes.z)
    up = np.zeros(3)
    for axis, word in enumerate(words):
        up[axis] = {"up": 1.0, "down": -1.0}.get(word, 0.0)
    return up


def _middle(feature: Directed | Flat) -> Point:
    return feature.middle if isinstance(feature, Directed) else feature.point.at


def _on_line(point: Point, line: Directed) -> Point:
    """The point (3,) of a line nearest to another, mm."""
    along = float((point - line.start.at) @ line.way)
    if line.ends:
        along = min(max(along, 0.0), line.length)
    on: Point = line.start.at + along * line.way
    return on


def _nearest(a: Directed, b: Directed) -> tuple[Point, Point]:
    """Nearest points (3,), mm, of two lines: where they pass each other if that is on both, or at an end."""
    pairs = [(end, _on_line(end, b)) for end in (a.start.at, a.end.at) if a.ends or _alike(a, b)]
    pairs += [(_on_line(end, a), end) for end in (b.start.at, b.end.at) if b.ends or _alike(a, b)]
    if not _alike(a, b):
        across = np.cross(a.way, b.way)
        apart = b.start.at - a.start.at
        on_a, on_b = (float(np.cross(apart, way) @ across / (across @ across)) for way in (b.way, a.way))
        if _holds(a, on_a) and _holds(b, on_b):
            pairs.append((a.start.at + on_a * a.way, b.start.at + on_b * b.way))
    return min(pairs, key=lambda pair: float(np.linalg.norm(pair[0] - pair[1])))


def _alike(a: Directed, b: Directed) -> bool:
    """Whether two lines are parallel, as far as rounding tells."""
    return float(np.linalg.norm(np.cross(a.way, b.way))) <= _PARALLEL


def _holds(line: Directed, along: float) -> bool:
    return not line.ends or 0 <= along <= line.length


_SORTS: dict[str, Callable[..., Reckoned]] = {
    "distance": _distance,
    "height": _height,
    "to_line": _to_line,
    "to_plane": _to_plane,
    "between_lines": _between_lines,
    "between_planes": _between_planes,
    "angle": _angle,
    "incline": _incline,
    "slope": _slope,
    "restraint": _restraint,
    "pulley_offset": _pulley_offset,
    "pulley_parallel": _angle,
}
