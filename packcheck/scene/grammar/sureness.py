"""The grammar of being sure: how good a reading is, how far off a part may be."""

from __future__ import annotations

from math import sqrt
from typing import Annotated, TypeAlias

from pydantic import BeforeValidator, Field, WithJsonSchema, model_validator

from packcheck.scene.model.scene import Triple
from packcheck.scene.model.survey import Uncertainty as Facts
from packcheck.scene.quantities.placement import Strict
from packcheck.scene.quantities.slots import Degrees, Length, Maybe, Wrong, row, written

__all__ = ["Accuracy", "AngleAccuracy", "AnyAccuracy", "Uncertainty", "standard_of", "uncertainty_of"]

_ROOT_3 = sqrt(3.0)


def _bare(value: object) -> object:
    """A bare number is a limit."""
    if isinstance(value, list):
        raise Wrong("is a list, needs a number, {standard: ...} or {limits: ...}")
    return value if isinstance(value, dict) else {"limits": value}


def _one_of_two(given: tuple[object, object]) -> None:
    if sum(value is not None for value in given) != 1:
        raise Wrong(
            "needs standard or limits, one of them",
            why="limits hold surely, standard is a standard uncertainty: two times in three",
        )


class _LengthAccuracy(Strict):
    standard: Maybe[Length] = Field(default=None, description="Standard uncertainty: within it two times in three.")
    limits: Maybe[Length] = Field(default=None, description="Surely within this, no place likelier than another.")

    @model_validator(mode="after")
    def _one(self) -> _LengthAccuracy:
        _one_of_two((self.standard, self.limits))
        _positive(self)
        return self


class _AngleAccuracy(Strict):
    standard: Maybe[Degrees] = Field(default=None, description="Standard uncertainty, degrees.")
    limits: Maybe[Degrees] = Field(default=None, description="Surely within this, degrees.")

    @model_validator(mode="after")
    def _one(self) -> _AngleAccuracy:
        _one_of_two((self.standard, self.limits))
        _positive(self)
        return self


def _positive(accuracy: AnyAccuracy) -> None:
    if not standard_of(accuracy) > 0:
        raise Wrong("is 0 or less, needs more than 0", why="no reading is exact")


_MAP = {"type": "object", "properties": {"standard": {}, "limits": {}}, "additionalProperties": True}
_SCHEMA = WithJsonSchema(
    {
        "anyOf": [{"type": ["number", "string"]}, _MAP],
        "description": "How near a reading surely is; or {standard: ...}, a standard uncertainty.",
    }
)

Accuracy: TypeAlias = Annotated[_LengthAccuracy, BeforeValidator(_bare), _SCHEMA]
AngleAccuracy: TypeAlias = Annotated[_AngleAccuracy, BeforeValidator(_bare), _SCHEMA]
AnyAccuracy: TypeAlias = _LengthAccuracy | _AngleAccuracy


def standard_of(accuracy: AnyAccuracy) -> float:
    """The standard uncertainty, mm or degrees: limits over the root of three (GUM 4.3.7)."""
    if accuracy.standard is not None:
        return accuracy.standard
    assert accuracy.limits is not None
    return accuracy.limits / _ROOT_3


def _each(value: object) -> object:
    if isinstance(value, dict):
        raise Wrong(f"is {written(value)}, needs a number or [x, y, z]")
    return value if isinstance(value, list) else [value, value, value]


_EACH_SCHEMA = WithJsonSchema(
    {"anyOf": [{"type": ["number", "string"]}, {"type": "array", "minItems": 3, "maxItems": 3}]}
)
_Lengths: TypeAlias = Annotated[tuple[Length, Length, Length], row("x, y, z"), BeforeValidator(_each), _EACH_SCHEMA]
_Angles: TypeAlias = Annotated[
    tuple[Degrees, Degrees, Degrees], row("x, y, z"), BeforeValidator(_each), _EACH_SCHEMA
]


class Uncertainty(Strict):
    """How far off its place something may be, as far as can be told: a likely error, not a hard limit."""

    standard: Maybe[_Lengths] = Field(
        default=None, description="Standard uncertainty, one number or along x, y, z of its parent."
    )
    limits: Maybe[_Lengths] = Field(
        default=None, description="Surely within this, no place likelier; one number or along x, y, z."
    )
    turn_standard: Maybe[_Angles] = Field(
        default=None, description="Standard uncertainty of its turn, degrees about x, y, z of its parent."
    )
    turn_limits: Maybe[_Angles] = Field(default=None, description="Its turn is surely within this, degrees.")

    @model_validator(mode="after")
    def _one(self) -> Uncertainty:
        turns = (self.turn_standard, self.turn_limits)
        if all(turns) or (self.standard and self.limits):
            raise Wrong("has standard and limits, needs one of them")
        if not any((*turns, self.standard, self.limits)):
            raise Wrong("is empty, needs standard or limits")
        if any(value < 0 for value in (*(self.turn_standard or ()), *(self.turn_limits or ()))):
            raise Wrong("has a turn below 0, needs 0 or more")
        return self


def uncertainty_of(stated: Uncertainty | None) -> Facts | None:
    """The facts, all as standard uncertainties; None when nothing is stated."""
    if stated is None:
        return None
    return Facts(
        stated.standard or _over_root_3(stated.limits), stated.turn_standard or _over_root_3(stated.turn_limits)
    )


def _over_root_3(limits: Triple | None) -> Triple:
    x, y, z = limits or (0.0, 0.0, 0.0)
    return x / _ROOT_3, y / _ROOT_3, z / _ROOT_3
