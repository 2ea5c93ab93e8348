"""The grammar of copies: parts like another, mirrored, or repeated in a row."""

from __future__ import annotations

from typing import Annotated, Final, TypeAlias

from pydantic import BeforeValidator, Field, PlainValidator, WithJsonSchema

from packcheck.scene.quantities.placement import Point, Strict
from packcheck.scene.quantities.slots import Flag, Maybe, Name, Wrong, written
from packcheck.scene.text.nodes import Number

__all__ = ["MOST_COPIES", "Copies", "MirrorOf", "Repeat"]

MOST_COPIES: Final = 200
"""Copies of one part. What needs more is better drawn as one part of a few solids, or as a mesh."""


def _count(value: object) -> int:
    if isinstance(value, Number) and float(value).is_integer() and 1 <= value <= MOST_COPIES:
        return int(value)
    raise Wrong(f"is {written(value)}, needs a whole number from 1 to {MOST_COPIES}")


Count: TypeAlias = Annotated[
    int, PlainValidator(_count), WithJsonSchema({"type": "integer", "minimum": 1, "maximum": MOST_COPIES})
]


class Repeat(Strict):
    """A row of copies: NAME.1 stands where the part does, each next one a step farther."""

    count: Count = Field(description="How many there are in all.")
    step: Point = Field(description="From each to the next, along x, y, z of the frame it stands in.")


class MirrorOf(Strict):
    """The part whose mirror image this is, and across what."""

    part: Name = Field(description="The part that is mirrored.")
    across: Maybe[Name] = Field(
        default=None, description="The frame whose middle, left to right, is the mirror; else the centreline."
    )


def _mirrored(value: object) -> object:
    return value if isinstance(value, dict) else {"part": value}


class Copies(Strict):
    """How a part takes after another, and how often it is there."""

    like: Maybe[Name] = Field(
        default=None, description="A part or template whose keys it takes, where it has none of its own."
    )
    template: Flag = Field(default=False, description="Not in the car: only there for others to be like it.")
    mirror_of: Maybe[Annotated[MirrorOf, BeforeValidator(_mirrored)]] = Field(
        default=None, description="The part whose mirror image, across the centreline, this is."
    )
    repeat: Maybe[Repeat] = Field(default=None, description="A row of copies: NAME.1, NAME.2 and so on.")
