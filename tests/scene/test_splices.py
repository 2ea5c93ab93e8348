"""A value changed in a YAML text: that value and nothing else."""

from __future__ import annotations

import difflib
import random
import re
from typing import Any

import pytest
import yaml

from packcheck.scene.text.spelling import Mm, Value, flow, settled
from packcheck.scene.text.splices import Keys, SpliceError, appended, put

NAMES = ("pump", "tank", "rail 2", "a,b", "12", "it's")


@pytest.mark.parametrize(
    ("text", "keys", "value", "made"),
    [
        ("at: [1, 2]  # c\n", ("at",), [3, 4], "at: [3, 4]  # c\n"),
        ("at: [1.50, 2]\n", ("at",), [1.5, 4], "at: [1.50, 4]\n"),
        ("at:\n  - 1   # x\n  - 2   # y\n", ("at",), [1, 7], "at:\n  - 1   # x\n  - 7   # y\n"),
        ("at:\n- 1\n- 2\nb: 1", ("at",), [1, 2, 3], "at: [1, 2, 3]\nb: 1"),
        ("at:  # none yet\nb: 1\n", ("at",), [1], "at: [1]  # none yet\nb: 1\n"),
        ("p: {a: 1}  # c", ("p", "b"), 2, "p: {a: 1, b: 2}  # c"),
        ("p: {}\n", ("p", "b"), 2, "p: {b: 2}\n"),
        ("p: {\n  a: 1,  # c\n}\n", ("p", "b"), 2, "p: {\n  a: 1, b: 2,  # c\n}\n"),
        ("p:\n   a: 1  # c\n   # d\n\nq: 2\n", ("p", "b"), 2, "p:\n   a: 1  # c\n   b: 2\n   # d\n\nq: 2\n"),
        ("p:\r\n  a: 1\r\nq: 2\r\n", ("p", "b"), 2, "p:\r\n  a: 1\r\n  b: 2\r\nq: 2\r\n"),
        ("a: 1  # end", ("p", "b"), 2, "a: 1  # end\np: {b: 2}"),
        ("a: 1\n\nc: 2\n# end\n", ("p", "q", "b"), 2, "a: 1\n\nc: 2\n# end\n\np:\n  q: {b: 2}\n"),
        ("p:\n  # c\nq: 1\n", ("p", "b"), 2, "p:\n  b: 2\n  # c\nq: 1\n"),
        ("p: ~  # c\n", ("p", "b"), 2, "p: {b: 2}  # c\n"),
        ("p:\n  n: |\n    text\n\n  # c\nq: 1", ("p", "b"), 2, "p:\n  b: 2\n  n: |\n    text\n\n  # c\nq: 1"),
        ("n: >+\n  text\n\n", ("b",), 2, "b: 2\nn: >+\n  text\n\n"),
        ("p:\n  - x: 1\n    y: 2\n", ("p", 0, "z"), 3, "p:\n  - x: 1\n    y: 2\n    z: 3\n"),
        ('"p" : {"a" : \'1\'}', ("p", "a"), "1", '"p" : {"a" : \'1\'}'),
        ('"p" : {"a" : \'1\'}', ("p", "a"), 1, '"p" : {"a" : 1}'),
        ("p: two\n  lines  # c\nq: 1\n", ("p",), "one", "p: one  # c\nq: 1\n"),
    ],
)
def test_a_value_is_set_where_it_stands(text: str, keys: Keys, value: Value, made: str) -> None:
    """Oracle: written by hand, as a careful person would make the change."""
    assert put(text, keys, value) == made


