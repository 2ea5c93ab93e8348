r"""Parts placed by their faces: where their own zero must stand, for each face to stand where the file says.

       front: 60 aft                    The part as it lies after its turn, in its true box; the wrap is left
0 ...... |=====+=====|  ---> aft        out, as it is for anchors. On an axis without a face the middle of the
            \__ own zero                box stands at 0.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

from packcheck.arrays import Floats
from packcheck.assembly.placing import SolidMaker
from packcheck.errors import Fault, SceneError
from packcheck.frames import turn_matrix
from packcheck.scene.model import Face, Part, Scene
from packcheck.tolerances import FACE_SLACK

__all__ = ["by_coordinates"]

AXES: Final = (0, 1, 2)


def by_coordinates(scene: Scene, maker: SolidMaker) -> Scene:
    """The scene with every part that is placed by faces put `at` a place; on an axis where it rests, anywhere.

    A face that rests stays with its part.

    Raises
    ------
    SceneError
        With every pair of opposite faces that disagrees with the size of its part.
    """
    by_faces = [part for part in scene.parts.values() if part.faces]
    if not by_faces:
        return scene
    extents = {part.name: maker.extents(part, turn_matrix(part.turn)) for part in by_faces}
    faults = [fault for part in by_faces for fault in _disagreeing(part, extents[part.name])]
    if faults:
        raise SceneError(faults)
    put = {part.name: _put(part, extents[part.name]) for part in by_faces}
    return replace(scene, parts={**scene.parts, **put})


def _put(part: Part, extents: Floats) -> Part:
    at = [
        _coordinate([face for face in part.faces if face.axis == axis and not face.on], extents[:, axis])
        for axis in AXES
    ]
    return replace(part, at=(at[0], at[1], at[2]), faces=tuple(face for face in part.faces if face.on))


def _coordinate(faces: Sequence[Face], extent: Floats) -> float:
    """Where the own zero stands along one axis; between two faces that agree, half the rounding to each."""
    if not faces:
        return -float(extent[0] + extent[1]) / 2
    return sum(face.at - float(extent[int(face.sign > 0)]) for face in faces) / len(faces)


def _disagreeing(part: Part, extents: Floats) -> Iterator[Fault]:
    for axis in AXES:
        pair = [face for face in part.faces if face.axis == axis]
        size = float(extents[1, axis] - extents[0, axis])
        if len(pair) == 2 and abs(pair[1].at - pair[0].at - size) > FACE_SLACK:
            yield _disagreement(part, pair[0], pair[1], size)


def _disagreement(part: Part, low: Face, high: Face, size: float) -> Fault:
    apart = high.at - low.at
    what = (
        f"part {part.name!r}: {low.name} at {low.at:.6g} mm and {high.name} at {high.at:.6g} mm are {apart:.6g} mm "
        f"apart, the size of its shape there is {size:.6g} mm"
    )
    mend = "mend one of the three, or leave out one face"
    if abs(apart + size) <= FACE_SLACK:
        mend = f"exchange {low.name} and {high.name}, or mend their signs"
    marks = [face.mark for face in (low, high) if face.mark]
    return Fault(max(marks, default=part.mark), what, "two opposite faces and the size say one thing twice", mend)
