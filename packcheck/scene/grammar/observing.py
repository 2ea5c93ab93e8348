"""The grammar of one reading: seven kinds, told apart by the key they begin with."""

from __future__ import annotations

from typing import Annotated, Any, Final, Literal, TypeAlias, get_args

from pydantic import BeforeValidator, Discriminator, Field, Tag, WithJsonSchema, model_validator

from packcheck.scene.grammar.sureness import Accuracy, AngleAccuracy
from packcheck.scene.model.scene import CAR, Direction, FaceName
from packcheck.scene.model.survey import ObservationKind
from packcheck.scene.quantities.placement import Strict
from packcheck.scene.quantities.slots import (
    AnyLength,
    Degrees,
    Maybe,
    Name,
    Wrong,
    choice,
    many,
    row,
    words,
    written,
)
from packcheck.scene.text.hints import nearest

__all__ = [
    "KINDS",
    "AngleReading",
    "AnyReading",
    "GapReading",
    "LevelReading",
    "LiesOnReading",
    "Observation",
    "OffsetReading",
    "Pair",
    "PlumbReading",
    "TapeReading",
    "Way",
]

KINDS: Final = get_args(ObservationKind)

_DIRECTIONS: Final = get_args(Direction)
Way: TypeAlias = Annotated[Direction, choice(*_DIRECTIONS), words(*_DIRECTIONS)]
_TO: Final = (*_DIRECTIONS, "level")
_To: TypeAlias = Annotated[Literal["level"] | Direction, choice(*_TO), words(*_TO)]
_FACES: Final = (*get_args(FaceName), "side")
_Face: TypeAlias = Annotated[Literal["side"] | FaceName, choice(*_FACES), words(*_FACES)]

Pair: TypeAlias = Annotated[tuple[Name, Name], row("a, b")]
Three: TypeAlias = Annotated[tuple[Name, Name, Name], row("a, b, c")]
Several: TypeAlias = Annotated[list[Name], many(2)]


def _listed(value: object) -> object:
    return value if isinstance(value, list) else [value]


_READS_SCHEMA = WithJsonSchema(
    {"anyOf": [{"type": ["number", "string"]}, {"type": "array", "items": {"type": ["number", "string"]}}]}
)
Lengths: TypeAlias = Annotated[list[AnyLength], BeforeValidator(_listed), _READS_SCHEMA]
Angles: TypeAlias = Annotated[list[Degrees], BeforeValidator(_listed), _READS_SCHEMA]
Origin: TypeAlias = Annotated[list[Name], BeforeValidator(_listed), _READS_SCHEMA]
_ONE_OR_MORE: Final = "What was read; a list when it was read several times."


class _Observed(Strict):
    with_: Maybe[Name] = Field(default=None, alias="with", description="The instrument it was read with.")


class _Length(_Observed):
    reads: Lengths = Field(default=[], description=_ONE_OR_MORE)
    accuracy: Maybe[Accuracy] = Field(default=None)


class TapeReading(_Length):
    """The distance of two points, straight through the air."""

    tape: Pair

    @model_validator(mode="after")
    def _long(self) -> TapeReading:
        for place, read in enumerate(self.reads):
            if read <= 0:
                raise Wrong(f"is {read:g} mm, needs more than 0 mm", key=("reads", place))
        return self


class OffsetReading(_Length):
    """How far a point stands from another, or from a plane of three, along a direction."""

    offset: Name = Field(description="The point.")
    along: Way = Field(description="The direction it is counted in: up, aft, left...")
    from_: Maybe[Origin] = Field(
        default=None, alias="from", description="A point, a frame or part (its zero), or three points of a plane."
    )
    axes: Name = Field(default=CAR, description="The frame whose directions are meant.")
    step: AnyLength = Field(default=0.0, description="Height of what the tape rested on; added to what it reads.")

    @model_validator(mode="after")
    def _one_or_plane(self) -> OffsetReading:
        if self.from_ is not None and len(self.from_) not in (1, 3):
            raise Wrong(f"lists {len(self.from_)} points, needs one, or three of a plane", key=("from",))
        return self


