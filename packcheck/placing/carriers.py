r"""Who carries whom: how two parts hang together, as far as clearance rules ask.

car --- frame --- part --- part        a part placed in a part makes one rigid whole with it,
              \-- part                 known by its outermost part; that one hangs on a frame
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

from packcheck.scene.model.scene import CAR, Scene

__all__ = ["Carrier", "Relation", "carrier", "relation"]


class Relation(IntEnum):
    """How two parts hang together, closest first."""

    ONE_PART = 0  # in one another, or both on the same part
    ONE_FRAME = 1  # both on the same named frame
    APART = 2


@dataclass(frozen=True, slots=True)
class Carrier:
    """The outermost part something belongs to, and the frame that one hangs on."""

    part: str
    frame: str


def carrier(scene: Scene, name: str) -> Carrier:
    """What carries the part `name`, found by climbing from parent to parent up to the car."""
    part, node = name, name
    while node != CAR:
        if node in scene.parts:
            part, node = node, scene.parts[node].parent
        else:
            node = scene.frames[node].parent
    return Carrier(part, scene.parts[part].parent)


def relation(a: Carrier, b: Carrier) -> Relation:
    """How two parts hang together. The car itself carries everything, so it makes nothing one."""
    if a.part == b.part:
        return Relation.ONE_PART
    return Relation.ONE_FRAME if a.frame == b.frame != CAR else Relation.APART
