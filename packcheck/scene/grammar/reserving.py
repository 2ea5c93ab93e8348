"""The grammar of air that a part needs on a side, of linings on a face, and of what a part goes into."""

from __future__ import annotations

from typing import Annotated, Final, get_args

from pydantic import Field, model_validator

from packcheck.scene.grammar.holding import Settings
from packcheck.scene.model.directions import FACES
from packcheck.scene.model.scene import FaceName
from packcheck.scene.quantities.placement import Strict
from packcheck.scene.quantities.resting import Names
from packcheck.scene.quantities.sizes import Size
from packcheck.scene.quantities.slots import Maybe, Wrong, choice, words

__all__ = ["Lining", "Needs", "Reserving"]

_NAMES: Final = get_args(FaceName)


class Needs(Strict):
    """Room that must stay free beside a part: for a plug, a hand, a filter's way out."""

    front: Maybe[Size] = Field(default=None, description="How deep the air ahead of it has to be.")
    rear: Maybe[Size] = Field(default=None, description="How deep the air behind it has to be.")
    left: Maybe[Size] = Field(default=None, description="How deep the air on its left has to be.")
    right: Maybe[Size] = Field(default=None, description="How deep the air on its right has to be.")
    top: Maybe[Size] = Field(default=None, description="How deep the air above it has to be.")
    bottom: Maybe[Size] = Field(default=None, description="How deep the air below it has to be.")
    with_: Maybe[Settings] = Field(
        default=None, alias="with", description="Motions held at a setting while it is used: {lid_opens: 65}."
    )

    @model_validator(mode="after")
    def _some(self) -> Needs:
        if not self.given():
            raise Wrong(f"names no side, needs one of {', '.join(FACES)}")
        return self

    def given(self) -> dict[FaceName, float]:
        """The sides that were written, and how deep the air there has to be, mm."""
        return {side: depth for side in FACES if (depth := getattr(self, side)) is not None}


class Lining(Strict):
    """A layer on one flat face: felt, foil, a heat shield bonded on."""

    face: Annotated[FaceName, choice(*_NAMES), words(*_NAMES)] = Field(description="The face it is on.")
    thickness: Size


class Reserving(Strict):
    """What a part has about it beyond its own shape, and what it may go into."""

    with_: Maybe[Settings] = Field(
        default=None,
        alias="with",
        description="Of room: motions held at a setting while it is used.",
    )

    needs: Maybe[Needs] = Field(
        default=None, description="Air that must stay free on sides of it: nothing else may enter."
    )
    goes_into: Names = Field(
        default=[], description="Parts it ends in or passes through: nothing is asked or measured between the two."
    )
    lining: Maybe[Lining] = Field(default=None, description="A layer on one flat face of it, such as felt.")
