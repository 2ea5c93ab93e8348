"""One namespace for params, frames, parts and kinds: every name once, and none that would be misread."""

from __future__ import annotations

import keyword
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from packcheck.data import KINDS
from packcheck.errors import Fault, SourceMark
from packcheck.scene.grammar.grammar import SECTIONS
from packcheck.scene.model.scene import CAR
from packcheck.scene.text.expressions import reserved_word
from packcheck.scene.text.files import Document
from packcheck.scene.text.nodes import Entry, MapNode

__all__ = ["ANY", "Named", "Names", "collect_names"]

ANY: Final = "*"
"""Stands for any part in a rule."""

LONGEST: Final = 80
"""Characters of a name; longer ones burst every table."""


@dataclass(frozen=True, slots=True)
class Named:
    """What a name stands for (param, frame or part) and where it was given."""

    what: str
    mark: SourceMark


Names = dict[str, Named]


def collect_names(documents: Iterable[Document]) -> tuple[Names, list[Fault]]:
    """Every name of every file, and the faults of those that clash or cannot be used."""
    names: Names = {}
    faults: list[Fault] = []
    for what, name, entry in _given(documents):
        if name in names:
            faults.append(_twice(what, name, entry.mark, names[name]))
            continue
        names[name] = Named(what, entry.mark)
        faults += _unfit(what, name, entry.mark)
    return names, faults


def _given(documents: Iterable[Document]) -> Iterator[tuple[str, str, Entry]]:
    for document in documents:
        for section in SECTIONS:
            node = document.tree.get(section)
            if isinstance(node, MapNode):
                yield from ((section[:-1], name, entry) for name, entry in node.entries.items())


def _twice(what: str, name: str, mark: SourceMark, first: Named) -> Fault:
    why = "" if what == first.what else "params, frames, parts, motions and kinds share one set of names"
    return Fault(
        mark, f"{what} {name!r}: the name is taken by a {first.what} at {first.mark}", why, "rename one of them"
    )


def _unfit(what: str, name: str, mark: SourceMark) -> Iterator[Fault]:
    if name in (CAR, ANY):
        meaning = "the root frame" if name == CAR else "any part, in rules"
        yield Fault(mark, f"{what} {name!r}: the name is reserved for {meaning}", mend="take another name")
    elif name in KINDS:
        why = "params, frames, parts, motions and kinds share one set of names, so that a rule says which it means"
        yield Fault(mark, f"{what} {name!r}: the name is that of a kind", why, f"rename it, such as main_{name}")
    elif what == "param":
        yield from (
            Fault(mark, f"param {name!r}: {flaw}", mend="take another name, of letters, digits and _")
            for flaw in _misfit(name)
        )
    if len(name) > LONGEST:
        yield Fault(
            mark, f"{what} {name[:20] + '...'!r}: the name has {len(name)} characters, needs at most {LONGEST}"
        )
    elif not name.isprintable():
        yield Fault(mark, f"{what} {name!r}: the name has characters that cannot be printed on one line")


def _misfit(name: str) -> Iterator[str]:
    """Why a name cannot stand in arithmetic."""
    if not name.isidentifier() or unicodedata.normalize("NFKC", name) != name:
        yield "the name cannot stand in arithmetic, needs one word that does not begin with a digit"
    elif keyword.iskeyword(name) or name.lower() in ("inf", "nan"):
        yield "the name has a meaning of its own in arithmetic"
    elif why := reserved_word(name):
        yield f"the name {why}"


def described(name: str, names: Mapping[str, Named]) -> str:
    """`name` with what it stands for, for messages about a name in the wrong place."""
    if name in names:
        return f"{name!r} is a {names[name].what}"
    return f"{name!r} is a kind" if name in KINDS else f"{name!r} is not known"
