"""Layouts: named alternatives of a scene, applied to the tree before anything in it is understood.

Maps merge, lists replace, null deletes. Every number and text keeps the mark of where it was written, so that what
is wrong with a layout is told in the layout.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from packcheck.errors import Fault, SceneError
from packcheck.scene.document.document import RawScene
from packcheck.scene.document.names import collect_names
from packcheck.scene.expand.loops import DEEPEST, chained
from packcheck.scene.grammar.grammar import SECTIONS, SceneFile
from packcheck.scene.quantities.slots import written
from packcheck.scene.text.files import Document
from packcheck.scene.text.hints import joined, nearest
from packcheck.scene.text.needed import needs, without_rules
from packcheck.scene.text.nodes import Entry, MapNode, Node, ScalarNode, Text, plain

__all__ = ["check_layouts", "layout_names", "with_layout", "with_params"]

_HEAD: Final = ("from", "note")
_NOT_CHANGED: Final = ("packcheck", "title", "units", "axes", "include", "layouts", "note")
"""Keys of a scene that hold for all its layouts."""


def layout_names(raw: RawScene) -> tuple[str, ...]:
    """The layouts of a scene, file order."""
    return tuple(_layouts(raw))


def check_layouts(raw: RawScene) -> Iterator[Fault]:
    """Faults of the layouts' own form, whether or not one is asked for: keys, bases, loops, removals."""
    layouts = _layouts(raw)
    known = [key for key in SceneFile.model_fields if key not in _NOT_CHANGED]
    for name, layout in layouts.items():
        yield from _keys(name, layout, known)
        yield from _base(name, layout, layouts)
    yield from _loops(layouts)


def with_layout(raw: RawScene, name: str) -> tuple[RawScene, list[Fault]]:
    """The raw scene as layout `name` changes it, and the faults of applying it.

    Raises
    ------
    SceneError
        The scene has no layout of that name.
    """
    layouts = _layouts(raw)
    if name not in layouts:
        raise SceneError([_unknown(raw, name, layouts)])
    applied = _Applied(raw.tree)
    for step in reversed(_chain(name, layouts)):
        applied.change(step, layouts[step])
    tree = without_rules(applied.tree, {gone.name for gone in applied.removed if gone.section == "parts"})
    still = {gone.name: list(_still_needed(gone, tree)) for gone in applied.removed}
    faults = applied.faults + [fault for told in still.values() for fault in told]
    tree = _with_params_of(raw.tree, tree, [gone.name for gone in applied.removed if still[gone.name]])
    names, twice = collect_names([Document(raw.path, raw.files[0], tree)])
    for gone in applied.removed:  # told above: no more is to be said of whoever names it
        if gone.name in raw.names:
            names.setdefault(gone.name, raw.names[gone.name])
    return replace(raw, tree=tree, names=names), faults + twice


def _with_params_of(whole: MapNode, tree: MapNode, names: Sequence[str]) -> MapNode:
    """The tree with params put back that should not have been removed: no more is to be said of who uses them."""
    there, params = whole.get("params"), tree.get("params")
    if not isinstance(there, MapNode) or not there.entries.keys() & set(names):
        return tree
    kept = params.entries if isinstance(params, MapNode) else {}
    back = {name: entry for name, entry in there.entries.items() if name in names}
    section = Entry(whole.entries["params"].mark, MapNode(there.mark, {**kept, **back}))
    return MapNode(tree.mark, {**tree.entries, "params": section})


def with_params(raw: RawScene, values: Mapping[str, str]) -> RawScene:
    """The raw scene with other values for some of its params, each written as in the file ("150 mm")."""
    if not values:
        return raw
    params = raw.tree.get("params")
    assert isinstance(params, MapNode)
    entries = dict(params.entries)
    for name, value in values.items():
        mark = entries[name].node.mark
        entries[name] = Entry(entries[name].mark, ScalarNode(mark, Text(value, mark), None))
    tree = MapNode(raw.tree.mark, dict(raw.tree.entries))
    tree.entries["params"] = Entry(raw.tree.entries["params"].mark, MapNode(params.mark, entries))
    return replace(raw, tree=tree)


def _layouts(raw: RawScene) -> dict[str, MapNode]:
    section = raw.tree.get("layouts")
    entries = section.entries if isinstance(section, MapNode) else {}
    return {name: entry.node for name, entry in entries.items() if isinstance(entry.node, MapNode)}


def _unknown(raw: RawScene, name: str, layouts: Mapping[str, object]) -> Fault:
    entry = raw.tree.entries.get("layouts")
    mend = nearest(name, layouts) or (
        f"its layouts are {joined(list(layouts))}" if layouts else "it has no layouts"
    )
    return Fault(entry.mark if entry else raw.tree.mark, f"there is no layout {name!r} in this scene", mend=mend)


