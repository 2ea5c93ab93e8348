"""Air that parts need, as volumes of their own: they hang on the part, and nothing else may enter them.

      +------+-----+
air   | part | air |      as wide as the part's own box, with all its layers; as deep as the scene says
      +------+-----+
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from packcheck.arrays import Floats
from packcheck.frames import IDENTITY, turn_matrix
from packcheck.placing.placing import SolidMaker
from packcheck.scene.model.scene import Box, Need, Part, Scene, SolidSpec

__all__ = ["with_needs"]

_WORDS = {
    "front": "ahead of",
    "rear": "behind",
    "left": "on the left of",
    "right": "on the right of",
    "top": "above",
    "bottom": "below",
}


def with_needs(scene: Scene, maker: SolidMaker) -> Scene:
    """The scene with a part for each side on which a part needs air, behind that part; parts stand already."""
    if not any(part.needs for part in scene.parts.values()):
        return scene
    parts: dict[str, Part] = {}
    for name, part in scene.parts.items():
        parts[name] = part
        parts |= {made.name: made for made in (_air(part, need, maker) for need in part.needs)}
    return replace(scene, parts=parts)


def _air(part: Part, need: Need, maker: SolidMaker) -> Part:
    """The volume of one side, in the part's own frame, or that of its one shape."""
    single = part.solids[0] if len(part.solids) == 1 else None
    turn = single.turn if single else (0.0, 0.0, 0.0)
    box = _own_box(part, turn, maker)
    side = int(need.sign > 0)
    outer = float(box[side, need.axis])
    box[1 - side, need.axis], box[side, need.axis] = outer, outer + need.sign * need.depth
    x, y, z = (turn_matrix(turn) @ box.mean(axis=0)).tolist()
    wide, deep, high = (box[1] - box[0]).tolist()
    return Part(
        f"air needed {_WORDS[need.side]} {part.name}",
        (SolidSpec(Box((wide, deep, high)), ("mid", "mid", "mid"), (x, y, z), turn, part.mark),),
        kinds=("access",),
        parent=part.name,
        fixed=part.fixed,
        mark=part.mark,
        stage=part.stage,
        family=f"air needed {_WORDS[need.side]} {part.family}" if part.family else "",
        mirror=replace(part.mirror, of="", across="") if part.mirror and part.mirror.shaped else None,
        air_of=part.name,
        held=need.held,
    )


def _own_box(part: Part, turn: tuple[float, float, float], maker: SolidMaker) -> Floats:
    """Least and greatest corner (2, 3), mm, of a part with its layers, along axes turned in its own frame.

    Before it is reflected, if it is a mirror image.
    """
    bare = replace(part, mirror=None)
    reach = maker.extents(bare, IDENTITY.rotation @ turn_matrix(turn).T, lined=True)
    box: Floats = reach + np.array([[-part.wrap], [part.wrap]])
    return box
