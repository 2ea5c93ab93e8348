"""What stands in the tree of a scene file, right or wrong: maps of named things, and names in their slots."""

from __future__ import annotations

from packcheck.scene.text.nodes import Entry, ListNode, MapNode, Node, Number, ScalarNode, Text

__all__ = ["maps_of", "texts_of"]


def maps_of(section: Node | None) -> dict[str, MapNode]:
    """The things of a section that are maps, by name."""
    entries: dict[str, Entry] = section.entries if isinstance(section, MapNode) else {}
    return {name: entry.node for name, entry in entries.items() if isinstance(entry.node, MapNode)}


def texts_of(node: Node | None) -> list[Text]:
    """The names in a slot that takes one or a list of them."""
    items = node.items if isinstance(node, ListNode) else [node] if node else []
    return [text for item in items if isinstance(item, ScalarNode) for text in _name(item)]


def _name(item: ScalarNode) -> list[Text]:
    match item.value:
        case Text():
            return [Text(item.value.strip(), item.mark)] if item.value.strip() else []
        case Number():
            return [Text(item.value.text, item.mark)]
        case _:
            return []
