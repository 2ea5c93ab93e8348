"""How well things are known: the grammar of `known` and `stage`, and what it means in mm.

The tolerances are common practice: a tape on two faces one can touch, a calliper with a cramped hand, a maker's
drawing for a part as cast and painted, and a guess by eye. A scene may state its own.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Final, Protocol, TypeAlias, get_args

from pydantic import Field

from packcheck.scene.model import Fit, Known, Stage, Triple
from packcheck.scene.placement import Strict
from packcheck.scene.slots import Length, Maybe, choice, words
from packcheck.tolerances import ABOUT_TOLERANCE, KNOWN_TOLERANCES

__all__ = ["KnownSlot", "KnownTolerances", "StageSlot", "known_tolerances", "tolerance_of"]

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


class KnownTolerances(Strict):
    """How far off what is known in each way may be, where the packaged figures do not fit."""

    guess: Maybe[Length] = Field(default=None, description="Judged by eye; without this, 15 mm.")
    tape: Maybe[Length] = Field(default=None, description="Measured with a tape or a rule; without this, 3 mm.")
    calliper: Maybe[Length] = Field(default=None, description="Measured with a calliper; without this, 0.5 mm.")
    drawing: Maybe[Length] = Field(default=None, description="Off its maker's drawing; without this, 1 mm.")


def known_tolerances(stated: KnownTolerances) -> dict[Known, float]:
    """The tolerance of each way of knowing, mm."""
    own = {known: getattr(stated, known) for known in _KNOWN}
    return {known: KNOWN_TOLERANCES[known] if own[known] is None else own[known] for known in _KNOWN}


class _Spread(Protocol):
    @property
    def triple(self) -> Triple: ...


def tolerance_of(
    stated: _Spread | None, known: Known | None, fit: Fit, tolerances: Mapping[Known, float]
) -> Triple:
    """The tolerance of a thing, mm: the stated one, or what is usual for how it is known.

    A rough envelope (`fit: about`) is off by its own figure at least, however well its place is known.
    """
    if stated is not None:
        return stated.triple
    if known is None:
        return 0.0, 0.0, 0.0
    usual = max(tolerances[known], ABOUT_TOLERANCE) if fit == "about" else tolerances[known]
    return usual, usual, usual
