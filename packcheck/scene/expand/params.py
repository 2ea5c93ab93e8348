"""The params of a scene, evaluated in the order they rest on each other."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from packcheck.errors import Fault
from packcheck.scene.document.document import RawScene
from packcheck.scene.document.faults import inside
from packcheck.scene.expand.loops import chained, knotted, way
from packcheck.scene.quantities.slots import written
from packcheck.scene.text.expressions import evaluate, names_in
from packcheck.scene.text.hints import joined
from packcheck.scene.text.nodes import MapNode, Node, Number, Text, plain
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
    params = Params()
    faults: list[Fault] = []
    rests_on: dict[str, set[str]] = {}
    for name, node in nodes.items():
        faults += _read(name, node, params, rests_on)
    order, loops = _ordered({name: on & rests_on.keys() for name, on in rests_on.items()})
    for loop in loops:
        params.spoilt.update(loop)
        what = f"param {loop[0]!r}: rests on itself: {joined([*loop, loop[0]], ' -> ')}"
        faults.append(Fault(nodes[loop[0]].mark, what, mend="give one of them a plain value"))
    for name in order:
        faults += _evaluate(name, nodes[name], rests_on[name], params)
    return params, faults


def _read(name: str, node: Node, params: Params, rests_on: dict[str, set[str]]) -> Iterator[Fault]:
    """Take in a number at once, and of an expression the names it rests on."""
    value = plain(node)
    if isinstance(value, Number):
        params.values[name] = Quantity(float(value))
    elif not isinstance(value, Text):
        params.spoilt.add(name)
        yield Fault(node.mark, f"param {name!r}: is {written(value)}, needs a number or an expression")
    else:
        rests_on[name] = set(names_in(value))


def _evaluate(name: str, node: Node, rests_on: set[str], params: Params) -> Iterator[Fault]:
    params.spoilt.add(name)
    if params.spoilt.isdisjoint(rests_on):
        try:
            params.values[name] = evaluate(str(plain(node)), params.values)
            params.spoilt.remove(name)
        except QuantityError as error:
            yield _fault(name, node, error)


def _fault(name: str, node: Node, error: QuantityError) -> Fault:
    what = f"param {name!r}: {written(plain(node))} {error.what}"
    return Fault(inside(node, error.offset), what, mend=error.mend)


def _ordered(rests_on: dict[str, set[str]]) -> tuple[list[str], list[list[str]]]:
    """Names in an order in which they can be evaluated, and the loops, which are taken out."""
    leads = {name: sorted(on) for name, on in rests_on.items()}
    found = chained(leads)
    looped = {name for knot in found.knots for name in knot}
    return [name for name in found.order if name not in looped], [_loop(knot, leads) for knot in found.knots]


def _loop(knot: Sequence[str], leads: Mapping[str, Sequence[str]]) -> list[str]:
    """A shortest way round from the name of a knot that was written first, itself not repeated."""
    inner = knotted(knot, leads)
    rounds = [way(inner, onward, knot[0]) for onward in inner[knot[0]]]
    return [knot[0], *min((found for found in rounds if found), key=len)[:-1]]
