"""The branch and bound itself: most promising cell first, until the question is answered or the budget spent."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from heapq import heapify, heappop, heappush

import numpy as np

from packcheck.arrays import Floats, frozen
from packcheck.search.problem import Answer, Cell, First, Outcome, Probe, Problem, Sample, Stretch
from packcheck.tolerances import SEARCH_BUDGET, SEARCH_ROUNDING, SEARCH_WIDTH

__all__ = ["decide", "first_below", "least", "stretches"]


def decide(problem: Problem, limit: float, budget: int = SEARCH_BUDGET) -> Outcome:
    """Does the gap keep `limit` everywhere? Stops as soon as that is proven, or the first setting below is found.

    `answer` is OPEN when `budget` queries were not enough; [low, high] then is what was reached.
    """
    return _Run(problem, budget, limit, np.inf).finished()


def least(
    problem: Problem,
    tolerance: float = SEARCH_WIDTH,
    budget: int = SEARCH_BUDGET,
    start: Sequence[Floats] = (),
) -> Outcome:
    """The least gap, to within `tolerance` beside what the gauge leaves open, or what `budget` queries reach.

    `start` are settings worth trying first, such as where a decision found the gap below its limit. `answer` is
    FOUND when the interval is closed, else OPEN.
    """
    run = _Run(problem, budget, -np.inf, tolerance)
    for setting in start:
        run.sample(setting, np.inf)
    return run.finished()


def stretches(
    problem: Problem, limit: float, resolution: float, budget: int = SEARCH_BUDGET, axis: int = 0
) -> tuple[Stretch, ...]:
    """Where along parameter number `axis` is the gap surely above `limit`, and where surely below?

    All other parameters have roots of no width. What lies between is left open: no wider than `resolution` (units
    of the parameter) at a crossing, unless `budget` queries were not enough. The stretches follow one another and
    leave nothing out.
    """
    run = _Run(problem, budget, limit, np.inf)
    told: list[Stretch] = []
    waiting = list(reversed(problem.roots))
    while waiting:
        cell = waiting.pop()
        answer = run.judged(cell) if run.queries < budget else Answer.OPEN
        start, end = float(cell.low[axis]), float(cell.high[axis])
        if answer is Answer.OPEN and end - start > resolution and run.queries < budget:
            waiting += reversed(cell.halved(axis))
        elif told and told[-1].answer is answer:
            told[-1] = Stretch(told[-1].start, end, answer)
        else:
            told.append(Stretch(start, end, answer))
    return tuple(told)


def first_below(
    problem: Problem, limit: float, resolution: float, budget: int = SEARCH_BUDGET, axis: int = 0
) -> First:
    """How far along parameter number `axis` is `limit` kept at every setting of all the others?

    The search goes on where the least proven way ends, until a setting no more than `resolution` (units of the
    parameter) behind that is not proven to keep the limit, or `budget` queries were asked.
    """
    run = _Run(problem, budget, limit, np.inf)
    waiting = [(float(root.low[axis]), count, root) for count, root in enumerate(problem.roots)]
    heapify(waiting)
    missed, count = np.inf, len(waiting)
    end = max(float(root.high[axis]) for root in problem.roots)
    while waiting:
        kept, _, cell = waiting[0]
        if kept >= missed - resolution or run.queries >= budget:
            return First(min(kept, missed), missed)
        heappop(waiting)
        probe = run.probed(_cut_off(cell, missed, axis))
        if run.bound(probe) >= limit:
            continue
        missed = min(missed, run.missed_at(probe, axis))
        behind = min(kept + resolution, end)
        if probe.cell.high[axis] < behind and run.is_short(probe, axis, behind):
            missed = min(missed, behind)  # near enough: nothing finer is asked
        across = axis if run.ends_short(probe, axis) else int(np.argmax(problem.travel(probe.cell)))
        for half in probe.cell.halved(across):
            count += 1
            heappush(waiting, (float(half.low[axis]), count, half))
    return First(missed, missed)


def _cut_off(cell: Cell, end: float, axis: int) -> Cell:
    """The part of a cell that lies before `end` along an axis."""
    if end >= cell.high[axis]:
        return cell
    high = cell.high.copy()
    high[axis] = end
    return Cell(cell.low, frozen(high))


@dataclass(slots=True, eq=False)
class _Run:
    """One search: cells not done with, the least sample so far, and the lower end of what was put aside."""

    problem: Problem
    budget: int
    limit: float
    tolerance: float
    queries: int = 0
    best: Sample = field(default_factory=lambda: Sample(np.inf, np.inf))
    at: Floats = field(default_factory=lambda: np.empty(0))
    lowest: float = np.inf  # low end of any sample: no search can prove more
    _floor: float = np.inf
    _known: dict[bytes, tuple[Sample, float]] = field(default_factory=dict)
    _heap: list[tuple[float, int, Cell, Probe]] = field(default_factory=list)
    _count: int = 0

    @property
    def target(self) -> float:
        """A cell whose gap stays above this needs no further look."""
        return max(self.limit, self.lowest - self.tolerance) if np.isfinite(self.lowest) else self.limit

    def sample(self, setting: Floats, enough: float) -> Sample:
        key = setting.tobytes()
        known = self._known.get(key)
        if known is not None and (np.isfinite(known[0].high) or known[1] >= enough):
            return known[0]
        self.queries += 1
        found = self.problem.gauge(setting, enough)
        self._known[key] = found, enough
        if np.isfinite(found.high) or found.low == -np.inf:  # not one that stopped at `enough`
            self.lowest = min(self.lowest, found.low)
        if found.high < self.best.high or not len(self.at):
            self.best, self.at = found, setting
        return found

    def finished(self) -> Outcome:
        for root in self.problem.roots:
            self._add(root, -np.inf)
        while self._heap and not self._is_done():
            bound, _, cell, probe = heappop(self._heap)
            if self._hint_helps(probe):
                assert probe.hinted is not None
                self.sample(probe.hinted[0], np.inf)
                probe.hinted = None
                self._put(bound, cell, probe)
            elif bound >= self.target or probe.travel <= 2 * SEARCH_ROUNDING:  # done with, or too small to halve
                self._floor = min(self._floor, bound)
            else:
                for half in cell.halved(int(np.argmax(self.problem.travel(cell)))):
                    self._add(half, bound)
        low = min([self._floor, self.best.high, *(entry[0] for entry in self._heap)])
        low = low if self.lowest > -np.inf else -np.inf  # what is not bounded at one setting is not bounded
        return Outcome(low, self.best.high, self.at, self.best, self._answer(low), self.queries)

    def _is_done(self) -> bool:
        return (
            self.best.high < self.limit
            or self._heap[0][0] >= min(self.target, self._floor)
            or self.queries >= self.budget
            or self._count >= 2 * self.budget  # cells that ask nothing new are work as well
            or self.lowest == -np.inf  # some setting has no lower bound at all: halving would not help it
        )

    def _answer(self, low: float) -> Answer:
        if self.limit == -np.inf:
            closed = low > -np.inf and self.lowest - low <= self.tolerance + SEARCH_ROUNDING
            return Answer.FOUND if closed else Answer.OPEN
        return Answer.BELOW if self.best.high < self.limit else Answer.ABOVE if low >= self.limit else Answer.OPEN

    def _hint_helps(self, probe: Probe) -> bool:
        """Whether the gap at the setting a bound pointed at would bring the search nearer to its end."""
        if probe.hinted is None:
            return False
        enough = self.limit if self.limit > -np.inf else self.lowest - self.tolerance / 4
        return probe.hinted[1] < enough

    def _add(self, cell: Cell, inherited: float) -> None:
        probe = self.probed(cell)
        self._put(max(inherited, self.bound(probe, inherited)), cell, probe)

    def _put(self, bound: float, cell: Cell, probe: Probe) -> None:
        self._count += 1
        heappush(self._heap, (bound, self._count, cell, probe))

    def probed(self, cell: Cell) -> Probe:
        travel = float(self.problem.travel(cell).sum()) + SEARCH_ROUNDING
        enough = self.target + travel if self.target > -np.inf else np.inf  # nothing known yet: all is wanted
        return Probe(self, cell, self.sample(cell.centre, enough), travel)

    def bound(self, probe: Probe, known: float = -np.inf) -> float:
        """The best lower bound over the probe's cell; no further one is asked once the target is reached."""
        best = max(known, probe.centre.low - probe.travel)
        for other in self.problem.bounds:
            if best >= self.target:
                break
            best = max(best, other(probe))
        return best

    def missed_at(self, probe: Probe, axis: int) -> float:
        """Where in the probe's cell, along an axis, the limit is not proven to be kept; inf where none was met."""
        if probe.centre.low < self.limit:
            return float(probe.cell.centre[axis])
        if probe.travel <= 2 * SEARCH_ROUNDING:  # too small to halve
            return float(probe.cell.low[axis])
        if probe.hinted is not None and probe.hinted[1] < self.limit:
            setting = probe.hinted[0]
            return float(setting[axis]) if self.sample(setting, np.inf).low < self.limit else np.inf
        return np.inf

    def ends_short(self, probe: Probe, axis: int) -> bool:
        """Whether the limit is missed at the end of the probe's cell along an axis: no other cut would help it."""
        return probe.centre.low < self.limit or self.is_short(probe, axis, float(probe.cell.high[axis]))

    def is_short(self, probe: Probe, axis: int, place: float) -> bool:
        """Whether the limit is not proven to be kept at a place along an axis, all else as in the cell's middle."""
        setting = probe.cell.centre
        setting[axis] = place
        return self.sample(setting, self.limit).low < self.limit

    def judged(self, cell: Cell) -> Answer:
        """Where the gap is, all over the cell, against the limit."""
        probe = self.probed(cell)
        if probe.centre.high + probe.travel < self.limit:
            return Answer.BELOW
        return Answer.ABOVE if self.bound(probe) >= self.limit else Answer.OPEN
