"""Scene to assembly: everything posed and solid, rules and tolerances at hand, ready to be studied."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

import numpy as np

from packcheck.arrays import Floats
from packcheck.clearance.rules import RuleBook
from packcheck.datums import AxisWords, Datums
from packcheck.errors import SceneError
from packcheck.frames import IDENTITY, Pose
from packcheck.kinematics.motions import Motions, at_rest
from packcheck.notknown.account import Account
from packcheck.notknown.doubt import Doubt
from packcheck.placing.beyond import Beyond
from packcheck.placing.placing import SolidMaker, Stock, poses
from packcheck.placing.reserved import with_needs
from packcheck.placing.settling import settled
from packcheck.placing.stages import gone_by, unasked, without
from packcheck.proximity import Placed
from packcheck.scene.model.scene import CAR, Frame, Part, Scene
from packcheck.solids.meshes.files import MeshAccount
from packcheck.surveying.survey_faults import survey_faults
from packcheck.surveying.surveyed import Surveyed, surveyed

__all__ = ["Assembly", "assemble", "displaced", "drawn_at"]


@dataclass(frozen=True, slots=True, eq=False)
class Assembly:
    """A scene put together. `poses` hold every frame and part in the car; `boxes` (n, 2, 3) mm the parts' boxes.

    All at rest: every motion at its 0, wherever its parts were drawn.

    `gone` are the parts that are no longer in the car at the stage to be checked: frames, here. `unasked` are the
    measures that were taken from them.
    """

    scene: Scene
    poses: Mapping[str, Pose]
    parts: Mapping[str, Placed]
    accounts: Mapping[str, tuple[MeshAccount, ...]]
    rules: RuleBook
    datums: Datums
    boxes: Floats
    motions: Motions
    account: Account
    beyond: Beyond
    gone: tuple[str, ...] = ()
    surveyed: Surveyed | None = None
    unasked: tuple[str, ...] = ()

    def box(self, part: str) -> Floats:
        """Least and greatest corner (2, 3) of a part, mm, in the car."""
        corners: Floats = self.boxes[list(self.parts).index(part)]
        return corners

    def doubt(self, a: str, b: str) -> Doubt:
        """What is not known of where two parts stand against each other, at rest."""
        return self.account.between(a, b)

    def convex(self, a: str, b: str) -> bool:
        """Whether two parts are both convex."""
        return self.parts[a].convex and self.parts[b].convex

    def carrier(self, name: str) -> Pose:
        """The pose of what a part is placed in, car frame."""
        return self.poses.get(self.scene.parts[name].parent, IDENTITY)

    def carried_by(self, name: str) -> tuple[str, ...]:
        """Every part that hangs on part `name`, directly or not, in scene order."""
        hanging = self.hanging_on(name)
        return tuple(part for part in self.scene.parts if part in hanging and part != name)

    def hanging_on(self, name: str) -> frozenset[str]:
        """A part, and every part and frame that hangs on it, directly or not."""
        nodes: list[Frame | Part] = [*self.scene.frames.values(), *self.scene.parts.values()]
        hanging = {name}
        while more := {node.name for node in nodes if node.parent in hanging} - hanging:
            hanging |= more
        return frozenset(hanging)


def drawn_at(assembly: Assembly, part: str, by: Pose) -> Pose:
    """Where a part must be drawn, in what it hangs on, to stand displaced by `by`, car frame, with all at rest."""
    motions, parent = assembly.motions, assembly.scene.parts[part].parent
    drawn = motions.undone(part).inverse() @ by @ assembly.poses[part]
    carrier = motions.undone(parent).inverse() @ assembly.carrier(part)
    return carrier.inverse() @ drawn


def displaced(assembly: Assembly, nodes: Collection[str], by: Pose) -> Assembly:
    """The assembly with parts and frames displaced, car frame; boxes, doubts and lines are those of before."""
    poses = {name: by @ pose if name in nodes else pose for name, pose in assembly.poses.items()}
    parts = {name: part.at(poses[name]) if name in nodes else part for name, part in assembly.parts.items()}
    return replace(assembly, poses=poses, parts=parts)


def assemble(scene: Scene, *, use_cache: bool = True, stock: Stock | None = None, trust: bool = True) -> Assembly:
    """Put a scene together; solids of a `stock` are used again, and new ones added to it.

    Raises SceneError naming every mesh that cannot be used, every part whose faces disagree with its size, that
    meets nothing where it should rest, or what a survey lacks; with `trust` off, a survey that lacks something is
    used as far as it goes.
    """
    maker = SolidMaker(use_cache=use_cache, stock=stock)
    solids = {name: maker.solids(part) for name, part in scene.parts.items()}
    if maker.faults:
        raise SceneError(maker.faults)
    datums = [name for name, frame in scene.frames.items() if name != CAR and frame.datum]
    gone = gone_by(scene)
    standing = settled(scene, maker)
    measured = surveyed(standing, maker)
    if measured is not None:
        if trust and (faults := survey_faults(measured)):
            raise SceneError(faults)
        standing = settled(measured.put(scene), maker)  # what rests on a part set in place rests there
    dropped = unasked(scene, gone)
    scene = with_needs(without(standing, gone), maker)
    solids |= {name: maker.solids(part) for name, part in scene.parts.items() if part.air_of}
    drawn = poses(scene)
    placed_at = at_rest(scene, drawn)
    parts = {name: Placed(name, solids[name], placed_at[name]) for name in scene.parts}
    boxes = np.array([part.box() for part in parts.values()]).reshape(-1, 2, 3)
    axes = scene.axes
    frames = {name: placed_at[name] for name in datums}
    motions = Motions(scene, drawn)
    return Assembly(
        scene,
        placed_at,
        parts,
        {name: tuple(accounts) for name, accounts in maker.accounts.items() if name in parts},
        RuleBook.of(scene),
        Datums(frames, AxisWords(axes.x, axes.y, axes.z, scene.units)),
        boxes,
        motions,
        Account.of(scene, motions, drawn, parts, measured),
        Beyond(scene, maker),
        gone,
        measured,
        dropped,
    )
