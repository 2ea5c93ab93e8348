"""Turns what pydantic found into sentences with a place."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any, Final, TypeAlias

from pydantic import ValidationError

from packcheck.errors import Fault, SourceMark
from packcheck.scene.document.keys import keys_at, list_at
from packcheck.scene.quantities.slots import Slip, bare, written
from packcheck.scene.solids.shapes import SHAPES
from packcheck.scene.text.hints import closest, joined, nearest, turn_meant
from packcheck.scene.text.nodes import ListNode, MapNode, Node, ScalarNode, plain

__all__ = ["Loc", "Spot", "faults_of", "inside", "shape_faults", "spot_at", "subject_of"]

Loc: TypeAlias = tuple[str | int, ...]

_FEW: Final = 8
"""Keys that can be listed in one sentence."""

_PART_KEYS: Final = keys_at(("parts", ""))

_COPIED: Final = {"like", "mirror_of", "template"}
"""Keys with which a part may have no shape of its own: what is copied has one, or is at fault itself."""

_GLUED = re.compile(r"(\w+):(\S+)")

_WORD_WHY: Final = "a blank is needed after the colon, or key and value are read as one word"
_KEY_WHY: Final = "a key that is not known would change nothing, and nobody would notice"

_HABITS: Final = {
    "radius": "sizes are diameters: write diameter, twice the radius",
    "rotation": "write turn: [x, y, z] in degrees",
    "rotate": "write turn: [x, y, z] in degrees",
    "position": "write at: [x, y, z]",
    "pos": "write at: [x, y, z]",
    "size": "write box: [x, y, z]",
    "parent": "write in: and the name of a frame or part",
    "type": "write the shape as the key, such as box: [x, y, z]",
}

_SOLID_BAR: Final = "a solid round bar is a `cylinder`; of a pipe, give the bore"


@dataclass(frozen=True, slots=True)
class Spot:
    """A place in the tree: its node, the mark of its key when it has one, and the way there in words."""

    node: Node
    key_mark: SourceMark | None
    path: str

    @property
    def mark(self) -> SourceMark:
        return self.node.mark


def spot_at(tree: Node, loc: Loc) -> Spot:
    """The place `loc` leads to, or the last one on the way that was written."""
    node, key_mark, path = tree, None, ""
    for step in loc:
        match node:
            case MapNode() if str(step) in node.entries:
                entry = node.entries[str(step)]
                node, key_mark = entry.node, entry.mark
                path += f".{step}" if path else str(step)
            case ListNode() if isinstance(step, int) and step < len(node.items):
                node, key_mark = node.items[step], None
                path += f" item {step + 1}"
    return Spot(node, key_mark, path)


def subject_of(tree: Node, loc: Loc) -> tuple[str, int]:
    """What a fault is about, in words, and how many steps of `loc` that takes up."""
    match loc:
        case ("parts" | "frames" | "params" | "measures" | "layouts" | "motions" as section, str() as name, *_):
            return f"{section[:-1]} {name!r}", 2
        case ("clearances", "rules", int() as index, *_):
            return _rule_words(spot_at(tree, ("clearances", "rules", index, "between")).node), 3
        case _:
            return "", 0


def _rule_words(between: Node) -> str:
    if not isinstance(between, ListNode):
        return "rule"
    return f"rule [{joined([bare(plain(item)) for item in between.items])}]"


def faults_of(error: ValidationError, tree: Node) -> Iterator[Fault]:
    """Every mistake pydantic found, reworded and placed."""
    for detail in error.errors(include_url=False, include_input=False):
        if detail["type"] != "untold":
            yield _fault(detail, (detail.get("ctx") or {}).get("slip"), tree)


def _fault(detail: Any, slip: Slip | None, tree: Node) -> Fault:
    loc: Loc = (*detail["loc"], *(slip.key if slip else ()))
    fault = _worded(detail["type"], slip, tree, loc)
    subject, taken = subject_of(tree, loc)
    named = loc[:-1] if detail["type"] == "extra_forbidden" else loc
    below = spot_at(spot_at(tree, loc[:taken]).node, named[taken:]).path
    what = " ".join(word for word in (below, fault.what) if word)
    return replace(fault, what=f"{subject}: {what}" if subject else what)


def _worded(sort: str, slip: Slip | None, tree: Node, loc: Loc) -> Fault:
    """The fault with its `what` still lacking the subject and the path."""
    spot = spot_at(tree, loc)
    if slip:
        return Fault(inside(spot.node, slip.offset), slip.phrase, slip.why, slip.mended())
    match sort:
        case "extra_forbidden":
            return _unknown_key(spot, loc)
        case "missing":
            return _missing(spot, loc)
        case _:
            return _wrong_form(spot, loc)


def inside(node: Node, offset: int | None) -> SourceMark:
    """The mark of the character `offset` of a text, or of its beginning where lines or escapes hide it."""
    if offset is None or not isinstance(node, ScalarNode) or node.inset is None:
        return node.mark
    return replace(node.mark, column=node.mark.column + node.inset + offset)


def _unknown_key(spot: Spot, loc: Loc) -> Fault:
    key, known = str(loc[-1]), keys_at(loc[:-1])
    what = f"has the unknown key {written(key)}" if loc[1:] else f"unknown key {written(key)}"
    if key[:1].isdigit():
        return Fault(spot.key_mark, what, mend="a decimal comma begins a new key, write 1.5")
    if glued := _glued(key, known):
        return Fault(spot.key_mark, what, _WORD_WHY, glued)
    turned = turn_meant(key, bare(plain(spot.node))) if "turn" in loc[-3:-1] else ""
    mend = turned or nearest(key, known) or _HABITS.get(key.lower(), "") or f"known here: {', '.join(known)}"
    if key in _PART_KEYS and not loc[1:]:
        mend = "indent it under the name of a part, and that under parts:"
    return Fault(spot.key_mark, what, _KEY_WHY, mend)


def _glued(text: str, known: Iterable[str]) -> str:
    """What mends a key that was written without a blank behind its colon, or nothing."""
    found = _GLUED.fullmatch(text)
    if not found or found[1] not in known:
        return ""
    return f"write {found[1]}: {found[2]}"


def _missing(spot: Spot, loc: Loc) -> Fault:
    mark = spot.key_mark or spot.mark
    if loc[-2:] == ("mesh", "units"):
        why = "a geometry file does not say, or not reliably, what its numbers mean"
        return Fault(mark, "needs units", why, "write units: mm, cm, m or in; GLB files are always in m")
    mend = _SOLID_BAR if loc[-2:] == ("tube", "inner") else ""
    return Fault(mark, f"needs {loc[-1]}", mend=mend)


def _wrong_form(spot: Spot, loc: Loc) -> Fault:
    """A map or a list was needed and something else was written."""
    keys = keys_at(loc)
    form = "a list" if list_at(loc) else "a map of keys and values"
    if keys and len(keys) <= _FEW:
        form = f"a map with {', '.join(keys)}"
    value = plain(spot.node)
    what = f"is {written(value)}, needs {form}"
    if glued := _glued(value, keys) if isinstance(value, str) else "":
        return Fault(spot.mark, what, _WORD_WHY, glued)
    named = loc[:-1] in (("parts",), ("frames",))
    return Fault(spot.mark, what, mend="write its keys below its name, two blanks further in" if named else "")


def shape_faults(tree: MapNode) -> Iterator[Fault]:
    """Every solid that has no shape, or more than one."""
    parts = tree.get("parts")
    for name, entry in parts.entries.items() if isinstance(parts, MapNode) else ():
        if not isinstance(entry.node, MapNode):
            continue
        yield from _miscounted(entry.node, f"part {name!r}", (*SHAPES, "solids"), entry.mark)
        solids = entry.node.get("solids")
        for place, solid in enumerate(solids.items if isinstance(solids, ListNode) else (), start=1):
            if isinstance(solid, MapNode):
                yield from _miscounted(solid, f"part {name!r}: solids item {place}", SHAPES, solid.mark)


def _miscounted(solid: MapNode, subject: str, shapes: tuple[str, ...], mark: SourceMark) -> Iterator[Fault]:
    given = [key for key in solid.entries if key in shapes]
    if len(given) > 1:
        second = solid.entries[given[1]].mark
        listed = " and ".join(f"{key} (line {solid.entries[key].mark.line})" for key in given)
        mend = "keep one of them, or list several under solids" if "solids" in shapes else "make an item of each"
        yield Fault(second, f"{subject} has {listed}, needs one shape", mend=mend)
    elif (
        not given
        and not _COPIED & solid.entries.keys()
        and not any(closest(key, _PART_KEYS) in shapes for key in solid.entries)
    ):
        yield Fault(
            mark, f"{subject} has no shape, needs one of {', '.join(shapes)}", "its shape says where it ends"
        )
