"""The gap pass of a bay of 200 parts, 40 of them meshes of 10 000 triangles, and the same work done plainly.

``python -m tests.benchmarks.gap_pass`` prints the table.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TypeAlias
from unittest.mock import patch

import fcl

import packcheck
from packcheck.assembly.assembly import Assembly
from packcheck.proximity import Session
from packcheck.studies import gaps
from tests.benchmarks import baselines, tables
from tests.benchmarks.all_pairs import in_a_child
from tests.benchmarks.bays import generated_bay
from tests.benchmarks.tables import Taken

__all__ = ["engine_queries", "gap_pass", "trees"]

COLUMNS = ("what", "pairs of parts", "engine queries", "wall, s", "CPU, s", "CPU, packcheck cold = 1")
TIMES = 5

_Row: TypeAlias = tuple[str, int, int, Taken]


def gap_pass(parts: int = 200, triangles: int = 10_000) -> str:
    """The table."""
    with generated_bay(parts, triangles) as scene:
        loading, bay = tables.timed(lambda: packcheck.load(scene))
        ours, cold = _packcheck(bay.assembly)
        rows = [*ours, *_bare_engine(bay.assembly)]
        managers = in_a_child(scene)
    ending = "all pairs" if managers.pairs == parts * (parts - 1) // 2 else managers.ending
    rows += [
        ("trimesh: managers made", 0, 0, managers.making),
        (f"trimesh: {ending}", managers.pairs, managers.pairs, managers.measuring),
    ]
    note = f"{_work(bay.assembly)} Loading, before all that: {loading.wall:.2f} s, meshes read for the first time."
    title = f"Gap pass, {parts} parts, {parts // 5} meshes of {triangles} triangles"
    cells = [(*row[:3], row[3].wall, row[3].cpu, row[3].cpu / cold.cpu) for row in rows]
    return tables.table(title, COLUMNS, cells, note)


def _packcheck(assembly: Assembly) -> tuple[list[_Row], Taken]:
    first, _ = tables.timed(lambda: gaps.run(assembly, Session()))
    cold = tables.best_of(TIMES, lambda: gaps.run(assembly, Session()))
    session = Session()
    with engine_queries() as asked:
        gaps.run(assembly, session)
    count = session.work.gaps
    again = tables.best_of(TIMES, lambda: gaps.run(assembly, session))
    rows = [
        ("packcheck, cold session, first in its process", count, asked(), first),
        (f"packcheck, cold session, best of {TIMES}", count, asked(), cold),
        ("packcheck, same session again", session.work.gaps - count, 0, again),
    ]
    return rows, cold


def _bare_engine(assembly: Assembly) -> list[_Row]:
    pairs = baselines.box_filtered(assembly)
    building, standing = tables.timed(lambda: baselines.built(assembly))
    measuring = tables.best_of(TIMES, lambda: baselines.distances(standing, pairs))
    asked = sum(len(standing[j]) * len(standing[k]) for j, k in pairs)
    return [
        ("bare fcl, same box filter: trees", 0, 0, building),
        ("bare fcl, same box filter: distances", len(pairs), asked, measuring),
        ("bare fcl, same box filter: both", len(pairs), asked, building + measuring),
    ]


def _work(assembly: Assembly) -> str:
    session = Session()
    gaps.run(assembly, session)
    near = len(baselines.box_filtered(assembly))
    built, there = trees(session)
    return (
        f"Pairs of parts measured: {session.work.gaps}, {session.work.gaps / near:.2f} times the {near} whose boxes"
        f" lie within their own limit; pairs of solids {session.work.solid_pairs}; ways out searched"
        f" {session.work.escapes}; trees built {built} of {there}."
    )


def trees(session: Session) -> tuple[int, int]:
    """Trees built, and patches that could have one."""
    bodies = session._bodies.values()
    return sum(body.patches.trees_built for body in bodies), sum(len(body.patches) for body in bodies)


@contextmanager
def engine_queries() -> Iterator[Callable[[], int]]:
    """Counts the distances asked of the engine while it is entered."""
    with patch("fcl.distance", wraps=fcl.distance) as asked:
        yield lambda: asked.call_count


if __name__ == "__main__":
    tables.show(gap_pass())