def _keys(name: str, layout: MapNode, known: list[str]) -> Iterator[Fault]:
    for key, entry in layout.entries.items():
        what = f"layout {name!r}: "
        if key in _HEAD:
            continue
        if key in _NOT_CHANGED:
            yield Fault(entry.mark, f"{what}changes {key}, which holds for the whole scene", mend="leave it out")
        elif key not in known:
            hint = nearest(key, [*_HEAD, *known]) or f"a layout may change {joined(known)}"
            yield Fault(entry.mark, f"{what}has the unknown key {written(key)}", mend=hint)
        elif key in SECTIONS and not isinstance(entry.node, MapNode):
            got = written(plain(entry.node))
            yield Fault(entry.node.mark, f"{what}{key} is {got}, needs a map of names and what changes")


def _base(name: str, layout: MapNode, layouts: Mapping[str, object]) -> Iterator[Fault]:
    base = _named_base(layout)
    if base is not None and base not in layouts:
        yield Fault(
            base.mark, f"layout {name!r}: from {base!r} is not known, needs a layout", mend=nearest(base, layouts)
        )


def _named_base(layout: MapNode) -> Text | None:
    node = layout.get("from")
    return node.value if isinstance(node, ScalarNode) and isinstance(node.value, Text) else None


def _loops(layouts: Mapping[str, MapNode]) -> Iterator[Fault]:
    bases = {name: base for name, layout in layouts.items() if (base := _named_base(layout)) is not None}
    found = chained({name: [str(bases[name])] if name in bases else [] for name in layouts})
    for knot in found.knots:
        loop = _chain(knot[0], layouts)
        way = joined([*loop, loop[0]], " -> ")
        mend = "let one of them start from the scene itself: leave out its from"
        what = f"layout {loop[-1]!r}: from leads round in a loop: {way}"
        yield Fault(bases[loop[-1]].mark, what, mend=mend)
    for name in found.too_deep():
        what = f"layout {name!r}: from leads on more than {DEEPEST} deep, one from another"
        yield Fault(bases[name].mark, what, mend="let it start from the scene itself")


def _chain(name: str, layouts: Mapping[str, MapNode]) -> list[str]:
    """`name` and what it builds on, itself first; a loop is followed round once."""
    chain = {name: None}
    base = _named_base(layouts[name])
    while base is not None and base in layouts and base not in chain:
        chain[str(base)] = None
        base = _named_base(layouts[base])
    return list(chain)


@dataclass(frozen=True, slots=True)
class _Gone:
    """A named thing that a layout removes, and where it says so."""

    layout: str
    section: str
    name: str
    entry: Entry


class _Applied:
    """A tree as the layouts change it, one after the other."""

    def __init__(self, tree: MapNode) -> None:
        self.tree = tree
        self.faults: list[Fault] = []
        self._gone: dict[str, _Gone] = {}

    @property
    def removed(self) -> list[_Gone]:
        """What is not there at the end."""
        sections = {section: self.tree.get(section) for section in SECTIONS}
        there = {name for node in sections.values() if isinstance(node, MapNode) for name in node.entries}
        return [gone for gone in self._gone.values() if gone.name not in there]

    def change(self, layout: str, changes: MapNode) -> None:
        wanted = {key: entry for key, entry in changes.entries.items() if key not in (*_HEAD, *_NOT_CHANGED)}
        for section in SECTIONS:
            named = changes.get(section)
            for name, entry in named.entries.items() if isinstance(named, MapNode) else ():
                if _is_null(entry.node):
                    self._gone[name] = _Gone(layout, section, name, entry)
        self.tree = self._merged(self.tree, MapNode(changes.mark, wanted), f"layout {layout!r}: ", "")

    def _merged(self, base: MapNode, changes: MapNode, subject: str, path: str) -> MapNode:
        made = dict(base.entries)
        for key, entry in changes.entries.items():
            below = f"{path}.{key}" if path else key
            there = made.get(key)
            if _is_null(entry.node):
                if made.pop(key, None) is None:
                    mend = nearest(key, base.entries)
                    self.faults.append(
                        Fault(entry.mark, f"{subject}removes {below}, which is not there", mend=mend)
                    )
            elif there and isinstance(there.node, MapNode) and isinstance(entry.node, MapNode):
                made[key] = Entry(there.mark, self._merged(there.node, entry.node, subject, below))
            else:
                made[key] = Entry(entry.mark, self._cleaned(entry.node, subject, below))
        return MapNode(base.mark, made)

    def _cleaned(self, node: Node, subject: str, path: str) -> Node:
        """What a layout adds; a null inside it removes nothing."""
        return self._merged(MapNode(node.mark), node, subject, path) if isinstance(node, MapNode) else node


def _is_null(node: Node) -> bool:
    return isinstance(node, ScalarNode) and node.value is None


def _still_needed(gone: _Gone, tree: MapNode) -> Iterator[Fault]:
    """The fault of removing what another thing rests on, told where it is removed."""
    needed = list(needs(gone.section, gone.name, tree))
    if needed:
        what = gone.section[:-1]
        listed = joined([f"{need.path} ({need.mark})" for need in needed])
        yield Fault(
            gone.entry.mark,
            f"layout {gone.layout!r}: removes {what} {gone.name!r}, which is needed by {listed}",
            f"nothing can rest on a {what} that is not there",
            "change or remove that too, in the same layout",
        )
