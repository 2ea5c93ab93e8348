"""Valid scenes, spoilt: byte by byte and branch by branch."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from random import Random
from typing import Any

import yaml

__all__ = ["mutated"]

TOKENS = [
    *(b"&a ", b"*a", b"<<: ", b"!!", b"!x ", b"\t", b"[", b"]", b"{", b"}", b": ", b"- ", b"? ", b"| ", b">", b"#"),
    *(b"%", b"@", b"'", b'"', b"\\", b"\x00", b"\xe9", b"\xff\xfe", b"\xef\xbb\xbf", b"\xc2\x85", b"\r", b"..."),
    *(b"\xe2\x80\xa8", b"\n---\n", b"1e400", b"-0", b".nan", b".inf", b"1e-400", b"9" * 400, b"3/8 in", b"1 1/2"),
    *(b"5 lbs", b"1,5", b"a + ", b"(" * 50, b"**", b"null", b"true", b"~", b"car", b'"*"', b"engine", b"params"),
    *(b"in: ", b"include: [whole_grammar.yaml]\n", b"packcheck: 2\n"),
]
LEAVES: list[Any] = [
    *(None, True, False, 0, -1, 1, 5, 1e300, -1e300, 1e-300, 10**30, [], {}, [[]], [1, 2, 3], [1, 2]),
    *("", " ", "car", "*", "x", "min", "mid", "origin", "mm", "in", "block", "fuel", "1 1/2 in", "plenum_height"),
    *("twice + 3 mm", "twice / twice", "5 lbs", "1,5", "a" * 200, "a\nb", "\u0000", "\ud7ff\ue000", "../skin.stl"),
    *("/dev/zero", "whole_grammar.yaml", ".", "(" * 600, "-" * 499 + "1", "9" * 499, "min(" * 100),
    *(["min", "mid", "max"], {"must": 5}, {"diameter": 4}, {"box": [1, 1, 1]}),
]

ITEMS_ADDED = 2000
"""So that a few changes on top of each other do not fill the fuzzer's own memory."""


def mutated(seeds: list[bytes], random: Random) -> bytes:
    """One of `seeds` after one to eight random changes of one sort."""
    scene = random.choice(seeds)
    times = random.choice([1, 1, 1, 1, 2, 5])
    if random.random() < 0.5:
        return _tree_changed(scene, times, random)
    for _ in range(times):
        scene = random.choice(BYTE_CHANGES)(scene, seeds, random)
    return scene


def _span(scene: bytes, random: Random) -> tuple[int, int]:
    start = random.randrange(len(scene) + 1)
    return start, min(len(scene), start + random.choice([1, 1, 3, 10, 60]))


def _flip(scene: bytes, _: list[bytes], random: Random) -> bytes:
    start, end = _span(scene, random)
    return scene[:start] + random.randbytes(end - start) + scene[end:]


def _cut(scene: bytes, _: list[bytes], random: Random) -> bytes:
    start, end = _span(scene, random)
    return scene[:start] + scene[end:]


def _insert(scene: bytes, _: list[bytes], random: Random) -> bytes:
    start, _end = _span(scene, random)
    return scene[:start] + random.choice(TOKENS) + scene[start:]


def _overwrite(scene: bytes, _: list[bytes], random: Random) -> bytes:
    start, end = _span(scene, random)
    return scene[:start] + random.choice(TOKENS) + scene[end:]


def _stutter(scene: bytes, _: list[bytes], random: Random) -> bytes:
    start, end = _span(scene, random)
    return scene[:start] + scene[start:end] * random.choice([2, 5, 200, 5000]) + scene[end:]


def _truncate(scene: bytes, _: list[bytes], random: Random) -> bytes:
    return scene[: random.randrange(len(scene) + 1)]


def _splice(scene: bytes, seeds: list[bytes], random: Random) -> bytes:
    start, _end = _span(scene, random)
    other = random.choice(seeds)
    return scene[:start] + other[_span(other, random)[0] :]


def _swap_lines(scene: bytes, _: list[bytes], random: Random) -> bytes:
    lines = scene.split(b"\n")
    a, b = random.randrange(len(lines)), random.randrange(len(lines))
    lines[a], lines[b] = lines[b], lines[a]
    return b"\n".join(lines)


def _indent_line(scene: bytes, _: list[bytes], random: Random) -> bytes:
    lines = scene.split(b"\n")
    at = random.randrange(len(lines))
    lines[at] = random.choice([b" ", b"  ", b"\t"]) + lines[at] if random.random() < 0.5 else lines[at][1:]
    return b"\n".join(lines)


BYTE_CHANGES: list[Callable[[bytes, list[bytes], Random], bytes]] = [
    *(_flip, _cut, _insert, _insert, _overwrite),
    *(_stutter, _truncate, _splice, _swap_lines, _indent_line),
]


def _tree_changed(scene: bytes, times: int, random: Random) -> bytes:
    tree = yaml.safe_load(scene)
    for _ in range(times):
        _change_somewhere(tree, random)
    if random.random() < 0.5:
        return json.dumps(tree, ensure_ascii=random.random() < 0.5).encode("utf-8", errors="replace")
    return yaml.dump(tree, sort_keys=False, allow_unicode=True).encode("utf-8", errors="replace")


def _change_somewhere(tree: Any, random: Random) -> None:
    holders = list(_holders(tree))
    holder = random.choice(holders)
    keys = list(holder) if isinstance(holder, dict) else list(range(len(holder)))
    if not keys:
        return
    key = random.choice(keys)
    match random.randrange(6):
        case 0:
            del holder[key]
        case 1:
            holder[key] = random.choice(LEAVES)
        case 2:
            holder[key] = _copied(min(random.choices(holders, k=2), key=_size))
        case 3:
            holder[key] = _wrapped(_copied(holder[key]), random)
        case 4 if isinstance(holder, dict):
            holder[random.choice(_all_keys(holders))] = _copied(holder[key])
        case _ if isinstance(holder, list):
            holder.extend((_copied(holder) * random.choice([1, 1, 300]))[:ITEMS_ADDED])
        case _:
            holder[f"{key}{random.randrange(10)}"] = holder.pop(key)


def _holders(node: Any) -> Iterator[Any]:
    """Every map and list of the tree."""
    if isinstance(node, dict | list):
        yield node
        for below in node.values() if isinstance(node, dict) else node:
            yield from _holders(below)


def _size(node: Any) -> int:
    return len(json.dumps(node))


def _all_keys(holders: list[Any]) -> list[str]:
    return [key for holder in holders if isinstance(holder, dict) for key in holder]


def _copied(node: Any) -> Any:
    """A copy, so that no branch hangs in the tree twice."""
    return json.loads(json.dumps(node))


def _wrapped(node: Any, random: Random) -> Any:
    for _ in range(random.choice([1, 1, 2, 30])):
        node = [node] if random.random() < 0.5 else {random.choice(["box", "in", "a"]): node}
    return node
