"""The scene as written: the documents of all files as one tree, before anything is understood.

Layouts work here: they change the tree, and the grammar then reads the changed tree from the beginning. Every
number and text in the tree knows the file it came from, and so its units and its folder.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import get_args

from packcheck.errors import Fault, SourceMark
from packcheck.scene.document.indents import settle_indents
from packcheck.scene.document.names import Names, collect_names
from packcheck.scene.document.tables import read_tables
from packcheck.scene.grammar.grammar import FORMAT, ROOT_ONLY, SECTIONS
from packcheck.scene.model.directions import distinct
from packcheck.scene.model.scene import LengthUnit
from packcheck.scene.text.files import NO_CONTENTS, Contents, Document, read_documents
from packcheck.scene.text.nodes import Entry, ListNode, MapNode, Node, Number, ScalarNode

__all__ = ["Copy", "RawScene", "axes_of", "read_raw", "units_of"]

ALONE = ("list_within", "layouts", "known", "stage", "measures", "wheels", "survey", "checks")
"""Sections that only the root file may hold."""

_DEFAULT_AXES = {"x": "aft", "y": "right", "z": "up"}


@dataclass(frozen=True, slots=True)
class Copy:
    """A part as written out: its `family` if it is one of a row, its place there, the keys written with it."""

    family: str
    index: int
    own: frozenset[str]


@dataclass(frozen=True, slots=True)
class RawScene:
    """All files as one tree.

    Parameters
    ----------
    tree : MapNode
        The root file's tree, with the sections and rules of every file joined into it.
    headers : tuple of MapNode
        What is left of each included file.
    order : tuple of str
        Every file asked for, readable or not, in the order of reading.
    units, folders : mapping
        By file, as marks name it.
    digests : mapping
        Of the content of each file that was read.
    complete : bool
        Every file could be read, so that a name found nowhere is truly unknown.
    copies : mapping
        Every part by name, once the copies are written out.
    """

    path: str
    tree: MapNode
    headers: tuple[MapNode, ...]
    order: tuple[str, ...]
    files: tuple[Path, ...]
    units: Mapping[str, LengthUnit]
    folders: Mapping[str, Path]
    names: Names
    complete: bool
    digests: Mapping[Path, str]
    copies: Mapping[str, Copy] = field(default_factory=dict)


def read_raw(path: str | Path, contents: Contents = NO_CONTENTS) -> tuple[RawScene | None, list[Fault]]:
    """Everything written in a scene file and the files it includes, and every fault of their form.

    Returns
    -------
    tuple
        The raw scene, or None when there is nothing that could be understood further.
    """
    documents, order, faults = read_documents(path, contents)
    if not documents or documents[0].file != str(path):
        return None, faults
    newer = [fault for document in documents for fault in _newer(document)]
    if newer:
        return None, [*faults, *newer]
    faults += [fault for document in documents for fault in settle_indents(document.tree)]
    root, *included = documents
    faults += _unversioned(root)
    faults += [fault for document in included for fault in _misplaced(document, root)]
    tables, asked, table_faults = read_tables(documents, distinct(axes_of(root.tree)), contents)
    faults += table_faults
    order += asked
    naming = {table.file: document for table, document in tables}
    documents = [*documents, *(table for table, _ in tables)]
    names, name_faults = collect_names(documents)
    tree, headers = _joined(documents)
    raw = RawScene(
        path=str(path),
        tree=tree,
        headers=headers,
        order=tuple(order),
        files=tuple(document.path for document in documents),
        units={document.file: units_of(naming.get(document.file, document).tree) for document in documents},
        folders={document.file: document.path.parent for document in documents},
        names=names,
        complete=len(documents) == len(order),
        digests={document.path: document.digest for document in documents},
    )
    return raw, faults + name_faults


def _newer(document: Document) -> Iterator[Fault]:
    """A file from the future: nothing else said about it would be of use."""
    node = document.tree.get("packcheck")
    if isinstance(node, ScalarNode) and isinstance(node.value, Number) and node.value > FORMAT:
        what = f"packcheck: {node.value.text} is a newer scene format, this program reads {FORMAT}"
        yield Fault(node.mark, what, mend="update packcheck, or set the scene back to format 1")


def _unversioned(root: Document) -> Iterator[Fault]:
    if "packcheck" not in root.tree.entries:
        why = "it says which version of the scene format the file keeps to"
        yield Fault(
            SourceMark(root.file, 1, 1),
            "the key packcheck is missing",
            why,
            f"begin with the line packcheck: {FORMAT}",
        )


def _misplaced(document: Document, root: Document) -> Iterator[Fault]:
    """What an included file may not say, or must say."""
    yield from _root_only(document.tree, ALONE, "")
    clearances = document.tree.get("clearances")
    if isinstance(clearances, MapNode):
        yield from _root_only(clearances, ROOT_ONLY, "clearances.")
    yield from _other_axes(document, root)
    units = units_of(root.tree)
    if "units" not in document.tree.entries and units != "mm":
        what = f"the file states no units, the root file has units: {units}"
        yield Fault(SourceMark(document.file, 1, 1), what, "left out, units are mm", "add units: to this file")


def _root_only(tree: MapNode, keys: Iterable[str], path: str) -> Iterator[Fault]:
    for key in keys:
        if key in tree.entries:
            what = f"{path}{key} stands in an included file, needs to be in the root file"
            yield Fault(tree.entries[key].mark, what, "it holds for the whole scene")


def _other_axes(document: Document, root: Document) -> Iterator[Fault]:
    here, there = axes_of(document.tree), axes_of(root.tree)
    if here != there:
        mark = (
            document.tree.entries["axes"].mark
            if "axes" in document.tree.entries
            else SourceMark(document.file, 1, 1)
        )
        what = f"the file has {_axes_words(here)}, the root file {_axes_words(there)}"
        yield Fault(mark, what, "positions are not turned on the way in", "use the same axes in both")


def axes_of(tree: MapNode) -> dict[str, str]:
    """The axes as written, right or wrong, with the defaults of those left out."""
    node = tree.get("axes")
    stated = node.entries if isinstance(node, MapNode) else {}
    nodes = {axis: entry.node for axis, entry in stated.items() if axis in _DEFAULT_AXES}
    return _DEFAULT_AXES | {axis: str(node.value) for axis, node in nodes.items() if isinstance(node, ScalarNode)}


def _axes_words(axes: Mapping[str, str]) -> str:
    return ", ".join(f"{axis}: {way}" for axis, way in axes.items())


def units_of(tree: MapNode) -> LengthUnit:
    """The units of a file, mm where it states none, or none that there are."""
    node = tree.get("units")
    value = node.value if isinstance(node, ScalarNode) else None
    return next((unit for unit in get_args(LengthUnit) if value == unit), "mm")


def _joined(documents: list[Document]) -> tuple[MapNode, tuple[MapNode, ...]]:
    """One tree with the sections and rules of all files, and what is left of the included ones."""
    root, *headers = (MapNode(document.tree.mark, dict(document.tree.entries)) for document in documents)
    for header in headers:
        for section in SECTIONS:
            _move_section(section, header, root)
        _move_rules(header, root)
    return root, tuple(headers)


def _move_section(section: str, header: MapNode, root: MapNode) -> None:
    """Add a header's named things to the root's; what is no map stays, and the grammar says so."""
    entry = header.entries.get(section)
    if entry is None or not isinstance(entry.node, MapNode):
        return
    there = _filled(root, section, entry, MapNode(entry.node.mark))
    if isinstance(there, MapNode):
        del header.entries[section]
        there.entries.update({name: new for name, new in entry.node.entries.items() if name not in there.entries})


def _move_rules(header: MapNode, root: MapNode) -> None:
    entry = header.entries.get("clearances")
    rules = entry.node.entries.get("rules") if entry and isinstance(entry.node, MapNode) else None
    if (
        entry is None
        or rules is None
        or not isinstance(rules.node, ListNode)
        or not isinstance(entry.node, MapNode)
    ):
        return
    clearances = _filled(root, "clearances", entry, MapNode(entry.node.mark))
    there = (
        _filled(clearances, "rules", rules, ListNode(rules.node.mark)) if isinstance(clearances, MapNode) else None
    )
    if isinstance(there, ListNode):
        rest = {key: kept for key, kept in entry.node.entries.items() if key != "rules"}
        header.entries["clearances"] = Entry(entry.mark, MapNode(entry.node.mark, rest))
        there.items.extend(rules.node.items)


def _filled(tree: MapNode, key: str, like: Entry, empty: MapNode | ListNode) -> Node:
    """The node at `key`, copied so that it may grow; `empty` when nothing is written there."""
    there = tree.entries.get(key)
    if there is None or (isinstance(there.node, ScalarNode) and there.node.value is None):
        tree.entries[key] = Entry(there.mark if there else like.mark, empty)
    elif isinstance(there.node, MapNode):
        tree.entries[key] = Entry(there.mark, MapNode(there.node.mark, dict(there.node.entries)))
    elif isinstance(there.node, ListNode):
        tree.entries[key] = Entry(there.mark, ListNode(there.node.mark, list(there.node.items)))
    return tree.entries[key].node
