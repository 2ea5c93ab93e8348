"""Which files does a scene name, in any layout and under any key?"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final

from packcheck.scene.document.document import RawScene
from packcheck.scene.text.nodes import ListNode, MapNode, Node, ScalarNode, Text

__all__ = ["named_files"]

NAMING: Final = frozenset({"file", "readings", "include", "parts_from", "mesh"})
"""Keys whose text is the name of a file, with an ending or without."""

LONGEST: Final = 1024
"""Characters of a text that may be the name of a file."""


def named_files(raw: RawScene) -> tuple[Path, ...]:
    """Every text of the scene that is the name of a file which is there, as seen from here; each once.

    A text without a dot is taken for one only under a key that names files.
    """
    found = (
        raw.folders[text.mark.file] / text.strip()
        for root in (raw.tree, *raw.headers)
        for key, text in _texts(root)
        if text.mark.file in raw.folders and len(text) <= LONGEST and (key in NAMING or "." in text)
    )
    return tuple(path for path in dict.fromkeys(found) if _is_file(path))


def _texts(root: Node) -> Iterator[tuple[str, Text]]:
    """Every text, and the key it stands under."""
    left: list[tuple[str, Node]] = [("", root)]
    while left:
        key, node = left.pop()
        match node:
            case MapNode():
                left += [(name, entry.node) for name, entry in node.entries.items()]
            case ListNode():
                left += [(key, item) for item in node.items]
            case ScalarNode(value=Text() as text):
                yield key, text


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False
