"""Who names whom, as written: what would be left hanging when a part, frame or param is taken out."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from typing import Final

from packcheck.errors import SourceMark
from packcheck.scene.text.expressions import names_in
from packcheck.scene.text.nodes import Entry, ListNode, MapNode, Node, ScalarNode, Text

__all__ = ["Need", "needs", "without_rules"]

_PROSE: Final = frozenset({"title", "note", "why", "source", "file"})
"""Keys that hold text for people, in which a name is only a word."""

_ELSEWHERE: Final = frozenset({"layouts", "include"})


@dataclass(frozen=True, slots=True)
class Need:
    """A place in the scene that names something, and the way there in words."""

    path: str
    mark: SourceMark


def needs(section: str, name: str, tree: MapNode) -> Iterator[Need]:
    """Every place that rests on a thing of `section` called `name`.

    Parts and frames are named outright (or before a dot, for a point of theirs), params inside arithmetic.
    """
    for key, entry in tree.entries.items():
        if key not in _ELSEWHERE and key not in _PROSE:
            yield from _below(section == "params", name, entry.node, key)


def _below(arithmetic: bool, name: str, node: Node, path: str) -> Iterator[Need]:
    match node:
        case ScalarNode(value=Text() as text):
            if name in names_in(text) if arithmetic else text.strip().split(".")[0] == name:
                yield Need(path, node.mark)
        case ListNode():
            for place, item in enumerate(node.items, start=1):
                yield from _below(arithmetic, name, item, f"{path} item {place}")
        case MapNode():
            for key, entry in node.entries.items():
                if key not in _PROSE:
                    yield from _below(arithmetic, name, entry.node, f"{path}.{key}")


def without_rules(tree: MapNode, gone: Collection[str]) -> MapNode:
    """The tree without the clearance rules between parts that are `gone`: there is nothing left to hold apart."""
    clearances = tree.entries.get("clearances")
    rules = clearances.node.get("rules") if clearances and isinstance(clearances.node, MapNode) else None
    if not gone or clearances is None or not isinstance(rules, ListNode):
        return tree
    kept = [rule for rule in rules.items if not _between(rule) & set(gone)]
    there = clearances.node.entries if isinstance(clearances.node, MapNode) else {}
    held = {**there, "rules": Entry(there["rules"].mark, ListNode(rules.mark, kept))}
    entry = Entry(clearances.mark, MapNode(clearances.node.mark, held))
    return MapNode(tree.mark, {**tree.entries, "clearances": entry})


def _between(rule: Node) -> set[str]:
    between = rule.get("between") if isinstance(rule, MapNode) else None
    items = between.items if isinstance(between, ListNode) else []
    return {str(item.value).strip() for item in items if isinstance(item, ScalarNode)}
