"""From paths to documents: reading the root file and everything it includes."""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final, TypeAlias

from packcheck.errors import Fault, SourceMark
from packcheck.scene.text.hints import joined, nearest
from packcheck.scene.text.nodes import ListNode, MapNode, Node, Number, ScalarNode, Text, compose

__all__ = ["NO_CONTENTS", "Contents", "Document", "content_of", "decoded", "digest", "read_documents"]

LARGEST: Final = 5_000_000
"""Bytes in one file: a thousand parts fill one fifth of a million."""

MOST_FILES: Final = 100

_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\ufffe\uffff]")


Contents: TypeAlias = Mapping[str, bytes]
"""Content to be read in place of what lies on the disk, by true path."""

NO_CONTENTS: Final[Contents] = {}


@dataclass(frozen=True, slots=True)
class Document:
    """One file: its name in marks, where it lies, its tree, and the digest of its content."""

    file: str
    path: Path
    tree: MapNode
    digest: str = ""


def digest(content: bytes) -> str:
    """What tells one content of a file from another."""
    return hashlib.sha256(content).hexdigest()


def read_documents(
    path: str | Path, contents: Contents = NO_CONTENTS
) -> tuple[list[Document], list[str], list[Fault]]:
    """The root file and all it includes, each once, root first; every file asked for; every fault of reading them.

    Parameters
    ----------
    path : str or Path
        The root file; marks name it the way it is given here.
    contents : Contents
        Files that are read from here.
    """
    reader = _Reader(contents)
    reader.read(os.fspath(path), SourceMark(os.fspath(path)))
    return reader.documents, reader.order, reader.faults


class _Reader:
    def __init__(self, contents: Contents) -> None:
        self.contents = contents
        self.documents: list[Document] = []
        self.order: list[str] = []
        self.faults: list[Fault] = []
        self._seen: set[str] = set()
        self._open: list[tuple[str, str]] = []  # (true path, name in marks) of the files being read

    def read(self, file: str, asked: SourceMark) -> None:
        """Read `file`, unless it was read before; `asked` is where it was asked for."""
        try:
            true_path = os.path.realpath(file)
        except (OSError, ValueError):
            self.order.append(file)
            self.faults.append(Fault(asked, f"{file!r} cannot be the name of a file"))
            return
        if self._loops(true_path, asked) or true_path in self._seen:
            return
        self._seen.add(true_path)
        self.order.append(file)
        self._open.append((true_path, file))
        self._take(file, true_path, asked)
        self._open.pop()

    def _loops(self, true_path: str, asked: SourceMark) -> bool:
        open_paths = [path for path, _ in self._open]
        if true_path not in open_paths:
            return False
        names = [name for _, name in self._open[open_paths.index(true_path) :]]
        loop = joined([*names, names[0]], " -> ")
        self.faults.append(
            Fault(asked, f"include goes round in a loop: {loop}", mend="remove one of these includes")
        )
        return True

    def _take(self, file: str, true_path: str, asked: SourceMark) -> None:
        if len(self._seen) > MOST_FILES:
            self.faults.append(Fault(asked, f"more than {MOST_FILES} files in one scene"))
            return
        content = self.contents.get(true_path) or content_of(Path(file), asked)
        text = content if isinstance(content, Fault) else decoded(content, file)
        if isinstance(content, Fault) or isinstance(text, Fault):
            self.faults += [text] if isinstance(text, Fault) else []
            return
        root, faults = compose(text, file)
        self.faults += faults
        if not isinstance(root, MapNode):
            self.faults += [] if faults else [_not_a_map(root, file)]
            return
        self.documents.append(Document(file, Path(file), root, digest(content)))
        for include in _includes(root):
            self.read(os.path.normpath(Path(file).parent / include.strip()), include.mark)


def _includes(root: MapNode) -> Iterator[Text]:
    node = root.get("include")
    for item in node.items if isinstance(node, ListNode) else [node]:
        value = item.value if isinstance(item, ScalarNode) else None
        if isinstance(value, Number):
            yield Text(value.text, value.mark)
        elif isinstance(value, Text) and value.strip():
            yield value


def _not_a_map(root: Node | None, file: str) -> Fault:
    mark = SourceMark(file, 1, 1) if root is None else root.mark
    got = {type(None): "is empty", ListNode: "is a list", ScalarNode: "is one piece of text"}[type(root)]
    mend = "begin with the line packcheck: 1"
    if isinstance(root, ScalarNode) and ":" in str(root.value):
        mend = "put a blank behind the colon of each key, such as packcheck: 1"
    return Fault(mark, f"the file {got}, needs a map of keys and values", mend=mend)


def content_of(path: Path, asked: SourceMark, *, what: str = "scene file") -> bytes | Fault:
    """The content of a file, or why it cannot be had."""
    try:
        if not path.is_file():
            got = "is a folder" if path.is_dir() else "is not a plain file" if path.exists() else "does not exist"
            return Fault(asked, f"{what} {str(path)!r} {got}", mend=_near_file(path))
        with path.open("rb") as stream:
            return stream.read(LARGEST + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "it cannot be the name of a file"
        return Fault(asked, f"{what} {str(path)!r} cannot be read: {reason}")


def _near_file(path: Path) -> str:
    try:
        names = [other.name for other in path.parent.iterdir() if other.suffix in (".yaml", ".yml", ".csv", ".tsv")]
    except OSError:
        return ""
    return nearest(path.name, names, alikeness=0.75)


def decoded(content: bytes, file: str) -> str | Fault:
    """The text of a file, without the sign that some editors put before it, or why there is none."""
    if len(content) > LARGEST:
        return Fault(
            SourceMark(file), f"the file is larger than {LARGEST / 1e6:g} MB", mend="split it with include"
        )
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return Fault(SourceMark(file), "the file is UTF-16 text, needs UTF-8", mend="save it as UTF-8")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        got = f"the byte {content[error.start]:#04x} is not UTF-8 text"
        return Fault(
            _mark(content[: error.start].decode(errors="replace"), file), got, mend="save the file as UTF-8"
        )
    if control := _CONTROL.search(text):
        what = f"the control character {control.group()!r} does not belong in a text file"
        return Fault(_mark(text[: control.start()], file), what)
    return text


def _mark(before: str, file: str) -> SourceMark:
    """The place just behind the text `before`."""
    return SourceMark(file, before.count("\n") + 1, len(before) - before.rfind("\n"))
