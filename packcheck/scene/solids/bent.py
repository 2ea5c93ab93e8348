"""The grammar of strips: flat bars bent flatwise through points."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Final, TypeAlias, cast, get_args

import numpy as np
from pydantic import Field, PlainValidator, ValidationInfo, model_validator

from packcheck.arrays import Points, Vector
from packcheck.scene.model import scene as model
from packcheck.scene.model.directions import AXIS_NAMES, WORDS, axis_of
from packcheck.scene.model.scene import Shape, Triple
from packcheck.scene.quantities.placement import Point, Strict
from packcheck.scene.quantities.sizes import SMALLEST, Size
from packcheck.scene.quantities.slots import Context, Length, Maybe, Untold, Wrong, many, words, written
from packcheck.scene.quantities.soundness import check_pipe
from packcheck.scene.text.hints import nearest

__all__ = ["Strip"]

_WAYS: Final = (*AXIS_NAMES, *WORDS)


def _axis(value: object, info: ValidationInfo) -> int:
    """An axis (0, 1, 2), by its name or by a word for either way along it."""
    if not isinstance(value, str) or value not in _WAYS:
        needed = f"needs x, y or z, or a direction such as {get_args(model.Direction)[2]}"
        raise Wrong(f"is {written(value)}, {needed}", mend=lambda: nearest(str(value), _WAYS))
    if value in AXIS_NAMES:
        return AXIS_NAMES.index(cast(model.AxisName, str(value)))
    ways = cast(Context, info.context).axes
    if not ways:
        raise Untold()
    return axis_of(ways, WORDS[str(value)]).axis


FlatSlot: TypeAlias = Annotated[int, PlainValidator(_axis), words(*_WAYS)]


class Strip(Strict):
    """A flat bar, bent flatwise: brackets, straps, hangers."""

    width: Size = Field(description="Across the flat.")
    thickness: Size
    through: Annotated[list[Point], many(2)] = Field(
        description="Points of its middle line, where the straights would meet."
    )
    bend: Length = Field(default=0.0, description="Bend radius, to the middle of the thickness; 0: mitred.")
    flat: Maybe[FlatSlot] = Field(
        default=None, description="Which way its width lies: x, left. Only a straight one has to say."
    )

    @model_validator(mode="after")
    def _bendable(self) -> Strip:
        if 0 < self.bend < self.thickness / 2:
            raise Wrong(
                f"is {self.bend:g} mm, needs at least {self.thickness / 2:g} mm, half the thickness",
                why="bend is the radius to the middle of the thickness; the inside would fold over itself",
                mend=f"raise bend to {self.thickness / 2:g} mm or more, or leave it out for mitred corners",
                key=("bend",),
            )
        check_pipe(self.thickness, self.through, self.bend or self.thickness / 2)
        _across(self.through, self.flat)
        return self

    def shape(self) -> Shape:
        x, y, z = _across(self.through, self.flat).tolist()
        return model.Strip(self.width, self.thickness, tuple(self.through), (x, y, z), self.bend)


def _across(through: Sequence[Triple], flat: int | None) -> Vector:
    """The unit vector (3,) along the width: the axis that was named, or square to the plane of the points."""
    points = np.array(through)
    legs = np.diff(points, axis=0)
    width = _square_to(legs) if flat is None else np.eye(3)[flat]
    off = np.abs((points - points[0]) @ width)
    if np.any(off > SMALLEST):
        point = int(np.argmax(off > SMALLEST))
        plane = "its first bend" if flat is None else f"{AXIS_NAMES[flat]} along which its width lies"
        raise Wrong(
            f"stands {off[point]:.6g} mm off the plane {'of' if flat is None else 'square to'} {plane}",
            why="a strip bends flatwise only",
            mend="bring its points into one plane, or make it of two strips",
            key=("through", point),
        )
    return width


def _square_to(legs: Points) -> Vector:
    """The unit vector square to the first two legs that are not in line."""
    for leg in legs[1:]:
        square: Vector = np.cross(legs[0], leg)
        size = np.linalg.norm(square)
        if size > 1e-9 * np.linalg.norm(legs[0]) * np.linalg.norm(leg):
            return square / size
    raise Wrong(
        "runs straight, needs flat", why="its points do not tell which way its width lies", mend="add flat: x"
    )
