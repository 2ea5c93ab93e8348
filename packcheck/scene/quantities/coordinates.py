"""The grammar of coordinates: a length along an axis, with or without the word for the way it goes."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Final, TypeAlias, cast

from pydantic import AfterValidator, BeforeValidator, PlainValidator, ValidationInfo, WithJsonSchema

from packcheck.scene.model.directions import (
    AXIS_NAMES,
    KIN,
    OPPOSITE,
    WORDS,
    Along,
    Ways,
    axis_of,
    fitting,
    split_word,
)
from packcheck.scene.model.scene import Direction
from packcheck.scene.quantities.slots import Context, Untold, Wrong, read_length, row, written
from packcheck.scene.text.hints import closest
from packcheck.scene.text.nodes import Text
from packcheck.units import UNITS

__all__ = ["Lengthwise", "Middle", "Middles", "Point", "Sideways", "Upright"]

_COORDINATE: Final = WithJsonSchema(
    {
        "anyOf": [{"type": "number"}, {"type": "string"}],
        "description": "A length, with or without a direction word behind it: 60 aft, 12 in up.",
    }
)


_JOINED: Final = re.compile(rf".*[0-9.)](?P<word>{'|'.join(WORDS)})\s*", re.DOTALL)


def _coordinate(named: Callable[[Ways], Direction]) -> PlainValidator:
    """The validator of a coordinate along the axis whose positive way, or its opposite, is `named`."""

    def read(value: object, info: ValidationInfo) -> float:
        if not isinstance(value, Text):
            return read_length(value, info)
        rest, word, at = split_word(value)
        if word not in WORDS:
            _refuse_unknown(value, word, at, info)
            return read_length(value, info)
        ways = _ways(info)
        sign = _sign(value, at, ways, axis_of(ways, named(ways)))
        return sign * _unsigned(Text(rest, value.mark), value, info)

    return PlainValidator(read)


def _ways(info: ValidationInfo) -> Ways:
    if not (ways := cast(Context, info.context).axes):
        raise Untold()
    return ways


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
Lengthwise: TypeAlias = Annotated[float, _coordinate(lambda _: "fore"), _COORDINATE]
Sideways: TypeAlias = Annotated[float, _coordinate(lambda _: "left"), _COORDINATE]
Upright: TypeAlias = Annotated[float, _coordinate(lambda _: "up"), _COORDINATE]


def _no_map(value: object) -> object:
    if isinstance(value, dict):
        raise Wrong(
            "is a map, needs a list: [x, y, z]",
            why="every point counts in the one frame or part that the whole is placed in",
            mend="give its place there; `packcheck list` tells where each part stands",
        )
    return value


Point: TypeAlias = Annotated[tuple[_X, _Y, _Z], row("x, y, z"), BeforeValidator(_no_map)]


@dataclass(frozen=True, slots=True)
class Middle:
    """Where the middle of a part stands on the axis that `way` runs along: `at`, mm, counted up that axis."""

    way: Direction
    at: float

    def along(self, way: Direction) -> bool:
        """Whether `way` runs along the same axis, up or down."""
        return way in (self.way, OPPOSITE[self.way])


def _middle(value: object, info: ValidationInfo) -> Middle:
    text = value if isinstance(value, Text) else None
    rest, word, at = split_word(text or "")
    if text is not None and word in WORDS:
        sign = axis_of(_ways(info), WORDS[word]).sign
        return Middle(WORDS[word], sign * _unsigned(Text(rest, text.mark), text, info))
    if text is not None:
        _refuse_unknown(text, word, at, info)
    why = "the word says on which axis the middle stands there"
    raise Wrong(f"is {written(value)}, needs a length and a direction word", why=why, mend="write it as 190 up")


def _each_once(middles: list[Middle]) -> tuple[Middle, ...]:
    for place, middle in enumerate(middles):
        if any(other.along(middle.way) for other in middles[:place]):
            what = f"stands along {middle.way} or {OPPOSITE[middle.way]} a second time, needs it once"
            raise Wrong(what, mend="leave out one", key=(place,))
    return tuple(middles)


def _listed(value: object) -> object:
    if value == []:
        raise Wrong("lists no axis, needs one", mend="write it as 190 up")
    return value if isinstance(value, list) else [value]


_WORDED: Final = {"type": "string", "pattern": rf"\s({'|'.join(WORDS)})\s*$"}
Middles: TypeAlias = Annotated[
    list[Annotated[Middle, PlainValidator(_middle)]],
    BeforeValidator(_listed),
    AfterValidator(_each_once),
    WithJsonSchema({"anyOf": [_WORDED, {"type": "array", "items": _WORDED, "minItems": 1, "maxItems": 3}]}),
]
"""The middle on one axis, or on each of several."""
