"""The grammar of `survey` and `checks`: points, readings, what is set in place by them."""

from __future__ import annotations

from typing import Annotated, Final, Literal, TypeAlias

from pydantic import BeforeValidator, Field, model_validator

from packcheck.scene.grammar.observing import Observation, Pair, Way
from packcheck.scene.grammar.sureness import Accuracy, AngleAccuracy
from packcheck.scene.model.scene import CAR
from packcheck.scene.quantities.placement import Point, Strict, TurnWords
from packcheck.scene.quantities.slots import Factor, Length, Maybe, Name, Prose, Wrong, choice, many, row, words

__all__ = ["Check", "Instrument", "Place", "Rock", "Stance", "Survey", "SurveyPoint"]

_CLASSES: Final = ("I", "II", "III")
TapeClass: TypeAlias = Annotated[Literal["I", "II", "III"], choice(*_CLASSES), words(*_CLASSES)]


class Instrument(Strict):
    """What readings are taken with."""

    tape: Maybe[TapeClass] = Field(default=None, description="Accuracy class printed on a tape.")
    hook: Maybe[Length] = Field(
        default=None, description="Allowance for the hook; 0 when it is read from a line. Default 0.5 mm."
    )
    sag: Maybe[Factor] = Field(default=None, description="Sag over span of the tape. Default 0.01.")
    accuracy: Maybe[Accuracy] = Field(default=None, description="How near it surely reads, lengths.")
    angles: Maybe[AngleAccuracy] = Field(default=None, description="How near it surely reads, angles.")

    @model_validator(mode="after")
    def _one(self) -> Instrument:
        given = [key for key in ("tape", "accuracy", "angles") if getattr(self, key) is not None]
        if len(given) != 1:
            raise Wrong("needs one of tape, accuracy, angles")
        if self.tape is None and (self.hook is not None or self.sag is not None):
            raise Wrong("has hook or sag, which go with a tape class only")
        return self


class Stance(TurnWords):
    """How the car stands while it is measured; level when nothing is said."""

    accuracy: Maybe[AngleAccuracy] = Field(default=None, description="How near the angles are, degrees.")


class SurveyPoint(Strict):
    """A point: known when `at` is given, else to be found."""

    in_: Name = Field(default=CAR, alias="in", description="The frame or part it is a mark on.")
    at: Maybe[Point] = Field(default=None, description="Where it is known to be, from the zero of `in`.")
    accuracy: Maybe[Accuracy] = Field(default=None, description="How near it is known to be there, each way.")
    near: Maybe[Point] = Field(default=None, description="Roughly where a wanted point is, in the car.")
    choose: Maybe[Way] = Field(
        default=None, description="Of two places that fit the readings, the one that lies this way: up, left..."
    )

    @model_validator(mode="after")
    def _known_or_wanted(self) -> SurveyPoint:
        hints = [key for key in ("near", "choose") if getattr(self, key) is not None]
        if self.at is not None and hints:
            raise Wrong(f"stands beside at: a point known already needs no {hints[0]}", key=(hints[0],))
        if self.at is None and (self.in_ != CAR or self.accuracy is not None):
            key = "in" if self.in_ != CAR else "accuracy"
            raise Wrong("stands without at, which says where on it", key=(key,))
        return self


_OneWay: TypeAlias = Annotated[dict[Way, Name], Field(min_length=1, max_length=1)]


def _one_way(value: object) -> object:
    if not isinstance(value, dict) or len(value) != 1:
        raise Wrong("needs one direction and a point, such as {aft: nose_bolt}")
    return value


class Place(Strict):
    """How a frame or part is set in place by points. With nothing said: by the readings to points on it."""

    origin: Maybe[Name] = Field(default=None, description="The point its zero is at.")
    toward: Maybe[Annotated[_OneWay, BeforeValidator(_one_way)]] = Field(
        default=None, description="A direction of its own, and the point it leads to: {aft: p2}."
    )
    side: Maybe[Annotated[_OneWay, BeforeValidator(_one_way)]] = Field(
        default=None, description="Another direction of its own, and a point on that side."
    )
    plane: Maybe[Annotated[list[Name], many(3)]] = Field(
        default=None, description="Points of a plane that it lies in; its zero is at the first."
    )
    axis: Maybe[Pair] = Field(default=None, description="Two points of its axis; its zero is at the first.")
    along: Maybe[Way] = Field(
        default=None,
        description="Its own direction along the axis, or square to the plane.",
    )
    matched: Maybe[dict[str, Name]] = Field(
        default=None, description="Points known on it, and the measured points they are at; three or more."
    )
    hinge: Maybe[Annotated[list[Annotated[list[Name], many(3)]], many(2)]] = Field(
        default=None, description="For each of two dots or more: where it was seen, opening by opening."
    )
    accuracy: Maybe[Accuracy] = Field(
        default=None, description="How near marks, dots or a plane are to what they stand for. Default 0.5 mm."
    )

    @model_validator(mode="after")
    def _one(self) -> Place:
        given = [key for key in ("origin", "plane", "axis", "matched", "hinge") if getattr(self, key) is not None]
        if len(given) > 1:
            raise Wrong(f"has {' and '.join(given)}, needs one way of placing")
        if self.origin is not None and (self.toward is None or self.side is None):
            raise Wrong("stands without toward and side, needs all three", key=("origin",))
        if self.origin is None and (self.toward is not None or self.side is not None):
            raise Wrong("needs origin beside toward and side")
        if self.matched is not None and len(self.matched) < 3:
            raise Wrong(f"has {len(self.matched)} points, needs at least 3", key=("matched",))
        return self


class Rock(Strict):
    """How far something rocks, from how far a point on it is seen to move."""

    axis: Pair = Field(description="Two points of the line it rocks about.")
    point: Name
    moves: Length = Field(description="How far the point moves, end to end, straight.")
    accuracy: Accuracy


def _none_is_empty(value: object) -> object:
    return {} if value is None else value


_Point: TypeAlias = Annotated[SurveyPoint, BeforeValidator(_none_is_empty)]
_Placing: TypeAlias = Annotated[Place, BeforeValidator(_none_is_empty)]


class Survey(Strict):
    """What was measured at the car: points, readings, and what they set in place."""

    instruments: Annotated[dict[str, Instrument], BeforeValidator(_none_is_empty)] = Field(default={})
    stance: Maybe[Stance] = Field(default=None, description="How the car stands: nose_down, lean_left...")
    points: Annotated[dict[str, _Point], BeforeValidator(_none_is_empty)]
    observations: list[Observation]
    readings: Maybe[Prose] = Field(default=None, description="A CSV file with what was read: the filled sheet.")
    place: Annotated[dict[str, _Placing], BeforeValidator(_none_is_empty)] = Field(
        default={}, description="Frames and parts, and how the points set them in place."
    )
    rocks: Annotated[dict[str, Rock], BeforeValidator(_none_is_empty)] = Field(default={})


class Check(Strict):
    """A gap measured on the finished car, to hold beside the predicted one."""

    between: Annotated[tuple[Name, Name], row("a, b")]
    measured: Length
    with_: Maybe[Name] = Field(
        default=None,
        alias="with",
        description="What it was measured with: drill, feeler, clay...",
    )
    accuracy: Maybe[Accuracy] = Field(default=None)
