"""One part of a large bay nudged by 1 mm in the viewer: how long until the picture can be drawn with its new gaps?

What a key press costs, the drawing itself aside: that is the graphics card's. ``python -m
tests.benchmarks.window_nudge`` prints the table.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from packcheck.viewer.desk import Desk
from packcheck.viewer.window import Window
from tests.benchmarks import tables
from tests.benchmarks.bays import generated_bay

__all__ = ["window_nudge"]

COLUMNS = ("step", "times", "median, ms", "nine in ten below, ms", "longest, ms")


def window_nudge(parts: int = 200, triangles: int = 10_000) -> str:
    """The table."""
    with generated_bay(parts, triangles) as scene:
        desk = Desk(scene, patient=False)
        window = Window(desk, off_screen=True)
        taken = [_nudge(window, name) for name in desk.bay.assembly.parts]
    gaps, picture, later = (np.array(column) for column in zip(*taken, strict=True))
    rows = [
        _row("gaps of the part", gaps),
        _row("parts put, gaps drawn, words", picture),
        _row("together", gaps + picture),
        _row("then, when keys rest: depths of overlaps that are not convex", later[later > 1.0]),
    ]
    title = f"One part of {parts} nudged by 1 mm in the viewer, the drawing of the picture aside"
    return tables.table(title, COLUMNS, rows, "Every part once, milliseconds of processor time.")


def _nudge(window: Window, name: str) -> tuple[float, float, float]:
    """Milliseconds of processor time: for the gaps, for all else, for depths left open."""
    window.desk.select(name)
    gaps = tables.timed(lambda: window.desk.shift("up", 1.0))[0].cpu
    picture = tables.timed(lambda: window.again(render=False))[0].cpu
    later = tables.timed(window.desk.finish)[0].cpu
    window.desk.undo()
    return 1000 * gaps, 1000 * picture, 1000 * later


def _row(what: str, times: Sequence[float] | np.ndarray) -> tuple[str, int, float, float, float]:
    return what, len(times), float(np.median(times)), float(np.quantile(times, 0.9)), float(np.max(times))


if __name__ == "__main__":
    tables.show(window_nudge())
