"""How long must the stock be cut for each tube, strip and plate?

Method
------
A `pipe` is counted along its centreline, straights and arcs, as tube benders reckon: that line keeps its length.
A `strip` is counted along its neutral line, which lies nearer to the inside of each bend: 0.41 of the thickness
from there (soft steel and aluminium). The ends "at least" and "at most" are for 0.33, soft stock in tight bends,
and 0.5, wide bends. Of an `extrude` it is the edge all round its outline: what a saw or torch has to cut.

Limits
------
Common practice, not a promise: spring-back, what the bender's dies need to hold, saw cuts and weld gaps are not
in it. Bend a trial piece of your own stock before cutting the last of it. Corners without a bend are counted as
mitred, point to point along the centreline. Tolerances of the places are not in it either.

Example
-------
    packcheck check scenes/hillclimb_rear_bay.yaml --json
"""

from __future__ import annotations

from collections.abc import Collection
from math import ceil, floor

from packcheck.assembly.assembly import Assembly
from packcheck.datums import MM_PER_INCH, inch_figure
from packcheck.findings import Cell, Report, Table
from packcheck.proximity import Session
from packcheck.scene.model import Part
from packcheck.solids.developed import Developed, developed

__all__ = ["ID", "run"]

ID = "lengths"

COLUMNS = ("part", "pieces", "stock, {}", "cut, {}", "at least", "at most", "bends", "counted along")

_FINEST = 64
"""Parts of an inch. Stock is sold in these; what is none of them is told in decimals."""


def run(assembly: Assembly, session: Session, only: Collection[str] = ()) -> Report:  # noqa: ARG001
    """A table of what is to be cut; `only` keeps these parts. It draws no finding."""
    rows: dict[tuple[Cell, ...], int] = {}
    for name, part in assembly.scene.parts.items():
        if not only or name in only:
            for row in _rows(part, assembly.scene.units):
                rows[row] = rows.get(row, 0) + 1
    made = tuple((name, count, *rest) for (name, *rest), count in rows.items())
    columns = tuple(column.format("in" if assembly.scene.units == "in" else "mm") for column in COLUMNS)
    return Report(assembly.scene.path, tables=(Table(ID, "Lengths to cut", columns, made),) if made else ())


def _rows(part: Part, units: str) -> list[tuple[Cell, ...]]:
    """What each shape of a part is cut from; a row of parts goes by the name of the row."""
    found = [made for spec in part.solids if (made := developed(spec.shape)) is not None]
    return [
        (
            part.family or part.name,
            f"{made.stock} {' x '.join(_size(size, units) for size in made.sizes)}",
            *_lengths(made, units),
            made.bends,
            made.counted,
        )
        for made in found
    ]


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
