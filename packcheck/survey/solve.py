"""From nothing to a settled network: starts, mirror solutions, and which of them the hints choose.

A network of tapes has several resting places. Points that hang together by readings between them are settled group
by group: from several scattered places (always the same ones), the best kept; then each point, and all together,
are reflected through the plane of what they were measured from, and settled again. Bodies are laid on the points,
and everything is settled at once. What fits as well and lies elsewhere is a second solution, and the builder must
say which.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Final, TypeAlias

import numpy as np

from packcheck.arrays import Point, Points, Vector, frozen
from packcheck.frames import Pose, rotation_of
from packcheck.survey.adjust import Adjustment, adjusted_from, lacks
from packcheck.survey.fits import mirrored, plane_of
from packcheck.survey.network import CAR, Network, Reading, Spot, State

__all__ = ["Guess", "Hints", "Solution", "Twin", "solve"]

Guess: TypeAlias = Callable[[Mapping[str, Point]], Pose]
"""A first pose of a body from where the points are."""

STARTS: Final = 16
AGREEING: Final = 3
"""Starts that must end in the best place before the search stops early."""

FREE: Final = 2
"""Starts that must end with something left undetermined before the search gives up: more will not determine it."""

DISTINCT: Final = 1.0
"""mm. Resting places nearer than this in every point are one."""

AS_GOOD: Final = 10.83
"""How much more the squares of a second solution may sum to: a chance of one in a thousand (chi-square, 1)."""


@dataclass(frozen=True, slots=True, eq=False)
class Hints:
    """What is known beside the readings: first poses of bodies, rough places of points, the way a point lies.

    `standing` are bodies whose first pose rests on no point, so that points may be found by them.
    """

    guesses: Mapping[str, Guess] = field(default_factory=dict)
    near: Mapping[str, Point] = field(default_factory=dict)
    way: Mapping[str, Vector] = field(default_factory=dict)
    standing: Mapping[str, Pose] = field(default_factory=dict)


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
    best, others = _by_groups(network, hints)
    twins: dict[str, Twin] = {}
    chosen: dict[str, Twin] = {}
    for points in others:
        other = adjusted_from(network, _with_bodies(network, hints, points(best.state.points), 0))
        twin = _twin(best, other)
        if twin is None:
            continue
        preferred = _preferred(best, other, hints)
        if preferred is None and other.refined.cost < best.refined.cost - AS_GOOD:
            best = other  # the whole tells apart what one group could not
        elif preferred is None:
            twins[twin.name] = twin
        else:
            chosen[twin.name] = twin
            best = other if preferred else best
    return Solution(best, tuple(twins.values()), tuple(chosen.values()))


_Swap: TypeAlias = Callable[[Points], Points]
"""All free points (f, 3) with some of them somewhere else."""


def _by_groups(network: Network, hints: Hints) -> tuple[Adjustment, list[_Swap]]:
    """Everything settled from where its groups settle alone; and second places of groups, to be tried in it."""
    points = _scattered(network, hints, np.random.default_rng(1), 0)
    swaps: list[_Swap] = []
    for group, members in _groups(network, hints):
        best = _best_start(group, hints)
        best, others = _mirrored(group, best, hints)
        points[members] = best.state.points
        swaps += [_swap(members, other.state.points) for other in others]
    settled = [
        adjusted_from(network, _with_bodies(network, hints, points, count)) for count in _turns(network, hints)
    ]
    return min(settled, key=lambda one: (not one.converged, one.refined.cost)), swaps


def _swap(members: list[int], places: Points) -> _Swap:
    def swapped(points: Points) -> Points:
        moved = points.copy()
        moved[members] = places
        return moved

    return swapped


def _turns(network: Network, hints: Hints) -> range:
    """One way to begin where every body has a guess, several where one may lie any way."""
    known = {*hints.guesses, *hints.standing}
    return range(1 if known.issuperset(network.bodies) else STARTS)


def _groups(network: Network, hints: Hints) -> Iterator[tuple[Network, list[int]]]:
    """Points that hang together by readings, each group as a network of its own with all that is known.

    With the places of its points among the free points of the whole. Readings to bodies are left out.
    """
    rigid = {k for k, spot in enumerate(network.spots) if spot.body in set(network.bodies) - set(hints.standing)}
    free = set(network.free)
    readings = [
        (reading, {k for row in reading.rows for k in row.spots})
        for reading in network.readings
        if not any(rigid & set(row.spots) for row in reading.rows)
    ]
    waiting = set(network.free)
    while waiting:
        group = _reached(min(waiting), [spots & free for _, spots in readings])
        waiting -= group
        own = [reading for reading, spots in readings if spots & group]
        yield _alone(network, hints, group, own), [network.free.index(k) for k in sorted(group)]


def _reached(first: int, links: list[set[int]]) -> set[int]:
    group, grown = {first}, True
    while grown:
        more = set().union(group, *(link for link in links if link & group))
        grown, group = more != group, more
    return group


def _alone(network: Network, hints: Hints, group: set[int], readings: list[Reading]) -> Network:
    """The points of `group`, free, with what their readings touch, all of it standing still."""
    touched = sorted(group | {k for reading in readings for row in reading.rows for k in row.spots})
    number = {k: n for n, k in enumerate(touched)}
    spots = tuple(_still(network.spots[k], hints) for k in touched)
    return Network(spots, (), tuple(_renumbered(reading, number) for reading in readings))


def _still(spot: Spot, hints: Hints) -> Spot:
    pose = hints.standing.get(spot.body or "")
    return spot if pose is None else Spot(spot.name, CAR, frozen(pose.apply(spot.local)))


def _renumbered(reading: Reading, number: Mapping[int, int]) -> Reading:
    rows = tuple(replace(row, spots=tuple(number[k] for k in row.spots)) for row in reading.rows)
    return replace(reading, rows=rows)


def _best_start(group: Network, hints: Hints) -> Adjustment:
    rng = np.random.default_rng(1)
    best: Adjustment | None = None
    agreeing = free = 0
    for count in range(STARTS):
        tried = adjusted_from(group, State(_scattered(group, hints, rng, count), ()))
        if best is None or tried.refined.cost < best.refined.cost - 1e-6 * (1 + best.refined.cost):
            best, agreeing = tried, 0
        agreeing += abs(tried.refined.cost - best.refined.cost) <= 1e-6 * (1 + best.refined.cost)
        free += bool(lacks(tried))
        if free >= FREE or (agreeing >= AGREEING and best.converged):
            break
    assert best is not None
    return best


def _mirrored(group: Network, best: Adjustment, hints: Hints) -> tuple[Adjustment, list[Adjustment]]:
    """The best place, and every reflection of it that fits about as well."""
    found = [best]
    for state in _reflections(group, best.state):
        other = adjusted_from(group, state)
        if other.refined.cost < best.refined.cost + AS_GOOD and _twin(best, other):
            found.append(other)
    first = min(found, key=lambda one: one.refined.cost)
    if first.refined.cost < best.refined.cost - AS_GOOD:  # a better place than any start found
        return _mirrored(group, first, hints)
    return best, found[1:]


def _with_bodies(network: Network, hints: Hints, points: Points, count: int) -> State:
    """Free points (f, 3) and every body laid where they say, or turned in the `count`-th way where they do not."""
    placed = _known(network)
    placed |= {network.spots[k].name: point for k, point in zip(network.free, points, strict=True)}
    idle = _idle(points, count)
    guesses = {**{name: _pose_of(pose) for name, pose in hints.standing.items()}, **hints.guesses}
    poses = [guesses[body](placed) if body in guesses else idle for body in network.bodies]
    return State(points, tuple(poses))


def _pose_of(pose: Pose) -> Guess:
    return lambda _: pose


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
