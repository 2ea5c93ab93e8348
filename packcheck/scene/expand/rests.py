"""Which part rests on which, as written, and where that leads round in a loop."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import islice

from packcheck.errors import Fault
from packcheck.scene.expand.loops import DEEPEST, chained, knotted, way
from packcheck.scene.quantities.resting import REST_WORDS
from packcheck.scene.text.hints import joined
from packcheck.scene.text.nodes import MapNode, Text
from packcheck.scene.text.written import texts_of

__all__ = ["rest_loops", "rests_of"]


def rests_of(part: MapNode) -> Iterator[tuple[str, Text]]:
    """Every name that a face of a part rests on, and the way there: ``bottom.above``."""
    faces = part.get("faces")
    for face, entry in faces.entries.items() if isinstance(faces, MapNode) else ():
        for word in REST_WORDS:
            if isinstance(entry.node, MapNode):
                yield from ((f"{face}.{word}", name) for name in texts_of(entry.node.get(word)))


def rest_loops(frames: Mapping[str, MapNode], parts: Mapping[str, MapNode]) -> Iterator[Fault]:
    """Parts that rest on or mirror what leans on them or hangs on them; and too long rows of them.

    Loops of `in` are told elsewhere.
    """
    nodes = {**frames, **parts}
    leads = {name: [str(text) for text in _onward(node)] for name, node in nodes.items()}
    found = chained(leads)
    for knot in found.knots:
        yield from _loops_of(knot[:DEEPEST], knotted(knot, leads), parts)
    for name in found.too_deep():
        for verb, text in islice(_leanings(parts[name]), 1) if name in parts else ():
            what = f"part {name!r}: {verb} {str(text)!r}, more than {DEEPEST} deep, one leaning on another"
            yield Fault(text.mark, what, mend="give one of them a coordinate")


def _loops_of(
    knot: Sequence[str], inner: Mapping[str, Sequence[str]], parts: Mapping[str, MapNode]
) -> Iterator[Fault]:
    told: set[frozenset[str]] = set()
    for start in knot:
        for verb, name in _leanings(parts[start]) if start in parts else ():
            found = way(inner, str(name), start) if name != start else []
            if found and frozenset(found) not in told:
                told.add(frozenset(found))
                loop = joined([start, *found], " -> ")
                what = f"part {start!r}: {verb} {str(name)!r}, which leads round in a loop: {loop}"
                why = "each of them would have to stand before the other"
                yield Fault(name.mark, what, why, "give one of them a coordinate")


def _onward(node: MapNode) -> list[Text]:
    """Everything that must stand before a frame or part does."""
    return [*texts_of(node.get("in"))[:1], *(text for _, text in _leanings(node))]


def _leanings(part: MapNode) -> Iterator[tuple[str, Text]]:
    """Everything but `in` that must stand before a part does, and how the part leans on it."""
    yield from (("rests on", name) for _, name in rests_of(part))
    mirror = part.get("mirror_of")
    names = [mirror.get("part"), mirror.get("across")] if isinstance(mirror, MapNode) else [mirror]
    yield from (("mirrors", name) for node in names for name in texts_of(node)[:1])
