"""The answers of `packcheck place` as tables."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil, floor
from typing import TYPE_CHECKING, Final

import numpy as np

from packcheck.datums import AxisWords, inch_figure, length_words
from packcheck.findings import Cell, Report, Table
from packcheck.places.refining import MOST_CELLS, finer
from packcheck.search import FITS, NOT, UNDECIDED
from packcheck.studies.leeway import contributor_words
from packcheck.tolerances import MOVE_REACH

if TYPE_CHECKING:
    from packcheck.arrays import Point
    from packcheck.assembly.assembly import Assembly
    from packcheck.places.places import Places, Spot

__all__ = ["coordinates", "place_report"]

MOST_POCKETS: Final = 8
"""Pockets listed of one turn; the others are counted."""

_CUBIC: Final = {"in": ("cubic in", 25.4**3)}
_LITRES: Final = ("litres", 1e6)


def place_report(found: Places, assembly: Assembly) -> Report:
    """The answer as tables for people and machines."""
    scene = assembly.scene
    tables = [_map_table(found, assembly), _pocket_table(found, assembly), _spot_table(found, assembly)]
    told = tuple(table for table in tables if table.rows)
    notes = () if found.spots else (" ".join(_told(found, scene.units)),)
    return Report(scene.path, scene.title, scene.layout, tables=told, notes=notes, units=scene.units)


def _map_table(found: Places, assembly: Assembly) -> Table:
    unit, size = _CUBIC.get(assembly.scene.units, _LITRES)
    rows: list[tuple[Cell, ...]] = []
    for one in found.regions:
        volumes = (round(one.volume(state) / size, 3) for state in (FITS, NOT, UNDECIDED))
        rows.append((one.said, *volumes, len(one.pockets), _cell(one.grid.cell, assembly.scene.units)))
    carried = assembly.carried_by(found.part)
    title = f"Places for the middle of {found.part}" + (f", with {', '.join(carried)}" if carried else "")
    columns = ("turn", f"fits, {unit}", "does not", "undecided", "pockets", "cell")
    note = (
        "Proven, whatever moves past: nowhere in what fits is a limit missed, everywhere in what does not one is."
    )
    if untold := dict.fromkeys(name for one in found.regions for name in one.untold):
        note += f" What {', '.join(untold)} asks of the part counts for the places below, not for the map."
    return Table("place", title, columns, tuple(rows), note)


def _cell(cell: Point, units: str) -> str:
    if units == "in":
        return " x ".join(inch_figure(float(side), floor) for side in cell)
    return " x ".join(f"{side:.4g}" for side in cell) + " mm"


def _pocket_table(found: Places, assembly: Assembly) -> Table:
    unit, size = _CUBIC.get(assembly.scene.units, _LITRES)
    words = assembly.datums.words
    rows: list[tuple[Cell, ...]] = []
    left = 0
    for one in found.regions:
        left += max(0, len(one.pockets) - MOST_POCKETS)
        for pocket in one.pockets[:MOST_POCKETS]:
            volume = round(pocket.cells * float(np.prod(one.grid.cell)) / size, 3)
            rows.append(
                (pocket.number, _turn(found, one.said), volume, *(coordinates(end, words) for end in pocket.box))
            )
    columns = ("pocket", "turn", unit, "from", "to")
    note = f"{left} smaller ones are not listed." if left else ""
    return Table("pockets", "Pockets: places that fit and hang together", columns, tuple(rows), note)


def _spot_table(found: Places, assembly: Assembly) -> Table:
    rows = [
        _row(number, spot, _turn(found, spot.said), assembly) for number, spot in enumerate(found.spots, start=1)
    ]
    unit = "in" if assembly.scene.units == "in" else "mm"
    columns = (
        *("place", "middle at", "turn", f"margin, {unit}", "decided by", f"moves, {unit}"),
        *("pocket", "joints undone", "what it is", "where"),
    )
    return Table(
        "spots",
        "Places to choose from, most margin first",
        columns,
        tuple(rows),
        " ".join(_told(found, assembly.scene.units)),
    )


def _turn(found: Places, said: str) -> str:
    """How a place is turned, where there is a choice."""
    return said if len(found.regions) > 1 else ""


def _row(number: int, spot: Spot, turn: str, assembly: Assembly) -> tuple[Cell, ...]:
    units = assembly.scene.units
    return (
        number,
        coordinates(spot.middle, assembly.datums.words),
        turn,
        _down(spot.margin, units),
        "; ".join([spot.decided_by, *contributor_words(spot.contributors, units)]),
        inch_figure(spot.moved) if units == "in" else round(spot.moved, 1),
        spot.pocket,
        ", ".join(spot.undone),
        ", ".join(spot.notes),
        assembly.datums.place(spot.middle).text,
    )


def _told(found: Places, units: str) -> Iterator[str]:
    if not found.spots:
        yield "No place that fits stood up to a whole check." if found.short else _nowhere(found, units)
    else:
        yield "Each was checked as if it were drawn there, motions and measures included."
        if found.most < MOVE_REACH:
            yield f"Nowhere in the box is the margin more than {length_words(_above(found.most, units), units)}."
    if found.short:
        names = dict.fromkeys(" - ".join(finding.subjects) for finding in found.short)
        count = "1 place" if len(found.short) == 1 else f"{len(found.short)} places"
        yield f"{count} that fit at rest fell short when checked wholly: {', '.join(names)}."


def _nowhere(found: Places, units: str) -> str:
    """That it fits nowhere, where every cell is proven; else what is open, and what to try."""
    still = [one for one in found.regions if (one.states == UNDECIDED).any()]
    unit, size = _CUBIC.get(units, _LITRES)
    left = sum(one.volume(UNDECIDED) for one in still) / size
    if any((one.states == FITS).any() for one in found.regions):
        return "In no place of those that fit is there margin enough to be told."
    if not still:
        return "It surely fits nowhere here."
    cell = max(one.shifted.cell for one in still)
    smaller = finer(found.box, cell, MOST_CELLS)
    said = f"No cell is proven at {_side(cell, units)}, {left:.3g} {unit} open"
    return f"{said}: try {'a smaller box' if smaller is None else _side(smaller, units)}."


def _side(cell: float, units: str) -> str:
    return f"{inch_figure(cell, floor)} in" if units == "in" else f"{cell:.4g} mm"


def _down(margin: float, units: str) -> str | float:
    """A margin to tenths or in sixteenths of an inch: never more than it is."""
    return inch_figure(margin, floor) if units == "in" else float(np.floor(margin * 10 + 1e-6) / 10)


def coordinates(point: Point, words: AxisWords) -> str:
    """A point (3,) mm, car frame, as a scene file would have it: "60 aft, 310 left, 120 up", axis by axis."""
    said = []
    for value, word in zip(point, (words.x, words.y, words.z), strict=True):
        ((length, way),) = [step for step in words.steps(_only(float(value), word, words)) if step[0] > 0] or [
            (0.0, "")
        ]
        figure = inch_figure(length) if words.units == "in" else f"{length:.1f}".removesuffix(".0")
        said.append(figure if figure == "0" else f"{figure} {way}")
    return ", ".join(said)


def _only(value: float, word: str, words: AxisWords) -> Point:
    only: Point = value * words.way(word)
    return only


def _above(length: float, units: str) -> float:
    """A length, mm, that will be printed whole, never less than it is."""
    step = 25.4 / 16 if units == "in" else 1.0
    return ceil(length / step - 1e-9) * step
