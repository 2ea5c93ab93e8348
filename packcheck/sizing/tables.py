"""The answers of `packcheck size` as tables."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from packcheck.findings import Cell, Report, Table

if TYPE_CHECKING:
    from packcheck.scene.model.scene import Scene
    from packcheck.sizing.sizes import Size

__all__ = ["frontier_table", "size_report"]


def size_report(size: Size, scene: Scene, *, least: bool) -> Report:
    """The answer as tables for people and machines."""
    rows: list[tuple[Cell, ...]] = [("begun at, mm", size.begun)]
    word = "least" if least else "largest"
    rows.append((f"{word} that passes, mm", _printed(size.value, least)))
    rows.append(("stopped by", size.stopped_by or size.refused or "nothing, as far as was looked"))
    proof = f"tried at steps, not proven: {size.unproven}" if size.unproven else "proven all the way"
    rows.append(("between", proof))
    if size.at_rest is not None:
        rows.append(("with everything at rest, mm", _printed(size.at_rest, least)))
    if size.beside:
        rows.append(("falls short anyway", size.beside))
    tables = [
        Table("size", f"How {'small' if least else 'big'} can {size.param} be?", ("what", "figure"), tuple(rows))
    ]
    if size.rounder:
        tables.append(_rounder_table(size))
    if len(size.stretches) > 1:
        tables.append(_stretch_table(size))
    return Report(scene.path, scene.title, scene.layout, tables=tuple(tables), units=scene.units)


def _printed(value: float | None, least: bool) -> float | str:
    """The answer, rounded to the passing side."""
    if value is None:
        return "none was found"
    down = np.ceil if least else np.floor
    return float(down(value * 10 + (-1e-6 if least else 1e-6)) / 10)


def _rounder_table(size: Size) -> Table:
    rows = [
        (value, None if worst is None else worst.margin, "" if worst is None else " - ".join(worst.subjects),
         "" if worst is None else (worst.word or worst.verdict.value))
        for value, worst in size.rounder
    ]  # fmt: skip
    return Table(
        "rounder", "At rounder values", (f"{size.param}, mm", "worst margin", "of", "which is"), tuple(rows)
    )


def _stretch_table(size: Size) -> Table:
    rows = [(min(one.start, one.end), max(one.start, one.end), one.by) for one in size.stretches]
    note = "The first is the answer; beyond it there are values that fail."
    return Table("stretches", "Values that pass", ("from, mm", "to, mm", "stopped by"), tuple(rows), note)


def _beyond(size: Size) -> str:
    """Where values pass again that lie beyond the answer."""
    ends = [sorted((one.start, one.end)) for one in size.stretches[1:]]
    return ", ".join(f"{low:.1f} to {high:.1f}" for low, high in ends)


def frontier_table(first: str, second: str, points: list[tuple[float, Size]]) -> Table:
    """What two params allow each other: for each value of the first, how far the second may go."""
    rows = [
        (value, size.value, size.stopped_by, "tried at steps" if size.unproven else "", _beyond(size))
        for value, size in points
    ]
    columns = (f"{first}, mm", f"{second} up to, mm", "stopped by", "between", "passes again")
    wavering = any((b[1].value or 0) > (a[1].value or 0) for a, b in pairwise(points))
    note = "More of the first does not always leave less of the second." if wavering else ""
    return Table("frontier", f"{first} against {second}", columns, tuple(rows), note)
