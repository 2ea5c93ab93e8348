"""A place that was chosen, written into the scene as a layout: nothing else in the file changes."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Final

import numpy as np

from packcheck.assembly.assembly import Assembly, assemble
from packcheck.assembly.elsewhere import stands_in
from packcheck.assembly.restraint import refuse_restrained
from packcheck.errors import Fault, SceneError
from packcheck.scene.build import Written
from packcheck.scene.editing import Change, Mm, Plan, Put, planned, written_parts
from packcheck.scene.spelling import Value

if TYPE_CHECKING:
    from packcheck.frames import Pose

__all__ = ["planned_layout"]

ROUNDED: Final = 4  # decimals of mm and degrees written
_OFF: Final = 2e-3  # mm; what that rounding may put a part off, ten times over


def planned_layout(assembly: Assembly, part: str, pose: Pose, name: str, note: str = "") -> Plan:
    """The change of the scene's files that adds layout `name`, in which the own frame of `part` stands at `pose`.

    It builds on the layout the assembly is of. Nothing is written yet.

    Raises
    ------
    SceneError
        There is such a layout already, or a layout cannot say where the part is to stand.
    """
    refuse_restrained(assembly, part)
    scene = assembly.scene
    if name in scene.layouts:
        raise _refused(f"there is a layout {name!r} already", "it is left as it is", "choose another name")
    written = written_parts(scene)
    if part not in written:
        mend = "write it out as a part of its own, or write the layout by hand"
        raise _refused(f"no layout can put part {part!r} elsewhere", "it is made from another part", mend)
    at, turn = (
        tuple(round(value, ROUNDED) + 0.0 for value in values) for values in stands_in(assembly, part, pose)
    )
    place: dict[str, Value] = {"at": [Mm(length) for length in at]}
    if any(turn) or "turn" in written[part]:
        place["turn"] = list(turn)
    if "faces" in written[part]:
        place["faces"] = None
    said: dict[str, Value] = {"from": scene.layout} if scene.layout else {}
    said |= {"note": note} if note else {}
    changes: list[Change] = [Put(("layouts", name), {**said, "parts": {part: place}})]
    plan = planned(scene, changes)
    _refuse_elsewhere(assembly, plan, part, pose, name)
    return plan


def _refuse_elsewhere(assembly: Assembly, plan: Plan, part: str, pose: Pose, name: str) -> None:
    """Refuse a layout that would put the part anywhere else: it may be moved by what the file says of it."""
    contents = {os.path.realpath(edit.path): edit.after for edit in plan.edits}
    there = assemble(Written(assembly.scene.path, contents).scene(name)).poses[part]
    shifted = float(np.abs(there.translation - pose.translation).max())
    turned = float(np.abs(there.rotation - pose.rotation).max())
    if shifted > _OFF or turned > 1e-5:
        why = "its place follows from more: it is mirrored, rests on a part, or hangs on what was drawn open"
        raise _refused(f"no layout can put part {part!r} there by its `at`", why, "write the layout by hand")


def _refused(what: str, why: str, mend: str) -> SceneError:
    return SceneError([Fault(None, what, why, mend)])
