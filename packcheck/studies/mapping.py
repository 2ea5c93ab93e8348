"""Where a part fits, turned one way: the proven map, its pockets, and the places in it worth a bracket."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import product

import numpy as np
import numpy.typing as npt

from packcheck.arrays import Faces, Floats, Point, Vector
from packcheck.notknown.requirement import Requirement
from packcheck.placing.boxes import box_distance
from packcheck.proximity import Placed
from packcheck.search import FITS, NOT, UNDECIDED, Barrier, Grid, States, mapped
from packcheck.studies.going import stands_on
from packcheck.tolerances import MOVE_REACH
from packcheck.trial.barriers import Shifted, barrier, nearness
from packcheck.trial.sweep_barriers import passing

__all__ = ["Margins", "Pocket", "Region", "most_margin", "region"]

_FACE = 1e-9  # of a cell


@dataclass(frozen=True, slots=True, eq=False)
class Pocket:
    """Positions that fit and hang together: how many cells, and the box (2, 3) mm that holds them."""

    number: int
    cells: int
    box: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Region:
    """The map of one orientation. `said` is how the turn was written; `states` (nx, ny, nz) as in `search.mapped`.

    `missed` (nx, ny, nz) is where a limit at rest is missed. `pocket` (nx, ny, nz) numbers the pockets from 1, the
    largest first; 0 where it does not surely fit. `untold`: its own motions and measures, which the map leaves out.
    """

    said: str
    shifted: Shifted
    grid: Grid
    states: States
    missed: npt.NDArray[np.bool_]
    pocket: npt.NDArray[np.int32]
    pockets: tuple[Pocket, ...]
    untold: tuple[str, ...] = ()

    def volume(self, state: int) -> float:
        """Volume of positions in a state, mm^3."""
        return float(np.count_nonzero(self.states == state) * np.prod(self.grid.cell))

    def reach(self) -> Floats:
        """From the middle of each cell, mm: how far at the most it is to where a limit at rest is missed.

        No margin is greater than `fastest` times that, since none grows faster. inf where none is missed.
        """
        from scipy.ndimage import distance_transform_edt

        if not self.missed.any():
            return np.full(self.states.shape, np.inf)
        middles = distance_transform_edt(~self.missed, sampling=self.grid.cell)
        found: Floats = np.maximum(middles - self.grid.cell.min() / 2, 0.0)  # the ball in a cell is missed as well
        return found

    @property
    def fastest(self) -> float:
        """How much a margin can grow, mm, for each mm that the part travels: gaps by that much, slack besides."""
        return 1.0 + max((ask.shifted for ask in self.shifted.trial.asks), default=0.0)

    def nearest(self, position: Point) -> Iterator[tuple[float, Point]]:
        """Positions that surely fit, nearest to `position` (3,) mm first, with the distance: one in each cell."""
        cells = np.argwhere(self.states == FITS)
        low = self.grid.low + cells * self.grid.cell
        closest = np.clip(position, low, low + self.grid.cell)
        distances = np.linalg.norm(closest - position, axis=1)
        for k in np.argsort(distances, kind="stable"):
            yield float(distances[k]), closest[k]

    def fits_at(self, position: Point) -> bool:
        """Whether the part surely fits at a position (3,) mm; never outside of the box of the map."""
        return self.pocket_at(position) > 0

    def state_at(self, position: Point) -> int:
        """The state of a position (3,) mm: on a face the best of both cells; outside of the box it does not fit."""
        states = {int(self.states[tuple(cell)]) for cell in self._cells_at(position)}
        return FITS if FITS in states else UNDECIDED if UNDECIDED in states else NOT

    def pocket_at(self, position: Point) -> int:
        """The number of the pocket a position stands in; 0 for none. On a face it stands in both cells."""
        return int(self.pocket[tuple(self._cells_at(position).T)].max(initial=0))

    def _cells_at(self, position: Point) -> Faces:
        """The cells (n, 3) that hold a position (3,) mm."""
        place = (position - self.grid.low) / self.grid.cell
        either = [{int(np.floor(at - _FACE)), int(np.floor(at + _FACE))} for at in place]
        cells = np.array(list(product(*either)))
        held: Faces = cells[((cells >= 0) & (cells < self.grid.counts)).all(axis=1)]
        return held


def region(
    said: str, shifted: Shifted, box: tuple[Vector, Vector], near: Sequence[tuple[Placed, float]] = ()
) -> Region:
    """The map of positions of the part's middle in `box`, turned as `shifted` has it.

    Of each part in `near` the part to be placed must stand within that distance, mm.
    """
    travels = np.array([box[0], box[1]])
    asks = [ask for ask in shifted.trial.asks if _in_reach(shifted, ask, travels)]
    past, untold = passing(shifted, travels)
    barriers = [barrier(shifted, shifted.over(ask, travels)) for ask in asks]
    barriers += [one.barrier(shifted) for one in past]
    parts = shifted.trial.assembly.parts
    standing = [(ask.pair[0], parts[ask.pair[1]]) for ask in asks] + [(one.member, one.stances[0]) for one in past]
    grid = Grid.over(*box, shifted.cell)
    states, missed = mapped(grid, barriers, lambda k, at: _within(shifted, *standing[k], at))
    for other, reach in near:
        _kept_near(grid, states, nearness(shifted, other, reach))
    numbers, pockets = _pockets(grid, states == FITS)
    return Region(said, shifted, grid, states, missed, numbers, pockets, (*untold, *_measures(shifted)))


def _measures(shifted: Shifted) -> Iterator[str]:
    """The measures that stand on the group and have a limit."""
    assembly, nodes = shifted.trial.assembly, shifted.trial.nodes
    for measure in assembly.scene.measures:
        if measure.sort != "restraint" and stands_on(assembly, measure, nodes):
            yield measure.name


def _in_reach(shifted: Shifted, ask: Requirement, travels: Floats) -> bool:
    """Whether a limit can have anything to say while the part's middle stays in a box (2, 3)."""
    return shifted.trial.reachable(ask, np.array(shifted.member(ask.pair[0]).box()) + travels)


