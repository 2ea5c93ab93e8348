"""How well things are known: the grammar of `known` and `stage`, and what it means in mm.

The tolerances are common practice: a tape on two faces one can touch, a calliper with a cramped hand, a maker's
drawing for a part as cast and painted, and a guess by eye. A scene may state its own.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Final, TypeAlias, get_args

from pydantic import BaseModel, BeforeValidator, Field, WithJsonSchema

from packcheck.scene.model.scene import Fit, Known, Stage, Triple
from packcheck.scene.quantities.placement import Strict
from packcheck.scene.quantities.slots import Length, Maybe, Wrong, choice, row, words
from packcheck.scene.text.nodes import Text
from packcheck.tolerances import ABOUT_TOLERANCE, KNOWN_TOLERANCES

__all__ = [
    "KnownSection",
    "KnownSlot",
    "KnownTolerances",
    "Spread",
    "StageSlot",
    "Tolerance",
    "known_tolerances",
    "tolerance_of",
]

_KNOWN: Final = get_args(Known)
_STAGES: Final = get_args(Stage)
_MEANT: Final[Mapping[str, Known]] = {
    **dict.fromkeys(("guessed", "eye", "estimate", "estimated", "roughly", "rough"), "guess"),
    **dict.fromkeys(("ruler", "rule", "taped", "measured", "steel rule"), "tape"),
    **dict.fromkeys(("caliper", "calipers", "callipers", "vernier"), "calliper"),
    **dict.fromkeys(("cad", "datasheet", "maker", "model"), "drawing"),
}
"""Words that people write instead, for hints."""

KnownSlot: TypeAlias = Annotated[
    Known, choice(*_KNOWN, meant=lambda word: _MEANT.get(word.lower(), word)), words(*_KNOWN)
]
StageSlot: TypeAlias = Annotated[Stage, choice(*_STAGES), words(*_STAGES)]


def _spread(value: object) -> object:
    if isinstance(value, dict):
        raise Wrong("is a map, needs a length or [x, y, z]")
    return {"each": value} if isinstance(value, list) else {"ball": value}


class Spread(BaseModel):
    """How far off something may be, mm: along x, y and z, or in any direction."""

    each: Maybe[Annotated[tuple[Length, Length, Length], row("x, y, z")]] = None
    ball: Length = 0.0

    @property
    def triple(self) -> Triple:
        return self.each or (self.ball, self.ball, self.ball)


_LENGTH_SCHEMA: Final = {"type": ["number", "string"]}
Tolerance: TypeAlias = Annotated[
    Spread,
    BeforeValidator(_spread),
    WithJsonSchema(
        {
            "anyOf": [
                _LENGTH_SCHEMA,
                {"type": "array", "items": _LENGTH_SCHEMA, "minItems": 3, "maxItems": 3},
            ]
        }
    ),
]


class KnownTolerances(Strict):
    """How what does not say is known, and how far off each way may be, where the packaged figures do not fit."""

    default: Maybe[KnownSlot] = Field(
        default=None, description="How every part is known that states neither known nor a tolerance; no frame."
    )
    guess: Maybe[Length] = Field(default=None, description="Judged by eye; without this, 15 mm.")
    tape: Maybe[Length] = Field(default=None, description="Measured with a tape or a rule; without this, 3 mm.")
    calliper: Maybe[Length] = Field(default=None, description="Measured with a calliper; without this, 0.5 mm.")
    drawing: Maybe[Length] = Field(default=None, description="Off its maker's drawing; without this, 1 mm.")


def _section(value: object) -> object:
    """A word alone is the default; an empty section states nothing."""
    if isinstance(value, Text):
        return {"default": value}
    return {} if value is None else value


KnownSection: TypeAlias = Annotated[KnownTolerances, BeforeValidator(_section)]


def known_tolerances(stated: KnownTolerances) -> dict[Known, float]:
    """The tolerance of each way of knowing, mm."""
    own = {known: getattr(stated, known) for known in _KNOWN}
    return {known: KNOWN_TOLERANCES[known] if own[known] is None else own[known] for known in _KNOWN}


def tolerance_of(stated: Spread | None, known: Known | None, fit: Fit, tolerances: Mapping[Known, float]) -> Triple:
    """The tolerance of a thing, mm: the stated one, or what is usual for how it is known.

    A rough envelope (`fit: about`) is off by its own figure at least, however well its place is known.
    """
    if stated is not None:
        return stated.triple
    if known is None:
        return 0.0, 0.0, 0.0
    usual = max(tolerances[known], ABOUT_TOLERANCE) if fit == "about" else tolerances[known]
    return usual, usual, usual
