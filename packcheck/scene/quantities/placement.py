"""The grammar of placing: coordinates with direction words, turns in words, faces."""

from __future__ import annotations

from typing import Annotated, TypeAlias

from pydantic import (
    BaseModel,
    ConfigDict,
    Discriminator,
    Field,
    Tag,
    model_validator,
)

from packcheck.scene.model.directions import FACES, OPPOSITE, TURNS, Ways, axis_of
from packcheck.scene.model.scene import FaceName, Triple
from packcheck.scene.quantities.coordinates import Lengthwise, Middle, Middles, Point, Sideways, Upright
from packcheck.scene.quantities.resting import REST_WORDS, Rest
from packcheck.scene.quantities.slots import Degrees, Maybe, Prose, Wrong, row

__all__ = ["Faces", "Point", "Strict", "Turn", "TurnWords", "either", "turn_of"]


class Strict(BaseModel):
    """A map of the scene file: unknown keys are refused."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    note: Prose = Field(default="", description="Free text, printed with the results.")


def either(*keys: str) -> Discriminator:
    """Which form of a slot is written: a map with one of `keys` (any map, when none are named), or a list."""

    def form(value: object) -> str:
        is_map = isinstance(value, dict) and (not keys or not value.keys().isdisjoint(keys))
        return "as a map" if is_map else "as a list"

    return Discriminator(form)


class TurnWords(Strict):
    """A turn in words, for someone seated facing forward; degrees about the frame's x, then y, then z."""

    nose_up: Maybe[Degrees] = Field(default=None, description="Degrees that its forward end is lifted.")
    nose_down: Maybe[Degrees] = Field(default=None, description="Degrees that its forward end is lowered.")
    lean_left: Maybe[Degrees] = Field(default=None, description="Degrees that its top is tipped to the left.")
    lean_right: Maybe[Degrees] = Field(default=None, description="Degrees that its top is tipped to the right.")
    swing_left: Maybe[Degrees] = Field(
        default=None, description="Degrees that its forward end is swung to the left."
    )
    swing_right: Maybe[Degrees] = Field(
        default=None, description="Degrees that its forward end is swung to the right."
    )


_Degrees3: TypeAlias = Annotated[tuple[Degrees, Degrees, Degrees], row("x, y, z")]
Turn: TypeAlias = Annotated[
    Annotated[_Degrees3, Tag("as a list")] | Annotated[TurnWords, Tag("as a map")],
    either(),
]


def turn_of(turn: Triple | TurnWords, ways: Ways) -> Triple:
    """A turn as degrees about x, then y, then z."""
    if not isinstance(turn, TurnWords):
        return turn
    degrees = [0.0, 0.0, 0.0]
    for word, thumb in TURNS.items():
        axis, sign = axis_of(ways, thumb)
        degrees[axis] += sign * (getattr(turn, word) or 0.0)
    return degrees[0], degrees[1], degrees[2]


def _resting(value: object) -> str:
    return "as a map" if isinstance(value, dict) else "as a number"


_Front: TypeAlias = Annotated[
    Annotated[Lengthwise, Tag("as a number")] | Annotated[Rest, Tag("as a map")], Discriminator(_resting)
]
_Side: TypeAlias = Annotated[
    Annotated[Sideways, Tag("as a number")] | Annotated[Rest, Tag("as a map")], Discriminator(_resting)
]
_Floor: TypeAlias = Annotated[
    Annotated[Upright, Tag("as a number")] | Annotated[Rest, Tag("as a map")], Discriminator(_resting)
]


class Faces(Strict):
    """Where faces of the part stand, or its middle, as it lies after its turn; axes without have its middle at 0.

    One of them may rest on another part.
    """

    front: Maybe[_Front] = Field(
        default=None, description="Where its foremost face stands: 60 aft, or {behind: NAME}."
    )
    rear: Maybe[_Front] = Field(default=None, description="Where its rearmost face stands, or {ahead_of: NAME}.")
    left: Maybe[_Side] = Field(default=None, description="Where its leftmost face stands, or {right_of: NAME}.")
    right: Maybe[_Side] = Field(default=None, description="Where its rightmost face stands, or {left_of: NAME}.")
    top: Maybe[_Floor] = Field(default=None, description="Where its highest face stands, or {below: NAME}.")
    bottom: Maybe[_Floor] = Field(
        default=None, description="Where its lowest face stands, or {above: NAME, by: 18}."
    )
    middle: Maybe[Middles] = Field(
        default=None, description="Where its middle stands on an axis: 190 up; on several: [190 up, 0 left]."
    )

    @model_validator(mode="after")
    def _some(self) -> Faces:
        if not self.given() and not self.resting() and not self.middles():
            raise Wrong(f"names no face, needs one of {', '.join(FACES)}, middle")
        return self

    @model_validator(mode="after")
    def _one_rests(self) -> Faces:
        rests = self.resting()
        for face, rest in rests.items():
            _refuse_far_side(face, rest)
            opposite = next(other for other in FACES if FACES[other] == OPPOSITE[FACES[face]])
            beside: list[str] = [opposite] if opposite in self.given() else []
            beside += ["middle"] if any(middle.along(FACES[face]) for middle in self.middles()) else []
            for other in beside:
                why = "where it rests is found from the parts, and its size gives the rest of that axis"
                raise Wrong(f"stands beside {face}, which rests", why=why, mend="leave out one", key=(other,))
        if len(rests) > 1:
            first, second = list(rests)[:2]
            why = "where one rests depends on where the other does"
            mend = "give one of them a coordinate, such as 90 up"
            raise Wrong(
                f"rests, and so does {first}; one face of a part may rest", why=why, mend=mend, key=(second,)
            )
        return self

    def given(self) -> dict[FaceName, float]:
        """The faces that were written with a coordinate, mm."""
        return {face: at for face in FACES if isinstance(at := getattr(self, face), float)}

    def middles(self) -> tuple[Middle, ...]:
        """Where its middle was written to stand, axis by axis."""
        return tuple(self.middle or ())

    def resting(self) -> dict[FaceName, Rest]:
        """The faces that rest on other parts: one at most."""
        return {face: at for face in FACES if isinstance(at := getattr(self, face), Rest)}


def _refuse_far_side(face: FaceName, rest: Rest) -> None:
    if REST_WORDS[rest.word] != face:
        (fit,) = (word for word, meant in REST_WORDS.items() if meant == face)
        raise Wrong(
            f"cannot rest {rest.word} a part, needs {fit}",
            why=f"what is {rest.word} a part meets it with its {REST_WORDS[rest.word]}",
            mend=f"write {REST_WORDS[rest.word]}: {{{rest.word}: ...}}, or {face}: {{{fit}: ...}}",
            key=(face, rest.word),
        )
