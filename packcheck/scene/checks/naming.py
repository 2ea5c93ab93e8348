"""Does every name in the scene lead where it may? Asked of the table in `reach`, for every key alike.

Checked on what is written, so that one fault hides no other.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from packcheck.data import KINDS
from packcheck.errors import Fault
from packcheck.scene.checks import reach
from packcheck.scene.checks.reach import Reach, reach_at
from packcheck.scene.document.document import RawScene
from packcheck.scene.document.names import ANY
from packcheck.scene.model.directions import FACES
from packcheck.scene.model.scene import CAR
from packcheck.scene.quantities.slots import bare
from packcheck.scene.text.hints import joined, nearest
from packcheck.scene.text.nodes import ListNode, MapNode, Node, Text
from packcheck.scene.text.written import texts_of

__all__ = ["name_faults"]

Thing = tuple[str, str, MapNode]
"""A section of the table, how one thing of it is called in messages, and the thing."""

Way = tuple[str, ...]


def name_faults(raw: RawScene) -> Iterator[Fault]:
    """Faults of every name that leads nowhere or to the wrong sort of thing."""
    sorts = _Sorts(raw)
    for section, subject, thing in _things(raw):
        for way, asked, text in _named(section, (), thing):
            if not asked.own:
                yield from sorts.fault(f"{subject} {_told(way)}", text, asked)


class _Sorts:
    """What every name of a scene stands for."""

    def __init__(self, raw: RawScene) -> None:
        self.complete = raw.complete
        self.known: dict[str, list[str]] = {name: [named.what] for name, named in raw.names.items()}
        self._add([CAR], reach.CAR)
        self._add([ANY], reach.ANY)
        self._add(KINDS, reach.KIND)
        self._add(_kinds_named(raw), reach.KIND)
        survey = raw.tree.get("survey")
        for section, sort in (("points", reach.POINT), ("instruments", reach.TOOL)):
            self._add(_entries(survey, section), sort)
        self._add(_entries(raw.tree, "layouts"), reach.LAYOUT)

    def _add(self, names: Mapping[str, object] | list[str], sort: str) -> None:
        for name in names:
            there = self.known.setdefault(name, [])
            if sort not in there:
                there.append(sort)

    def fault(self, subject: str, name: Text, asked: Reach) -> Iterator[Fault]:
        """The fault of a name that is not what is asked; silent when a file that was not read may hold it."""
        head, dot, face = name.rpartition(".")
        if asked.faces and dot and face in FACES and name not in self.known:
            yield from self._before_face(subject, name, head, face, asked)
        elif not self._fits(name, asked) and (self.complete or name in self.known):
            yield self._misnamed(subject, name, asked)

    def _before_face(self, subject: str, name: Text, head: str, face: str, asked: Reach) -> Iterator[Fault]:
        if head not in self.known:
            yield from [self._misnamed(subject, Text(head, name.mark), asked)] if self.complete else []
        elif reach.PART not in self.known[head]:
            yield Fault(name.mark, f"{subject} {self._described(head)}, needs a part before .{face}")

    def _fits(self, name: str, asked: Reach) -> bool:
        return not (asked.sorts | asked.aside).isdisjoint(self.known.get(name, ()))

    def _misnamed(self, subject: str, name: Text, asked: Reach) -> Fault:
        known = (other for other, sorts in self.known.items() if not asked.sorts.isdisjoint(sorts))
        what = f"{subject} {self._described(name)}, needs {asked.needed}"
        return Fault(name.mark, what, mend=nearest(name, known))

    def _described(self, name: str) -> str:
        sort = self.known.get(name, [""])[0]
        articled = {"": "not known", reach.CAR: "the car", reach.ANY: "any part", reach.TOOL: "an instrument"}
        return f"{str(name)!r} is {articled.get(sort, f'a {sort}')}"


def _kinds_named(raw: RawScene) -> list[str]:
    """Kinds that parts have; of what a rule asks after nobody needs to be."""
    parts = raw.tree.get("parts")
    nodes = [entry.node for entry in parts.entries.values()] if isinstance(parts, MapNode) else []
    return [str(kind) for node in nodes if isinstance(node, MapNode) for kind in texts_of(node.get("kind"))]


def _things(raw: RawScene) -> Iterator[Thing]:
    survey = raw.tree.get("survey")
    clearances = raw.tree.get("clearances")
    for section, called in (("frames", "frame"), ("parts", "part"), ("motions", "motion"), ("measures", "measure")):
        yield from _by_name(section, raw.tree, section, called)
    for rule in _items(clearances, "rules"):
        between = joined([bare(name) for name in texts_of(rule.get("between"))])
        yield "rules", f"rule [{between}]:", rule
    yield from _by_name("points", survey, "points", "survey point")
    yield from _by_number("observations", survey, "observations", "survey.observations")
    yield from _by_name("place", survey, "place", "survey.place")
    yield from _by_name("rocks", survey, "rocks", "survey.rocks")
    yield from _by_number("checks", raw.tree, "checks", "checks")


def _by_name(section: str, tree: Node | None, key: str, called: str) -> Iterator[Thing]:
    for name, node in _entries(tree, key).items():
        if isinstance(node, MapNode):
            yield section, f"{called} {name!r}:", node


def _by_number(section: str, tree: Node | None, key: str, called: str) -> Iterator[Thing]:
    for place, node in enumerate(_items(tree, key), start=1):
        yield section, f"{called} item {place}:", node


def _entries(tree: Node | None, key: str) -> dict[str, Node]:
    node = tree.get(key) if isinstance(tree, MapNode) else None
    return {name: entry.node for name, entry in node.entries.items()} if isinstance(node, MapNode) else {}


def _items(tree: Node | None, key: str) -> list[MapNode]:
    node = tree.get(key) if isinstance(tree, MapNode) else None
    return [item for item in node.items if isinstance(item, MapNode)] if isinstance(node, ListNode) else []


def _named(section: str, way: Way, node: MapNode) -> Iterator[tuple[Way, Reach, Text]]:
    """Every name below a node that the table knows, and the way there."""
    for key, entry in node.entries.items():
        onward = (*way, key)
        if isinstance(entry.node, MapNode):
            yield from _named(section, onward, entry.node)
        elif (asked := reach_at(section, onward)) is not None and not _is_place(entry.node, asked):
            yield from ((onward, asked, text) for text in _texts(entry.node))


def _is_place(node: Node, asked: Reach) -> bool:
    """Whether a point is given by its coordinates: where a face may be named, a list is no list of names."""
    return asked.faces and isinstance(node, ListNode)


def _texts(node: Node) -> Iterator[Text]:
    """The names in a slot of one name, of several, or of several rows of them; coordinates are none."""
    rows = (
        [node, *(item for item in node.items if isinstance(item, ListNode))]
        if isinstance(node, ListNode)
        else [node]
    )
    for row in rows:
        yield from texts_of(row)


_ONE_WORD: Final = ("toward", "side", "matched")


def _told(way: Way) -> str:
    """The way in messages: words of the user's own are left to the place."""
    return way[0] if way[0] in _ONE_WORD else ".".join(way)
