"""The grammar of placing: coordinates with direction words, turns in words, faces."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Annotated, Final, TypeAlias, cast

from pydantic import (
    BaseModel,
    ConfigDict,
    Discriminator,
    Field,
    PlainValidator,
    Tag,
    ValidationInfo,
    WithJsonSchema,
    model_validator,
)

from packcheck.scene.directions import (
    AXIS_NAMES,
    FACES,
    KIN,
    OPPOSITE,
    TURNS,
    WORDS,
    Along,
    Ways,
    axis_of,
    fitting,
    split_word,
)
from packcheck.scene.hints import closest
from packcheck.scene.model import Direction, FaceName, Triple
from packcheck.scene.nodes import Text
from packcheck.scene.resting import REST_WORDS, Rest
from packcheck.scene.slots import Context, Degrees, Maybe, Prose, Untold, Wrong, read_length, row, written
from packcheck.units import UNITS

__all__ = ["Faces", "Point", "Strict", "Turn", "TurnWords", "either", "turn_of"]

_COORDINATE: Final = WithJsonSchema(
    {
        "anyOf": [{"type": "number"}, {"type": "string"}],
        "description": "A length, with or without a direction word behind it: 60 aft, 12 in up.",
    }
)


_JOINED: Final = re.compile(rf".*[0-9.)](?P<word>{'|'.join(WORDS)})\s*", re.DOTALL)


class Strict(BaseModel):
    """A map of the scene file: unknown keys are refused."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    note: Prose = Field(default="", description="Free text, printed with the results.")


def _coordinate(named: Callable[[Ways], Direction]) -> PlainValidator:
    """The validator of a coordinate along the axis whose positive way, or its opposite, is `named`."""

    def read(value: object, info: ValidationInfo) -> float:
        if not isinstance(value, Text):
            return read_length(value, info)
        rest, word, at = split_word(value)
        if word not in WORDS:
            _refuse_unknown(value, word, at, info)
            return read_length(value, info)
        ways = cast(Context, info.context).axes
        if not ways:
            raise Untold()
        sign = _sign(value, at, ways, axis_of(ways, named(ways)))
        return sign * _unsigned(Text(rest, value.mark), value, info)

    return PlainValidator(read)


def _sign(value: Text, at: int, ways: Ways, along: Along) -> int:
    """1 when the word of `value` runs up the axis it stands for, -1 when down."""
    name = AXIS_NAMES[along.axis]
    word = split_word(value)[1]
    mine = axis_of(ways, WORDS[word])
    if mine.axis != along.axis:
        raise Wrong(
            f"{written(value)} says {word!r} along {name}, needs {fitting(ways[name])}",
            why=f"with these axes {word} runs along {AXIS_NAMES[mine.axis]}",
            mend="check the order of the numbers, or write the word of this axis",
            offset=at,
        )
    return mine.sign


def _unsigned(rest: Text, value: Text, info: ValidationInfo) -> float:
    """The length before a direction word. A minus sign there, or a second word, is surely not meant."""
    _, second, at = split_word(rest)
    if second in WORDS:
        raise Wrong(f"{written(value)} has two direction words, needs one", offset=at)
    if rest.lstrip().startswith("-"):
        raise Wrong(
            f"{written(value)} has a minus sign and a direction word, needs one of them",
            why="the word says already which way it goes",
            mend="leave out the minus sign, or the word",
            offset=len(rest) - len(rest.lstrip()),
        )
    return read_length(rest, info)


def _refuse_unknown(value: Text, word: str, at: int, info: ValidationInfo) -> None:
    """A direction word misspelt or joined to its number would otherwise be called an unknown unit."""
    if joined := _JOINED.fullmatch(value):
        at = joined.start("word")
        what = f"{written(value)} has no blank before {joined['word']!r}"
        raise Wrong(what, mend=f"write {value[:at] + ' ' + value[at:].strip()!r}", offset=at)
    params = cast(Context, info.context).params
    if not word or word in UNITS or word == "deg" or word in params:
        return
    meant = KIN.get(word.lower()) or closest(word.lower(), WORDS)
    if meant:
        what = f"{written(value)} has the unknown direction word {word!r}"
        raise Wrong(what, mend=f"did you mean {meant!r}?", offset=at)


_X: TypeAlias = Annotated[float, _coordinate(lambda ways: ways["x"]), _COORDINATE]
_Y: TypeAlias = Annotated[float, _coordinate(lambda ways: ways["y"]), _COORDINATE]
_Z: TypeAlias = Annotated[float, _coordinate(lambda ways: ways["z"]), _COORDINATE]
_Lengthwise: TypeAlias = Annotated[float, _coordinate(lambda _: "fore"), _COORDINATE]
_Sideways: TypeAlias = Annotated[float, _coordinate(lambda _: "left"), _COORDINATE]
_Upright: TypeAlias = Annotated[float, _coordinate(lambda _: "up"), _COORDINATE]

Point: TypeAlias = Annotated[tuple[_X, _Y, _Z], row("x, y, z")]


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
    Annotated[_Lengthwise, Tag("as a number")] | Annotated[Rest, Tag("as a map")], Discriminator(_resting)
]
_Side: TypeAlias = Annotated[
    Annotated[_Sideways, Tag("as a number")] | Annotated[Rest, Tag("as a map")], Discriminator(_resting)
]
_Floor: TypeAlias = Annotated[
    Annotated[_Upright, Tag("as a number")] | Annotated[Rest, Tag("as a map")], Discriminator(_resting)
]


class Faces(Strict):
    """Where faces of the part stand, as it lies after its turn; axes without a face have its middle at 0.

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

    @model_validator(mode="after")
    def _some(self) -> Faces:
        if not self.given() and not self.resting():
            raise Wrong(f"names no face, needs one of {', '.join(FACES)}")
        return self

    @model_validator(mode="after")
    def _one_rests(self) -> Faces:
        rests = self.resting()
        for face, rest in rests.items():
            _refuse_far_side(face, rest)
            opposite = next(other for other in FACES if FACES[other] == OPPOSITE[FACES[face]])
            if opposite in self.given():
                why = "where it rests is found from the parts, and its size gives the other face"
                raise Wrong(f"stands beside {face}, which rests", why=why, mend="leave out one", key=(opposite,))
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
