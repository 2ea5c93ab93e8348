r"""The proven map of positions: a box of them, halved again and again until each piece surely fits, or surely not.

    +-------+---+-+-+
    | fits  | ? |x|x|     A cell fits when it is clear of every barrier all over, and does not when it is blocked
    |       |   |?|x|     all over by one of them. What is neither is cut in eight; barriers that a cell is clear of
    +-------+---+-+-+     are not asked again below it. At the size asked for what is still neither is undecided.

Nothing is sampled: something thinner than a cell keeps the cell from fitting.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from itertools import product
from typing import Final

import numpy as np
import numpy.typing as npt

from packcheck.arrays import Floats, Points, Vector
from packcheck.search.barriers import Barrier, Flags

__all__ = ["FITS", "NOT", "UNDECIDED", "Cells", "Grid", "States", "mapped"]

NOT: Final = 0
FITS: Final = 1
UNDECIDED: Final = 2

States = npt.NDArray[np.int8]
Cells = npt.NDArray[np.int64]

_CHILDREN = np.array(list(product((0, 1), repeat=3)))
_COARSEST = 4  # halvings above the cells asked for: 16 of them in a row

CORES = 2
"""Barriers asked at a time. What they do to large arrays runs side by side; each answers by itself, so that the map
is the same with one."""


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """Cells of `cell` (3,) mm from the corner `low` (3,) mm on, `counts` (3,) of them along each axis."""

    low: Vector
    cell: Vector
    counts: Cells

    @staticmethod
    def over(low: Vector, high: Vector, cell: float) -> Grid:
        """The fewest equal cells no larger than `cell` mm in the box from `low` to `high` (3,) mm."""
        counts = np.maximum(1, np.ceil((high - low) / cell - 1e-9)).astype(np.int64)
        return Grid(low, (high - low) / counts, counts)

    def middles(self, cells: Cells) -> Points:
        """Middles (n, 3) mm of cells (n, 3)."""
        points: Points = self.low + (cells + 0.5) * self.cell
        return points

    @property
    def radius(self) -> float:
        """From the middle of a cell to its corners, mm."""
        return float(np.linalg.norm(self.cell)) / 2


@dataclass(slots=True, eq=False)
class _Level:
    """The cells of one size that are still open, and which barriers each of them is not yet clear of."""

    cells: Cells
    active: Flags  # (cells, barriers)


def mapped(grid: Grid, barriers: Sequence[Barrier], inside: Callable[[int, Floats], bool]) -> tuple[States, Flags]:
    """The state of every cell, (nx, ny, nz), and which are blocked by something that is there all the time.

    ``inside(k, position)`` tells of a position clear of the surface of barrier k, one that `holds`, whether one
    thing lies within the other there. Barriers are asked on both cores; the answer is the same on one.
    """
    levels = max(0, min(_COARSEST, int(np.log2(grid.counts.max()))))
    block = 2**levels
    padded = -(-grid.counts // block) * block
    states = np.full(tuple(padded), UNDECIDED, dtype=np.int8)
    missed = np.zeros(tuple(padded), dtype=bool)
    passed = {k: np.zeros(tuple(padded), dtype=bool) for k, one in enumerate(barriers) if one.holds}
    top = np.array(list(np.ndindex(*(padded // block))), dtype=np.int64).reshape(-1, 3)
    level = _Level(top, np.ones((len(top), len(barriers)), dtype=bool))
    with ThreadPoolExecutor(CORES) as pool:
        for size in (2**k for k in range(levels, -1, -1)):
            level = _stepped(grid, barriers, level, size, (states, missed, passed), pool)
    for k, clear in passed.items():
        _swallowed(grid, states, clear, partial(inside, k))
    asked = tuple(slice(0, n) for n in grid.counts)
    return states[asked], missed[asked]


def _stepped(
    grid: Grid,
    barriers: Sequence[Barrier],
    level: _Level,
    size: int,
    found: tuple[States, Flags, dict[int, Flags]],
    pool: ThreadPoolExecutor,
) -> _Level:
    """Every open cell of one size judged; what is left, cut in eight."""
    halves = grid.cell * (size / 2)
    centres = grid.low + (level.cells + 0.5) * grid.cell * size
    chosen = [np.flatnonzero(level.active[:, k]) for k in range(len(barriers))]
    answers = pool.map(lambda k: _asked(barriers[k], centres[chosen[k]], halves), range(len(barriers)))
    blocked, standing = np.zeros((2, len(centres)), dtype=bool)
    states, missed, passed = found
    for k, (clear, shut) in enumerate(answers):
        level.active[chosen[k][clear], k] = False
        blocked[chosen[k][shut]] = True
        standing[chosen[k][shut]] |= not barriers[k].passing
        if k in passed:
            _fill(passed[k], level.cells[chosen[k][clear]], size, True)
    fits = ~blocked & ~level.active.any(axis=1)
    _fill(states, level.cells[blocked], size, NOT)
    _fill(missed, level.cells[standing], size, True)
    _fill(states, level.cells[fits], size, FITS)
    left = ~blocked & ~fits
    cells = (level.cells[left][:, None] * 2 + _CHILDREN).reshape(-1, 3)
    return _Level(cells, np.repeat(level.active[left], len(_CHILDREN), axis=0))


def _asked(barrier: Barrier, centres: Points, halves: Vector) -> tuple[Flags, Flags]:
    blocked = barrier.blocked(centres, halves)
    clear = np.zeros(len(centres), dtype=bool)
    clear[~blocked] = barrier.clear(centres[~blocked], halves)
    return clear, blocked


def _fill(fine: npt.NDArray[np.generic], cells: Cells, size: int, value: int | bool) -> None:
    """Set every small cell of some cells `size` small ones wide."""
    nx, ny, nz = (n // size for n in fine.shape)
    blocks = fine.reshape(nx, size, ny, size, nz, size).transpose(0, 2, 4, 1, 3, 5)
    blocks[cells[:, 0], cells[:, 1], cells[:, 2]] = value


def _swallowed(grid: Grid, states: States, clear: Flags, inside: Callable[[Floats], bool]) -> None:
    """Where the surfaces stay apart all over a connected region, inside once is inside everywhere in it."""
    from scipy.ndimage import label

    regions, count = label(clear)
    if not count:
        return
    first = np.unique(regions, return_index=True)
    for region, index in zip(*first, strict=True):
        if region and inside(grid.middles(np.array(np.unravel_index(index, states.shape)))):
            states[regions == region] = NOT
