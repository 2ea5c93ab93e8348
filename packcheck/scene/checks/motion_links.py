"""Does every motion move somebody, one way, and nobody twice? Checked on what is written, all at once."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from packcheck.data import KINDS
from packcheck.errors import Fault, SourceMark
from packcheck.scene.document.document import RawScene
from packcheck.scene.grammar.moving import MOVEMENTS
from packcheck.scene.model.scene import CAR
from packcheck.scene.text.nodes import Entry, MapNode, ScalarNode, Text
from packcheck.scene.text.written import maps_of, texts_of

__all__ = ["motion_faults"]

_DRIVING: Final = "driving"


def motion_faults(raw: RawScene) -> Iterator[Fault]:
    """Faults of motions that name strangers, carry nobody, have no way or several, or fight for a part."""
    return _Motions(raw).faults()


class _Motions:
    def __init__(self, raw: RawScene) -> None:
        section = raw.tree.get("motions")
        self.entries: dict[str, Entry] = section.entries if isinstance(section, MapNode) else {}
        self.motions = maps_of(section)
        self.names, self.complete = raw.names, raw.complete
        parts = maps_of(raw.tree.get("parts"))
        self.parents = {name: texts_of(node.get("in"))[:1] for name, node in parts.items()}
        self.parents |= {
            name: texts_of(node.get("in"))[:1] for name, node in maps_of(raw.tree.get("frames")).items()
        }
        self.kinds = {name: {str(kind) for kind in texts_of(node.get("kind"))} for name, node in parts.items()}

    def faults(self) -> Iterator[Fault]:
        for name, motion in self.motions.items():
            subject, mark = f"motion {name!r}", self.entries[name].mark
            yield from self._ways(subject, motion, mark)
            yield from self._carried(subject, motion)
        yield from self._fights()

    def _ways(self, subject: str, motion: MapNode, mark: SourceMark) -> Iterator[Fault]:
        given = [key for key in motion.entries if key in MOVEMENTS]
        if not given:
            yield Fault(mark, f"{subject} does not say how it moves, needs one of {', '.join(MOVEMENTS)}")
        for key in given[1:]:
            first = f"{given[0]} (line {motion.entries[given[0]].mark.line})"
            yield Fault(motion.entries[key].mark, f"{subject} has {first} and {key}, needs one way of moving")
        if "about" in motion.entries and not motion.entries.keys() & {"path", "way_out"}:
            what = f"{subject}: about stands without path"
            yield Fault(motion.entries["about"].mark, what, mend="put about: inside rock, or leave it out")

    def _carried(self, subject: str, motion: MapNode) -> Iterator[Fault]:
        entry = motion.entries.get("carries")
        if entry is None:
            return  # told as a missing key
        named = texts_of(entry.node)
        if not named:
            what = f"{subject} carries nobody, needs a part, a kind or a frame"
            yield Fault(entry.mark, what, "a motion that moves nothing would be checked against nothing")
        for name in named:
            if name == CAR:
                yield Fault(name.mark, f"{subject}: carries the whole car, needs a part, a kind or a frame in it")
            elif name in KINDS and self.complete and not self._nodes(name):
                yield Fault(name.mark, f"{subject}: carries the kind {name!r}, and no part is of that kind")

    def _sort(self, name: str) -> str:
        return self.names[name].what if name in self.names else ""

    def _nodes(self, name: str) -> list[str]:
        """The parts and frames that a name in `carries` stands for."""
        if self._sort(name) in ("frame", "part"):
            return [str(name)]
        return [part for part, kinds in self.kinds.items() if name in kinds]

    def _fights(self) -> Iterator[Fault]:
        """One thing moved by two motions of one state: which goes first is not said."""
        held: dict[tuple[str, str], str] = {}
        for motion_name, motion in self.motions.items():
            state = _state(motion)
            for name in texts_of(motion.get("carries")):
                for node in self._nodes(name):
                    first = held.setdefault((node, state), motion_name)
                    if first != motion_name:
                        yield self._fight(motion_name, name, node, first)
                        break

    def _fight(self, motion: str, name: Text, node: str, first: str) -> Fault:
        line = self.entries[first].mark.line
        what = f"motion {motion!r}: carries {node!r}, which {first!r} (line {line}) moves already"
        why = "two motions of one part at one time must say which moves the other"
        mend = "put the part in a frame, and let one motion carry the frame, the other the part"
        return Fault(name.mark, what, why, mend)


def _state(motion: MapNode) -> str:
    if "way_out" in motion.entries:
        return "service"
    node = motion.get("during")
    return str(node.value) if isinstance(node, ScalarNode) and isinstance(node.value, Text) else _DRIVING
