"""Parts that take keys from others: `like` another, or the mirror image of one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from packcheck.errors import Fault
from packcheck.scene.document.document import RawScene
from packcheck.scene.document.names import described
from packcheck.scene.expand.loops import DEEPEST, chained
from packcheck.scene.model.directions import FACES, OPPOSITE, WORDS, split_word
from packcheck.scene.model.scene import Direction
from packcheck.scene.quantities.resting import REST_WORDS
from packcheck.scene.quantities.sizes import BY_FACES
from packcheck.scene.solids.shapes import SHAPES
from packcheck.scene.text.hints import joined, nearest
from packcheck.scene.text.nodes import Entry, ListNode, MapNode, Node, ScalarNode, Text
from packcheck.scene.text.written import texts_of

__all__ = ["Heirs", "mirrored_part"]

_ITS_OWN: Final = ("like", "template", "mirror_of", "repeat", "note")
"""Keys that are never taken from another part."""

_SHAPES: Final = (*SHAPES, "solids")
_PLACES: Final = ("at", "turn", "anchor", "faces")


def mirrored_part(node: MapNode) -> tuple[Text, MapNode | None] | None:
    """The name in the `mirror_of` of a part, and the map it stands in if it does."""
    there = node.get("mirror_of")
    name = texts_of(there.get("part") if isinstance(there, MapNode) else there)[:1]
    return (name[0], there if isinstance(there, MapNode) else None) if name else None


class Heirs:
    """What every part amounts to, with the keys it takes from others."""

    def __init__(self, raw: RawScene, parts: Mapping[str, MapNode]) -> None:
        self.faults: list[Fault] = []
        self._raw, self._parts = raw, parts
        self._made: dict[str, MapNode] = {}
        self._chains = chained({name: [str(text) for text in _models(node)] for name, node in parts.items()})
        self._knots = {name: knot for knot in self._chains.knots for name in knot}
        self._twins = dict(self._pairs())

    def node(self, name: str) -> MapNode:
        """The part with everything it takes from others."""
        if name not in self._made:
            self._made[name] = self._parts[name]  # in a loop, as it is written
            self._made[name] = self._inherited(name, self._parts[name])
        return self._made[name]

    def own(self, name: str) -> frozenset[str]:
        """The keys that are written with the part itself."""
        return frozenset(self._parts[name].entries if name in self._parts else ())

    def _inherited(self, name: str, node: MapNode) -> MapNode:
        mirror = mirrored_part(node)
        if mirror is not None:
            return self._mirrored(name, node, mirror[0])
        for source in _models(node):
            return self._alike(name, node, source)
        return node

    def _pairs(self) -> Iterator[tuple[str, str]]:
        """Every part that is mirrored, and the first that is its image."""
        for name, node in reversed(list(self._parts.items())):
            if (mirror := mirrored_part(node)) is not None:
                yield str(mirror[0]), name

    def _alike(self, name: str, node: MapNode, source: Text) -> MapNode:
        subject = f"part {name!r}: like"
        if name in self._knots:
            return self._looped(name, node, source, subject)
        if self._chains.depth[name] >= DEEPEST:
            if self._chains.depth[name] == DEEPEST:
                what = f"{subject} leads on more than {DEEPEST} deep, one like another"
                self._refused(node, source, what, "let it be like the first of them")
            return node
        if not self._is_part(source):
            self._lost(subject, source, "a part or a template")
            return node
        if "mirror_of" in self._parts[source].entries:
            mend = f"write mirror_of, or like the part that {str(source)!r} mirrors"
            return self._refused(node, source, f"{subject} {str(source)!r} is itself a mirror image", mend)
        base = {key: entry for key, entry in self.node(source).entries.items() if key not in _ITS_OWN}
        return MapNode(node.mark, _overlaid(base, node.entries))

    def _looped(self, name: str, node: MapNode, source: Text, subject: str) -> MapNode:
        """A part that is in the end like itself: told of the first of the loop."""
        knot = self._knots[name]
        if name == knot[0]:
            loop = [name]
            while loop[-1] != name or len(loop) == 1:
                loop.append(str(_models(self._parts[loop[-1]])[0]))
            what = f"{subject} leads round in a loop: {joined(loop, ' -> ')}"
            self._refused(node, source, what, "write the keys of one of them out")
        return node

    def _mirrored(self, name: str, node: MapNode, source: Text) -> MapNode:
        subject = f"part {name!r}: mirror_of"
        for other, why in (("like", "it takes everything from the part it mirrors"), ("repeat", _ROW)):
            if other in node.entries:
                what = f"part {name!r}: {other} stands beside mirror_of"
                self.faults.append(Fault(node.entries[other].mark, what, why, f"leave out {other}"))
        if source == name:
            return self._refused(node, source, f"{subject} names the part itself", "name another part")
        if not self._is_part(source):
            self._lost(subject, source, "a part")
            return node
        if "template" in self._parts[source].entries:
            return self._refused(node, source, f"{subject} {str(source)!r} is a template", "mirror a part like it")
        if "mirror_of" in self._parts[source].entries:
            first = mirrored_part(self._parts[source])
            mend = f"write like: {first[0]}, and where it stands" if first and first[0] != name else _ONE_BY_HAND
            what = f"{subject} {str(source)!r}, which is itself a mirror image"
            return self._refused(node, source, what, mend)
        base = {key: entry for key, entry in self.node(source).entries.items() if key not in _ITS_OWN}
        shown = {key: self._on_other_side(key, entry) for key, entry in base.items()}
        held = {key: entry for key, entry in shown.items() if entry is not None}
        return MapNode(node.mark, _replaced(held, node.entries))

    def _on_other_side(self, key: str, entry: Entry) -> Entry | None:
        """What a mirror image takes over: it hangs on the images of what the part hangs on, where there are any.

        Where the part rests does not count for the image, which stands where the mirror shows it.
        """
        if key in ("in", "bolted_to", "goes_into"):
            items: list[Node] = [
                ScalarNode(text.mark, Text(self._twins.get(text, str(text)), text.mark))
                for text in texts_of(entry.node)
            ]
            return Entry(entry.mark, items[0] if key == "in" and items else ListNode(entry.node.mark, items))
        if key == "faces" and isinstance(entry.node, MapNode):
            kept = {face: at for face, at in entry.node.entries.items() if not _rests(at.node)}
            return Entry(entry.mark, MapNode(entry.node.mark, kept)) if kept else None
        return entry

    def _is_part(self, name: str) -> bool:
        return name in self._parts and name in self._raw.names and self._raw.names[name].what == "part"

    def _refused(self, node: MapNode, source: Text, what: str, mend: str) -> MapNode:
        self.faults.append(Fault(source.mark, what, mend=mend))
        return node

    def _lost(self, subject: str, name: Text, needed: str) -> None:
        if self._raw.complete or name in self._raw.names:
            what = f"{subject} {described(name, self._raw.names)}, needs {needed}"
            self.faults.append(Fault(name.mark, what, mend=nearest(name, self._parts)))


def _models(node: MapNode) -> list[Text]:
    """The name of the part that this one is like, if it is like one."""
    return texts_of(node.get("like"))[:1]


_ONE_BY_HAND: Final = "place one of them yourself"
_ROW: Final = "the image of a repeated part is repeated with it"


def _rests(node: Node) -> bool:
    return isinstance(node, MapNode) and not node.entries.keys().isdisjoint(REST_WORDS)


def _overlaid(base: Mapping[str, Entry], own: Mapping[str, Entry]) -> dict[str, Entry]:
    """Keys of its own over those it takes: maps merge, all else is replaced."""
    kept = {key: entry for key, entry in base.items() if key not in _set_aside(own)}
    both = {key for key in kept if key in own and isinstance(kept[key].node, MapNode)}
    merged = {key: _merged(kept[key], own[key]) for key in both}
    whole = {**kept, **own, **merged}
    if "faces" in both:
        sized = any(_sized_by_faces(whole[key].node) for key in _SHAPES if key in whole)
        whole["faces"] = _faces_merged(kept["faces"], own["faces"], sized=sized)
    return whole


def _faces_merged(base: Entry, own: Entry, *, sized: bool) -> Entry:
    """Faces of its own over those it takes, and null drops a face.

    One of its own replaces the opposite one and the middle between them, and a middle of its own replaces both; a
    part `sized` by its faces keeps the opposite one, or the middle.
    """
    if not isinstance(own.node, MapNode) or not isinstance(base.node, MapNode):
        return own
    dropped = {face for face, entry in own.node.entries.items() if face in base.node.entries and _null(entry.node)}
    given = own.node.entries.keys() - dropped
    ways = {FACES[face] for face in FACES if face in given}
    middle_ways = _ways_of(own.node.get("middle"))
    replaced: set[str] = set()
    if not sized:
        replaced = {face for face, way in FACES.items() if OPPOSITE[way] in ways or _along(way, middle_ways)}
    kept = {face: entry for face, entry in base.node.entries.items() if face not in replaced}
    both = {face: entry for face, entry in {**kept, **own.node.entries}.items() if face not in dropped}
    middle = base.node.entries.get("middle")
    if middle is not None and "middle" not in dropped:
        both = _with_middle(both, middle, own.node.entries.get("middle"), [] if sized else list(ways))
    return Entry(own.mark, MapNode(own.node.mark, both))


def _with_middle(
    faces: Mapping[str, Entry], base: Entry, own: Entry | None, ways: Sequence[Direction]
) -> dict[str, Entry]:
    """The faces with what is left of a middle that is taken over: the axes on which nothing else was given."""
    taken = [*ways, *_ways_of(own.node if own else None)]
    kept: list[Node] = [
        ScalarNode(text.mark, text) for text in texts_of(base.node) if not _along(_way_of(text), taken)
    ]
    added = [] if own is None else own.node.items if isinstance(own.node, ListNode) else [own.node]
    without = {face: entry for face, entry in faces.items() if face != "middle"}
    if not kept and not added:
        return without
    place = own or base
    return {**without, "middle": Entry(place.mark, ListNode(place.node.mark, [*kept, *added]))}


def _ways_of(middle: Node | None) -> list[Direction]:
    return [way for text in texts_of(middle) if (way := _way_of(text))]


def _way_of(text: Text) -> Direction | None:
    """The direction that the word behind a length stands for."""
    return WORDS.get(split_word(text)[1])


def _along(way: Direction | None, ways: Sequence[Direction]) -> bool:
    """Whether a direction lies along the same axis as one of some others."""
    return way is not None and bool({way, OPPOSITE[way]} & set(ways))


def _null(node: Node) -> bool:
    return isinstance(node, ScalarNode) and node.value is None


def _sized_by_faces(node: Node) -> bool:
    """Whether a size of a shape is left to the faces of the part."""
    if isinstance(node, MapNode):
        return any(_sized_by_faces(entry.node) for entry in node.entries.values())
    return any(word == BY_FACES for word in texts_of(node))


def _merged(base: Entry, own: Entry) -> Entry:
    if not isinstance(own.node, MapNode) or not isinstance(base.node, MapNode):
        return own
    return Entry(own.mark, MapNode(own.node.mark, {**base.node.entries, **own.node.entries}))


def _replaced(base: Mapping[str, Entry], own: Mapping[str, Entry]) -> dict[str, Entry]:
    return {**{key: entry for key, entry in base.items() if key not in _set_aside(own)}, **own}


def _set_aside(own: Mapping[str, Entry]) -> set[str]:
    """What cannot be taken from another part beside keys of its own: a second shape, a second place."""
    aside: set[str] = set()
    shapes = [key for key in _SHAPES if key in own]
    if shapes:
        aside |= {key for key in _SHAPES if key != shapes[0]}
    if any(_has_ends(own[key].node) for key in shapes):
        aside |= set(_PLACES)
    if "faces" in own:
        aside |= {"at", "anchor"}
    if "at" in own or "anchor" in own:
        aside.add("faces")
    return aside


def _has_ends(shape: Node) -> bool:
    return isinstance(shape, MapNode) and "from" in shape.entries
