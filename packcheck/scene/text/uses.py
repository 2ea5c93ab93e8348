"""Where a param is used in a scene, and whether what stands there changes evenly with it."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from packcheck.scene.text.expressions import Expression
from packcheck.scene.text.nodes import ListNode, MapNode, Node, ScalarNode, Text
from packcheck.units import QuantityError

__all__ = ["Use", "uses_of"]

_PLAIN: Final = frozenset(
    {"at", "box", "cylinder", "sphere", "capsule", "cone", "tube", "extrude", "wrap", "solids"}
)
"""Keys of a part below which a length places it or is a size of it."""

_PROSE: Final = frozenset({"title", "note", "why", "source", "file", "layouts", "include"})


@dataclass(frozen=True, slots=True)
class Use:
    """A place that rests on a param. `evenly`: what stands there is a constant and so much for every mm of it."""

    path: str
    evenly: bool
    is_place_or_size: bool


def uses_of(tree: MapNode, param: str) -> tuple[Use, ...]:
    """Every place of a scene that rests on `param`, directly or by way of other params."""
    closure, evenly = _closure(tree, param)
    uses = []
    for keys, text in _texts(tree, ()):
        if keys[0] != "params" and (expression := _read(text)) and closure & set(expression.names):
            uses.append(Use(".".join(keys), evenly and _is_even(expression, closure), _is_plain(keys)))
    return tuple(uses)


def _closure(tree: MapNode, param: str) -> tuple[set[str], bool]:
    """The params that rest on `param`, itself included, and whether each does so evenly."""
    section = tree.get("params")
    entries = section.entries if isinstance(section, MapNode) else {}
    nodes = {name: entry.node for name, entry in entries.items()}
    texts = {name: node.value for name, node in nodes.items() if isinstance(node, ScalarNode)}
    read = {name: _read(text) for name, text in texts.items() if isinstance(text, Text)}
    closure, evenly = {param}, True
    grown = True
    while grown:
        grown = False
        for name, expression in read.items():
            if name not in closure and expression and closure & set(expression.names):
                closure.add(name)
                grown = True
    for name in closure - {param}:
        expression = read[name]
        evenly = evenly and expression is not None and _is_even(expression, closure)
    return closure, evenly


def _texts(node: Node, keys: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], Text]]:
    match node:
        case ScalarNode(value=Text() as text):
            yield keys, text
        case ListNode():
            for place, item in enumerate(node.items, start=1):
                yield from _texts(item, (*keys, str(place)))
        case MapNode():
            for key, entry in node.entries.items():
                if key not in _PROSE:
                    yield from _texts(entry.node, (*keys, key))


def _read(text: Text) -> Expression | None:
    try:
        return Expression(text)
    except QuantityError:
        return None


def _is_even(expression: Expression, names: set[str]) -> bool:
    return all(_is_even_node(node, names) for node in ast.walk(expression.arithmetic) if isinstance(node, ast.expr))


def _is_even_node(node: ast.expr, names: set[str]) -> bool:
    """No function of a name, no product of two, nothing divided by one."""
    match node:
        case ast.Call():
            return not any(_holds(argument, names) for argument in node.args)
        case ast.BinOp(op=ast.Mult()):
            return not (_holds(node.left, names) and _holds(node.right, names))
        case ast.BinOp(op=ast.Div()):
            return not _holds(node.right, names)
        case _:
            return True


def _holds(node: ast.expr, names: set[str]) -> bool:
    return any(isinstance(below, ast.Name) and below.id in names for below in ast.walk(node))


def _is_plain(keys: tuple[str, ...]) -> bool:
    """Whether the length there places a part or frame, or is one of its sizes."""
    if keys[0] == "frames":
        return len(keys) > 2 and keys[2] == "at"
    if keys[0] != "parts" or len(keys) < 3 or keys[2] not in _PLAIN:
        return False
    return not {"from", "to", "turn", "section"} & set(keys)
