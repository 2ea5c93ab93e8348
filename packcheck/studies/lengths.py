"""How long must the stock be cut for each tube, strip and plate?

Method
------
A `pipe` is counted along its centreline, straights and arcs, as tube benders reckon: that line keeps its length.
A `strip` is counted along its neutral line, which lies nearer to the inside of each bend: 0.41 of the thickness
from there (soft steel and aluminium). The ends "at least" and "at most" are for 0.33, soft stock in tight bends,
and 0.5, wide bends. Of an `extrude` it is the edge all round its outline: what a saw or torch has to cut.

What is not known of places widens the ends "at least" and "at most": each leg may be longer or shorter by twice
what the part's own place is known to, and a part that joins two others, or ends in them, by what is not known
between those two. Of a part that nobody said how well it is known the length is "as typed".

Limits
------
Common practice, not a promise: spring-back, what the bender's dies need to hold, saw cuts and weld gaps are not
in it. Bend a trial piece of your own stock before cutting the last of it. Corners without a bend are counted as
mitred, point to point along the centreline. Hoses and looms are counted as drawn, without spigots, tails and slack.
Left out is what is not cut from stock: what moves or carries (kinds engine, suspension, steering, rotating, wheel),
restraints, room, envelopes (`fit`), what is gone before the car is done (`stage`), and what is called a mount, a
damper or a dummy; the note under the table names it.

Example
-------
    packcheck check scenes/hillclimb_rear_bay.yaml --json
"""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from dataclasses import replace
from itertools import combinations
from math import ceil, floor
from typing import Final

import numpy as np

from packcheck.assembly.assembly import Assembly
from packcheck.data import RESERVED
from packcheck.datums import MM_PER_INCH, inch_figure
from packcheck.findings import Cell, Report, Table
from packcheck.proximity import Session
from packcheck.scene.model.scene import Part, Pipe, Shape, Strip
from packcheck.solids.developed import Developed, developed
from packcheck.studies.unstated import unstated

__all__ = ["ID", "run"]

ID = "lengths"

COLUMNS = ("part", "pieces", "stock, {}", "cut, {}", "at least", "at most", "bends", "counted along")

TRIAL: Final = "Common practice: bend a trial piece first"

NOT_CUT: Final = frozenset(
    {"engine", "suspension", "steering", "rotating", "wheel", "restraint", "hand", *RESERVED}
)
"""Kinds that are bought or built, not cut from stock, or that are no parts."""

NOT_CUT_WORDS: Final = frozenset(
    {"mount", "mounts", "mounting", "damper", "dampers", "strut", "shock", "dummy", "mockup"}
)
"""Words in the names of what stands in for a bought or a temporary part."""

AS_DRAWN: Final = {
    "hose": "as drawn, without spigots and slack",
    "loom": "as drawn, without tails and slack",
}
"""What is missing in the length of what bends by itself."""

AS_TYPED: Final = "as typed"
"""Said of a part of which nobody said how well it is known: its ends say no more than its length."""

_FINEST = 64
"""Parts of an inch. Stock is sold in these; what is none of them is told in decimals."""


def run(assembly: Assembly, session: Session, only: Collection[str] = ()) -> Report:  # noqa: ARG001
    """A table of what is to be cut; `only` keeps these parts. It draws no finding."""
    kept = [part for name, part in assembly.scene.parts.items() if not only or name in only]
    left_out = [part.family or part.name for part in kept if not _is_cut(part) and _bent(part)]
    rows: dict[tuple[Cell, ...], int] = {}
    for part in kept:
        for row in _rows(assembly, part) if _is_cut(part) else ():
            rows[row] = rows.get(row, 0) + 1
    made = tuple((name, count, *rest) for (name, *rest), count in rows.items())
    columns = tuple(column.format("in" if assembly.scene.units == "in" else "mm") for column in COLUMNS)
    table = Table(ID, "Lengths to cut", columns, made, _note(left_out))
    return Report(assembly.scene.path, tables=(table,) if made else ())


def _note(left_out: Sequence[str]) -> str:
    names = ", ".join(dict.fromkeys(left_out))
    return f"{TRIAL}. Left out, as not cut from stock: {names}." if names else f"{TRIAL}."


