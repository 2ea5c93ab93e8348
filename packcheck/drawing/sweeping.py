"""A motion to look at: copies of what it carries, along its way. A picture, not the proof."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np

from packcheck.arrays import Floats, frozen
from packcheck.assembly.assembly import Assembly
from packcheck.drawing.looks import surfaces, up_from_car
from packcheck.drawing.spun import spun_surfaces
from packcheck.errors import Fault, SceneError
from packcheck.kinematics.joints import carried
from packcheck.kinematics.motions import Drive
from packcheck.scene.model.motion import FullTurn
from packcheck.scene.text.hints import nearest
from packcheck.solids.exports import exported
from packcheck.surfaces import UNSURE, shade

__all__ = ["sweep_settings", "swept_bay"]


def sweep_settings(drives: tuple[Drive, ...], copies: int) -> list[Floats]:
    """Settings (k,) along a motion of one parameter, evenly; of several, all ends of one with all of the others."""
    if len(drives) == 1:
        return [np.array([value]) for value in np.linspace(drives[0].low, drives[0].high, copies)]
    return [np.array(ends) for ends in product(*((drive.low, drive.high) for drive in drives))]


def swept_bay(assembly: Assembly, motion: str, copies: int, *, alone: bool = False) -> bytes:
    """The bay at rest as GLB, with copies of what `motion` carries along its way; `alone` leaves out the rest.

    Of a full turn, all that is swept as well.

    Raises SceneError when the scene has no such motion.
    """
    motions = assembly.scene.motions
    if motion not in motions:
        listed = f"its motions are {', '.join(motions)}" if motions else "it has no motions"
        what = f"{assembly.scene.path}: there is no motion {motion!r} in this scene"
        raise SceneError([Fault(None, what, mend=nearest(motion, motions) or listed)])
    drives = assembly.motions.drives[motion]
    shown = []
    for surface in surfaces(assembly):
        if motion not in assembly.motions.carrying(surface.name):
            shown += [] if alone else [(surface, shade(surface.kinds))]
            continue
        for count, setting in enumerate(sweep_settings(drives, copies), start=1):
            pose = carried(assembly.motions.chain_at(surface.name, motion, setting), setting)
            moved = frozen(pose.apply(surface.vertices))
            shown.append((replace(surface, name=f"{surface.name} {count}", vertices=moved), UNSURE))
    if isinstance(motions[motion].movement, FullTurn):
        shown += [(surface, UNSURE) for surface, _ in spun_surfaces(assembly, motion)]
    return exported(shown, ".glb", up_from_car(assembly.scene.axes))
