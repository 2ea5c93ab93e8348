"""Sizes that two opposite faces give, or a face and the middle: ``box: [faces, 78, 140]`` from front to rear."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final, Literal, TypeAlias, cast

import numpy as np
from pydantic import TypeAdapter, ValidationError, ValidationInfo

from packcheck.arrays import Matrix3
from packcheck.frames import turn_matrix
from packcheck.scene.model.directions import AXIS_NAMES, FACES, Ways, axis_of
from packcheck.scene.model.scene import FaceName
from packcheck.scene.quantities.placement import Faces, Turn, turn_of
from packcheck.scene.quantities.sizes import BY_FACES, ByFaces, by_faces
from packcheck.scene.quantities.slots import Context, Untold, Wrong
from packcheck.tolerances import FACE_SLACK

__all__ = ["sized_by_faces"]

_Pair: TypeAlias = tuple[FaceName, FaceName | Literal["middle"]]
Slots: TypeAlias = Mapping[str | int, str]

SIZED: Final[Mapping[str, Slots]] = {
    "box": {0: "x", 1: "y", 2: "z"},
    "sphere": {"diameter": "any"},
    "cylinder": {"diameter": "across", "length": "along"},
    "capsule": {"diameter": "across", "length": "along"},
    "tube": {"outer": "across", "length": "along"},
    "cone": {"length": "along"},
}
"""The sizes that faces may give, and which way of the shape's own each is measured."""

PAIRS: Final[tuple[tuple[FaceName, FaceName], ...]] = (("front", "rear"), ("left", "right"), ("top", "bottom"))

_FACES: Final[TypeAdapter[Faces]] = TypeAdapter(Faces)
_TURN: Final[TypeAdapter[Any]] = TypeAdapter(Turn)


def sized_by_faces(part: object, info: ValidationInfo) -> object:
    """A part as written, with what its faces give (or why they give nothing) in place of every size `faces`."""
    if not isinstance(part, dict):
        return part
    made = dict(part)
    for key, slots in SIZED.items():
        shape = part.get(key)
        asked = [slot for slot in slots if by_faces(_written(shape, slot), info)]
        if not asked:
            continue
        made[key] = filled = list(shape) if isinstance(shape, list) else dict(cast(dict[str, object], shape))
        for slot in asked:
            filled[slot] = ByFaces(_size(part, slots[slot], _along(shape), info))  # type: ignore[index]
    return made


def _written(shape: object, slot: str | int) -> object:
    if isinstance(shape, dict):
        return shape.get(slot)
    return shape[slot] if isinstance(shape, list) and isinstance(slot, int) and slot < len(shape) else None


def _along(shape: object) -> int | None:
    """The own axis a round solid lies along; none when what is written there is a fault."""
    along = shape.get("along", "z") if isinstance(shape, dict) else "z"
    return AXIS_NAMES.index(along) if along in AXIS_NAMES else None


def _size(
    part: Mapping[str, object], measured: str, along: int | None, info: ValidationInfo
) -> float | Wrong | Untold:
    if "faces" not in part:
        return Wrong(f"is {BY_FACES}, but the part has no faces", mend="write the size, or place the part by faces")
    ways = cast(Context, info.context).axes
    try:
        faces = _FACES.validate_python(part["faces"], context=info.context)
        turn = _TURN.validate_python(part["turn"], context=info.context) if "turn" in part else (0.0, 0.0, 0.0)
    except ValidationError:
        return Untold()
    if along is None or not ways:
        return Untold()
    return _between(faces, measured, along, turn_matrix(turn_of(turn, ways)), ways)


def _between(faces: Faces, measured: str, along: int, rotation: Matrix3, ways: Ways) -> float | Wrong:
    """The size, mm, along the one or the several axes of the frame where it can be measured."""
    own = AXIS_NAMES.index(cast(Any, measured)) if measured in AXIS_NAMES else along
    column = np.abs(rotation[:, own])
    if measured != "any" and np.max(column) != 1.0:
        why = "a part that leans is longer from face to face than along itself"
        return Wrong(
            f"is {BY_FACES}, needs a turn that keeps it square to its frame", why=why, mend="write the size"
        )
    axis = int(np.argmax(column))
    axes = {"any": {0, 1, 2}, "across": {0, 1, 2} - {axis}}.get(measured, {axis})
    pairs = [pair for pair in PAIRS if axis_of(ways, FACES[pair[0]]).axis in axes]
    spans = {told: span for pair in pairs if (told := _pair(pair, faces)) for span in [_span(told, faces, ways)]}
    if not spans:
        needed = ", or ".join(f"both {a} and {b}" for a, b in pairs)
        mend = "give both faces, or one and the middle, or write the size"
        return Wrong(f"is {BY_FACES}, needs {needed}", mend=mend)
    return _agreed(spans, faces)


def _pair(pair: tuple[FaceName, FaceName], faces: Faces) -> _Pair | None:
    """What gives a size between two opposite faces: both of them, or one and the middle."""
    given = [face for face in pair if face in faces.given()]
    if len(given) == 2:
        return pair
    return (given[0], "middle") if given and _middle(given[0], faces) is not None else None


def _middle(face: FaceName, faces: Faces) -> float | None:
    """Where the middle is written to stand on the axis that a face looks along, mm."""
    return next((middle.at for middle in faces.middles() if middle.along(FACES[face])), None)


def _stand(pair: _Pair, faces: Faces) -> tuple[float, float]:
    first, second = pair
    at = faces.given()
    return at[first], cast(float, _middle(first, faces)) if second == "middle" else at[second]


def _span(pair: _Pair, faces: Faces, ways: Ways) -> float:
    """From face to face, mm; from a face to the middle is half of it."""
    first, second = _stand(pair, faces)
    return (first - second) * axis_of(ways, FACES[pair[0]]).sign * (2 if pair[1] == "middle" else 1)


def _agreed(spans: Mapping[_Pair, float], faces: Faces) -> float | Wrong:
    for (a, b), span in spans.items():
        if span <= 0:
            first, second = _stand((a, b), faces)
            apart = span / 2 if b == "middle" else span
            what = f"is {BY_FACES}: {a} at {first:.6g} mm and {b} at {second:.6g} mm are {apart:.6g} mm apart"
            return Wrong(what, mend=f"exchange {a} and {b}, or mend their signs")
    if max(spans.values()) - min(spans.values()) > FACE_SLACK:
        return Wrong(f"is {BY_FACES}, but {' and '.join(_told(spans))}", mend="mend one of them, or write the size")
    return next(iter(spans.values()))


def _told(spans: Mapping[_Pair, float]) -> Iterator[str]:
    for (a, b), span in spans.items():
        apart, half = (span / 2, ", half the size") if b == "middle" else (span, "")
        yield f"{a} and {b} are {apart:.6g} mm apart{half}"
