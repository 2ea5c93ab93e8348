"""Belts, seats, cages and their mounts: nothing here ever moves one, and a qualified person judges it.

A part is a restraint by its kind. One whose name or note speaks of a belt, seat or cage mount is treated as one
too, whatever its kind: a move that is not offered costs little.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from packcheck.assembly.assembly import Assembly
from packcheck.errors import Fault, SceneError
from packcheck.findings import Finding
from packcheck.scene.model.scene import Part, Scene
from packcheck.scene.model.standing import leaders

__all__ = ["deferring", "refuse_changed", "refuse_restrained", "restraints", "restraints_with"]

KIND: Final = "restraint"

JUDGED: Final = "have it judged by a licensed or qualified person, whatever a gap says"

NOT_MOVED: Final = "belts, seats, cages and their mounts are not moved, sized or placed by a clearance check"

SOUNDS: Final = re.compile(
    r"\b(seat|shoulder|lap|safety|crotch|harness)[ _-]*belts?\b"
    r"|\bbelt[ _-]*(anchor|mount)"
    r"|\broll[ _-]*(over|cage|bar|hoop)"
    r"|\bcage[ _-]*(foot|mount|tube|leg)"
    r"|\bseat[ _-]*(mount|rail|frame|base|bolt|bracket|runner)"
    r"|\bchild[ _-]*seat",
    re.IGNORECASE,
)


def restraints(scene: Scene) -> Mapping[str, str]:
    """Every restraint of a scene, and by what it is one, in words."""
    found = {name: _by_what(part) for name, part in scene.parts.items()}
    return {name: what for name, what in found.items() if what}


def _by_what(part: Part) -> str:
    """By what a part is a restraint: its kind, or its name and note. Air that is needed is one of its part's."""
    if KIND in part.kinds:
        return "is a restraint"
    said = SOUNDS.search(f"{part.name.replace('_', ' ')}. {part.note}")
    return "sounds like the mount of a belt, seat or cage" if said else ""


def restraints_with(assembly: Assembly, part: str) -> Iterator[tuple[str, str]]:
    """The restraints that a part is, carries or is bolted to, itself or by its mirror image, and how, in words."""
    known = restraints(assembly.scene)
    along = _along(assembly, part) if known else []
    for name in along:
        if name in known:
            yield name, f"{name} {known[name]}" + ("" if name == part else f", and goes where {part} goes")
        for other in known:
            if other not in along and assembly.rules.joint(name, other):
                yield other, f"{name} is bolted to {other}, which {known[other]}"


def _along(assembly: Assembly, part: str) -> list[str]:
    """A part, and all parts that go where it goes: what it carries, what rests on that, images of or across it."""
    parts = assembly.scene.parts
    along = dict.fromkeys([part])
    nodes = assembly.hanging_on(part)
    while more := [one.name for one in parts.values() if one.name not in nodes and nodes & _led_by(one)]:
        nodes = nodes.union(*(assembly.hanging_on(name) for name in more))
    along.update(dict.fromkeys(name for name in parts if name in nodes))
    return list(along)


def _led_by(part: Part) -> set[str]:
    return set(leaders(part.mirror, part.rest))


def refuse_restrained(assembly: Assembly, part: str) -> None:
    """Raise SceneError where moving a part would move a restraint, or tear it off."""
    for _, how in restraints_with(assembly, part):
        raise SceneError([Fault(assembly.scene.parts[part].mark, how, NOT_MOVED, JUDGED)])


def refuse_changed(before: Assembly, after: Assembly, param: str) -> None:
    """Raise SceneError where a param moves a restraint, or makes it another size."""
    for name, what in restraints(before.scene).items():
        if name not in after.parts or _differs(before, after, name):
            how = f"param {param!r} changes {name}, which {what}"
            raise SceneError([Fault(before.scene.parts[name].mark, how, NOT_MOVED, JUDGED)])


def _differs(before: Assembly, after: Assembly, name: str) -> bool:
    one, other = before.parts[name], after.parts[name]
    if b"".join(one.pose.mark) != b"".join(other.pose.mark) or len(one.solids) != len(other.solids):
        return True
    pairs = zip(one.solids, other.solids, strict=True)
    return any(a.radius != b.radius or not np.array_equal(a.vertices, b.vertices) for a, b in pairs)


def deferring(scene: Scene, findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """The findings; each that is about a restraint says who must judge it."""
    known = restraints(scene)
    return tuple(_deferred(scene, finding, known) for finding in findings) if known else tuple(findings)


def _deferred(scene: Scene, finding: Finding, known: Mapping[str, str]) -> Finding:
    about = [scene.parts[name].air_of or name for name in finding.subjects if name in scene.parts]
    told = [f"{name} {known[name]}: {JUDGED}" for name in dict.fromkeys(about) if name in known]
    return replace(finding, note="; ".join(filter(None, [finding.note, *told]))) if told else finding
