"""Does every line that is measured to have an end? Checked on what is written."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from packcheck.errors import Fault
from packcheck.scene.document.document import RawScene
from packcheck.scene.model.scene import CAR
from packcheck.scene.text.nodes import MapNode, Node, ScalarNode, Text

__all__ = ["check_measures"]

_WORDS: Final = frozenset({"along", "normal", "why", "source", "note", "length", "at"})
"""Keys below a measure that hold no line."""

_LIMITS: Final = frozenset({"must", "want", "most", "range", "offset", "parallel"})


def check_measures(raw: RawScene) -> Iterator[Fault]:
    """Faults of lines along an axis of a frame that have no length."""
    section = raw.tree.get("measures")
    for name, entry in section.entries.items() if isinstance(section, MapNode) else ():
        if isinstance(entry.node, MapNode):
            for key, below in entry.node.entries.items():
                if key not in _WORDS and key not in _LIMITS:
                    yield from _below(f"measure {name!r}: {key}", below.node, raw)


def _below(path: str, node: Node, raw: RawScene) -> Iterator[Fault]:
    if isinstance(node, MapNode):
        for key, entry in node.entries.items():
            if key not in _WORDS:
                yield from _below(f"{path}.{key}", entry.node, raw)
        yield from _endless(path, node, raw)


def _endless(path: str, node: MapNode, raw: RawScene) -> Iterator[Fault]:
    """A line along the axis of a frame has no ends of its own."""
    entry = node.entries.get("along")
    if entry is None or "length" in node.entries or "to" in node.entries:
        return
    inner = node.get("in")
    name = str(inner.value).strip() if isinstance(inner, ScalarNode) and isinstance(inner.value, Text) else CAR
    if name == CAR or (name in raw.names and raw.names[name].what == "frame"):
        why = "a frame has no size, so nobody knows how far from its zero the line still counts"
        yield Fault(entry.mark, f"{path} lies along an axis of {name!r} and needs length", why, "write length:")
