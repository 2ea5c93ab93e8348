"""What leads to what, through any number of steps: loops, and how deep the rest goes. Linear in what is given."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

__all__ = ["DEEPEST", "Chains", "chained", "knotted", "way"]

DEEPEST: Final = 50
"""Names of one chain: frames and parts in one another, likenesses, layouts. A car needs five."""

Leads = Mapping[str, Sequence[str]]


@dataclass(frozen=True, slots=True)
class Chains:
    """`order`: every name behind those it leads to. `knots`: names that lead to each other and so round in a loop,
    as they were given. `depth`: the most steps from a name to one that leads nowhere; a knot counts as an end.
    """

    order: tuple[str, ...] = ()
    knots: tuple[tuple[str, ...], ...] = ()
    depth: Mapping[str, int] = field(default_factory=dict)

    def too_deep(self) -> Iterator[str]:
        """The names at which chains become too deep; not those beyond."""
        yield from (name for name, depth in self.depth.items() if depth == DEEPEST)


def chained(leads: Leads) -> Chains:
    """The chains among the names that are keys of `leads`; others lead nowhere and do not count.

    Source: Tarjan, Depth-first search and linear graph algorithms, 1972.
    """
    walk = _Walk({name: [other for other in onward if other in leads] for name, onward in leads.items()})
    for name in leads:
        walk.visit(name)
    place = {name: number for number, name in enumerate(leads)}
    knots = sorted(
        (tuple(sorted(group, key=place.__getitem__)) for group in walk.groups if walk.is_knot(group)),
        key=lambda knot: place[knot[0]],
    )
    depth = walk.depths()
    return Chains(
        tuple(name for group in walk.groups for name in group),
        tuple(knots),
        {name: depth[name] for name in leads},
    )


def knotted(knot: Sequence[str], leads: Leads) -> dict[str, list[str]]:
    """What each name of a knot leads to within it."""
    there = set(knot)
    return {name: [other for other in leads[name] if other in there] for name in knot}


def way(leads: Mapping[str, Iterable[str]], start: str, end: str) -> list[str]:
    """The fewest names from `start` to `end`, each leading to the next; none where it is not reached."""
    came_from: dict[str, str] = {start: ""}
    queue = [start]
    for name in queue:
        for onward in leads.get(name, ()):
            if onward not in came_from:
                came_from[onward] = name
                queue.append(onward)
    found = [end] if end in came_from else []
    while found and came_from[found[0]]:
        found.insert(0, came_from[found[0]])
    return found


class _Walk:
    """Groups of names that lead to each other, each behind the groups it leads to; no recursion."""

    def __init__(self, leads: Leads) -> None:
        self.leads = leads
        self.groups: list[list[str]] = []
        self._number: dict[str, int] = {}
        self._low: dict[str, int] = {}
        self._open: dict[str, None] = {}  # of groups that are not closed, in the order they were met

    def visit(self, start: str) -> None:
        if start in self._number:
            return
        self._meet(start)
        path = [(start, iter(self.leads[start]))]
        while path:
            name, onward = path[-1]
            step = next(onward, None)
            if step is None:
                path.pop()
                self._leave(name, path[-1][0] if path else "")
            elif step not in self._number:
                self._meet(step)
                path.append((step, iter(self.leads[step])))
            elif step in self._open:
                self._low[name] = min(self._low[name], self._number[step])

    def _meet(self, name: str) -> None:
        self._number[name] = self._low[name] = len(self._number)
        self._open[name] = None

    def _leave(self, name: str, before: str) -> None:
        if before:
            self._low[before] = min(self._low[before], self._low[name])
        if self._low[name] == self._number[name]:
            group: list[str] = []
            while not group or group[-1] != name:
                group.append(self._open.popitem()[0])
            self.groups.append(group)

    def is_knot(self, group: Sequence[str]) -> bool:
        return len(group) > 1 or group[0] in self.leads[group[0]]

    def depths(self) -> dict[str, int]:
        depth: dict[str, int] = {}
        for group in self.groups:
            if self.is_knot(group):
                depth |= dict.fromkeys(group, 0)
            else:
                depth[group[0]] = max((depth[onward] + 1 for onward in self.leads[group[0]]), default=0)
        return depth
