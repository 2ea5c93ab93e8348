"""One part of a checked bay moves by 1 mm: how long until its gaps are known again?

``python -m tests.benchmarks.one_nudge`` prints the table.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

import packcheck
from packcheck.assembly.assembly import Assembly
from packcheck.proximity import Session
from packcheck.studies import gaps
from tests.benchmarks import tables
from tests.benchmarks.bays import generated_bay

__all__ = ["nudged", "one_nudge"]

COLUMNS = ("part nudged", "times", "median, ms", "nine in ten below, ms", "longest, ms")
STEP = np.array([1.0, 0.0, 0.0])  # mm


def one_nudge(parts: int = 200, triangles: int = 10_000) -> str:
    """The table."""
    with generated_bay(parts, triangles) as scene:
        assembly = packcheck.load(scene).assembly
    session = Session()
    gaps.run(assembly, session)
    times = {name: _time(assembly, session, name) for name in assembly.parts}
    meshes = [times[name] for name in assembly.accounts]
    plain = [taken for name, taken in times.items() if name not in assembly.accounts]
    rows = [_row("mesh", meshes), _row("plain shape", plain), _row("any", list(times.values()))]
    title = f"One part of {parts} nudged by 1 mm, its gaps again"
    return tables.table(
        title, COLUMNS, rows, "Trees that the nudge brings into play for the first time are counted."
    )


def _time(assembly: Assembly, session: Session, name: str) -> float:
    """Milliseconds of wall time."""
    return 1000 * tables.timed(lambda: gaps.run(nudged(assembly, name), session, (name,)))[0].wall


def nudged(assembly: Assembly, name: str) -> Assembly:
    """The same bay with one part a step away."""
    part = assembly.parts[name]
    moved = part.at(part.pose.shifted(STEP))
    boxes = assembly.boxes.copy()
    boxes[list(assembly.parts).index(name)] = moved.box()
    return replace(assembly, parts={**assembly.parts, name: moved}, boxes=boxes)


def _row(what: str, times: Sequence[float]) -> tuple[str, int, float, float, float]:
    return what, len(times), float(np.median(times)), float(np.quantile(times, 0.9)), max(times)


if __name__ == "__main__":
    tables.show(one_nudge())
