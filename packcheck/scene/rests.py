"""Which part rests on which, as written, and where that leads round in a loop."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from packcheck.errors import Fault
from packcheck.scene.hints import joined
from packcheck.scene.nodes import MapNode, Text
from packcheck.scene.resting import REST_WORDS
from packcheck.scene.written import texts_of

__all__ = ["rest_loops", "rests_of"]


def rests_of(part: MapNode) -> Iterator[tuple[str, Text]]:
    """Every name that a face of a part rests on, and the way there: ``bottom.above``."""
    faces = part.get("faces")
    for face, entry in faces.entries.items() if isinstance(faces, MapNode) else ():
        for word in REST_WORDS:
            if isinstance(entry.node, MapNode):
                yield from ((f"{face}.{word}", name) for name in texts_of(entry.node.get(word)))


def rest_loops(frames: Mapping[str, MapNode], parts: Mapping[str, MapNode]) -> Iterator[Fault]:
    """Parts that rest on or mirror what leans on them or hangs on them. Loops of `in` are told elsewhere."""
    told: set[frozenset[str]] = set()
    for start, node in parts.items():
        for verb, name in _leanings(node):
            way = _way(str(name), start, frames, parts)
            if way and name != start and frozenset(way) not in told:
                told.add(frozenset(way))
                loop = joined([start, *way], " -> ")
                what = f"part {start!r}: {verb} {str(name)!r}, which leads round in a loop: {loop}"
                why = "each of them would have to stand before the other"
                yield Fault(name.mark, what, why, "give one of them a coordinate")


def _leanings(part: MapNode) -> Iterator[tuple[str, Text]]:
    """Everything but `in` that must stand before a part does, and how the part leans on it."""
    yield from (("rests on", name) for _, name in rests_of(part))
    mirror = part.get("mirror_of")
    names = [mirror.get("part"), mirror.get("across")] if isinstance(mirror, MapNode) else [mirror]
    yield from (("mirrors", name) for node in names for name in texts_of(node)[:1])


def _way(start: str, end: str, frames: Mapping[str, MapNode], parts: Mapping[str, MapNode]) -> list[str]:
    """The names from `start` to `end`, each resting or hanging on the next; none when it is not reached."""
    came_from: dict[str, str] = {start: ""}
    queue = [start]
    for name in queue:
        node = parts.get(name) or frames.get(name)
        onward = [] if node is None else [*texts_of(node.get("in"))[:1], *(text for _, text in _leanings(node))]
        for text in onward:
            if str(text) not in came_from:
                came_from[str(text)] = name
                queue.append(str(text))
    way = [end] if end in came_from else []
    while way and came_from[way[0]]:
        way.insert(0, came_from[way[0]])
    return way
