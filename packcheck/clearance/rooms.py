"""Room that must stay free, of kinds `access` and `keep_out`: what is asked of it, and where nothing is."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from packcheck.clearance.rows import Labels, Row
from packcheck.data import RESERVED
from packcheck.scene.model.scene import Scene

__all__ = ["Rooms"]

_HAND: Final = "hand"

_ROOM: Final = Row(
    id="room",
    between=("access", "*"),
    must=0.0,
    why="room kept free: nothing may stand in it",
    source="the volume is its own allowance",
)
"""What is asked of room, whatever the kinds of what comes near it."""


class Rooms:
    """The parts of a scene that are nothing but room, and the rules of the scene that name them, or their kinds."""

    def __init__(self, scene: Scene, rows: Iterable[Row]) -> None:
        self._parts = scene.parts
        self.names = frozenset(name for name, part in scene.parts.items() if RESERVED.intersection(part.kinds))
        named = RESERVED | self.names
        self._rows = [row for row in rows if row.of_scene and not row.lower and named.intersection(row.between)]

    def between(self, a: str, b: str) -> bool:
        """Whether one of two parts is room."""
        return bool(self.names.intersection((a, b)))

    def unasked(self, a: str, b: str) -> bool:
        """Whether room asks nothing between two parts: both are room, or one is the air that the other needs."""
        if not self.between(a, b):
            return False
        both = all(name in self.names or _HAND in self._parts[name].kinds for name in (a, b))
        return both or self._parts[a].air_of == b or self._parts[b].air_of == a

    @property
    def ruled(self) -> bool:
        """Whether any rule asks more of room than that it is free."""
        return bool(self._rows)

    def rows(self, one: Labels, other: Labels) -> Iterator[Row]:
        """What is asked of room: to be free, and what a rule of the scene says that names it, or its kind."""
        yield _ROOM
        rooms = frozenset[str]().union(*(labels for labels in (one, other) if RESERVED & labels))
        for row in self._rows:
            if rooms.intersection(row.between) and row.applies(one, other):
                yield row
