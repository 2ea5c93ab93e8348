"""Keys written one level too far out: told once, and put where they were meant, so that the rest can be read."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from packcheck.errors import Fault, SourceMark
from packcheck.scene.document.keys import keys_at
from packcheck.scene.solids.shapes import SHAPES
from packcheck.scene.text.hints import joined
from packcheck.scene.text.nodes import Entry, MapNode, Node, ScalarNode

__all__ = ["settle_indents"]

_SECTIONS: Final = keys_at(())
_KEYS: Final = {section: frozenset(keys_at((section, ""))) - {"note"} for section in ("parts", "frames")}
_MAPS: Final = (*SHAPES, "turn", "faces")
_BLANKS: Final = {1: "one blank", 2: "two blanks", 3: "three blanks", 4: "four blanks"}


def settle_indents(tree: MapNode) -> list[Fault]:
    """Move what stands too far out in the tree of a file to where it was meant; one fault for each."""
    faults = list(_strays(tree))
    for section in _KEYS:
        node = tree.get(section)
        if isinstance(node, MapNode):
            faults += _shallow(node, section)
    return faults


def _strays(tree: MapNode) -> Iterator[Fault]:
    """Parts and frames that stand beside the sections."""
    for name, entry in list(tree.entries.items()):
        section = _home(entry.node) if name not in _SECTIONS else ""
        if section:
            what = f"{name!r} looks like a {section[:-1]}, and stands outside {section}"
            why = "what starts in the first column is a section of the file"
            yield Fault(entry.mark, what, why, f"indent it under {section}:")
            del tree.entries[name]
            _put(tree, section, entry, name)


def _home(node: Node) -> str:
    """The section whose keys a map has; all that a frame takes, a part takes too."""
    keys = set(node.entries) if isinstance(node, MapNode) else set()
    if keys & (_KEYS["parts"] - _KEYS["frames"]):
        return "parts"
    return "frames" if keys & _KEYS["frames"] else ""


def _put(tree: MapNode, key: str, entry: Entry, name: str) -> None:
    """Add `entry` to the map at `key`, unless that holds the name already or is no map."""
    there = tree.entries.setdefault(key, Entry(entry.mark, ScalarNode(entry.mark, None)))
    if _is_empty(there.node):
        there = tree.entries[key] = Entry(there.mark, MapNode(entry.mark))
    if isinstance(there.node, MapNode):
        there.node.entries.setdefault(name, entry)


def _shallow(section: MapNode, what: str) -> Iterator[Fault]:
    """Keys of a part (or frame) that stand on its own level."""
    for owner, keys in _runs(section, what):
        if _is_key(owner, section.entries[owner].node, what):
            yield _nameless(what[:-1], owner, section.entries[owner].mark)
            for key in (owner, *keys):
                del section.entries[key]
            continue
        if not keys or not _may_own(section.entries[owner].node):
            continue
        yield _fault(what[:-1], owner, section.entries[owner], {key: section.entries[key] for key in keys})
        for key in keys:
            _put(section, owner, section.entries.pop(key), key)


def _runs(section: MapNode, what: str) -> list[tuple[str, list[str]]]:
    """Each named thing that is followed by keys, and those keys."""
    runs: list[tuple[str, list[str]]] = []
    for name, entry in section.entries.items():
        if runs and _is_key(name, entry.node, what):
            runs[-1][1].append(name)
        else:
            runs.append((name, []))
    return runs


def _is_key(key: str, node: Node, what: str) -> bool:
    """Whether this is a key of a part (or frame) with its value, not one that somebody named like a key."""
    if key not in _KEYS[what]:
        return False
    if isinstance(node, MapNode):
        return key in _MAPS and bool(node.entries) and node.entries.keys() <= set(keys_at((what, "", key)))
    return not _is_empty(node)


def _may_own(node: Node) -> bool:
    return isinstance(node, MapNode) or _is_empty(node)


def _is_empty(node: Node) -> bool:
    return isinstance(node, ScalarNode) and node.value is None


def _nameless(what: str, key: str, mark: SourceMark) -> Fault:
    said = f"{key!r} looks like a key of a {what}, and stands where its name is needed"
    return Fault(mark, said, mend=f"write the name of the {what} above, and indent its keys under it")


def _fault(what: str, owner: str, home: Entry, keys: dict[str, Entry]) -> Fault:
    first = next(iter(keys.values())).mark
    listed = joined([repr(key) for key in keys])
    they = f"{what} {listed} looks like a key" if len(keys) == 1 else f"{what}s {listed} look like keys"
    it = "it" if len(keys) == 1 else "them"
    return Fault(first, f"{they} of {what} {owner!r}", mend=_mend(it, owner, home, first.column))


def _mend(it: str, owner: str, home: Entry, column: int) -> str:
    entries = home.node.entries if isinstance(home.node, MapNode) else {}
    inner = next((entry.mark for entry in entries.values()), None)
    if inner and inner.line == home.mark.line:
        return f"put {it} inside the braces of {owner!r}"
    deeper = inner.column - column if inner else 2
    return f"indent {it} {_BLANKS.get(deeper, f'{deeper} blanks')} more"
