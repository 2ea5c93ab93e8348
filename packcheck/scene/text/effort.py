"""How much arithmetic a scene may hold: far more than any builder writes, far less than would stall the check."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from packcheck.errors import Fault
from packcheck.scene.text.nodes import ListNode, MapNode, Node, ScalarNode, Text

__all__ = ["MOST_ARITHMETIC", "arithmetic_faults"]

MOST_ARITHMETIC: Final = 300_000
"""Characters: some ten thousand sums, read in about three seconds."""

_PROSE: Final = frozenset({"note", "title", "why", "source", "file"})

_SIGNS: Final = re.compile(r"[*(]|[\w.)]\s*[-+/]\s*[\w.(]")
"""What a text holds that is more than one quantity. A fraction counts as well: it takes as long to read."""


def arithmetic_faults(tree: MapNode) -> Iterator[Fault]:
    """One fault, where a scene's arithmetic passes what can be read in reasonable time."""
    spent = 0
    for node in _texts(tree):
        text = str(node.value)
        if not _SIGNS.search(text):
            continue
        spent += len(text)
        if spent > MOST_ARITHMETIC:
            what = f"the scene holds more than {MOST_ARITHMETIC} characters of arithmetic"
            why = "so much would take minutes to work out, each time the scene is read"
            yield Fault(
                node.mark, what, why, "work the numbers out once, or give repeated sums a name under params"
            )
            return


def _texts(tree: MapNode) -> Iterator[ScalarNode]:
    """Every text that is not prose, in the order of the file."""
    waiting: list[Node] = [tree]
    while waiting:
        node = waiting.pop()
        match node:
            case MapNode():
                entries = [entry.node for key, entry in node.entries.items() if key not in _PROSE]
                waiting += reversed(entries)
            case ListNode():
                waiting += reversed(node.items)
            case ScalarNode(value=Text()):
                yield node
