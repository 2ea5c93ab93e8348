"""How does something move? The motions of a scene, and what each does to a point at a setting."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal, TypeAlias

import numpy as np

from tests.oracles.shapes import Array, Pose, rotation_about
from tests.worlds.numbers import Axes, direction, length, point, turn_of

__all__ = ["Motion", "Setting", "motion_of", "moved"]

Kind: TypeAlias = Literal["hinge", "travel", "rock", "full_turn", "path"]
KINDS: tuple[Kind, ...] = ("hinge", "travel", "rock", "full_turn", "path")
Setting: TypeAlias = tuple[float, ...]
"""Degrees of a hinge, mm of a travel, turns and shifts of a rock in order, the number of the stop on a path."""


@dataclass(frozen=True, slots=True, eq=False)
class Motion:
    """Coordinates are those of `frame`: a line through `through` along `way`; `ranges` of each parameter.

    `axes` says of a rock which parameter is what: 0 to 2 a turn about x, y, z, 3 to 5 a shift. `stops` of a path
    are places (3,) and turns (3, 3); `through` is then the point that it turns about, None for the zero of what is
    carried first.
    """

    name: str
    kind: Kind
    carries: tuple[str, ...]
    frame: str
    ranges: tuple[tuple[float, float], ...]
    through: Array | None = None
    way: Array | None = None
    axes: tuple[int, ...] = ()
    stops: tuple[tuple[Array, Array], ...] = ()
    placed_at: float = 0.0
    during: str = "driving"
    together: bool = True

    @property
    def turns(self) -> bool:
        """Whether it turns what it carries."""
        if self.kind == "rock":
            return min(self.axes) < 3
        if self.kind == "path":
            return any(not np.allclose(turn, np.eye(3)) for _, turn in self.stops)
        return self.kind != "travel"


KEYS = {"carries", "in", "about", "during", "together", "note", *KINDS}


def motion_of(name: str, given: Mapping[str, Any], axes: Axes) -> Motion:
    """A motion of the file. Raises ValueError for what is not understood."""
    if odd := set(given) - KEYS:
        raise ValueError(f"motion {name}: not read by the tests: {sorted(odd)}")
    (kind,) = (kind for kind in KINDS if kind in given)
    carries = given["carries"] if isinstance(given["carries"], list) else [given["carries"]]
    how = {"hinge": _hinge, "full_turn": _full, "travel": _travel, "rock": _rock, "path": _path}[kind]
    read = how(given, axes)
    return Motion(
        name,
        kind,
        tuple(carries),
        given.get("in", "car"),
        during=given.get("during", "driving"),
        together=given.get("together", True),
        **read,
    )


def _line(given: Mapping[str, Any], axes: Axes) -> dict[str, Any]:
    if "between" in given:
        first, second = (point(end, axes) for end in given["between"])
        return {"through": first, "way": direction(second - first)}
    return {"through": point(given["through"], axes), "way": direction(given.get("axis", "z"))}


def _hinge(given: Mapping[str, Any], axes: Axes) -> dict[str, Any]:
    hinge = given["hinge"]
    ends = (float(hinge["from"]), float(hinge["to"]))
    return {**_line(hinge, axes), "ranges": (ends,), "placed_at": float(hinge.get("placed_at", 0))}


def _full(given: Mapping[str, Any], axes: Axes) -> dict[str, Any]:
    return {**_line(given["full_turn"], axes), "ranges": ((0.0, 360.0),)}


def _travel(given: Mapping[str, Any], axes: Axes) -> dict[str, Any]:
    travel = given["travel"]
    ends = (length(travel["from"], axes), length(travel["to"], axes))
    placed = length(travel.get("placed_at", 0), axes)
    return {"way": direction(travel["by"]), "ranges": (ends,), "placed_at": placed}


def _rock(given: Mapping[str, Any], axes: Axes) -> dict[str, Any]:
    rock = given["rock"]
    found = []
    for first, key in ((0, "turn"), (3, "shift")):
        for axis, letter in enumerate("xyz"):
            if letter in rock.get(key, {}):
                low, high = (float(v) if key == "turn" else length(v, axes) for v in rock[key][letter])
                found.append((first + axis, (low, high)))
    which, ranges = zip(*found, strict=True)
    return {"through": point(rock.get("about", [0, 0, 0]), axes), "axes": which, "ranges": ranges}


def _path(given: Mapping[str, Any], axes: Axes) -> dict[str, Any]:
    stops = tuple((point(s.get("at", [0, 0, 0]), axes), turn_of(s.get("turn"))) for s in given["path"])
    about = point(given["about"], axes) if "about" in given else None
    return {"through": about, "stops": stops, "ranges": ((1.0, float(len(stops))),)}


def moved(motion: Motion, line: Pose, zero: Array, setting: Setting | None) -> Pose:
    """What a motion does to points of the car, its coordinates being those of `line`, as drawn in this world.

    `zero` (3,) is that of what it carries first. Without a setting it stands at 0.
    """
    if motion.kind == "path":
        return Pose() if setting is None else _along(motion, line, zero, setting[0])
    if motion.kind == "rock":
        return Pose() if setting is None else _rocked(motion, line, setting)
    assert motion.way is not None
    amount = (setting[0] if setting else 0.0) - motion.placed_at
    way = line.rotation @ motion.way
    if motion.kind == "travel":
        return Pose(np.eye(3), way * amount)
    assert motion.through is not None
    return turned_about(line.apply(motion.through), rotation_about(way, amount))


def turned_about(centre: Array, turn: Array) -> Pose:
    """The turn (3, 3) about a point (3,)."""
    return Pose(turn, centre - turn @ centre)


def _rocked(motion: Motion, line: Pose, setting: Setting) -> Pose:
    """Turned about x, then y, then z, then shifted, all along the axes of its frame."""
    turn, shift = np.eye(3), np.zeros(3)
    for which, amount in zip(motion.axes, setting, strict=True):
        if which < 3:
            turn = rotation_about(np.eye(3)[which], amount) @ turn
        else:
            shift[which - 3] = amount
    assert motion.through is not None
    about = turned_about(line.apply(motion.through), line.rotation @ turn @ line.rotation.T)
    return about.shifted(line.rotation @ shift)


def _along(motion: Motion, line: Pose, zero: Array, stop: float) -> Pose:
    """From stop to stop: straight, and turned evenly about one axis."""
    first = min(int(stop) - 1, len(motion.stops) - 2)
    share = stop - 1 - first
    (start, turn), (end, then) = motion.stops[first], motion.stops[first + 1]
    step = _part_of(then @ turn.T, share) @ turn
    centre = zero if motion.through is None else line.apply(motion.through)
    about = turned_about(centre, line.rotation @ step @ line.rotation.T)
    return about.shifted(line.rotation @ (start + share * (end - start)))


def _part_of(turn: Array, share: float) -> Array:
    """A share of a turn (3, 3) about its own axis."""
    sines = np.array([turn[2, 1] - turn[1, 2], turn[0, 2] - turn[2, 0], turn[1, 0] - turn[0, 1]]) / 2
    sine = float(np.linalg.norm(sines))
    if sine < 1e-12:
        return np.eye(3)
    angle = np.degrees(np.arctan2(sine, (np.trace(turn) - 1) / 2))
    return rotation_about(sines, share * angle)
