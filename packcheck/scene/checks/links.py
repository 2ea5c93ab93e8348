"""Does every name in the scene lead where it may? Checked on what is written, so that one fault hides no other."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from packcheck.data import KINDS
from packcheck.errors import Fault
from packcheck.scene.document.document import RawScene
from packcheck.scene.document.names import ANY
from packcheck.scene.expand.loops import DEEPEST, chained, way
from packcheck.scene.expand.rests import rest_loops, rests_of
from packcheck.scene.model.scene import CAR
from packcheck.scene.quantities.slots import bare
from packcheck.scene.text.hints import joined, nearest
from packcheck.scene.text.nodes import ListNode, MapNode, ScalarNode, Text
from packcheck.scene.text.written import maps_of, texts_of

__all__ = ["check_links"]

_KEEP_ONE: Final = "keep the rule or goes_into, not both"


def check_links(raw: RawScene) -> Iterator[Fault]:
    """Faults of every name that leads nowhere, to the wrong sort of thing, or round in a loop."""
    return _Links(raw).faults()


class _Links:
    def __init__(self, raw: RawScene) -> None:
        self.names = raw.names
        self.complete = raw.complete
        self.frames = maps_of(raw.tree.get("frames"))
        self.parts = maps_of(raw.tree.get("parts"))
        clearances = raw.tree.get("clearances")
        rules = clearances.get("rules") if isinstance(clearances, MapNode) else None
        self.bolted = {
            (part, name) for part, node in self.parts.items() for name in texts_of(node.get("bolted_to"))
        }
        self.entered = {
            (part, name) for part, node in self.parts.items() for name in texts_of(node.get("goes_into"))
        }
        self.rules = (
            [rule for rule in rules.items if isinstance(rule, MapNode)] if isinstance(rules, ListNode) else []
        )
        self.mentioned = {str(name) for rule in self.rules for name in texts_of(rule.get("between"))} - {ANY}

    def faults(self) -> Iterator[Fault]:
        for name, part in self.parts.items():
            yield from self._kinds(name, part)
            yield from self._joined(name, part)
            yield from self._both(name, part)
            yield from self._rests(name, part)
        yield from self._loops()
        yield from rest_loops(self.frames, self.parts)
        for rule in self.rules:
            yield from self._rule(rule)

    def _is_part(self, name: str) -> bool:
        return name in self.names and self.names[name].what == "part"

    def _kinds(self, part: str, node: MapNode) -> Iterator[Fault]:
        for kind in texts_of(node.get("kind")):
            if kind in self.names and kind in KINDS:
                continue  # told already, where the name is given
            if kind in self.names:
                what = f"part {part!r}: kind {kind!r} is the name of a {self.names[kind].what}"
                yield Fault(kind.mark, what, "params, frames, parts, motions and kinds share one set of names")
            elif kind not in KINDS and kind not in self.mentioned and self.complete:
                known = [*KINDS, *self.mentioned]
                what = f"part {part!r}: kind {kind!r} is not known"
                mend = (
                    nearest(kind, known)
                    or f"known are {', '.join(KINDS)}; a rule that names {kind!r} makes it known"
                )
                yield Fault(kind.mark, what, "the kind decides which clearance rules apply", mend)

    def _joined(self, part: str, node: MapNode) -> Iterator[Fault]:
        for key in ("bolted_to", "goes_into"):
            for name in texts_of(node.get(key)):
                if name == part:
                    yield Fault(name.mark, f"part {part!r}: {key} names the part itself, needs another part")

    def _both(self, part: str, node: MapNode) -> Iterator[Fault]:
        """Of a pair either a touch is asked, or nothing."""
        for name in texts_of(node.get("goes_into")):
            if (part, name) in self.bolted or (name, part) in self.bolted:
                what = f"part {part!r}: goes_into {str(name)!r}, and the two are bolted_to each other as well"
                yield Fault(
                    name.mark, what, "bolted_to asks them to touch, goes_into asks nothing", "keep one of them"
                )

    def _rests(self, part: str, node: MapNode) -> Iterator[Fault]:
        for where, name in rests_of(node):
            if name == part:
                yield Fault(name.mark, f"part {part!r}: faces.{where} names the part itself, needs another part")

    def _rule(self, rule: MapNode) -> Iterator[Fault]:
        between = texts_of(rule.get("between"))
        subject = f"rule [{joined([bare(name) for name in between])}]:"
        if len(between) == 2 and between[0] == between[1] and self._is_part(between[0]):
            yield Fault(between[1].mark, f"{subject} between names one part twice, needs two parts")
        if len(between) == 2 and not self.entered.isdisjoint([(between[0], between[1]), (between[1], between[0])]):
            yield Fault(between[1].mark, f"{subject} one goes_into the other, so nothing is asked", mend=_KEEP_ONE)
        yield from self._lowered(subject, rule, between)

    def _lowered(self, subject: str, rule: MapNode, between: list[Text]) -> Iterator[Fault]:
        lower = rule.get("lower")
        if not (isinstance(lower, ScalarNode) and lower.value is True):
            return
        strange = [bare(name) for name in between if self._strange(name)]
        if strange:
            what = f"{subject} lower goes with {joined(strange, ' and ')}, needs two parts by name"
            yield Fault(lower.mark, what, "a rule may be gone under for one pair only")

    def _strange(self, name: str) -> bool:
        return not self._is_part(name) and (self.complete or name == ANY or name in KINDS)

    def _loops(self) -> Iterator[Fault]:
        parents = {name: texts_of(node.get("in"))[:1] for name, node in (self.frames | self.parts).items()}
        parents.pop(CAR, None)
        leads = {name: [str(text) for text in texts] for name, texts in parents.items()}
        found = chained(leads)
        for knot in found.knots:
            loop = [knot[0], *way(leads, leads[knot[0]][0], knot[0])[:-1]]
            yield self._loop(loop, parents[loop[0]][0])
        for name in found.too_deep():
            yield Fault(parents[name][0].mark, f"{name!r} hangs more than {DEEPEST} deep, one in another")

    def _loop(self, loop: list[str], asked: Text) -> Fault:
        subject = f"{self.names[loop[0]].what} {loop[0]!r}: in"
        if len(loop) == 1:
            return Fault(asked.mark, f"{subject} names itself", mend="place it in a frame, a part or the car")
        round_ = joined([*loop, loop[0]], " -> ")
        return Fault(asked.mark, f"{subject} leads round in a loop: {round_}", mend="place one of them in the car")