@pytest.mark.parametrize(
    ("text", "made"),
    [
        ("b: [x]  # c\n", "b: [x, new]  # c\n"),
        ("b: []\n", "b: [new]\n"),
        ("b: [ # c\n  x,  # d\n  ]\n", "b: [ # c\n  x, new,  # d\n  ]\n"),
        ("b: x  # c\n", "b: [x, new]  # c\n"),
        ("b: 'x y'  # c", "b: ['x y', new]  # c"),
        ("b: x, y\n", 'b: ["x, y", new]\n'),
        ("b:\n  - x  # c\n  # d\nq: 1", "b:\n  - x  # c\n  - new\n  # d\nq: 1"),
        ("b:\n- x\nq: 1", "b:\n- x\n- new\nq: 1"),
        ("b:\nq: 1", "b: [new]\nq: 1"),
        ("q: 1", "q: 1\nb: [new]"),
    ],
)
def test_a_list_grows_by_one(text: str, made: str) -> None:
    """Oracle: written by hand."""
    assert appended(text, ("b",), "new") == made


@pytest.mark.parametrize(
    ("text", "keys", "value", "match"),
    [
        ("at:\n  - 1   # x\n  - 2\n", ("at",), "none", "comments that would be lost"),
        ("n: |  # x\n  text\n", ("n",), "none", "comments that would be lost"),
        ("p: text\n", ("p", "b"), 2, "no map to put 'b' in"),
        ("# nothing\n", ("p",), 2, "empty"),
    ],
)
def test_what_would_lose_something_is_refused(text: str, keys: Keys, value: Value, match: str) -> None:
    with pytest.raises(SpliceError, match=match):
        put(text, keys, value)


@pytest.mark.parametrize(
    ("value", "units", "said"),
    [
        (Mm(12.5), "mm", "12.5"),
        (Mm(-0.0000001), "mm", "0"),
        (Mm(12.5), "cm", "1.25"),
        (Mm(365.125), "in", "14 3/8 in"),
        (Mm(-9.525), "in", '"-3/8 in"'),
        (Mm(-365.125), "in", '"-(14 3/8 in)"'),
        (Mm(50.8), "in", "2"),
        (Mm(10), "in", "0.393701"),
        (["null", "1e3", "- x", "a: b", "#", "", "x "], "mm", '["null", "1e3", "- x", "a: b", "#", "", "x "]'),
    ],
)
def test_values_are_spelt_in_the_units_of_their_file(value: Value, units: Any, said: str) -> None:
    """Oracle: closed form, 1 in = 25.4 mm; 365.125 mm = 14 3/8 in."""
    assert flow(settled(value, units)) == said


def _scalar(rng: random.Random) -> str:
    return rng.choice(["7", "1.50", "60 aft", "'3/8 in'", '"a # b"', "x y", "-2", "true", "", "plenum + 20 mm"])


class _Writer:
    """A random file of maps and lists in every style, with a comment of its own behind and between its lines."""

    def __init__(self, rng: random.Random) -> None:
        self.rng, self.count = rng, 0

    def comment(self) -> str:
        self.count += 1
        return f"  # c{self.count} é\U0001f527" if self.rng.random() < 0.6 else ""

    def between(self, column: int, deepest: int) -> list[str]:
        lines = []
        if self.rng.random() < 0.2:
            lines.append("")
        if self.rng.random() < 0.3:
            self.count += 1
            lines.append(f"{' ' * self.rng.choice([0, column, deepest])}# c{self.count}")
        return lines

    def flow(self, depth: int) -> str:
        sort = self.rng.random()
        if depth == 0 or sort < 0.3:
            return _scalar(self.rng) or "0"
        if sort < 0.65:
            return "[" + ", ".join(self.flow(depth - 1) for _ in range(self.rng.randrange(4))) + "]"
        return "{" + ", ".join(f"{key}: {self.flow(depth - 1)}" for key in self.keys(self.rng.randrange(4))) + "}"

    def keys(self, count: int) -> list[str]:
        return self.rng.sample(["at", "turn", "kind", "bolted_to", "'note'", "box", "x y"], count)

    def block(self, column: int, depth: int) -> list[str]:
        lines = []
        for key in self.keys(self.rng.randrange(1, 5)):
            lead = f"{' ' * column}{key}:"
            sort, deepest = self.rng.random(), column + 3
            if depth and sort < 0.3:
                lines += [lead + self.comment(), *self.block(column + self.rng.choice([2, 4]), depth - 1)]
            elif sort < 0.45:
                lines.append(lead + self.comment())
                lines += [
                    f"{' ' * column}- {self.flow(1)}{self.comment()}" for _ in range(self.rng.randrange(1, 4))
                ]
            elif sort < 0.5:
                deepest = column  # farther in, a comment would be text
                lines += [f"{lead} |", f"{' ' * column}   one", "", f"{' ' * column}   two # no comment"]
            else:
                lines.append(f"{lead} {self.flow(2)}{self.comment()}")
            lines += self.between(column, deepest)
        return lines


