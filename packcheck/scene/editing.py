"""Changing a scene file in place, every comment, order and line kept.

A change is planned first: worked into the text, read back, and compared with what was meant. The plan can be shown.
Only then is it written, in one step, and only if the file still holds what was read.
"""

from __future__ import annotations

import codecs
import difflib
import os
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeAlias, cast

from packcheck.errors import Fault, SceneError, SourceMark
from packcheck.replacing import replace_files
from packcheck.scene.build import Written
from packcheck.scene.document.document import units_of
from packcheck.scene.document.tables import TABLES
from packcheck.scene.grammar.grammar import SECTIONS
from packcheck.scene.model.scene import Scene
from packcheck.scene.text.files import decoded, digest
from packcheck.scene.text.nodes import MapNode, Number, compose, plain
from packcheck.scene.text.spelling import Mm, Value, figure, settled
from packcheck.scene.text.splices import Keys, SpliceError, appended, put

__all__ = ["Append", "Change", "Mm", "Plan", "Put", "planned", "written_parts"]


@dataclass(frozen=True, slots=True)
class Put:
    """Set what stands at `keys`, such as ``("parts", "pump", "at")``; maps on the way are made where missing."""

    keys: Keys
    value: Value


@dataclass(frozen=True, slots=True)
class Append:
    """Add `value` to the list at `keys`, such as ``("parts", "pump", "bolted_to")``; no list yet: one is begun."""

    keys: Keys
    value: Value


Change: TypeAlias = Put | Append


@dataclass(frozen=True, slots=True)
class _Edited:
    """One file: its name in marks, its content as read and as it is to be."""

    file: str
    path: Path
    before: bytes
    after: bytes


@dataclass(frozen=True, slots=True)
class Plan:
    """Changes that were tried on the text and are not yet written; `scene` is what the files will then say."""

    scene: Scene
    edits: tuple[_Edited, ...]

    def lines(self) -> Iterator[str]:
        """What changes, for a reader: the file, then its old lines with a minus, the new ones with a plus."""
        for edit in self.edits:
            yield edit.file
            old, new = (content.decode("utf-8-sig").splitlines() for content in (edit.before, edit.after))
            for line in difflib.unified_diff(old, new, n=0, lineterm=""):
                if line.startswith("@@"):
                    yield f"  line {line.split('+')[1].split(',')[0].split(' ')[0]}"
                elif not line.startswith(("---", "+++")):
                    yield f"  {line[0]} {line[1:]}"

    def write(self) -> None:
        """Put the new content in place of the old one.

        Raises
        ------
        SceneError
            When a file changed since it was read, or cannot be written. Then nothing was written.
        """
        faults = [fault for edit in self.edits for fault in _unfit_to_write(edit)]
        if faults:
            raise SceneError(faults)
        try:
            replace_files({edit.path: edit.after for edit in self.edits})
        except OSError as error:
            raise SceneError([Fault(None, f"cannot be written: {error}")]) from error


def planned(scene: Scene, changes: Sequence[Change]) -> Plan:
    """What `changes` make of the files of a loaded scene. Nothing is written.

    A thing is changed in the file that defines it; what is new goes into the root file.

    Raises
    ------
    SceneError
        When a file is no longer the one that was read, a change has no place to go or would lose a comment, or
        the scene would not load any more with exactly this change.
    """
    texts = [_Text.read(path, scene) for path in _scene_files(scene)]
    for change in changes:
        _home(texts, change.keys).take(change)
    edits = tuple(text.edited() for text in texts if text.text != text.original)
    contents = {os.path.realpath(edit.path): edit.after for edit in edits}
    written = Written(scene.path, contents)
    touched = {str(change.keys[1]) for change in changes if change.keys[0] == "layouts" and len(change.keys) > 1}
    for layout in {None, *touched} - {scene.layout}:
        written.scene(layout)
    return Plan(written.scene(scene.layout), edits)


def written_parts(scene: Scene) -> dict[str, frozenset[str]]:
    """The parts that are written out in the files of a loaded scene, and so can be changed there, with their keys.

    Raises
    ------
    SceneError
        When a file is no longer the one that was read.
    """
    sections = (_Text.read(path, scene).tree().get("parts") for path in _scene_files(scene))
    return {
        name: frozenset(entry.node.entries)
        for section in sections
        if isinstance(section, MapNode)
        for name, entry in section.entries.items()
        if isinstance(entry.node, MapNode)
    }


