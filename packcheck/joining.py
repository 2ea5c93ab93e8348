"""Joints stated and joints lost: writing `bolted_to` into the scene, and what a layout has taken apart."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from packcheck.assembly.assembly import Assembly
from packcheck.assembly.likely import bulk
from packcheck.errors import Fault, SceneError
from packcheck.findings import Finding, Verdict
from packcheck.frames import Pose
from packcheck.proximity import Session
from packcheck.scene.model.scene import Scene
from packcheck.studies import gaps

if TYPE_CHECKING:
    from packcheck.scene.editing import Change, Plan

__all__ = ["likely_joints", "planned_joints", "with_lost_joints"]


def likely_joints(findings: Sequence[Finding]) -> list[Finding]:
    """The findings that look like joints, report order."""
    return sorted((finding for finding in findings if finding.looks_joined), key=lambda finding: finding.sort_key)


def planned_joints(assembly: Assembly, findings: Sequence[Finding]) -> Plan:
    """The change of the scene's files that states the pairs of `findings` as joints: nothing is written yet.

    The smaller part of each pair gets the `bolted_to`, unless only the larger one is written out in a scene file.

    Raises
    ------
    SceneError
        When neither is, or the files could not say exactly this.
    """
    from packcheck.scene.editing import planned, written_parts

    scene, written = assembly.scene, written_parts(assembly.scene)
    owned: dict[str, list[str]] = {}
    faults = []
    for finding in findings:
        if owner := _owner(assembly, finding.subjects, written):
            (other,) = set(finding.subjects) - {owner}
            owned.setdefault(scene.parts[owner].family or owner, []).append(other)
        else:
            what = f"{' and '.join(finding.subjects)}: neither is written out in a scene file"
            faults.append(Fault(finding.mark, what, mend="write bolted_to where one of them comes from"))
    if faults:
        raise SceneError(faults)
    changes = [change for owner, others in owned.items() for change in _stated(scene, written, owner, others)]
    plan = planned(scene, changes)
    wanted = {frozenset(finding.subjects) for finding in findings}
    if _joints(plan.scene) != _joints(scene) | wanted:
        what = "these joints cannot be stated without stating others too: a row or a copy takes part"
        raise SceneError([Fault(None, what, mend="write bolted_to by hand")])
    return plan


def _owner(assembly: Assembly, pair: Sequence[str], written: Container[str]) -> str:
    """Which of two parts is to say it: the smaller one that is written out itself, or else as a row."""
    by_size = sorted(pair, key=lambda name: bulk(assembly, name))
    alone = [name for name in by_size if name in written]
    rows = [name for name in by_size if assembly.scene.parts[name].family in written]
    return next(iter([*alone, *rows]), "")


def _stated(
    scene: Scene, written: Mapping[str, Container[str]], owner: str, others: Sequence[str]
) -> Iterator[Change]:
    """The changes by which `owner` says that it is bolted to `others`; what it takes from another part is kept."""
    from packcheck.scene.editing import Append, Put

    names = _as_rows(scene, owner, others)
    inherited = scene.parts[owner].bolted_to if owner in scene.parts else ()
    if inherited and "bolted_to" not in written[owner]:
        yield Put(("parts", owner, "bolted_to"), [*inherited, *names])
    else:
        yield from (Append(("parts", owner, "bolted_to"), name) for name in names)


def _as_rows(scene: Scene, owner: str, others: Sequence[str]) -> list[str]:
    """The same names, a row by its own where all its members are meant."""
    rows: dict[str, list[str]] = {}
    for name, part in scene.parts.items():
        rows.setdefault(part.family or name, []).append(name)
    whole = {name: row for row, members in rows.items() if set(members) <= set(others) for name in members}
    if owner not in scene.parts:  # a row itself: what belongs to each of its members is named as a row too
        whole = {name: scene.parts[name].family or name for name in others}
    return list(dict.fromkeys(whole.get(name, name) for name in others))


def _joints(scene: Scene) -> set[frozenset[str]]:
    return {frozenset((name, other)) for name, part in scene.parts.items() for other in part.bolted_to}


def with_lost_joints(
    assembly: Assembly, session: Session, findings: Sequence[Finding], as_written: Callable[[], Assembly]
) -> tuple[Finding, ...]:
    """The findings of a layout; a joint it has taken apart says so. `as_written` is only put together if needed."""
    lost = [finding for finding in findings if finding.word == "not seated"]
    if assembly.scene.layout is None or not lost:
        return tuple(findings)
    before = as_written()
    return tuple(_told(assembly, before, session, one) if one in lost else one for one in findings)


def _told(assembly: Assembly, before: Assembly, session: Session, finding: Finding) -> Finding:
    a, b = finding.subjects
    if not {a, b} <= before.parts.keys() or not before.rules.joint(a, b):
        return finding
    was = gaps.pair_finding(before, session, a, b)
    if was is None or was.verdict is not Verdict.PASS:
        return finding
    moved = [name for name in (a, b) if _moved(before.poses[name], assembly.poses[name])]
    what = f"as written the two touch: layout {assembly.scene.layout} moves {' and '.join(moved) or 'neither'}"
    return replace(finding, note="; ".join(filter(None, [finding.note, what])))


def _moved(before: Pose, after: Pose) -> bool:
    return not (
        np.allclose(before.translation, after.translation, rtol=0.0, atol=1e-6)
        and np.allclose(before.rotation, after.rotation, rtol=0.0, atol=1e-9)
    )
