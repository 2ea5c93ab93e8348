"""Where may a part stand among 46 others: the proven map, against a grid of bare distances behind a box filter.

``python -m tests.benchmarks.place_map`` prints the table.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from unittest.mock import patch

import fcl
import numpy as np

import packcheck
from packcheck.arrays import Floats
from packcheck.bay import Bay
from packcheck.search import FITS, NOT, UNDECIDED, Grid
from packcheck.studies.mapping import Region, region
from packcheck.trial.barriers import Shifted
from packcheck.trial.trial import Trial
from tests.benchmarks import tables
from tests.benchmarks.baselines import bare_distance, built
from tests.benchmarks.meshes import drawn_mesh, write_stl

__all__ = ["crowded_cube", "mapped_cube", "place_map"]

SIDE = 640.0  # mm, of the cube of places
LIMIT = 10.0  # mm
COLUMNS = ("what", "positions or cells", "engine queries", "wall, s", "CPU, s", "CPU, the map = 1")
EVERY = 2  # of the grid along each axis, one position in so many is asked, and the time taken times their cube


@contextmanager
def crowded_cube(seed: int = 1, plain: int = 40, meshes: int = 6, triangles: int = 5_000) -> Iterator[Bay]:
    """Plain shapes and meshes at random places and turns in the cube, and a cylinder "it" to be placed."""
    rng = np.random.default_rng(seed)
    with TemporaryDirectory() as folder, patch.dict("os.environ", PACKCHECK_CACHE=str(Path(folder, "cache"))):
        lines = [_plain(rng, k) for k in range(plain)]
        for k in range(meshes):
            write_stl(Path(folder, f"m{k}.stl"), *drawn_mesh(rng, triangles))
            lines.append(f"m{k}: {{mesh: {{file: m{k}.stl, units: mm}}, {_place(rng)}}}")
        listed = "\n".join(f"  {line}" for line in lines)
        head = f"packcheck: 1\nclearances: {{use: none, default: {LIMIT}}}\nparts:\n"
        scene = Path(folder, "cube.yaml")
        scene.write_text(f"{head}{listed}\n  it: {{cylinder: {{diameter: 60, length: 120}}}}\n", encoding="utf-8")
        yield packcheck.load(scene)


def _plain(rng: np.random.Generator, k: int) -> str:
    a, b, c = (round(float(side)) for side in rng.uniform(20, 120, 3))
    shapes = (
        f"box: [{a}, {b}, {c}]",
        f"cylinder: {{diameter: {a}, length: {b}}}",
        f"sphere: {{diameter: {a}}}",
        f"capsule: {{diameter: {min(a, b)}, length: {a + b}}}",
    )
    return f"p{k}: {{{shapes[k % len(shapes)]}, {_place(rng)}}}"


def _place(rng: np.random.Generator) -> str:
    at, turn = rng.uniform(0, SIDE, 3).round(1).tolist(), rng.uniform(0, 360, 3).round(1).tolist()
    return f"at: {at}, turn: {turn}"


def mapped_cube(bay: Bay, cell: float) -> Region:
    """The map of the cylinder in the cube, as it stands."""
    shifted = Shifted(Trial(bay.assembly, bay.session, "it"), np.eye(3), cell)
    return region("now", shifted, (np.zeros(3), np.full(3, SIDE)))


def place_map(cell: float = 10.0, seed: int = 1) -> str:
    """The table."""
    with crowded_cube(seed) as bay:
        taken, found = tables.timed(lambda: mapped_cube(bay, cell))
        cells = found.states.size
        rows = [("packcheck, every cell proven or undecided", cells, 0, taken.wall, taken.cpu, 1.0)]
        for what, reach in (("middles alone", LIMIT), ("and what proves cells", LIMIT + found.grid.radius)):
            grid, (queries, wrong) = tables.timed(partial(_grid, bay, found, reach))
            share = EVERY**3
            asked = queries * share
            times = (grid.wall * share, grid.cpu * share, grid.cpu * share / taken.cpu)
            rows.append((f"grid, bare fcl, boxes within {reach:.3g} mm: {what}", cells, asked, *times))
            assert not wrong, f"{wrong} middles of proven cells are not as proven"
    counted = {state: int(np.count_nonzero(found.states == state)) for state in (FITS, NOT, UNDECIDED)}
    note = (
        f"{counted[FITS]} cells fit, {counted[NOT]} do not, {counted[UNDECIDED]} are undecided. Of the grid one"
        f" position in {EVERY**3} is asked and the time multiplied. It says nothing of what lies between positions."
    )
    title = (
        f"Map of places, {SIDE:.0f} mm cube, cells of {cell:.3g} mm, 40 plain shapes, 6 meshes of 5 000 triangles"
    )
    return tables.table(title, COLUMNS, rows, note)


def _grid(bay: Bay, found: Region, reach: float) -> tuple[int, int]:
    """Distances at middles of cells, of all boxes within `reach`: queries, and cells that are not as proven."""
    standing = [solids[0] for solids in built(bay.assembly)]
    names = list(bay.assembly.parts)
    me, own = standing[names.index("it")], bay.assembly.box("it") - bay.assembly.poses["it"].translation
    others = [thing for name, thing in zip(names, standing, strict=True) if name != "it"]
    boxes = np.array([bay.assembly.box(name) for name in names if name != "it"])
    queries = wrong = 0
    for cell, middle in _positions(found.grid):
        box = own + middle
        apart = np.maximum(0, np.maximum(boxes[:, 0] - box[1], box[0] - boxes[:, 1]))
        near = np.flatnonzero(np.einsum("ij,ij->i", apart, apart) <= reach**2)
        me.thing.setTransform(fcl.Transform(np.eye(3), middle))
        least = min((bare_distance(me, others[k]) for k in near), default=np.inf)
        queries += len(near)
        state = found.states[cell]
        wrong += (state == FITS and least < LIMIT - 0.02) or (state == NOT and LIMIT + 0.02 <= least < reach)
    return queries, wrong


def _positions(grid: Grid) -> Iterator[tuple[tuple[int, ...], Floats]]:
    for cell in np.ndindex(*(int(n) // EVERY for n in grid.counts)):
        at = tuple(EVERY * k + EVERY // 2 for k in cell)
        yield at, grid.middles(np.array([at]))[0]


if __name__ == "__main__":
    tables.show(place_map())
