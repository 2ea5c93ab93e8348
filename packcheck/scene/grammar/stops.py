"""The grammar of stops: poses on a path, and the way a part is taken out."""

from __future__ import annotations

from itertools import pairwise
from math import degrees
from typing import Annotated, Final, TypeAlias

from pydantic import AfterValidator, BeforeValidator, Field

from packcheck.frames import angle_of, turn_matrix
from packcheck.scene.model.scene import Triple
from packcheck.scene.quantities.placement import Point, Strict
from packcheck.scene.quantities.slots import Degrees, Wrong, many, row

__all__ = ["STEEPEST", "Stop", "Stops", "WaysOut", "turn_between"]

STEEPEST: Final = 90.0
"""deg. A turn by more could go either way round."""


class Stop(Strict):
    """A pose on a path, as an offset from where the parts are placed."""

    at: Point = Field(default=(0.0, 0.0, 0.0), description="How far along x, y and z.")
    turn: Annotated[tuple[Degrees, Degrees, Degrees], row("x, y, z")] = Field(
        default=(0.0, 0.0, 0.0), description="Degrees about x, then y, then z."
    )


def turn_between(first: Triple, second: Triple) -> float:
    """The angle, degrees, of the one turn that leads from one turn to another."""
    return degrees(angle_of(turn_matrix(second) @ turn_matrix(first).T))


def _check_stops(stops: list[Stop]) -> list[Stop]:
    for place, (first, second) in enumerate(pairwise(stops), start=1):
        if first.at == second.at and first.turn == second.turn:
            raise Wrong("repeats the stop before it", mend="leave it out", key=(place,))
        if turn_between(first.turn, second.turn) > STEEPEST:
            what = f"turns {turn_between(first.turn, second.turn):.4g} deg from the stop before, needs at most"
            raise Wrong(f"{what} {STEEPEST:g} deg", mend="put a stop between, to say which way round", key=(place,))
    return stops


Stops: TypeAlias = Annotated[list[Stop], many(2), AfterValidator(_check_stops)]


def _stop(value: object) -> object:
    """A shift alone is a stop."""
    return value if isinstance(value, dict) else {"at": value}


def _check_way_out(stops: list[Stop]) -> list[Stop]:
    try:
        _check_stops([Stop(), *stops])
    except Wrong as wrong:
        first = wrong.slip.key == (1,)
        phrase = wrong.slip.phrase.replace("repeats the stop before it", "is where it stands") if first else None
        raise Wrong(phrase or wrong.slip.phrase, mend=wrong.slip.mend, key=(int(wrong.slip.key[0]) - 1,)) from None
    return stops


WaysOut: TypeAlias = Annotated[
    list[Annotated[Stop, BeforeValidator(_stop)]], many(1), AfterValidator(_check_way_out)
]