class LevelReading(_Length):
    """How much higher the second point stands than the first, by a level or a water tube."""

    level: Pair


class AngleReading(_Observed):
    """At the second of three points, or between the line of two and a direction."""

    angle: Several
    to: Maybe[_To] = Field(default=None, description="For two points: level, or a direction of the car.")
    axes: Name = Field(default=CAR, description="The frame whose directions are meant.")
    reads: Angles = Field(default=[], description=_ONE_OR_MORE)
    accuracy: Maybe[AngleAccuracy] = Field(default=None)

    @model_validator(mode="after")
    def _counted(self) -> AngleReading:
        if len(self.angle) not in (2, 3):
            raise Wrong(f"lists {len(self.angle)} points, needs two or three", key=("angle",))
        if (len(self.angle) == 2) != (self.to is not None):
            need = "needs to: and level or a direction" if self.to is None else "of three points takes no to"
            raise Wrong(need, key=("angle",))
        return self


class PlumbReading(_Observed):
    """Two points in one vertical."""

    plumb: Pair
    accuracy: Maybe[Accuracy] = Field(default=None)


class LiesOnReading(_Observed):
    """A point that lies on a face of a part, in a plane of three points, or on a line of two."""

    lies_on: Name = Field(description="The point.")
    face: Maybe[_Face] = Field(default=None, description="A face of the part; side: round a cylinder.")
    of: Maybe[Name] = Field(default=None, description="The part whose face it is.")
    plane: Maybe[Three] = Field(default=None)
    line: Maybe[Pair] = Field(default=None)
    accuracy: Maybe[Accuracy] = Field(default=None)

    @model_validator(mode="after")
    def _one(self) -> LiesOnReading:
        given = [key for key in ("face", "plane", "line") if getattr(self, key) is not None]
        if len(given) != 1:
            raise Wrong("needs one of face, plane, line")
        if (self.face is None) != (self.of is None):
            raise Wrong("needs face and of together: which face, of which part")
        return self


class GapReading(_Length):
    """What modelling clay, a drill shank or a feeler found between two parts."""

    gap: Pair

    @model_validator(mode="after")
    def _open(self) -> GapReading:
        for place, read in enumerate(self.reads):
            if read < 0:
                raise Wrong(f"is {read:g} mm, needs 0 mm or more", key=("reads", place))
        return self


def _kind(value: Any) -> str | None:
    given = [kind for kind in KINDS if isinstance(value, dict) and kind in value]
    return f"as {given[0]}" if given else None


def _known(value: object) -> object:
    """Refuse what names no kind, or two, before any form is tried."""
    if not isinstance(value, dict):
        raise Wrong(f"is {written(value)}, needs a map such as {{tape: [a, b], reads: 310}}")
    given = [kind for kind in KINDS if kind in value]
    if len(given) > 1:
        raise Wrong(f"has {' and '.join(given)}, needs one kind of reading", mend="make an item of each")
    if not given:
        near = next((hint for key in value if (hint := nearest(str(key), KINDS))), "")
        raise Wrong(f"says no kind of reading, needs one of {', '.join(KINDS)}", mend=near)
    return value


Observation: TypeAlias = Annotated[
    Annotated[TapeReading, Tag("as tape")]
    | Annotated[OffsetReading, Tag("as offset")]
    | Annotated[LevelReading, Tag("as level")]
    | Annotated[AngleReading, Tag("as angle")]
    | Annotated[PlumbReading, Tag("as plumb")]
    | Annotated[LiesOnReading, Tag("as lies_on")]
    | Annotated[GapReading, Tag("as gap")],
    Discriminator(_kind),
    BeforeValidator(_known),
]

AnyReading: TypeAlias = (
    TapeReading | OffsetReading | LevelReading | AngleReading | PlumbReading | LiesOnReading | GapReading
)
