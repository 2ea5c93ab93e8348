"""A place that was chosen, written into the scene as a layout: nothing else in the file changes."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Final

import numpy as np

from packcheck.assembly.assembly import Assembly, assemble
from packcheck.assembly.restraint import refuse_restrained
from packcheck.errors import Fault, SceneError
from packcheck.proximity import Session
from packcheck.scene.build import Written
from packcheck.scene.editing import Change, Mm, Plan, Put, planned, written_parts
from packcheck.scene.text.spelling import Value
from packcheck.studies.promised import newly_short
from packcheck.trial.elsewhere import put_elsewhere, stands_in

if TYPE_CHECKING:
    from packcheck.frames import Pose

__all__ = ["planned_layout", "written_there"]

ROUNDED: Final = 4  # decimals of mm and degrees written
_BY_HAND: Final = "write the layout by hand"
_OFF: Final = 2e-3  # mm; what that rounding may put a part off, ten times over


def planned_layout(assembly: Assembly, session: Session, part: str, pose: Pose, name: str, note: str = "") -> Plan:
    """The change of the scene's files that adds layout `name`, in which the own frame of `part` stands at `pose`.

    It builds on the layout the assembly is of. Nothing is written yet; the scene as it would be written is loaded,
    and what is put elsewhere in it, or made anew, is checked again at rest.

    Raises
    ------
    SceneError
        There is such a layout already, a layout cannot say where the part is to stand, or more falls short in
        the scene so written than with the part put there.
    """
    refuse_restrained(assembly, part)
    plan = _planned(assembly, part, pose, name, note)
    there = _loaded(plan, assembly, name)
    _refuse_elsewhere(there, part, pose)
    _refuse_short(assembly, session, there, part)
    return plan


def written_there(assembly: Assembly, part: str, pose: Pose) -> Assembly | None:
    """The scene as it would be with the part written there, loaded; None where it cannot be written so."""
    names = assembly.scene.layouts
    name = next(f"tried {k}" for k in range(len(names) + 1) if f"tried {k}" not in names)
    try:
        return _loaded(_planned(assembly, part, pose, name, ""), assembly, name)
    except SceneError:
        return None


def _loaded(plan: Plan, assembly: Assembly, name: str) -> Assembly:
    contents = {os.path.realpath(edit.path): edit.after for edit in plan.edits}
    return assemble(Written(assembly.scene.path, contents).scene(name))


def _planned(assembly: Assembly, part: str, pose: Pose, name: str, note: str) -> Plan:
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
    return planned(scene, changes)


def _refuse_short(assembly: Assembly, session: Session, there: Assembly, part: str) -> None:
    """Refuse a layout in which more falls short than with the part alone put there: other things may follow it."""
    short = newly_short(put_elsewhere(assembly, part, there.poses[part]), there, session)
    if short is not None:
        a, b = short.subjects
        what = f"with part {part!r} there, {a} and {b} fall short, or may: one goes along, or is made anew"
        raise _refused(what, "images, copies, what rests on it and its air follow what the file says", _BY_HAND)


def _refuse_elsewhere(assembly: Assembly, part: str, pose: Pose) -> None:
    """Refuse a layout that would put the part anywhere else: it may be moved by what the file says of it."""
    there = assembly.poses[part]
    shifted = float(np.abs(there.translation - pose.translation).max())
    turned = float(np.abs(there.rotation - pose.rotation).max())
    if shifted > _OFF or turned > 1e-5:
        why = "its place follows from more: it is mirrored, rests on a part, or hangs on what was drawn open"
        raise _refused(f"no layout can put part {part!r} there by its `at`", why, _BY_HAND)


def _refused(what: str, why: str, mend: str) -> SceneError:
    return SceneError([Fault(None, what, why, mend)])
