"""Strict YAML: text to a tree whose every scalar, list and map knows its place.

Only the plain core of YAML is read: maps, lists, text, true and false, null, decimal numbers. What other readers
guess at (dates, octal and base 60, on and off) stays text; what hides structure (anchors, tags, merge keys) or
loses it (a key written twice) is a fault.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from typing import Any, Final, TypeAlias

import yaml

from packcheck.errors import Fault, SourceMark
from packcheck.scene.text.syntax import syntax_fault

__all__ = [
    "Entry",
    "ListNode",
    "MapNode",
    "Node",
    "Number",
    "ScalarNode",
    "Text",
    "compose",
    "is_plain_word",
    "plain",
]

DEEPEST: Final = 20
"""Levels of nesting; a scene needs eight."""

MOST_NODES: Final = 200_000
"""Values in one file: a thousand parts need thirty thousand."""

LONGEST_KEY: Final = 200
"""Characters. Longer ones would fill every message about what stands below them."""

NUMBER = re.compile(r"[-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]+)?")
_WORDS: Final = {"true": True, "false": False, "null": None, "~": None, "": None}
_Loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


class Number(float):
    """A number as written: its text, its place."""

    __slots__ = ("mark", "text")

    def __new__(cls, text: str, mark: SourceMark) -> Number:
        number = super().__new__(cls, text)
        number.text, number.mark = text, mark
        return number

    text: str
    mark: SourceMark


class Text(str):
    """A piece of text and its place."""

    __slots__ = ("mark",)

    def __new__(cls, text: str, mark: SourceMark) -> Text:
        made = super().__new__(cls, text)
        made.mark = mark
        return made

    mark: SourceMark


Value: TypeAlias = Number | Text | bool | None


@dataclass(slots=True)
class ScalarNode:
    """`inset`: columns from the mark to the first character of the text, or None when it spans lines."""

    mark: SourceMark
    value: Value
    inset: int | None = 0


@dataclass(slots=True)
class ListNode:
    mark: SourceMark
    items: list[Node] = field(default_factory=list)


@dataclass(slots=True)
class Entry:
    """A value and where its key stands."""

    mark: SourceMark
    node: Node


@dataclass(slots=True)
class MapNode:
    mark: SourceMark
    entries: dict[str, Entry] = field(default_factory=dict)

    def get(self, key: str) -> Node | None:
        entry = self.entries.get(key)
        return entry.node if entry else None


Node: TypeAlias = ScalarNode | ListNode | MapNode


def is_plain_word(text: str) -> bool:
    """Whether `text` without quotes is read as something else: a number, true, false or null."""
    return text in _WORDS or NUMBER.fullmatch(text) is not None


def plain(node: Node) -> object:
    """The tree below `node` as dicts, lists and scalars (numbers and text keep their marks)."""
    match node:
        case ScalarNode():
            return node.value
        case ListNode():
            return [plain(item) for item in node.items]
        case MapNode():
            return {key: plain(entry.node) for key, entry in node.entries.items()}


def compose(text: str, file: str) -> tuple[Node | None, list[Fault]]:
    """The one document in `text`, and every fault of its form.

    Parameters
    ----------
    text : str
        The content of a file.
    file : str
        Its name, for marks.

    Returns
    -------
    tuple
        The root node (None for an empty document, and after a fault that stops reading) and the faults.
    """
    composer = _Composer(file)
    try:
        for event in yaml.parse(text, Loader=_Loader):
            composer.take(event)
    except yaml.YAMLError as error:
        return None, [*composer.faults, syntax_fault(error, text, file)]
    except _Stop:
        return None, composer.faults
    return composer.root, composer.faults


class _Stop(Exception):  # noqa: N818 - ends the reading of one file, its fault already noted
    pass


class _Composer:
    """Builds the tree from parser events: nothing recurses and no alias is ever followed."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.faults: list[Fault] = []
        self.root: Node | None = None
        self._open: list[ListNode | MapNode] = []
        self._keys: list[tuple[str, SourceMark] | None] = []  # the key waiting for its value, per open node
        self._count = 0
        self._documents = 0

    def take(self, event: yaml.Event) -> None:
        match event:
            case yaml.ScalarEvent():
                self._scalar(event)
            case yaml.SequenceStartEvent():
                self._start(ListNode(self._noted(event)))
            case yaml.MappingStartEvent():
                self._start(MapNode(self._noted(event)))
            case yaml.CollectionEndEvent():
                self._open.pop()
                self._keys.pop()
            case yaml.AliasEvent():
                mend = "write the value out, or give it a name under params"
                self._fault(self._noted(event), f"aliases are not read: *{event.anchor}", mend)
                self._add(ScalarNode(self._mark(event), None))
            case yaml.DocumentStartEvent():
                self._document(event)

    def _document(self, event: yaml.Event) -> None:
        self._documents += 1
        if self._documents > 1:
            self._fault(
                self._mark(event), "a second document begins here, needs one per file", "remove the line ---"
            )
            raise _Stop

    def _mark(self, event: yaml.Event) -> SourceMark:
        start: Any = event.start_mark
        return SourceMark(self.file, start.line + 1, start.column + 1)

    def _noted(self, event: yaml.NodeEvent) -> SourceMark:
        """The mark of a node, after what is common to all nodes was looked at."""
        mark = self._mark(event)
        self._count += 1
        if self._count > MOST_NODES:
            self._fault(mark, f"more than {MOST_NODES} values in one file", "split the scene with include")
            raise _Stop
        if event.anchor is not None and not isinstance(event, yaml.AliasEvent):
            self._fault(mark, f"anchors are not read: &{event.anchor}", "give the value a name under params")
        tag = getattr(event, "tag", None)
        if tag is not None:
            mend = "remove the tag; put text that looks like a number in quotes"
            self._fault(mark, f"tags are not read: {tag}", mend)
        return mark

    def _fault(self, mark: SourceMark, what: str, mend: str = "") -> None:
        self.faults.append(Fault(mark, what, mend=mend))

    def _start(self, node: ListNode | MapNode) -> None:
        if len(self._open) >= DEEPEST:
            self._fault(node.mark, f"nested more than {DEEPEST} levels deep", "a bracket or brace may be missing")
            raise _Stop
        self._add(node)
        self._open.append(node)
        self._keys.append(None)

    def _scalar(self, event: yaml.ScalarEvent) -> None:
        mark = self._noted(event)
        if self._wants_key:
            self._key(event, mark)
        else:
            self._add(ScalarNode(mark, self._value(event, mark), _inset(event)))

    @property
    def _wants_key(self) -> bool:
        return bool(self._open) and isinstance(self._open[-1], MapNode) and self._keys[-1] is None

    def _value(self, event: yaml.ScalarEvent, mark: SourceMark) -> Value:
        text: str = event.value
        if event.style:
            return Text(text, mark)
        if text in _WORDS:
            return _WORDS[text]
        if not NUMBER.fullmatch(text):
            return Text(text, mark)
        number = Number(text, mark)
        if math.isfinite(number):
            return number
        self._fault(mark, f"{text[:20]} is too large a number")
        return Number("0", mark)

    def _key(self, event: yaml.ScalarEvent, mark: SourceMark) -> None:
        key = event.value.strip()
        if not key:
            self._fault(mark, "a key is empty")
        elif len(key) > LONGEST_KEY:
            self._fault(mark, f"a key has {len(key)} characters, needs at most {LONGEST_KEY}")
            key = ""
        elif key == "<<" and not event.style:
            self._fault(mark, "merge keys are not read: <<", "write the keys out")
        self._keys[-1] = (key, mark)

    def _add(self, node: Node) -> None:
        """Put `node` where the innermost open node expects it."""
        if not self._open:
            self.root = node
            return
        parent = self._open[-1]
        if isinstance(parent, ListNode):
            parent.items.append(node)
        elif (waiting := self._keys[-1]) is None:
            self._fault(node.mark, "a key is a list or a map, needs to be a word", "put text with [ or { in quotes")
            self._keys[-1] = ("", node.mark)
        else:
            self._keys[-1] = None
            self._enter(parent, *waiting, node)

    def _enter(self, parent: MapNode, key: str, mark: SourceMark, node: Node) -> None:
        if key in ("", "<<"):
            return
        if key in parent.entries:
            first = parent.entries[key].mark.line
            self._fault(mark, f"key {key!r} is written twice, first in line {first}", "remove one of the two")
            return
        parent.entries[key] = Entry(mark, node)


def _inset(event: yaml.ScalarEvent) -> int | None:
    start: Any = event.start_mark
    end: Any = event.end_mark
    if start.line != end.line or event.style in ("|", ">"):
        return None
    return 1 if event.style else 0
