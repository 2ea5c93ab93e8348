"""Does every name in `measures` lead to a frame or a part? Checked on what is written."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from packcheck.errors import Fault
from packcheck.scene.directions import FACES
from packcheck.scene.document import RawScene
from packcheck.scene.hints import nearest
from packcheck.scene.model import CAR
from packcheck.scene.names import described
from packcheck.scene.nodes import ListNode, MapNode, Node, ScalarNode, Text

__all__ = ["check_measures"]

_WORDS: Final = frozenset({"along", "normal", "why", "source", "note", "length", "at"})
"""Keys below a measure whose text is no name."""

_LIMITS: Final = frozenset({"must", "want", "most", "range", "offset", "parallel"})


def check_measures(raw: RawScene) -> Iterator[Fault]:
    """Faults of names that lead nowhere, of faces of what is no part, of lines on frames without a length."""
    section = raw.tree.get("measures")
    for name, entry in section.entries.items() if isinstance(section, MapNode) else ():
        if isinstance(entry.node, MapNode):
            for key, below in entry.node.entries.items():
                if key not in _WORDS and key not in _LIMITS:
                    yield from _below(f"measure {name!r}: {key}", below.node, raw)


def _below(path: str, node: Node, raw: RawScene) -> Iterator[Fault]:
    match node:
        case ScalarNode(value=Text() as text):
            yield from _name(path, text, raw)
        case MapNode():
            for key, entry in node.entries.items():
                if key not in _WORDS:
                    yield from _below(f"{path}.{key}", entry.node, raw)
            yield from _endless(path, node, raw)
        case ListNode() | ScalarNode():
            return


def _name(path: str, text: Text, raw: RawScene) -> Iterator[Fault]:
    name = text.strip()
    head, dot, face = name.rpartition(".")
    if dot and face in FACES and name not in raw.names:
        if head in raw.names and raw.names[head].what != "part":
            yield Fault(text.mark, f"{path} {described(head, raw.names)}, needs a part before .{face}")
            return
        name = head
    if name != CAR and (name not in raw.names or raw.names[name].what == "param") and raw.complete:
        known = [CAR, *(other for other, named in raw.names.items() if named.what != "param")]
        what = f"{path} {described(name, raw.names)}, needs a frame or a part"
        yield Fault(text.mark, what, mend=nearest(name, known))


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
