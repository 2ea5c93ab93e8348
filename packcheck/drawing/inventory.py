"""Every part in words: where its faces stand, how it leans, its size, how it is known, what it is joined to."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from typing import Final

import numpy as np

from packcheck.arrays import Matrix3, Point, frozen
from packcheck.assembly.assembly import Assembly
from packcheck.datums import length_words
from packcheck.drawing.sizes import size_words
from packcheck.findings import Table
from packcheck.frames import turn_degrees
from packcheck.scene.model.directions import TURNS, axis_of
from packcheck.scene.model.scene import CAR, Frame, Part

__all__ = ["inventory"]

COLUMNS: Final = ("part", "kind", "in", "place", "size", "known", "joints", "stage")

_TURN_WORDS: Final = {
    "nose_up": "nose up {}",
    "nose_down": "nose down {}",
    "lean_left": "leans {} left",
    "lean_right": "leans {} right",
    "swing_left": "swung {} left",
    "swing_right": "swung {} right",
}


def inventory(assembly: Assembly, only: Collection[str] = ()) -> Table:
    """One row a part, in scene order; `only` keeps these. Lengths are in the scene's units, in words."""
    rows = tuple(_row(assembly, name) for name in assembly.parts if not only or name in only)
    note = f"left out at the stage {assembly.scene.stage}: {', '.join(assembly.gone)}" if assembly.gone else ""
    return Table("parts", "Parts, as they stand in the car", COLUMNS, rows, note)


def _row(assembly: Assembly, name: str) -> tuple[str, ...]:
    part = assembly.scene.parts[name]
    joints = [other for other in assembly.scene.parts if assembly.rules.joint(name, other)]
    joints += [f"goes into {other}" for other in part.goes_into]
    low, high = assembly.box(name)
    size = size_words(part, (high - low).tolist(), assembly.scene.units)
    known = _known(part, assembly.scene.units) or _carried(assembly, name) or "taken at its word"
    stage = "" if part.stage == "final" else part.stage
    return name, ", ".join(part.kinds), part.parent, _place(assembly, name), size, known, ", ".join(joints), stage


def _place(assembly: Assembly, name: str) -> str:
    part = assembly.scene.parts[name]
    faces = ", ".join(_faces(assembly, name))
    turned = ", ".join(_turns(assembly, assembly.poses[name].rotation))
    unplaced = "" if part.placed else f"no place given, so it stands at the zero of {part.parent}"
    return "; ".join(filter(None, [unplaced, faces, turned]))


def _faces(assembly: Assembly, name: str) -> Iterator[str]:
    """Its front face, its outer side and its underside, from the frame that it hangs on."""
    datum, zero = _datum(assembly, name)
    words, units = assembly.datums.words, assembly.scene.units
    low, high = (corner - zero for corner in assembly.box(name))

    def reach(way: str) -> float:
        """How far the part reaches that way, mm."""
        vector = words.way(way)
        return float(np.maximum(low * vector, high * vector).sum())

    yield f"front face {_along(reach('fore'), ('forward of', 'aft of'), units, 'level with')} {datum}"
    left, right, of = reach("left"), reach("right"), _middle(assembly, zero)
    if abs(left - right) < 1.0:
        yield "on the centreline" if of else "in the middle"
    else:
        side, out = ("left", left) if left > right else ("right", right)
        yield f"{side} side {length_words(out, units)} {side}{of}"
    yield f"underside {_along(-reach('down'), ('up', 'down'), units, 'level')}"


def _along(length: float, ways: tuple[str, str], units: str, level: str) -> str:
    said = length_words(abs(length), units)
    return level if said.startswith("0 ") else f"{said} {ways[length < 0]}"


def _datum(assembly: Assembly, name: str) -> tuple[str, Point]:
    """The datum a part hangs on, directly or not, and its place (3,) mm; the car's zero when it is none."""
    frames = assembly.datums.frames
    nodes: dict[str, Frame | Part] = {**assembly.scene.frames, **assembly.scene.parts}
    parent = assembly.scene.parts[name].parent
    while parent in nodes and parent not in frames:
        parent = nodes[parent].parent
    if parent in frames:
        return parent, frames[parent].translation
    zero = (frame for frame, pose in frames.items() if not pose.translation.any())
    return next(zero, "the car's zero"), frozen(np.zeros(3))


def _middle(assembly: Assembly, zero: Point) -> str:
    """What left and right are told from: " of centreline" where the datum, at `zero` (3,) mm, stands on it."""
    way = assembly.datums.words.way("left")
    stated = [
        name for name, frame in assembly.scene.frames.items() if frame.centreline and name not in assembly.gone
    ]
    on_it = any(abs(way @ (assembly.poses[name].translation - zero)) < 0.5 for name in stated)
    return " of centreline" if on_it else ""


def _turns(assembly: Assembly, rotation: Matrix3) -> Iterator[str]:
    """How a part is turned in the car, about x, then y, then z."""
    axes = assembly.scene.axes
    degrees = turn_degrees(rotation)
    for word, thumb in TURNS.items():
        axis, sign = axis_of({"x": axes.x, "y": axes.y, "z": axes.z}, thumb)
        if (angle := sign * degrees[axis]) > 0.05:
            yield _TURN_WORDS[word].format(f"{angle:.1f}".removesuffix(".0") + " deg")


def _known(part: Part, units: str) -> str:
    tolerance: Sequence[float] = part.tolerance[:1] if part.tolerance_is_ball else part.tolerance
    within = f"within {' x '.join(length_words(t, units) for t in tolerance)}" if any(tolerance) else ""
    fit = {"encloses": "the true part lies inside", "about": "a rough envelope"}.get(part.fit, "")
    return ", ".join(filter(None, [part.known or "", within, fit]))


def _carried(assembly: Assembly, name: str) -> str:
    """What it hangs on whose place may be off, and by how much, where its own place is taken at its word."""
    others = [(node, most) for node, most in assembly.account.counting(name, CAR) if node != name]
    return "; ".join(f"{node} carries {length_words(most, assembly.scene.units)}" for node, most in others)
