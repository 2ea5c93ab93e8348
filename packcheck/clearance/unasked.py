"""Pairs of which nothing is asked: what goes into another, room beside room, air and what is joined to its part."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from packcheck.clearance.rooms import Rooms
from packcheck.scene.model.motion import Held
from packcheck.scene.model.scene import Frame, Part, Scene

__all__ = ["Unasked"]


class Unasked:
    """The pairs of a scene that are neither measured nor counted at rest.

    `joints` holds joined pairs in both orders. Room that is used while something is held open is not asked at rest
    of what is moved by that: `in_motion` tells when it is.
    """

    def __init__(self, scene: Scene, rooms: Rooms, joints: Collection[tuple[str, str]]) -> None:
        self._parts, self._rooms, self._joints = scene.parts, rooms, joints
        self._goes = [(name, other) for name, part in scene.parts.items() for other in part.goes_into]
        self._entered = {pair for a, b in self._goes for pair in ((a, b), (b, a))}
        self._held = {name: _carried(scene, part.held) for name, part in scene.parts.items() if part.held}

    def enters(self, a: str, b: str) -> bool:
        """Whether the file says of either part that it goes into the other."""
        return (a, b) in self._entered

    def between(self, a: str, b: str) -> bool:
        """Whether nothing is asked between two parts at rest."""
        return self._never(a, b) or self.held_open(a, b)

    def in_motion(self, a: str, b: str, of: str) -> bool:
        """Whether nothing is asked between two parts in an act that is `of` a room, or of anything else."""
        return self._never(a, b) or any(name in self._held and name != of for name in (a, b))

    def _never(self, a: str, b: str) -> bool:
        return (a, b) in self._entered or self._rooms.unasked(a, b) or bool(self.air_beside(a, b))

    def held_open(self, a: str, b: str) -> bool:
        """Whether one is room, and what is held open for it moves the one against the other."""
        carried = (*self._held.get(a, ()), *self._held.get(b, ()))
        return any((a in nodes) != (b in nodes) for nodes in carried)

    def air_beside(self, a: str, b: str) -> tuple[str, str, str] | None:
        """Air, what is joined to the part that needs it, and that part; None unless the two are such a pair."""
        if not self._rooms.between(a, b):
            return None
        for air, other in ((a, b), (b, a)):
            owner = self._parts[air].air_of
            if owner and ((owner, other) in self._joints or (owner, other) in self._entered):
                return air, other, owner
        return None

    def entries(self, wanted: Collection[str]) -> Iterator[tuple[str, str]]:
        """Every part that goes into another, and that one; either is `wanted`."""
        return ((a, b) for a, b in self._goes if a in wanted or b in wanted)

    def pairs(self, names: Sequence[str], wanted: Collection[str]) -> list[tuple[str, str]]:
        """The pairs among parts, one of them `wanted`, between which nothing is asked, in the order of `names`."""
        place = {name: k for k, name in enumerate(names)}
        rooms = [name for name in names if name in self._rooms.names]
        candidates = [*self._goes, *((room, other) for room in rooms for other in names if other != room)]
        pairs = {(a, b) if place[a] < place[b] else (b, a) for a, b in candidates}
        return [
            (a, b)
            for a, b in sorted(pairs, key=lambda pair: [place[name] for name in pair])
            if (a in wanted or b in wanted) and self.between(a, b)
        ]


def _carried(scene: Scene, held: Sequence[Held]) -> tuple[frozenset[str], ...]:
    """All that each of some motions carries, directly or not."""
    nodes: list[Frame | Part] = [*scene.frames.values(), *scene.parts.values()]
    found = []
    for one in held:
        carried = set(scene.motions[one.motion].carries)
        while more := {node.name for node in nodes if node.parent in carried} - carried:
            carried |= more
        found.append(frozenset(carried))
    return tuple(found)
