"""A size: a length that something can be made to, or the word for one that two opposite faces give."""

from __future__ import annotations

from typing import Annotated, Final, TypeAlias, cast

from pydantic import PlainValidator, ValidationInfo

from packcheck.scene.quantities.slots import MEASURE, Context, Untold, Wrong, read_length
from packcheck.scene.text.nodes import Text

__all__ = ["BY_FACES", "SMALLEST", "ByFaces", "Size", "by_faces"]

SMALLEST: Final = 0.001
"""mm. Nothing smaller can be made or measured: a smaller size is a slip of the unit."""

BY_FACES: Final = "faces"
"""The word for a size that two opposite faces give, or one and the middle."""


class ByFaces:
    """A size, mm, that faces gave, or why they gave none; stands where `BY_FACES` was written."""

    def __init__(self, size: float | Wrong | Untold) -> None:
        self.size = size


def by_faces(value: object, info: ValidationInfo) -> bool:
    """Whether a size is left to the faces; a param of that name comes first."""
    return isinstance(value, Text) and value.strip() == BY_FACES not in cast(Context, info.context).params


def _size(value: object, info: ValidationInfo) -> float:
    if isinstance(value, ByFaces):
        if isinstance(value.size, float):
            return value.size
        raise value.size
    if by_faces(value, info):
        raise Wrong(
            f"is {BY_FACES}, needs a size",
            why="two faces give the size of a part of one solid, but no bore and no layer",
        )
    length = read_length(value, info)
    if length < SMALLEST:
        needed = "more than 0 mm" if length <= 0 else f"at least {SMALLEST:g} mm"
        raise Wrong(f"is {length:g} mm, needs {needed}")
    return length


Size: TypeAlias = Annotated[float, PlainValidator(_size), MEASURE]
