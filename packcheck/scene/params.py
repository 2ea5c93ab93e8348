"""The params of a scene, evaluated in the order they rest on each other."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from graphlib import CycleError, TopologicalSorter

from packcheck.errors import Fault
from packcheck.scene.document import RawScene
from packcheck.scene.expressions import evaluate, names_in
from packcheck.scene.faults import inside
from packcheck.scene.nodes import MapNode, Node, Number, ScalarNode, Text, plain
from packcheck.scene.slots import written
from packcheck.units import Quantity, QuantityError

__all__ = ["Params", "evaluate_params"]


@dataclass(slots=True)
class Params:
    """The values; `spoilt` are the names that have none, for reasons already reported."""

    values: dict[str, Quantity] = field(default_factory=dict)
    spoilt: set[str] = field(default_factory=set)


def evaluate_params(raw: RawScene) -> tuple[Params, list[Fault]]:
    """Every param's value, and the faults of those that have none."""
    section = raw.tree.get("params")
    nodes = {name: entry.node for name, entry in section.entries.items()} if isinstance(section, MapNode) else {}
    params, faults = Params(), []
    order, loops = _ordered({name: _rests_on(node, nodes) for name, node in nodes.items()})
    for loop in loops:
        params.spoilt.update(loop)
        what = f"param {loop[0]!r}: rests on itself: {' -> '.join([*loop, loop[0]])}"
        faults.append(Fault(nodes[loop[0]].mark, what, mend="give one of them a plain value"))
    for name in order:
        faults += _take(name, nodes[name], params)
    return params, faults


def _rests_on(node: Node, nodes: Mapping[str, Node]) -> set[str]:
    value = node.value if isinstance(node, ScalarNode) else None
    return set(names_in(value)) & nodes.keys() if isinstance(value, Text) else set()


def _ordered(rests_on: dict[str, set[str]]) -> tuple[list[str], list[list[str]]]:
    """Names in an order in which they can be evaluated, and the loops, which are taken out."""
    loops: list[list[str]] = []
    while True:
        try:
            return list(TopologicalSorter(rests_on).static_order()), loops
        except CycleError as error:
            loop = error.args[1][:0:-1]
            loops.append(_from_first(loop, rests_on))
            rests_on = {name: on - set(loop) for name, on in rests_on.items() if name not in loop}


def _from_first(loop: list[str], written_order: Mapping[str, object]) -> list[str]:
    """The same loop, begun at the name that was written first."""
    order = {name: place for place, name in enumerate(written_order)}
    start = loop.index(min(loop, key=order.__getitem__))
    return loop[start:] + loop[:start]


def _take(name: str, node: Node, params: Params) -> Iterator[Fault]:
    """Evaluate one param into `params`."""
    value = plain(node)
    if isinstance(value, Number):
        params.values[name] = Quantity(float(value))
        return
    params.spoilt.add(name)
    if not isinstance(value, Text):
        yield Fault(node.mark, f"param {name!r}: is {written(value)}, needs a number or an expression")
    elif params.spoilt.isdisjoint(names_in(value)):
        try:
            params.values[name] = evaluate(value, params.values)
            params.spoilt.remove(name)
        except QuantityError as error:
            what = f"param {name!r}: {written(value)} {error.what}"
            yield Fault(inside(node, error.offset), what, mend=error.mend)
