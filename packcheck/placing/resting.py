r"""Parts of which one face rests on another part: led up to it along an axis of their frame until the two touch.

 |  |
 |A |   comes down from far above, the other two axes placed already; where it first touches, it is backed
 +--+   off by what the file says. Only what it meets on this way counts, so that a part comes to rest on the
  by    rim of a hole it does not fit through, and goes down one it does.
___/\__B
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np

from packcheck.arrays import frozen
from packcheck.errors import Fault, QueryError
from packcheck.frames import Pose
from packcheck.proximity.contact import first_contact
from packcheck.proximity.separation import Placed
from packcheck.scene.model.scene import Face, Part, Rest
from packcheck.solids.core.solid import Solid

__all__ = ["rested", "resting_face"]

_WORDS: Mapping[str, tuple[str, str]] = {
    "bottom": ("above", "coming down from above"),
    "top": ("below", "coming up from below"),
    "right": ("left_of", "coming from the left"),
    "left": ("right_of", "coming from the right"),
    "rear": ("ahead_of", "coming from ahead"),
    "front": ("behind", "coming from behind"),
}


def resting_face(part: Part) -> Face | None:
    """The face of a part that rests on others, or has come to rest, if one does."""
    rest = part.rest
    if rest is not None:
        return Face(rest.face, rest.axis, -rest.sign, rest.off, part.mark, rest.on)
    return next((face for face in part.faces if face.on), None)


def rested(
    part: Part, face: Face, solids: tuple[Solid, ...], parent: Pose, placed: Callable[[str], Placed]
) -> Part | Fault:
    """The part put `at` where its `face` rests, or the fault that it meets none of what it should rest on.

    `part` stands right but for the axis of that face, where it may stand anywhere. `placed` gives parts as they
    stand. Wraps touch as what they cover does.
    """
    out = np.zeros(3)
    out[face.axis] = -face.sign  # the way it comes from, parent's axes
    mover = Placed(part.name, solids, parent @ Pose.of(part.at, part.turn))
    try:
        met = {name: first_contact(mover, placed(name), frozen(parent.rotate(out))) for name in face.on}
    except QueryError:
        return _lost(part, face)
    shifts = {name: shift for name, shift in met.items() if shift is not None}
    if not shifts:
        return _missed(part, face)
    first = max(shifts, key=lambda name: shifts[name])
    at = np.array(part.at) + out * (shifts[first] + face.at)
    assert face.name != "middle"
    others = (name for name in face.on if name != first)
    rest = Rest((first, *others), face.axis, -face.sign, face.name, face.at)
    return replace(part, at=(float(at[0]), float(at[1]), float(at[2])), faces=(), rest=rest)


def _lost(part: Part, face: Face) -> Fault:
    others = " or ".join(repr(name) for name in face.on)
    what = f"part {part.name!r}: where {face.name} comes to rest on {others} cannot be told"
    why = "it slides past so closely that it may touch anywhere, or the sizes are beyond all measure"
    return Fault(face.mark or part.mark, what, why, "mend its other faces, or give this one a coordinate")


def _missed(part: Part, face: Face) -> Fault:
    word, coming = _WORDS[face.name]
    others = " or ".join(repr(name) for name in face.on)
    what = f"part {part.name!r}: {face.name} rests {word} {others}, but {coming} it passes by without touching"
    why = "its other two axes place it, and there the one is not in the way of the other"
    return Fault(face.mark or part.mark, what, why, "mend its other faces, or give this one a coordinate")
