"""From nothing to a settled network: starts, mirror solutions, and which of them the hints choose.

A network of tapes has several resting places. The search starts from several scattered places (always the same
ones), keeps the best, then reflects each point, and all together, through the plane of what they were measured
from, and settles again: what fits as well and lies elsewhere is a second solution, and the builder must say which.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Final, TypeAlias

import numpy as np

from packcheck.arrays import Point, Points, Vector, frozen
from packcheck.frames import Pose
from packcheck.survey.adjust import Adjustment, adjusted_from
from packcheck.survey.fits import mirrored, plane_of
from packcheck.survey.network import CAR, Network, Reading, State, rotation_of

__all__ = ["Guess", "Hints", "Solution", "Twin", "solve"]

Guess: TypeAlias = Callable[[Mapping[str, Point]], Pose]
"""A first pose of a body from where the points are."""

STARTS: Final = 16
AGREEING: Final = 3
"""Starts that must end in the best place before the search stops early."""

DISTINCT: Final = 1.0
"""mm. Resting places nearer than this in every point are one."""

AS_GOOD: Final = 10.83
"""How much more the squares of a second solution may sum to: a chance of one in a thousand (chi-square, 1)."""


@dataclass(frozen=True, slots=True, eq=False)
class Hints:
    """What the builder says beside the readings: first poses, a rough place of a point, the way it lies."""

    guesses: Mapping[str, Guess] = field(default_factory=dict)
    near: Mapping[str, Point] = field(default_factory=dict)
    way: Mapping[str, Vector] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, eq=False)
class Twin:
    """Two places (3,) mm that fit a point as well as each other."""

    name: str
    here: Point
    there: Point


@dataclass(frozen=True, slots=True, eq=False)
class Solution:
    """The adjustment chosen; `twins` are left open by readings and hints, `chosen` were decided by a hint."""

    adjustment: Adjustment
    twins: tuple[Twin, ...] = ()
    chosen: tuple[Twin, ...] = ()


def solve(network: Network, hints: Hints | None = None) -> Solution:
    """The resting place of `network` with the least sum of squares, and every mirror solution beside it."""
    hints = hints or Hints()
    best = _best_start(network, hints)
    twins: list[Twin] = []
    chosen: list[Twin] = []
    for state in _reflections(network, best.state):
        other = adjusted_from(network, _with_bodies(network, hints, state, 0))
        twin = _twin(best, other)
        if twin is None:
            continue
        if other.refined.cost < best.refined.cost - AS_GOOD:  # a better place than any start found
            return _from(network, hints, other)
        verdict = _preferred(best, other, hints)
        if verdict is None:
            twins.append(twin)
        else:
            chosen.append(twin)
            best = other if verdict else best
    return Solution(best, _each_once(twins), _each_once(chosen))


def _from(network: Network, hints: Hints, best: Adjustment) -> Solution:
    """As `solve`, from a place already found; its reflections are no better, or the search ends there."""
    found = [(other, _twin(best, other)) for other in _settled_reflections(network, hints, best)]
    open_ends = [twin for other, twin in found if twin is not None and _preferred(best, other, hints) is None]
    return Solution(best, _each_once(open_ends))


def _settled_reflections(network: Network, hints: Hints, best: Adjustment) -> Iterator[Adjustment]:
    for state in _reflections(network, best.state):
        yield adjusted_from(network, _with_bodies(network, hints, state, 0))


def _each_once(twins: list[Twin]) -> tuple[Twin, ...]:
    return tuple({twin.name: twin for twin in reversed(twins)}.values())[::-1]


def _best_start(network: Network, hints: Hints) -> Adjustment:
    rng = np.random.default_rng(1)
    best: Adjustment | None = None
    agreeing = 0
    for count in range(STARTS):
        tried = _started(network, hints, rng, count)
        if best is None or tried.refined.cost < best.refined.cost - 1e-6 * (1 + best.refined.cost):
            best, agreeing = tried, 0
        agreeing += abs(tried.refined.cost - best.refined.cost) <= 1e-6 * (1 + best.refined.cost)
        if agreeing >= AGREEING and best.converged:
            break
    assert best is not None
    return best


def _started(network: Network, hints: Hints, rng: np.random.Generator, count: int) -> Adjustment:
    """Points first, by the readings between them alone; then the bodies laid on them; then all together."""
    points = _scattered(network, hints, rng, count)
    if not network.bodies:
        return adjusted_from(network, State(points, ()))
    alone = _points_alone(network)
    first = adjusted_from(alone, State(points, ())).state if alone.rows else State(points, ())
    return adjusted_from(network, _with_bodies(network, hints, first, count))


def _points_alone(network: Network) -> Network:
    rigid = {k for k, spot in enumerate(network.spots) if spot.body in network.bodies}
    readings = tuple(
        reading for reading in network.readings if not any(rigid & set(row.spots) for row in reading.rows)
    )
    spots = tuple(spot for spot in network.spots if spot.body not in network.bodies)
    number = {k: n for n, k in enumerate(k for k in range(len(network.spots)) if k not in rigid)}
    return Network(spots, (), tuple(_renumbered(reading, number) for reading in readings))


def _renumbered(reading: Reading, number: Mapping[int, int]) -> Reading:
    rows = tuple(replace(row, spots=tuple(number[k] for k in row.spots)) for row in reading.rows)
    return replace(reading, rows=rows)


def _with_bodies(network: Network, hints: Hints, state: State, count: int) -> State:
    """`state` with every body laid where the points say, or turned in the `count`-th way where they say nothing."""
    placed = _known(network)
    placed |= {network.spots[k].name: point for k, point in zip(network.free, state.points, strict=True)}
    idle = _idle(state.points, count)
    poses = [hints.guesses[body](placed) if body in hints.guesses else idle for body in network.bodies]
    return State(state.points, tuple(poses))


def _idle(points: Points, count: int) -> Pose:
    """A pose amid the points, turned in the `count`-th of several ways, of which the first is none."""
    turn = np.random.default_rng(100 + count).normal(size=3) * (count > 0)
    return Pose(frozen(rotation_of(turn)), frozen(points.mean(axis=0) if len(points) else np.zeros(3)))


def _known(network: Network) -> dict[str, Point]:
    return {spot.name: spot.local for spot in network.spots if spot.body == CAR}


def _scattered(network: Network, hints: Hints, rng: np.random.Generator, count: int) -> Points:
    """Places to start from: about the middle of what is known, as far out as the longest tape, or near the hint."""
    known = np.array([p for p in _known(network).values() if np.linalg.norm(p) < 1e5] or [np.zeros(3)])
    tapes = [row.value for row in network.rows if row.kind == "distance"]
    reach = max([*tapes, 100.0]) * (0.3 if count == 0 else 1.0)
    points: Points = known.mean(axis=0) + rng.uniform(-reach, reach, (len(network.free), 3))
    for place, k in enumerate(network.free):
        name = network.spots[k].name
        if name in hints.near:
            points[place] = hints.near[name] + rng.normal(size=3)
        elif name in hints.way:
            points[place] += hints.way[name] * reach
    return points


def _reflections(network: Network, state: State) -> Iterator[State]:
    """Each point, and all together, on the other side of the plane of what they were measured from."""
    placed = network.place(state)
    for place, k in enumerate(network.free):
        around = _neighbours(network, k)
        if len(around) >= 3:
            middle, normal, _ = plane_of(placed[around])
            points = state.points.copy()
            points[place] = mirrored(points[place], middle, normal)
            yield State(points, state.poses)
    anchors = sorted({a for k in network.free for a in _neighbours(network, k)} - set(network.free))
    if len(anchors) >= 3 and len(network.free) > 1:
        middle, normal, _ = plane_of(placed[anchors])
        yield State(mirrored(state.points, middle, normal), state.poses)


def _neighbours(network: Network, spot: int) -> list[int]:
    """The points that a point was taped from."""
    tapes = [row.spots for row in network.rows if row.kind == "distance" and spot in row.spots]
    return sorted({k for pair in tapes for k in pair} - {spot})


def _twin(best: Adjustment, other: Adjustment) -> Twin | None:
    """The point that moved farthest, when `other` is a second place that fits as well."""
    if not other.converged or other.refined.cost > best.refined.cost + AS_GOOD:
        return None
    shift = np.linalg.norm(other.placed - best.placed, axis=1)
    free = list(best.network.free)
    if not free or shift[free].max() <= DISTINCT:
        return None
    k = free[int(np.argmax(shift[free]))]
    return Twin(best.network.spots[k].name, best.placed[k], other.placed[k])


def _preferred(best: Adjustment, other: Adjustment, hints: Hints) -> bool | None:
    """Whether a hint prefers `other`; None when no hint tells the two apart."""
    for k in best.network.free:
        name, here, there = best.network.spots[k].name, best.placed[k], other.placed[k]
        if name in hints.near and np.linalg.norm(here - there) > DISTINCT:
            near = hints.near[name]
            return bool(np.linalg.norm(there - near) < np.linalg.norm(here - near))
        if name in hints.way and abs((there - here) @ hints.way[name]) > DISTINCT / 2:
            return bool((there - here) @ hints.way[name] > 0)
    return None
