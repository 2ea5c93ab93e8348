"""Joints stated and joints lost: writing `bolted_to` into the scene, and what a layout has taken apart."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from packcheck.assembly.assembly import Assembly
from packcheck.assembly.likely import bulk
from packcheck.errors import Fault, SceneError
from packcheck.findings import Finding, Verdict
from packcheck.frames import Pose
from packcheck.proximity import Session
from packcheck.studies import gaps

if TYPE_CHECKING:
    from packcheck.scene.editing import Plan

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
        When neither is, or the change cannot be made.
    """
    from packcheck.scene.editing import Append, planned, written_parts

    written = written_parts(assembly.scene)
    changes, faults = [], []
    for finding in findings:
        owners = [
            name for name in sorted(finding.subjects, key=lambda name: bulk(assembly, name)) if name in written
        ]
        if owners:
            (other,) = set(finding.subjects) - {owners[0]}
            changes.append(Append(("parts", owners[0], "bolted_to"), other))
        else:
            what = f"{' and '.join(finding.subjects)}: neither is written out in a scene file"
            faults.append(Fault(finding.mark, what, mend="write bolted_to where one of them comes from"))
    if faults:
        raise SceneError(faults)
    return planned(assembly.scene, changes)


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
