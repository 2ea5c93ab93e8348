"""The true signed gap of any pair, as a bracket that surely holds it.

Convex pairs: exact (`convex`). Anything else apart: branch and bound over the cells of both pieces (`cover`),
splitting the loosest cell of the pair of cells that might be nearest, until both ends meet. Anything else
touching or overlapping: what the deepest pair of convex pieces proves is the upper end, and moving apart along
one of a few directions, hull from hull, the lower.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass
from itertools import count, product

import numpy as np

from tests.oracles.axial import gap_on_one_axis
from tests.oracles.bodies import PointHull
from tests.oracles.convex import signed_gap
from tests.oracles.cover import Cell, Shell, cells_of, convex_body, reach_along
from tests.oracles.nearest import body_gap
from tests.oracles.shapes import Array, Bracket, Pair, Piece, Pose, Thing
from tests.oracles.triangles import winding_number

__all__ = ["is_convex", "truth"]

MEET = 1e-5  # mm; both ends nearer than this count as one number
BUDGET = 500  # pairs of cells looked at; beyond it the bracket reached is returned
NOTHING = Bracket(np.inf, np.inf)


def is_convex(thing: Thing) -> bool:
    """Whether a thing is one convex piece, so that its overlaps have an exact depth."""
    return len(thing.pieces) == 1 and convex_body(thing.pieces[0], thing.pose) is not None


def truth(pair: Pair) -> Bracket:
    """The signed gap of a pair, mm; a wide bracket where pieces that are not convex touch or overlap."""
    origin = -pair.a.pose.translation
    a, b = pair.a.shifted(origin), pair.b.shifted(origin)
    best = NOTHING
    for one, other in product(a.pieces, b.pieces):
        gap = _piece_gap(one, a.pose, other, b.pose)
        best = Bracket(min(best.low, gap.low), min(best.high, gap.high))
    if best.low > 0 or (is_convex(a) and is_convex(b)):
        return best
    return Bracket(min(_freed_along_axes(a, b), best.high), best.high)


def _freed_along_axes(a: Thing, b: Thing) -> float:
    """Signed gap of the supporting planes of both things, best of both things' axes and the common ones, mm."""
    axes = np.vstack([np.eye(3), a.pose.rotation.T, b.pose.rotation.T])
    directions = np.vstack([axes, -axes])
    return float(-(reach_along(a, directions) + reach_along(b, -directions)).min())


def _piece_gap(one: Piece, one_at: Pose, other: Piece, other_at: Pose) -> Bracket:
    bodies = convex_body(one, one_at), convex_body(other, other_at)
    if bodies[0] is not None and bodies[1] is not None:
        return signed_gap(bodies[0], bodies[1])
    round_about_one_axis = gap_on_one_axis(one, one_at, other, other_at)
    if round_about_one_axis is not None:
        return round_about_one_axis
    cells = cells_of(one, one_at), cells_of(other, other_at)
    if _one_holds_the_other(*cells):
        return Bracket(-np.inf, 0.0)
    return _Search(*cells).run()


def _one_holds_the_other(ours: list[Cell], theirs: list[Cell]) -> bool:
    """A piece wholly inside a closed shell touches none of its triangles; one point of it settles that."""
    for shells, others in ((ours, theirs), (theirs, ours)):
        shell = shells[0].outer
        if isinstance(shell, Shell) and winding_number(_some_point(others[0]), shell.soup) > 0.5:
            return True
    return False


def _some_point(cell: Cell) -> Array:
    """A point of the piece itself."""
    body = cell.inner(cell.outer.middle)
    match body:
        case Shell(soup):
            point: Array = soup.used[0]
        case PointHull(points):
            point = points.mean(axis=0)
        case _:
            point = body.middle
    return point


@dataclass(frozen=True, slots=True, eq=False)
class _Task:
    a: Cell
    b: Cell
    looked_at: bool


class _Search:
    """Best first over pairs of cells: the queue's least lower bound against the best upper bound."""

    def __init__(self, ours: list[Cell], theirs: list[Cell]) -> None:
        self._ties = count()
        self._queue: list[tuple[float, int, _Task]] = []
        self._high = np.inf
        for a, b in product(ours, theirs):
            self._push(_rough(a, b), _Task(a, b, looked_at=False))

    def run(self) -> Bracket:
        for _ in range(BUDGET):
            low, _, task = self._queue[0]
            if self._high - low <= MEET or self._high <= MEET:
                break
            heapq.heappop(self._queue)
            if not task.looked_at:
                self._look(task)
            elif not self._split(task):
                self._push(low, task)
                break
        low = min(self._queue[0][0], self._high)
        return Bracket(low if low > 0 else -np.inf, self._high)

    def _push(self, low: float, task: _Task) -> None:
        heapq.heappush(self._queue, (low, next(self._ties), task))

    def _look(self, task: _Task) -> None:
        outer = body_gap(task.a.outer, task.b.outer)
        exact = task.a.looseness == 0 and task.b.looseness == 0
        inner = outer if exact else body_gap(task.a.inner(outer.x), task.b.inner(outer.y))
        self._high = min(self._high, inner.high)
        self._push(outer.low, _Task(task.a, task.b, looked_at=True))

    def _split(self, task: _Task) -> bool:
        loose_first = task.a.looseness >= task.b.looseness
        split = task.a.split if loose_first else task.b.split
        if split is None:
            return False
        for part in split():
            pair = (part, task.b) if loose_first else (task.a, part)
            self._push(_rough(*pair), _Task(*pair, looked_at=False))
        return True


def _rough(a: Cell, b: Cell) -> float:
    """Gap of two balls that hold the cells: a lower bound for next to nothing."""
    away = float(np.linalg.norm(a.outer.middle - b.outer.middle))
    return away - a.outer.reach - b.outer.reach - a.outer.radius - b.outer.radius
