"""A setting of motions in the builder's words ("rear_deck 43.1 deg open"), as data, and what a motion does."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from packcheck.arrays import Floats, Points, Vector
from packcheck.assembly.assembly import Assembly
from packcheck.datums import length_words
from packcheck.drawing.spun import spun_words
from packcheck.kinematics.joints import carried
from packcheck.kinematics.motions import Drive
from packcheck.proximity.hulls import hull_of
from packcheck.scene.model.motion import FullTurn, Held, Hinge, Motion, Rock, Travel
from packcheck.scene.model.motion import Path as MotionPath

__all__ = ["deed", "held_words", "pose_data", "setting_words", "span_words"]

_EDGES = {"fore": "front edge", "aft": "rear edge", "left": "left edge", "right": "right edge"}
_EDGES |= {"up": "top", "down": "underside"}
_GOES = {"up": "rises", "down": "drops", "fore": "goes forward", "aft": "goes aft"}
_GOES |= {"left": "goes left", "right": "goes right"}
_ASLANT = 0.1  # of a shift: a smaller part of it, along another axis, is not told
_SLIGHT = 0.005  # degrees or mm: prints as nothing


def pose_data(drives: Sequence[Drive], setting: Floats) -> dict[str, object]:
    """A setting as data: degrees of a hinge, mm of a travel, the stop on a path, turn and shift of a rock."""
    told: dict[str, object] = {}
    for drive, value in zip(drives, setting, strict=True):
        if not drive.word:
            told[drive.motion] = round(float(value), 4)
            continue
        word, axis = drive.word.split()
        rock = told.setdefault(drive.motion, {"turn": [0.0, 0.0, 0.0], "shift": [0.0, 0.0, 0.0]})
        assert isinstance(rock, dict)
        rock[word]["xyz".index(axis)] = round(float(value), 4)
    return told


def setting_words(assembly: Assembly, drives: Sequence[Drive], setting: Floats) -> str:
    """A setting in words: "rear_deck 43.1 deg open, engine_frame rocked +3.0 deg about x and 4 mm right"."""
    values: dict[str, list[tuple[Drive, float]]] = {}
    for drive, value in zip(drives, setting, strict=True):
        values.setdefault(drive.motion, []).append((drive, float(value)))
    return ", ".join(_one(assembly, assembly.scene.motions[name], told) for name, told in values.items())


def _one(assembly: Assembly, motion: Motion, told: Sequence[tuple[Drive, float]]) -> str:
    who, value = motion.carries[0], told[0][1]
    match motion.movement:
        case Hinge():
            return f"{who} {_degrees(motion, value)}"
        case FullTurn():
            return f"{who} turned {value:.1f} deg"
        case Travel(by=by):
            way = assembly.poses[motion.frame].rotate(np.array(by))
            return f"{who} {_shifted(assembly, way * value) or 'at rest'}"
        case MotionPath():
            stop = int(value)
            share = value - stop
            return f"{who} at stop {stop}" if share < _SLIGHT else f"{who} {share:.0%} of the way from stop {stop}"
        case Rock():
            return f"{who} {_rocked(assembly, motion, told) or 'at rest'}"


def _degrees(motion: Motion, value: float) -> str:
    if abs(value) < _SLIGHT:
        return "shut" if motion.during == "service" else "at 0 deg"
    return f"{value:.1f} deg open" if motion.during == "service" else f"at {value:.1f} deg"


def _rocked(assembly: Assembly, motion: Motion, told: Sequence[tuple[Drive, float]]) -> str:
    shift = np.zeros(3)
    turns = []
    for drive, value in told:
        word, axis = drive.word.split()
        if word == "shift":
            shift["xyz".index(axis)] = value
        elif abs(value) >= _SLIGHT:
            turns.append(f"{value:+.1f} deg about {axis}")
    moved = _shifted(assembly, assembly.poses[motion.frame].rotate(shift))
    rocked = [f"rocked {' and '.join(turns)}"] if turns else []
    return ", ".join([*rocked, *([moved] if moved else [])])


def _shifted(assembly: Assembly, shift: Vector) -> str:
    telling = max(0.05, _ASLANT * float(np.linalg.norm(shift)))
    kept = np.where(np.abs(shift) >= telling, shift, 0.0)
    return assembly.datums.words.shift_words(kept)


def held_words(assembly: Assembly, held: Sequence[Held]) -> str:
    """What is held open, in words: "lid 65.0 deg open", or "lid 50.0 to 65.0 deg"."""
    return " and ".join(_held(assembly, one) for one in held)


def _held(assembly: Assembly, held: Held) -> str:
    (drive,) = assembly.motions.drives[held.motion]
    if held.range[0] == held.range[1]:
        return setting_words(assembly, [drive], np.array([held.range[0]]))
    return f"{assembly.scene.motions[held.motion].carries[0]} {span_words(drive, *held.range)}"


def span_words(drive: Drive, start: float, end: float) -> str:
    """Part of the way of one parameter, rounded outward: "12.0 to 31.5 deg"."""
    if drive.unit == "stop":
        return f"{np.floor(start * 100) / 100:.2f} to {np.ceil(end * 100) / 100:.2f} (stops of the path)"
    return f"{np.floor(start * 10) / 10 + 0.0:.1f} to {np.ceil(end * 10) / 10 + 0.0:.1f} {drive.unit}"


def deed(assembly: Assembly, motion: Motion) -> str:
    """What a motion does to the first part it carries: "front edge of rear_deck rises 540 mm"."""
    part = _first_part(assembly, motion)
    if part is None:
        return "moves no part"
    drives = assembly.motions.drives[motion.name]
    match motion.movement:
        case Rock():
            ways = [f"{drive.word} {drive.low:+.3g} to {drive.high:+.3g} {drive.unit}" for drive in drives]
            return f"rocks {', '.join(ways)}"
        case FullTurn():
            return f"turns {part} all the way round, sweeping {spun_words(assembly, motion.name)}"
        case MotionPath(stops=stops):
            return f"leads {part} over {len(stops)} stops"
        case _:
            ends = [end for end in (drives[0].low, drives[0].high) if abs(end) >= _SLIGHT]
            return "; ".join(_edge_words(assembly, motion, part, end, drives[0].unit) for end in ends)


def _first_part(assembly: Assembly, motion: Motion) -> str | None:
    moved = (part for part in assembly.parts if motion.name in assembly.motions.carrying(part))
    return motion.carries[0] if motion.carries[0] in assembly.parts else next(moved, None)


def _edge_words(assembly: Assembly, motion: Motion, part: str, end: float, unit: str) -> str:
    """The edge all of which travels farthest on the way from 0 to `end`, and where it goes."""
    drives = assembly.motions.drives[motion.name]
    pose = carried(assembly.motions.chain(part, (motion.name,), drives, {}), np.array([end]))
    edges = [(word, pose.apply(edge) - edge) for word, edge in _edges(assembly, part)]
    word, shifts = max(edges, key=lambda edge: round(float(np.linalg.norm(edge[1], axis=1).min()), 6))
    shift = shifts.mean(axis=0)
    words = assembly.datums.words
    length, way = max(words.steps(shift), key=lambda step: round(step[0], 6))
    at = f"at {end:g} {unit} " if unit == "deg" else f"at {end:+g} mm "
    return f"{at}the {_EDGES[word]} of {part} {_GOES[way]} {length_words(length, words.units)}"


def _edges(assembly: Assembly, part: str) -> Iterator[tuple[str, Points]]:
    """The points (n, 3) of each edge of a part, by the way it looks."""
    placed, words = assembly.parts[part], assembly.datums.words
    points = placed.pose.apply(hull_of(placed.solids).points)
    for axis in np.vstack([np.eye(3), -np.eye(3)]):
        (_, way), *_ = sorted(words.steps(axis), reverse=True)
        heights = points @ axis
        yield way, points[heights >= heights.max() - 1.0]
