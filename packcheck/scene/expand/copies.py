"""Copies, written out: parts like others, mirror images and rows become parts before anything is understood.

    clip: {like: p_clip, at: [...]}        takes every key that it does not have itself
    rail_r: {mirror_of: rail_l}            the same; where it stands is left to the assembly
    runner: {..., repeat: {count: 4}}      becomes runner.1 to runner.4, and so does what stands in it

Every number and text keeps the mark of where it was written, so that what is wrong with a copy is told once, there.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace

from packcheck.errors import Fault, SourceMark
from packcheck.scene.document.document import Copy, RawScene
from packcheck.scene.document.names import Named
from packcheck.scene.expand.families import Families
from packcheck.scene.expand.heirs import Heirs
from packcheck.scene.text.nodes import Entry, MapNode
from packcheck.scene.text.written import maps_of

__all__ = ["expanded", "told_once"]


def expanded(raw: RawScene) -> tuple[RawScene, list[Fault]]:
    """The raw scene with every copy written out, and the faults of copying."""
    section = raw.tree.get("parts")
    if not isinstance(section, MapNode) or not _any_copies(section):
        return raw, []
    heirs = Heirs(raw, maps_of(section))
    entries = {
        name: Entry(entry.mark, heirs.node(name) if isinstance(entry.node, MapNode) else entry.node)
        for name, entry in section.entries.items()
    }
    families = Families(raw, {name: entry.node for name, entry in entries.items()})
    written = _Written(heirs, families)
    parts = MapNode(section.mark, dict(written.entries(entries)))
    tree = MapNode(raw.tree.mark, {**raw.tree.entries, "parts": Entry(raw.tree.entries["parts"].mark, parts)})
    tree = families.rules_written_out(tree)
    names, twice = _renamed(raw, families, parts)
    faults = [*heirs.faults, *families.faults, *twice]
    return replace(raw, tree=tree, names=names, copies=written.copies), faults


def _any_copies(section: MapNode) -> bool:
    keys = {"like", "template", "mirror_of", "repeat"}
    return any(keys & part.entries.keys() for part in maps_of(section).values())


@dataclass(slots=True)
class _Written:
    heirs: Heirs
    families: Families
    copies: dict[str, Copy] = field(default_factory=dict)

    def entries(self, entries: Mapping[str, Entry]) -> Iterator[tuple[str, Entry]]:
        """Every part, and of each family its members in its place."""
        for name, entry in entries.items():
            count = self.families.counts.get(name, 0)
            own = self.heirs.own(name)
            for index in range(count):
                member = f"{name}.{index + 1}"
                self.copies[member] = Copy(name, index, own)
                yield member, Entry(entry.mark, self.families.referring(entry.node, count, index))
            if not count:
                self.copies[name] = Copy("", 0, own)
                yield name, Entry(entry.mark, self.families.referring(entry.node, 0, 0))


def _renamed(raw: RawScene, families: Families, parts: MapNode) -> tuple[dict[str, Named], list[Fault]]:
    """Every name and what it stands for now; the members of families are parts."""
    names = dict(raw.names)
    faults = []
    for name, node in maps_of(parts).items():
        template = node.get("template")
        if getattr(template, "value", None) is True:
            names[name] = Named("template", parts.entries[name].mark)
    for family, count in families.counts.items():
        names[family] = Named("repeated part", raw.names[family].mark)
        for member in (f"{family}.{k}" for k in range(1, count + 1)):
            if member in raw.names:
                what = f"part {family!r}: repeat makes a part {member!r}, a name that is taken"
                faults.append(Fault(raw.names[member].mark, what, mend="rename one of them"))
            names[member] = Named("part", raw.names[family].mark)
    return names, faults


def told_once(faults: Iterable[Fault], copies: Mapping[str, Copy]) -> list[Fault]:
    """The faults, each mistake once although every copy has it, and told of the part that was written."""
    told: dict[tuple[SourceMark | None, str], Fault] = {}
    for fault in faults:
        subject, colon, rest = fault.what.partition(": ")
        name = subject.removeprefix("part ").strip("'\"")
        family = copies[name].family if name in copies else ""
        mended = replace(fault, what=f"part {family!r}: {rest}") if family and colon else fault
        told.setdefault((fault.mark, rest if name in copies else fault.what), mended)
    return list(told.values())