def _is_cut(part: Part) -> bool:
    """Whether a part is made by cutting stock to length, as far as the file tells."""
    words = set(re.split(r"[\W_\d]+", part.name.lower()))
    told_otherwise = part.fit != "exact" or part.stage != "final" or part.air_of or words & NOT_CUT_WORDS
    return not (told_otherwise or NOT_CUT.intersection(part.kinds))


def _bent(part: Part) -> list[tuple[Shape, Developed]]:
    """The shapes of a part that have a length to cut."""
    found = ((spec.shape, developed(spec.shape)) for spec in part.solids)
    return [(shape, made) for shape, made in found if made is not None]


def _rows(assembly: Assembly, part: Part) -> list[tuple[Cell, ...]]:
    """What each shape of a part is cut from; a row of parts goes by the name of the row."""
    units = assembly.scene.units
    typed = AS_TYPED if part.name in unstated(assembly) else ""
    return [
        (
            part.family or part.name,
            f"{made.stock} {' x '.join(_size(size, units) for size in made.sizes)}",
            *_lengths(_widened(made, _unknown(assembly, part, shape)), units),
            made.bends,
            "; ".join(filter(None, [made.counted, typed, _as_drawn(part)])),
        )
        for shape, made in _bent(part)
    ]


def _as_drawn(part: Part) -> str:
    return next((words for kind, words in AS_DRAWN.items() if kind in part.kinds), "")


def _widened(made: Developed, off: float) -> Developed:
    return replace(made, low=max(0.0, made.low - off), high=made.high + off)


def _unknown(assembly: Assembly, part: Part, shape: Shape) -> float:
    """By how much, mm, the piece may have to be longer or shorter for what is not known of places, at the most."""
    if not isinstance(shape, Pipe | Strip):
        return 0.0  # a plate is cut to its drawing, wherever it then goes
    sources = assembly.account.sources
    box = sources.box(part.name)
    own = sources.ball(part.name) + (0.0 if box is None else float(np.linalg.norm(box)))
    return own * _sway(shape) + _between_ends(assembly, part)


def _sway(shape: Pipe | Strip) -> float:
    """How much longer, mm, a line through points may get for each mm that every point may be off.

    Each leg changes by two, at the most; an arc of radius r and turn a by r tan(a / 2)^2 for each radian that its
    legs turn against each other.
    """
    legs = np.diff(np.asarray(shape.through), axis=0)
    lengths = np.linalg.norm(legs, axis=1)
    cosines = np.clip(np.sum(legs[:-1] * legs[1:], axis=1) / (lengths[:-1] * lengths[1:]), -1.0, 1.0)
    arcs = shape.bend * np.tan(np.arccos(cosines) / 2) ** 2 * (2 / lengths[:-1] + 2 / lengths[1:])
    return float(2 * len(lengths) + arcs.sum())


def _between_ends(assembly: Assembly, part: Part) -> float:
    """What is not known of two parts that this one joins, or ends in, against each other, mm, at the most."""
    parts = assembly.scene.parts
    ends = dict.fromkeys([*part.bolted_to, *part.goes_into])
    ends |= dict.fromkeys(name for name, one in parts.items() if part.name in (*one.bolted_to, *one.goes_into))
    return max((assembly.doubt(a, b).most for a, b in combinations(ends, 2)), default=0.0)


def _size(size: float, units: str) -> str:
    if units != "in":
        return f"{size:g}"
    parts = size / MM_PER_INCH * _FINEST
    return inch_figure(size, parts=_FINEST) if abs(parts - round(parts)) < 1e-3 else f"{size / MM_PER_INCH:.3f}"


def _lengths(made: Developed, units: str) -> tuple[Cell, ...]:
    """What to cut, at least and at most: to a tenth of a mm, or to a sixteenth of an inch, the ends outwards."""
    if units != "in":
        return round(made.length, 1), round(made.low, 1), round(made.high, 1)
    return inch_figure(made.length), inch_figure(made.low, floor), inch_figure(made.high, ceil)
