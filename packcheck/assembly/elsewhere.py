"""The assembly with one part, and all that hangs on it, put elsewhere, to be checked as if it were drawn there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from packcheck.assembly.assembly import Assembly, displaced
from packcheck.frames import Pose, turn_degrees
from packcheck.kinematics.motions import Motions
from packcheck.notknown.account import Account
from packcheck.scene.model import Part, Triple

__all__ = ["put_elsewhere", "stands_in"]


def put_elsewhere(assembly: Assembly, part: str, pose: Pose) -> Assembly:
    """The assembly with the own frame of `part` at `pose` in the car, all at rest.

    Frames that hang on it go along, and the lines of motions that are told in those. Rules and tolerances are those
    of before.
    """
    scene = assembly.scene
    carried = pose @ assembly.poses[part].inverse()
    moved = displaced(assembly, assembly.hanging_on(part), carried)
    poses, parts = moved.poses, moved.parts
    boxes = np.array([placed.box() for placed in parts.values()]).reshape(-1, 2, 3)
    at, turn = stands_in(assembly, part, pose)
    there = _free(scene.parts[part], at, turn)
    scene = replace(scene, parts={**scene.parts, part: there})
    drawn = {name: assembly.motions.undone(name).inverse() @ stands for name, stands in poses.items()}
    motions = Motions(scene, drawn) if scene.motions else assembly.motions
    return replace(
        moved,
        scene=scene,
        boxes=boxes,
        datums=replace(assembly.datums, frames={name: poses[name] for name in assembly.datums.frames}),
        motions=motions,
        account=Account.of(scene, motions, drawn, parts, assembly.surveyed),
    )


def _free(part: Part, at: Triple, turn: Triple) -> Part:
    """The part with a place of its own: it rests on nothing, and where no mirror shows it."""
    mirror = replace(part.mirror, placed=False, turned=False) if part.mirror else None
    return replace(part, at=at, turn=turn, faces=(), placed=True, rest=None, mirror=mirror)


def stands_in(assembly: Assembly, part: str, pose: Pose) -> tuple[Triple, Triple]:
    """`at`, mm, and `turn`, degrees, of a part in what it is placed in, for its own frame to stand at `pose`."""
    own = assembly.carrier(part).inverse() @ pose
    x, y, z = (float(value) for value in own.translation)
    return (x, y, z), turn_degrees(own.rotation)
