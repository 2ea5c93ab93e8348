"""The assembly with one part, and all that hangs on it, put elsewhere, to be checked as if it were drawn there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from packcheck.assembly.assembly import Assembly, drawn_at
from packcheck.frames import Pose, turn_degrees
from packcheck.kinematics.motions import Motions, at_rest
from packcheck.notknown.account import Account
from packcheck.placing.placing import SolidMaker, poses
from packcheck.placing.settling import settled
from packcheck.scene.model.scene import Part, Scene, Triple
from packcheck.scene.model.standing import leaders
from packcheck.solids.core.solid import Solid

__all__ = ["is_followed", "put_elsewhere", "stands_in"]


def put_elsewhere(assembly: Assembly, part: str, pose: Pose) -> Assembly:
    """The assembly with the own frame of `part` at `pose` in the car, all at rest.

    What hangs on it goes along, and the lines of motions that are told in it; so do its images, and what rests on
    it. Rules and tolerances are those of before.
    """
    at, turn = stands_in(assembly, part, pose)
    scene = assembly.scene
    scene = replace(scene, parts={**scene.parts, part: _free(scene.parts[part], at, turn)})
    if assembly.motions.carrying(part) or is_followed(assembly, part):
        scene = settled(_drawn_there(assembly, scene, part, pose), _Made(assembly))
    drawn = poses(scene)
    stands = at_rest(scene, drawn)
    parts = {name: placed.at(stands[name]) for name, placed in assembly.parts.items()}
    motions = Motions(scene, drawn) if scene.motions else assembly.motions
    return replace(
        assembly,
        scene=scene,
        poses=stands,
        parts=parts,
        boxes=np.array([placed.box() for placed in parts.values()]).reshape(-1, 2, 3),
        datums=replace(assembly.datums, frames={name: stands[name] for name in assembly.datums.frames}),
        motions=motions,
        account=Account.of(scene, motions, drawn, parts, assembly.surveyed),
    )


class _Made(SolidMaker):
    """The solids of an assembly, as they are."""

    def __init__(self, assembly: Assembly) -> None:
        super().__init__()
        self._parts = assembly.parts

    def solids(self, part: Part) -> tuple[Solid, ...]:
        return self._parts[part.name].solids


def _drawn_there(assembly: Assembly, scene: Scene, part: str, pose: Pose) -> Scene:
    """The scene with the part drawn where it stands at `pose` once all is at rest."""
    by = pose @ assembly.poses[part].inverse()
    local = drawn_at(assembly, part, by)
    x, y, z = (float(value) for value in local.translation)
    there = replace(scene.parts[part], at=(x, y, z), turn=turn_degrees(local.rotation))
    return replace(scene, parts={**scene.parts, part: there})


def is_followed(assembly: Assembly, part: str) -> bool:
    """Whether anything stands where a mirror, or a rest on what would be moved, puts it."""
    moved = assembly.hanging_on(part)
    others = (other for other in assembly.scene.parts.values() if other.name != part)
    return any(not moved.isdisjoint(leaders(other.mirror, other.rest)) for other in others)


def _free(part: Part, at: Triple, turn: Triple) -> Part:
    """The part with a place of its own: it rests on nothing, and where no mirror shows it."""
    mirror = replace(part.mirror, placed=False, turned=False) if part.mirror else None
    return replace(part, at=at, turn=turn, faces=(), placed=True, rest=None, mirror=mirror)


def stands_in(assembly: Assembly, part: str, pose: Pose) -> tuple[Triple, Triple]:
    """`at`, mm, and `turn`, degrees, of a part in what it is placed in, for its own frame to stand at `pose`."""
    own = assembly.carrier(part).inverse() @ pose
    x, y, z = (float(value) for value in own.translation)
    return (x, y, z), turn_degrees(own.rotation)
