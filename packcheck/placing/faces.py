r"""Parts placed by their faces: where their own zero must stand, for each face to stand where the file says.

       front: 60 aft                    The part as it lies after its turn, in its true box; the wrap is left
0 ...... |=====+=====|  ---> aft        out, as it is for anchors. A middle is that of the box; on an axis without a
            \__ own zero                face or a middle, it stands at 0.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations
from typing import Final

from packcheck.arrays import Floats
from packcheck.errors import Fault
from packcheck.frames import turn_matrix
from packcheck.placing.placing import SolidMaker
from packcheck.scene.model.scene import Face, Part
from packcheck.tolerances import FACE_SLACK

__all__ = ["by_coordinates"]

AXES: Final = (0, 1, 2)


def by_coordinates(part: Part, maker: SolidMaker) -> Part | list[Fault]:
    """The part put `at` the place that its faces give; on an axis where one rests, anywhere.

    A face that rests stays with the part. Instead, a fault for every axis whose faces, or whose face and middle,
    disagree with the size of the part.
    """
    extents = maker.extents(part, turn_matrix(part.turn))
    faults = list(_disagreeing(part, extents))
    return faults or _put(part, extents)


def _put(part: Part, extents: Floats) -> Part:
    at = [
        part.at[axis] + _coordinate([f for f in part.faces if f.axis == axis and not f.on], extents[:, axis])
        for axis in AXES
    ]
    return replace(part, at=(at[0], at[1], at[2]), faces=tuple(face for face in part.faces if face.on))


def _coordinate(faces: Sequence[Face], extent: Floats) -> float:
    """Where the own zero stands along one axis; between faces that agree, the rounding shared out."""
    if not faces:
        return -float(extent[0] + extent[1]) / 2
    return sum(_zero(face, extent) for face in faces) / len(faces)


def _zero(face: Face, extent: Floats) -> float:
    """Where the own zero stands along one axis for this face alone, or for a middle."""
    low, high = float(extent[0]), float(extent[1])
    return face.at - {-1: low, 0: (low + high) / 2, 1: high}[face.sign]


def _disagreeing(part: Part, extents: Floats) -> Iterator[Fault]:
    for axis in AXES:
        stated = [face for face in part.faces if face.axis == axis]
        size = float(extents[1, axis] - extents[0, axis])
        for low, high in combinations(stated, 2):
            if abs(_zero(low, extents[:, axis]) - _zero(high, extents[:, axis])) > FACE_SLACK:
                yield _disagreement(part, low, high, size)
                break


def _written(face: Face, other: Face) -> str:
    """Where a face is written, where that is not beside the other one: it is taken from the part this is `like`."""
    mark, beside = face.mark, other.mark
    if mark is None or beside is None or (mark.file, mark.line) == (beside.file, beside.line):
        return ""
    return f" (line {mark.line})" if mark.file == beside.file else f" ({mark})"


def _disagreement(part: Part, low: Face, high: Face, size: float) -> Fault:
    apart = high.at - low.at
    whole = low.sign and high.sign
    needed = size if whole else size / 2
    what = (
        f"part {part.name!r}: {low.name} at {low.at:.6g} mm{_written(low, high)} and "
        f"{high.name} at {high.at:.6g} mm{_written(high, low)} are {apart:.6g} mm "
        f"apart, {'the size' if whole else 'half the size'} of its shape there is {needed:.6g} mm"
    )
    why = "two opposite faces and the size say one thing twice"
    mend = "mend one of the three, or leave out one face"
    if not whole:
        why = "a face, the middle and the size say one thing twice"
        mend = "mend one of the three, or leave out middle"
    if abs(apart + needed) <= FACE_SLACK:
        mend = f"exchange {low.name} and {high.name}, or mend their signs"
    marks = [face.mark for face in (low, high) if face.mark]
    return Fault(max(marks, default=part.mark), what, why, mend)
