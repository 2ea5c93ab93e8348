"""How the gap pass grows from 50 to 1600 parts packed equally tight.

``python -m tests.benchmarks.growth`` prints the table.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

import packcheck
from packcheck.proximity import Session
from packcheck.studies import gaps
from tests.benchmarks import baselines, tables
from tests.benchmarks.bays import generated_bay

__all__ = ["growth"]

PARTS = (50, 100, 200, 400, 800, 1600)
TRIANGLES = 1_000
TIMES = 3
COLUMNS = (
    "parts",
    "near pairs",
    "pairs measured",
    "load, s",
    "gap pass, s",
    "gap pass, CPU s",
    "CPU ms per near pair",
)


def growth(sizes: Sequence[int] = PARTS) -> str:
    """The table."""
    _row(sizes[0])  # what is imported on first use is no part of growth
    rows = [_row(parts) for parts in sizes]
    parts, near, _, _, _, seconds, _ = np.array(rows).T
    in_time, in_pairs = _exponent(parts, seconds), _exponent(parts, near)
    note = f"Fitted: CPU time ~ parts^{in_time:.2f}, near pairs ~ parts^{in_pairs:.2f}."
    return tables.table(f"Growth, meshes of {TRIANGLES} triangles", COLUMNS, rows, note)


def _row(parts: int) -> tuple[int, int, int, float, float, float, float]:
    with generated_bay(parts, TRIANGLES) as scene:
        loading, bay = tables.timed(lambda: packcheck.load(scene))
    near = len(baselines.box_filtered(bay.assembly))
    session = Session()
    gaps.run(bay.assembly, session)
    taken = tables.best_of(TIMES, lambda: gaps.run(bay.assembly, Session()))
    return parts, near, session.work.gaps, loading.wall, taken.wall, taken.cpu, 1000 * taken.cpu / near


def _exponent(parts: Sequence[float], growing: Sequence[float]) -> float:
    slope: float = np.polyfit(np.log(parts), np.log(growing), 1)[0]
    return slope


if __name__ == "__main__":
    tables.show(growth())