def _scene_files(scene: Scene) -> list[Path]:
    """The files that are changed in place: tables of parts are left to a spreadsheet."""
    return [path for path in scene.files if not str(path).lower().endswith(TABLES)]


class _Text:
    """The text of one file while it is changed."""

    def __init__(self, path: Path, content: bytes, text: str) -> None:
        self.path, self.content = path, content
        self.text = self.original = text

    @classmethod
    def read(cls, path: Path, scene: Scene) -> _Text:
        try:
            content = path.read_bytes()
        except OSError as error:
            raise SceneError([Fault(SourceMark(str(path)), f"cannot be read: {error.strerror}")]) from error
        text = decoded(content, str(path))
        if isinstance(text, Fault) or digest(content) != scene.digests.get(path):
            raise SceneError([_changed(str(path))])
        return cls(path, content, text)

    def tree(self) -> MapNode:
        root, faults = compose(self.text, str(self.path))
        if faults or not isinstance(root, MapNode):
            raise SceneError(faults or [Fault(SourceMark(str(self.path)), "holds no map")])
        return root

    def take(self, change: Change) -> None:
        """Work a change into the text. Raises SceneError when it cannot be, or would change anything else."""
        before = self.tree()
        value = settled(change.value, units_of(before))
        act = put if isinstance(change, Put) else appended
        try:
            self.text = act(self.text, change.keys, value)
        except SpliceError as error:
            what = f"{_path(change.keys)} cannot be changed: {error.what}"
            raise SceneError([Fault(self._mark(error.at), what, mend=error.mend)]) from error
        meant = _with(_sums(plain(before)), change.keys, value, add=isinstance(change, Append))
        if _sums(plain(self.tree())) != meant:
            what = f"{_path(change.keys)} cannot be changed here without changing something else"
            raise SceneError([Fault(self._mark(0), what, mend="write it by hand")])

    def edited(self) -> _Edited:
        sign = codecs.BOM_UTF8 if self.content.startswith(codecs.BOM_UTF8) else b""
        return _Edited(str(self.path), self.path, self.content, sign + self.text.encode())

    def _mark(self, at: int) -> SourceMark:
        before = self.text[:at]
        return SourceMark(str(self.path), before.count("\n") + 1, at - before.rfind("\n"))


def _home(texts: Sequence[_Text], keys: Keys) -> _Text:
    """The file that defines what is to be changed: of a named thing its own, otherwise the root file."""
    if len(keys) < 2 or keys[0] not in SECTIONS:
        return texts[0]
    for text in texts:
        section = text.tree().get(str(keys[0]))
        if isinstance(section, MapNode) and str(keys[1]) in section.entries:
            return text
    if len(keys) == 2:
        return texts[0]
    what = f"{str(keys[0])[:-1]} {keys[1]!r} is not written out in the scene file, so {keys[-1]} has no place there"
    raise SceneError([Fault(SourceMark(str(texts[0].path)), what, mend="write it where the part comes from")])


def _path(keys: Keys) -> str:
    return ".".join(map(str, keys))


def _sums(value: object) -> Any:
    """The same tree with numbers by their worth."""
    match value:
        case Number():
            return float(value)
        case str():
            return str(value)
        case bool() | None:
            return value
        case int() | float():
            return float(figure(value))
        case Mapping():
            return {key: _sums(entry) for key, entry in value.items()}
        case _:
            return [_sums(item) for item in cast("Sequence[object]", value)]


def _with(tree: Any, keys: Keys, value: Value, *, add: bool) -> Any:
    """`tree` with the change made to it; written apart from the splices, to judge them by."""
    if not keys:
        had = tree if isinstance(tree, list) else [] if tree is None else [tree]
        return [*had, _sums(value)] if add else _sums(value)
    first, *rest = keys
    if isinstance(first, int):
        return [_with(item, tuple(rest), value, add=add) if at == first else item for at, item in enumerate(tree)]
    tree = tree or {}
    return {**tree, first: _with(tree.get(first), tuple(rest), value, add=add)}


def _changed(file: str) -> Fault:
    why = "what you wrote there meanwhile would be lost"
    return Fault(SourceMark(file), "the file has changed since it was read", why, "run the command again")


def _unfit_to_write(edit: _Edited) -> Iterator[Fault]:
    try:
        if edit.path.read_bytes() != edit.before:
            yield _changed(edit.file)
        elif not os.access(edit.path, os.W_OK):
            yield Fault(SourceMark(edit.file), "the file is write-protected, and is left as it is")
    except OSError as error:
        yield Fault(SourceMark(edit.file), f"cannot be read: {error.strerror}")