def _within(shifted: Shifted, name: str, other: Placed, position: Floats) -> bool:
    """Whether one of the group and another part, surfaces apart, lie one within the other."""
    member = shifted.trial.placed(name, shifted.displaced(position))
    bounds = shifted.trial.session.rough_bounds(member, other, 1.0)
    return bounds.value < 0 or bounds.low == -np.inf


def _kept_near(grid: Grid, states: States, near: Barrier) -> None:
    """Where the part is surely out of reach it does not do; where it may be, it is undecided."""
    cells = np.argwhere(states != NOT)
    middles, halves = grid.middles(cells), grid.cell / 2
    within = near.blocked(middles, halves)
    away = np.zeros(len(cells), dtype=bool)
    away[~within] = near.clear(middles[~within], halves)
    states[tuple(cells[away].T)] = NOT
    states[tuple(cells[~within & ~away].T)] = UNDECIDED


def _pockets(grid: Grid, fits: npt.NDArray[np.bool_]) -> tuple[npt.NDArray[np.int32], tuple[Pocket, ...]]:
    from scipy.ndimage import find_objects, label

    found, count = label(fits)
    sizes = np.bincount(found.ravel(), minlength=count + 1)[1:]
    order = np.argsort(-sizes, kind="stable")
    renumber = np.zeros(count + 1, dtype=np.int32)
    renumber[order + 1] = np.arange(1, count + 1)
    boxes = find_objects(found)
    pockets = []
    for number, k in enumerate(order, start=1):
        ends = np.array([[part.start, part.stop] for part in boxes[k]], dtype=np.float64).T
        pockets.append(Pocket(number, int(sizes[k]), grid.low + ends * grid.cell))
    return renumber[found], tuple(pockets)


@dataclass(slots=True, eq=False)
class Margins:
    """How much is left of every limit at single positions, asked of the kernel itself."""

    shifted: Shifted
    _boxes: Floats = field(init=False)
    decided: Requirement | None = None  # of what was asked last, the limit with least left
    _first: str = ""

    def __post_init__(self) -> None:
        parts = self.shifted.trial.assembly.parts
        self._boxes = np.array([parts[ask.pair[1]].box() for ask in self.shifted.trial.asks]).reshape(-1, 2, 3)

    def at(self, position: Point, floor: float = -np.inf) -> tuple[float, str]:
        """The least that is left of any limit at a position, mm, and whose; beyond `MOVE_REACH` no more is told.

        Once it is surely not above `floor`, no more is asked.
        """
        trial, displaced = self.shifted.trial, self.shifted.displaced(position)
        least, whose, self.decided = MOVE_REACH, "", None
        for apart, ask in self._in_turn(position):
            if apart >= least:
                continue
            left = trial.margin(ask, displaced, least).left
            if left < least:
                least, whose, self.decided = left, ask.pair[1], ask
            if least <= floor:
                break
        self._first = whose or self._first
        return least, whose

    def _in_turn(self, position: Point) -> list[tuple[float, Requirement]]:
        """Every limit with what boxes say is left of it, the likeliest to decide first."""
        trial, displaced = self.shifted.trial, self.shifted.displaced(position)
        own = {name: trial.placed(name, displaced).box() for name in trial.members}
        found = []
        for ask, box in zip(trial.asks, self._boxes, strict=True):
            apart = box_distance(np.array(own[ask.pair[0]]), box)
            found.append((apart - trial.there(ask, displaced).reach, ask))
        return sorted(found, key=lambda one: (one[1].pair[1] != self._first, one[0]))


def most_margin(one: Region, budget: int) -> float:
    """What no margin exceeds anywhere in the cells that fit or may, mm: none grows faster than `fastest` says.

    The likeliest cells are asked, as many as `budget`; of the others the distance to where a limit is missed tells.
    """
    cells = np.argwhere(one.states != NOT)
    if not len(cells):
        return -np.inf
    spare = one.grid.radius * one.fastest
    reach = np.minimum(one.reach()[tuple(cells.T)] * one.fastest, MOVE_REACH)
    order = np.argsort(-reach, kind="stable")
    margins, best = Margins(one.shifted), -np.inf
    for k in order[:budget]:
        if reach[k] <= best:
            return best + spare
        best = max(best, margins.at(one.grid.middles(cells[k]), best)[0])
    left = reach[order[budget]] if len(order) > budget else -np.inf
    return float(max(best, left)) + spare
