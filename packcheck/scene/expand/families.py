"""Repeated parts: how many of each there are, and which of them is meant where the family is named.

Members of two families of one size belong together one by one: clip.3 is bolted to runner.3. Anything else that
names a family means all of it, but for `in`, which has to name one.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import product

from packcheck.errors import Fault
from packcheck.scene.document.document import RawScene
from packcheck.scene.expand.heirs import mirrored_part
from packcheck.scene.expand.loops import chained
from packcheck.scene.grammar.copying import MOST_COPIES
from packcheck.scene.quantities.resting import REST_WORDS
from packcheck.scene.text.nodes import Entry, ListNode, MapNode, Node, Number, ScalarNode, Text
from packcheck.scene.text.written import maps_of, texts_of

__all__ = ["Families"]


class Families:
    """The repeated parts of a scene. `counts` holds how many members each has."""

    def __init__(self, raw: RawScene, nodes: Mapping[str, Node]) -> None:
        self.faults: list[Fault] = []
        self._nodes = {name: node for name, node in nodes.items() if isinstance(node, MapNode)}
        found: dict[str, int] = {}
        order = chained({name: self._onward(name) for name in self._nodes}).order
        for name in order:  # what each takes its number from comes first
            own = _stated(self._nodes[name])
            found[name] = (
                max((found.get(other, 0) for other in self._onward(name)), default=0) if own is None else own
            )
        self.counts = {name: found[name] for name in self._nodes if found[name]}
        self.faults += self._nested()
        self.faults += self._in_several(maps_of(raw.tree.get("frames")), "frame")
        self.faults += self._in_several(self._nodes, "part")

    def _onward(self, name: str) -> list[str]:
        """What a part takes its number from: what it mirrors, or stands in."""
        node = self._nodes[name]
        mirror = mirrored_part(node)
        return [str(text) for text in ([mirror[0]] if mirror else texts_of(node.get("in"))[:1])]

    def _nested(self) -> Iterator[Fault]:
        for name, node in self._nodes.items():
            for parent in texts_of(node.get("in"))[:1]:
                if "repeat" in node.entries and parent in self.counts:
                    what = f"part {name!r}: repeat, but it stands in {str(parent)!r}, which is repeated itself"
                    why = f"it is there once in each {str(parent)!r} already"
                    yield Fault(node.entries["repeat"].mark, what, why, "leave out repeat, or name one: runner.1")

    def _in_several(self, nodes: Mapping[str, MapNode], what: str) -> Iterator[Fault]:
        for name, node in nodes.items():
            for parent in texts_of(node.get("in"))[:1]:
                count = self.counts.get(str(parent), 0)
                if count and self.counts.get(name) != count:
                    said = f"{what} {name!r}: in {str(parent)!r} is repeated {count} times, needs one of them"
                    yield Fault(parent.mark, said, mend=f"name it: {parent}.1 to {parent}.{count}")

    def referring(self, node: Node, count: int, index: int) -> Node:
        """The part with every family it names put as the members it means, for member `index` of `count`."""
        if not isinstance(node, MapNode) or not self.counts:
            return node
        entries = dict(node.entries)
        for key in ("in", "bolted_to", "goes_into"):
            if key in entries:
                entries[key] = self._meant(entries[key], count, index, one=key == "in")
        if "mirror_of" in entries:
            entries["mirror_of"] = self._within(entries["mirror_of"], ("part",), count, index)
        faces = entries.get("faces")
        if faces is not None and isinstance(faces.node, MapNode):
            resting = {
                face: self._within(entry, tuple(REST_WORDS), count, index)
                for face, entry in faces.node.entries.items()
            }
            entries["faces"] = Entry(faces.mark, MapNode(faces.node.mark, resting))
        return MapNode(node.mark, entries)

    def _within(self, entry: Entry, keys: tuple[str, ...], count: int, index: int) -> Entry:
        """The same where names stand in a map, or in its place."""
        if not isinstance(entry.node, MapNode):
            return self._meant(entry, count, index) if keys == ("part",) else entry
        named = {key: self._meant(there, count, index) for key, there in entry.node.entries.items() if key in keys}
        return Entry(entry.mark, MapNode(entry.node.mark, {**entry.node.entries, **named}))

    def _meant(self, entry: Entry, count: int, index: int, *, one: bool = False) -> Entry:
        """The same with the members of every family it names; with `one`, the first of them at most."""
        names = texts_of(entry.node)
        if not any(name in self.counts for name in names):
            return entry
        items: list[Node] = [
            _scalar(member, name) for name in names for member in self._members(name, count, index)
        ]
        return Entry(entry.mark, items[0] if one or len(items) == 1 else ListNode(entry.node.mark, items))

    def _members(self, name: str, count: int = 0, index: int = 0) -> list[str]:
        size = self.counts.get(name, 0)
        if not size:
            return [str(name)]
        return [f"{name}.{index + 1}"] if size == count else [f"{name}.{k}" for k in range(1, size + 1)]

    def rules_written_out(self, tree: MapNode) -> MapNode:
        """The tree with a rule for every member of the families that rules name; of two alike, for every two."""
        clearances = tree.get("clearances")
        rules = clearances.get("rules") if isinstance(clearances, MapNode) else None
        if not self.counts or not isinstance(clearances, MapNode) or not isinstance(rules, ListNode):
            return tree
        items = [written for rule in rules.items for written in self._rules(rule)]
        held = {**clearances.entries, "rules": Entry(clearances.entries["rules"].mark, ListNode(rules.mark, items))}
        entry = Entry(tree.entries["clearances"].mark, MapNode(clearances.mark, held))
        return MapNode(tree.mark, {**tree.entries, "clearances": entry})

    def _rules(self, rule: Node) -> Iterator[Node]:
        between = rule.get("between") if isinstance(rule, MapNode) else None
        names = texts_of(between)
        if not isinstance(rule, MapNode) or len(names) != 2 or not any(name in self.counts for name in names):
            yield rule
            return
        for one, other in product(self._members(names[0]), self._members(names[1])):
            if names[0] != names[1] or _number(one) < _number(other):
                pair = ListNode(
                    rule.entries["between"].node.mark, [_scalar(one, names[0]), _scalar(other, names[1])]
                )
                yield MapNode(rule.mark, {**rule.entries, "between": Entry(rule.entries["between"].mark, pair)})


def _stated(node: MapNode) -> int | None:
    """The count that a part states, if it is one that can be: anything else is told by the grammar."""
    repeat = node.get("repeat")
    count = repeat.get("count") if isinstance(repeat, MapNode) else None
    value = count.value if isinstance(count, ScalarNode) else None
    if isinstance(value, Number) and value.is_integer() and 1 <= value <= MOST_COPIES:
        return int(value)
    return None


def _scalar(name: str, like: Text) -> ScalarNode:
    return ScalarNode(like.mark, Text(name, like.mark))


def _number(member: str) -> int:
    return int(member.rpartition(".")[2])