def _ways(tree: Any) -> list[Keys]:
    found: list[Keys] = [()]
    steps = tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ()
    for key, below in steps:
        found += [(key, *way) for way in _ways(below)]
    return found


def _there(tree: Any, keys: Keys) -> Any:
    for key in keys:
        tree = tree[key]
    return tree


def _value(rng: random.Random) -> Value:
    choices: list[Value] = [
        rng.choice(NAMES),
        rng.randrange(-50, 50) / 4,
        [1.0, 2.0, "3 up"],
        {"at": [1.0], "note": "x"},
    ]
    return rng.choice(choices)


def _read(text: str) -> Any:
    return yaml.safe_load(text)


def _changed(text: str, rng: random.Random) -> tuple[str, Any, Keys]:
    """The text after one random change, what the other reader should find in it, and where."""
    meant = _read(text)
    keys = rng.choice(_ways(meant))
    value = _value(rng)
    there = _there(meant, keys)
    if isinstance(there, list) and rng.random() < 0.7:
        made = appended(text, keys, value)
        there.append(_read(flow(value)))
        return made, meant, keys
    if isinstance(there, dict) and (not keys or rng.random() < 0.7):
        keys, there = (*keys, f"new{rng.randrange(100)}"), {}
    made = put(text, keys, value)
    _there(meant, keys[:-1])[keys[-1]] = _read(flow(value))
    return made, meant, keys


@pytest.mark.parametrize("seed", range(200))
def test_random_changes_of_random_files_change_nothing_else(seed: int) -> None:
    """Oracle: another reader (PyYAML's own, not ours) of the text before, changed in memory. Every comment is still
    there, in order, and every line but those the change touches is there byte for byte."""
    rng = random.Random(seed)
    newline = rng.choice(["\n", "\r\n"])
    text = newline.join(_Writer(rng).block(0, 3)) + rng.choice(["", newline])
    for _ in range(6):
        before = text
        try:
            text, meant, keys = _changed(before, rng)
        except SpliceError as error:
            assert "comments" in error.what or "several lines" in error.what
            continue
        assert _read(text) == meant, (before, text)
        _same_but_one_place(before, text, keys)


def _same_but_one_place(before: str, after: str, keys: Keys) -> None:
    """Comments live on in their order; a line that is gone lay between the key and the end of the value."""
    comments = re.compile(r"# c\d+[^\r\n]*")
    assert comments.findall(before) == comments.findall(after)
    assert after.count("\r") == (after.count("\n") if "\r" in before else 0)
    old, new = before.splitlines(keepends=True), after.splitlines(keepends=True)
    blocks = difflib.SequenceMatcher(None, old, new, autojunk=False).get_opcodes()
    gone = [line for tag, i, j, *_ in blocks if tag != "equal" for line in range(i, j)]
    first, last = _lines(before, keys)
    no_end = len(old) - 1 if old and not old[-1].endswith("\n") else first  # it gets a line end, nothing else
    assert all(first <= line <= last or line == no_end for line in gone)


def _lines(text: str, keys: Keys) -> tuple[int, int]:
    """First and last line, from 0, of a value and its key, by the marks of the other reader."""
    node: Any = yaml.compose(text, Loader=yaml.SafeLoader)
    line: int = node.start_mark.line
    for key in keys:
        pairs = node.value if isinstance(node, yaml.MappingNode) else []
        steps = [(name, below) for name, below in pairs if name.value == key]
        if not steps and not isinstance(node, yaml.SequenceNode):
            break  # a new key of this map
        name, node = steps[0] if steps else (node.value[int(key)],) * 2
        line = name.start_mark.line
    return line, node.end_mark.line
