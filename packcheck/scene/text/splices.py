"""Changing a value in a YAML text and nothing else: only the characters of that value are replaced.

The reader's marks say where every value stands. What is not replaced stays as it was, byte for byte: comments,
order, blanks, quotes and line ends.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple, TypeAlias, TypeGuard

import yaml

from packcheck.scene.text.nodes import is_plain_word
from packcheck.scene.text.spelling import Value, block, flow, is_bare

__all__ = ["Keys", "SpliceError", "appended", "put"]

Keys: TypeAlias = tuple[str | int, ...]
"""The way to a value: keys of maps, places in lists from 0."""

STEP: Final = 2
"""Blanks that belonging things stand deeper, in a file that shows no habit of its own."""

_BREAK: Final = "\r\n\x85\u2028\u2029"
_LINE_END = re.compile(rf"[^{_BREAK}]*")
_NEWLINE = re.compile(r"\r\n|\r|\n")
_COMMENT = re.compile(r"(?:^|\s)#")
_Loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


class SpliceError(Exception):
    """A change that would lose something, or has no place to go; `at` is where in the text."""

    def __init__(self, what: str, at: int, mend: str = "") -> None:
        super().__init__(what)
        self.what, self.at, self.mend = what, at, mend


class _Splice(NamedTuple):
    start: int
    end: int
    text: str


def put(text: str, keys: Keys, value: Value) -> str:
    """`text` with the value at `keys` set; maps on the way there are made where they are missing.

    Raises
    ------
    SpliceError
    """
    page = _Page(text)
    spot = page.found(keys)
    if spot.rest:
        name, *deeper = spot.rest
        return page.spliced([page.entered(spot, {str(name): _nested(deeper, value)})])
    return page.spliced(page.replaced(spot, value))


def appended(text: str, keys: Keys, value: Value) -> str:
    """`text` with `value` at the end of the list at `keys`; a single value there becomes a list of two."""
    page = _Page(text)
    spot = page.found(keys)
    if spot.rest or page.is_empty(spot.node):
        return put(text, keys, [value])
    return page.spliced([page.lengthened(spot, value)])


def _nested(keys: Sequence[str | int], value: Value) -> Value:
    for key in reversed(keys):
        value = {str(key): value}
    return value


@dataclass(frozen=True, slots=True)
class _Spot:
    """The deepest value on the way that exists, its key (None for the root or in a list), the way that is left."""

    node: yaml.Node
    key: yaml.Node | None
    rest: Keys
    in_flow: bool
    depth: int


class _Page:
    """A text and where everything in it stands."""

    def __init__(self, text: str) -> None:
        self.text = text
        root = yaml.compose(text, Loader=_Loader)
        if root is None:
            raise SpliceError("the file is empty", 0)
        self.root: yaml.Node = root
        breaks = _NEWLINE.search(text)
        self.newline = breaks.group() if breaks else "\n"

    def spliced(self, splices: Sequence[_Splice]) -> str:
        text = self.text
        for splice in sorted(splices, reverse=True):
            text = text[: splice.start] + splice.text + text[splice.end :]
        return text

    def found(self, keys: Keys) -> _Spot:
        node, key, in_flow = self.root, None, _is_flow(self.root)
        for depth, name in enumerate(keys):
            step = next((pair for pair in _children(node) if pair[0] == name), None)
            if step is None:
                return _Spot(node, key, keys[depth:], in_flow, depth)
            _, key, node = step
            in_flow = in_flow or _is_flow(node)
        return _Spot(node, key, (), in_flow, len(keys))

    def is_empty(self, node: yaml.Node) -> bool:
        return isinstance(node, yaml.ScalarNode) and not node.style and node.value in ("", "~", "null")

    # A value in place of another.

    def replaced(self, spot: _Spot, value: Value) -> list[_Splice]:
        """The splices that make the value at `spot` another, piece by piece where it keeps its form."""
        node = spot.node
        if isinstance(node, yaml.SequenceNode) and _is_list(value) and len(node.value) == len(value):
            pairs = zip(node.value, value, strict=True)
            spots = [(_Spot(item, None, (), spot.in_flow, spot.depth + 1), new) for item, new in pairs]
            return [splice for item, new in spots for splice in self.replaced(item, new)]
        if isinstance(node, yaml.MappingNode) and isinstance(value, Mapping):
            there = {str(name): (key, below) for name, key, below in _children(node)}
            if there.keys() <= value.keys():
                return self._keywise(spot, there, value)
        return [] if _same(node, value) else [self._whole(spot, value)]

    def _keywise(
        self, spot: _Spot, there: Mapping[str, tuple[yaml.Node | None, yaml.Node]], value: Mapping[str, Value]
    ) -> list[_Splice]:
        splices = []
        for name, (key, below) in there.items():
            inner = _Spot(below, key, (), spot.in_flow or _is_flow(below), spot.depth + 1)
            splices += self.replaced(inner, value[name])
        more = {name: new for name, new in value.items() if name not in there}
        return [*splices, *([self.entered(spot, more)] if more else [])]

    def _whole(self, spot: _Spot, value: Value) -> _Splice:
        node = spot.node
        start, end = node.start_mark.index, self._end(node)
        if not _is_flow(node) and not isinstance(node, yaml.ScalarNode) and spot.key is not None:
            start = self.text.index(":", spot.key.end_mark.index) + 1
        if self._holds_comment(node, start, end):
            mend = "write it by hand, or put the comments elsewhere"
            raise SpliceError("the value to be changed holds comments that would be lost", start, mend)
        apart = "" if self.text[start - 1 : start] in (" ", "[", "{", "") else " "
        return _Splice(start, end, f"{apart}{flow(value)}")

    def _holds_comment(self, node: yaml.Node, start: int, end: int) -> bool:
        letters = list(self.text[start:end])
        for leaf in _leaves(node):
            first, last = leaf.start_mark.index, self._end(leaf)
            if _is_block_text(leaf):  # a comment may stand behind the sign
                first = self._line_end(first)
            letters[first - start : last - start] = "x" * (last - first)
        return _COMMENT.search("".join(letters)) is not None

    # New entries of a map.

    def entered(self, spot: _Spot, entries: Mapping[str, Value]) -> _Splice:
        """The splice that gives the map at `spot` new entries."""
        node = spot.node
        if self.is_empty(node):
            return self._first_entries(spot, entries)
        if not isinstance(node, yaml.MappingNode):
            what = f"there is no map to put {', '.join(map(repr, entries))} in"
            raise SpliceError(what, node.start_mark.index)
        if _is_flow(node):
            return self._into_flow(node, flow(entries)[1:-1])
        first = node.value[0][0].start_mark
        lines = self._block(entries, first.column)
        if not spot.depth and (end := self._end_of_file(lines)):
            return end
        if _is_block_text(self._last_leaf(node)):  # its text might take in what follows
            head = self.newline.join(lines).lstrip(" ") + self.newline + " " * first.column
            return _Splice(first.index, first.index, head)
        return self._below(self._end(node), lines)

    def _first_entries(self, spot: _Spot, entries: Mapping[str, Value]) -> _Splice:
        if spot.in_flow or spot.key is None or spot.node.value:
            return self._whole(spot, entries)
        lines = self._block(entries, spot.key.start_mark.column + self._step())
        return self._below(spot.node.start_mark.index, lines)

    def _block(self, entries: Mapping[str, Value], column: int) -> list[str]:
        return [line for name, value in entries.items() for line in block(name, value, column, self._step())]

    def _end_of_file(self, lines: Sequence[str]) -> _Splice | None:
        """A new section at the very end, behind the comments of what stood last; None where that cannot be."""
        kept = self.text.rstrip()
        if _is_block_text(self._last_leaf(self.root)) or kept.endswith("..."):
            return None
        apart = self.newline * (2 if f"{self.newline}{self.newline}" in self.text else 1)
        return _Splice(len(kept), len(kept), apart + self.newline.join(lines))

    def _below(self, at: int, lines: Sequence[str]) -> _Splice:
        """Lines put under the line that holds `at`."""
        end = self._line_end(at)
        return _Splice(end, end, "".join(f"{self.newline}{line}" for line in lines))

    def _into_flow(self, node: yaml.CollectionNode, said: str) -> _Splice:
        if node.value:
            last = node.value[-1]
            end = self._end(last[1] if isinstance(last, tuple) else last)
            return _Splice(end, end, f", {said}")
        inside = node.start_mark.index + 1
        return _Splice(inside, inside, f"{said} " if self.text[inside : inside + 1] == "#" else said)

    # A new item of a list.

    def lengthened(self, spot: _Spot, value: Value) -> _Splice:
        node = spot.node
        if isinstance(node, yaml.ScalarNode):
            start, end = node.start_mark.index, self._end(node)
            if _is_block_text(node):
                raise SpliceError("a text of several lines has no place in a list of names", start)
            own = self.text[start:end] if node.style or is_bare(node.value) else flow(node.value)
            return _Splice(start, end, f"[{own}, {flow(value)}]")
        if not isinstance(node, yaml.SequenceNode):
            raise SpliceError("there is a map where a list is needed", node.start_mark.index)
        if _is_flow(node):
            return self._into_flow(node, flow(value))
        if _is_block_text(self._last_leaf(node)):
            raise SpliceError("the list ends in a text of several lines", node.start_mark.index)
        return self._below(self._end(node), [f"{' ' * node.start_mark.column}- {flow(value)}"])

    # Where things end. The reader's own end of a block lies behind the comments that follow it.

    def _end(self, node: yaml.Node) -> int:
        if _is_flow(node):
            return int(node.end_mark.index)
        last = self._last_leaf(node)
        end = int(last.end_mark.index)
        if _is_block_text(last):
            return int(last.start_mark.index) + len(self.text[last.start_mark.index : end].rstrip())
        return end

    def _last_leaf(self, node: yaml.Node) -> yaml.Node:
        while isinstance(node, yaml.CollectionNode) and not _is_flow(node):
            last = node.value[-1]
            node = last[1] if isinstance(last, tuple) else last
        return node

    def _line_end(self, at: int) -> int:
        found = _LINE_END.match(self.text, at)
        assert found is not None
        return found.end()

    def _step(self) -> int:
        """How much deeper this file writes what belongs to a thing."""
        for _, key, node in _children(self.root):
            if key is not None and isinstance(node, yaml.MappingNode) and not _is_flow(node):
                return int(node.start_mark.column - key.start_mark.column)
        return STEP


def _is_flow(node: yaml.Node) -> bool:
    return isinstance(node, yaml.CollectionNode) and bool(node.flow_style)


def _is_list(value: Value) -> TypeGuard[Sequence[Value]]:
    return isinstance(value, Sequence) and not isinstance(value, str)


def _children(node: yaml.Node) -> Iterator[tuple[str | int, yaml.Node | None, yaml.Node]]:
    if isinstance(node, yaml.MappingNode):
        yield from ((key.value.strip(), key, below) for key, below in node.value)
    elif isinstance(node, yaml.SequenceNode):
        yield from ((place, None, item) for place, item in enumerate(node.value))


def _leaves(node: yaml.Node) -> Iterator[yaml.ScalarNode]:
    if isinstance(node, yaml.ScalarNode):
        yield node
    for _, key, below in _children(node):
        if isinstance(key, yaml.ScalarNode):
            yield key
        yield from _leaves(below)


def _is_block_text(node: yaml.Node) -> bool:
    return isinstance(node, yaml.ScalarNode) and node.style in ("|", ">")


def _same(node: yaml.Node, value: Value) -> bool:
    """Whether a scalar says already what it should: then its own spelling stays."""
    if not isinstance(node, yaml.ScalarNode):
        return False
    if isinstance(value, str):
        return node.value == value and bool(node.style or not is_plain_word(value))
    return not node.style and is_plain_word(node.value) and _worth(node.value) == _worth(flow(value))


def _worth(word: str) -> str | float:
    try:
        return float(word)
    except ValueError:
        return word
