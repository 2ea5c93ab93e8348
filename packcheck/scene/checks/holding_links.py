"""Does every `with` hold motions of service, at settings on their way, and stand where it means something?"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from packcheck.data import RESERVED
from packcheck.errors import Fault, SourceMark
from packcheck.scene.document.document import RawScene
from packcheck.scene.document.names import described
from packcheck.scene.grammar.grammar import SceneFile
from packcheck.scene.grammar.holding import Either
from packcheck.scene.grammar.moving import Motion
from packcheck.scene.model.motion import Held, Hinge, Range, Travel
from packcheck.scene.text.hints import nearest
from packcheck.scene.text.nodes import MapNode
from packcheck.scene.text.written import maps_of, texts_of

__all__ = ["held_of", "holding_faults"]

SLACK: Final = 1e-9
"""deg or mm. A setting may be so far beyond the way of its motion: a param rounded."""

_SERVICE: Final = "rooms are used and parts taken out in service; while driving nothing is held open"


def held_of(settings: Mapping[str, Either] | None, motions: Mapping[str, Motion]) -> tuple[Held, ...]:
    """The settings as degrees or mm; they were checked."""
    read = {name: _ends(either, motions[name]) for name, either in (settings or {}).items()}
    return tuple(Held(name, ends) for name, ends in read.items() if ends is not None)


def _ends(either: Either, motion: Motion) -> Range | None:
    return either.degrees if motion.hinge is not None else either.length


@dataclass(frozen=True, slots=True)
class _With:
    """A `with` as written: whose it is, in words, what was read of it, and the motion that it stands in."""

    subject: str
    node: MapNode
    settings: Mapping[str, Either] | None
    own: str = ""


def holding_faults(raw: RawScene, file: SceneFile | None) -> Iterator[Fault]:
    """Faults of every `with`; `file` is None where it cannot be understood, and then no setting is checked."""
    motions = {} if file is None else file.motions
    for one in (*_of_motions(raw, file), *_of_parts(raw, file)):
        for name, entry in one.node.entries.items():
            if fault := _named(raw, one, name, entry.mark):
                yield fault
            elif name in motions and one.settings is not None:
                yield from _beyond(one, name, motions[name], entry.node.mark)
    yield from _misplaced(raw)


def _of_motions(raw: RawScene, file: SceneFile | None) -> Iterator[_With]:
    for name, motion in maps_of(raw.tree.get("motions")).items():
        node = motion.get("with")
        if isinstance(node, MapNode):
            yield _With(f"motion {name!r}: with", node, file.motions[name].with_ if file else None, name)


def _of_parts(raw: RawScene, file: SceneFile | None) -> Iterator[_With]:
    for name, part in maps_of(raw.tree.get("parts")).items():
        read = file.parts.get(name) if file else None
        if isinstance(node := part.get("with"), MapNode):
            yield _With(f"part {name!r}: with", node, read.with_ if read else None)
        needs = part.get("needs")
        if isinstance(needs, MapNode) and isinstance(node := needs.get("with"), MapNode):
            yield _With(f"part {name!r}: needs.with", node, read.needs.with_ if read and read.needs else None)


def _named(raw: RawScene, one: _With, name: str, mark: SourceMark) -> Fault | None:
    """What is wrong with the motion that is held, if anything."""
    motion = maps_of(raw.tree.get("motions")).get(name)
    if motion is None:
        known = list(maps_of(raw.tree.get("motions")))
        what = f"{one.subject} {described(name, raw.names)}, needs a motion"
        return Fault(mark, what, mend=nearest(name, known) or f"the motions are {', '.join(known) or 'none'}")
    if name == one.own:
        return Fault(mark, f"{one.subject} holds the motion itself", mend="name what is held open meanwhile")
    if not motion.entries.keys() & {"hinge", "travel"}:
        what = f"{one.subject} holds {name!r}, which has no one setting, needs a hinge or a travel"
        return Fault(mark, what, mend="state it as a hinge or a travel")
    if texts_of(motion.get("during"))[:1] != ["service"]:
        return Fault(
            mark, f"{one.subject} holds {name!r}, which moves while driving", _SERVICE, "say during: service there"
        )
    return None


def _beyond(one: _With, name: str, motion: Motion, mark: SourceMark) -> Iterator[Fault]:
    """A setting that is not on the way of its motion, or is of another sort."""
    assert one.settings is not None
    ends = _ends(one.settings[name], motion)
    movement = motion.movement()
    assert isinstance(movement, Hinge | Travel)
    unit = "deg" if isinstance(movement, Hinge) else "mm"
    least, most = movement.range
    if ends is None:
        yield Fault(mark, f"{one.subject} {name} is no setting in {unit}, needs {least:g} to {most:g} {unit}")
    elif ends[0] < least - SLACK or ends[1] > most + SLACK:
        beyond = ends[0] if ends[0] < least - SLACK else ends[1]
        what = f"{one.subject} {name} is {beyond:g} {unit}, needs {least:g} to {most:g} {unit}, its own way"
        yield Fault(mark, what, mend="let it open farther, or hold it at less")


def _misplaced(raw: RawScene) -> Iterator[Fault]:
    """`with` on a part that is no room, and on a motion that is none of service."""
    for name, part in maps_of(raw.tree.get("parts")).items():
        entry, kinds = part.entries.get("with"), {str(kind) for kind in texts_of(part.get("kind"))}
        if entry is not None and not RESERVED & kinds:
            what = f"part {name!r}: with stands on a part that is no room, needs kind access or keep_out"
            mend = "put it in needs, for the air the part needs, or in the motion that takes the part out"
            yield Fault(entry.mark, what, "only what is kept free, or moved, can be asked at a setting", mend)
    for name, motion in maps_of(raw.tree.get("motions")).items():
        entry, during = motion.entries.get("with"), [str(word) for word in texts_of(motion.get("during"))][:1]
        if entry is not None and during != ["service"] and "way_out" not in motion.entries:
            yield Fault(
                entry.mark,
                f"motion {name!r}: with stands in a motion while driving",
                _SERVICE,
                "say during: service",
            )
