"""What may stand in one place of the scene file: a length, an angle, a name, one of several words.

Each slot is a type for the grammar: it turns what was written straight into mm, degrees or text, or says what is
wrong with it. Bare numbers are in the units of the file they were written in.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Final, TypeAlias, TypeVar, cast, get_args

from pydantic import BeforeValidator, PlainValidator, ValidationInfo, WithJsonSchema
from pydantic_core import PydanticCustomError

from packcheck.scene.model.directions import WORDS, Ways, split_word
from packcheck.scene.model.scene import AxisName, LengthUnit
from packcheck.scene.text.expressions import Expression
from packcheck.scene.text.hints import nearest
from packcheck.scene.text.nodes import Number, Text
from packcheck.units import PLAIN, Mend, Quantity, QuantityError, to_degrees, to_mm, to_number, unit_meant

__all__ = [
    "MEASURE",
    "AnyLength",
    "AnyNumber",
    "AxisSlot",
    "Context",
    "Degrees",
    "Factor",
    "Flag",
    "Length",
    "Maybe",
    "Name",
    "Prose",
    "Slip",
    "UnitSlot",
    "Untold",
    "Wrong",
    "bare",
    "choice",
    "many",
    "read_degrees",
    "read_length",
    "read_number",
    "row",
    "words",
    "written",
]

_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]")

_NO_COORDINATE = "a direction word stands behind a coordinate only, such as those of at"

Key: TypeAlias = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Slip:
    """One mistake in a slot: `phrase` follows the name of the slot, `key` leads from it to the culprit.

    A `mend` that takes long to find is given as a function, called only for the faults that are told.
    """

    phrase: str
    why: str = ""
    mend: Mend = ""
    key: Key = ()
    offset: int | None = None

    def mended(self) -> str:
        return self.mend if isinstance(self.mend, str) else self.mend()


class Wrong(PydanticCustomError):  # noqa: N818 - reads as what it says
    """Raised with a slip. Validation keeps the slip and lets go of the exception, frames and all."""

    slip: Slip

    def __new__(
        cls, phrase: str, *, why: str = "", mend: Mend = "", key: Key = (), offset: int | None = None
    ) -> Wrong:
        slip = Slip(phrase, why, mend, key, offset)
        made = super().__new__(cls, "wrong", "wrong", {"slip": slip})
        made.slip = slip
        return made

    def __init__(self, *_: object, **__: object) -> None:
        """All is done in `__new__`; the base would refuse keywords."""

    def __str__(self) -> str:
        return self.slip.phrase


class Untold(PydanticCustomError):  # noqa: N818 - never shown
    """Rests on a param whose own fault is reported already."""

    def __new__(cls) -> Untold:
        return super().__new__(cls, "untold", "untold")


@dataclass(frozen=True, slots=True)
class Context:
    """What slots need to know: units and folder of each file (as marks name it), and the params.

    `spoilt` are the params that could not be evaluated; `param_units` the units of the file each was written in;
    `axes` is empty when the file's axes are at fault.
    """

    units: Mapping[str, LengthUnit]
    folders: Mapping[str, Path]
    params: Mapping[str, Quantity]
    param_units: Mapping[str, LengthUnit]
    spoilt: frozenset[str] = frozenset()
    axes: Ways = field(default_factory=dict)


def written(value: object) -> str:
    """`value` as the user wrote it, for messages."""
    match value:
        case Number():
            return value.text
        case None:
            return "empty"
        case bool():
            return "true" if value else "false"
        case list():
            return "a list"
        case dict():
            return "a map"
        case _:
            text = str(value)
            return repr(text if len(text) <= 60 else text[:57] + "...")


def bare(value: object) -> str:
    """`value` as the user wrote it, without quotes where it needs none."""
    return str(value) if isinstance(value, str) and value.isprintable() and len(value) <= 60 else written(value)


def _slot(value: object, info: ValidationInfo, read: Callable[[Quantity], float], *, length: bool = False) -> float:
    """The number or expression in a slot, as `read` takes it."""
    context = cast(Context, info.context)
    try:
        if isinstance(value, Number):
            return read(Quantity(float(value)))
        if isinstance(value, Text):
            return read(_worth(value, context, length=length))
    except QuantityError as error:
        found = error.with_traceback(None)
        what = f"{written(value)} {error.what}" if isinstance(value, Text) else error.what
        mend = _NO_COORDINATE if split_word(str(value))[1] in WORDS else lambda: found.mend
        raise Wrong(what, mend=mend, offset=error.offset) from None
    raise Wrong(f"is {written(value)}, needs a number")


def _worth(text: Text, context: Context, *, length: bool) -> Quantity:
    expression = Expression(text, context.params)
    if not context.spoilt.isdisjoint(expression.names):
        raise Untold()
    value = expression.value(context.params)
    if length and value.dimension == PLAIN:
        for name in expression.names:
            _refuse_foreign_plain(name, context.units[text.mark.file], context)
    return value


def _refuse_foreign_plain(name: str, units: LengthUnit, context: Context) -> None:
    """A plain param from a file in mm must not silently become inches in another."""
    home = context.param_units[name]
    if home != units and context.params[name].dimension == PLAIN:
        what = f"takes {name!r}, a plain number from a file with units: {home}, in a file with units: {units}"
        raise QuantityError(what, mend=f"give {name!r} a unit")


def read_length(value: object, info: ValidationInfo) -> float:
    """The length, mm, that a slot holds."""
    units = cast(Context, info.context).units
    return _slot(value, info, lambda made: to_mm(made, units[cast(Text, value).mark.file]), length=True)


def _none_or_more(value: object, info: ValidationInfo) -> float:
    length = read_length(value, info)
    if length < 0:
        raise Wrong(f"is {length:g} mm, needs 0 mm or more")
    return length


def read_number(value: object, info: ValidationInfo) -> float:
    """The plain number that a slot holds."""
    return _slot(value, info, to_number)


def read_degrees(value: object, info: ValidationInfo) -> float:
    """The angle, degrees, that a slot holds."""
    return _slot(value, info, to_degrees)


def _factor(value: object, info: ValidationInfo) -> float:
    factor = _slot(value, info, to_number)
    if not 1e-6 <= factor <= 1e6:
        raise Wrong(f"is {factor:g}, needs to be between 0.000001 and 1000000")
    return factor


def _number(value: object, info: ValidationInfo) -> float:
    return _slot(value, info, to_number)


def _flag(value: object) -> bool:
    if isinstance(value, bool):
        return value
    word = str(value).lower() if isinstance(value, Text) else ""
    meant = {"true": "true", "yes": "true", "on": "true", "false": "false", "no": "false", "off": "false"}.get(word)
    raise Wrong(f"is {written(value)}, needs true or false", mend=f"write {meant}" if meant else "")


def _text(value: object) -> str:
    if isinstance(value, Number):
        return value.text
    if isinstance(value, Text):
        if control := _CONTROL.search(value):
            raise Wrong(f"holds the control character {control.group()!r}")
        return str(value).strip()
    mend = "put it in quotes" if isinstance(value, bool) else ""
    raise Wrong(f"is {written(value)}, needs text", mend=mend)


def _name(value: object) -> str:
    name = _text(value)
    if not name or not name.isprintable():
        raise Wrong(f"is {written(name) if name else 'empty'}, needs a name on one line")
    return name


def choice(*words: str, meant: Callable[[str], str] = str) -> PlainValidator:
    """The validator of a slot that takes one of `words`; `meant` makes a likelier one of another word."""

    def chosen(value: object) -> str:
        if isinstance(value, str) and value in words:
            return str(value)
        listed = ", ".join(words[:-1]) + " or " + words[-1]
        raise Wrong(f"is {written(value)}, needs {listed}", mend=lambda: nearest(meant(str(value)), words))

    return PlainValidator(chosen)


def words(*words: str) -> WithJsonSchema:
    """What an editor is told about a slot that takes one of `words`."""
    return WithJsonSchema({"enum": list(words)})


def _given(value: object) -> object:
    if value is None:
        raise Wrong("is empty, needs a value", mend="leave the key out if nothing is meant")
    return value


def row(form: str) -> BeforeValidator:
    """The validator of a list with as many items as `form` shows, such as ``x, y, z``."""
    count = len(form.split(","))

    def counted(value: object) -> object:
        if not isinstance(value, list):
            raise Wrong(f"is {written(value)}, needs a list: [{form}]")
        if len(value) != count:
            raise Wrong(f"has {len(value)} values, needs {count}: [{form}]", mend=_row_mend(len(value), form))
        return value

    return BeforeValidator(counted)


def _row_mend(given: int, form: str) -> str:
    count = len(form.split(","))
    if "x" not in form:
        return ""
    if given > count:
        return "a decimal comma begins a new value, write 1.5"
    return f"write one for each of {form}; give the missing {'one' if given == count - 1 else 'ones'}"


def many(least: int) -> BeforeValidator:
    """The validator of a list of at least so many items."""

    def counted(value: object) -> object:
        if not isinstance(value, list):
            raise Wrong(f"is {written(value)}, needs a list")
        if len(value) < least:
            raise Wrong(f"lists {len(value)}, needs at least {least}")
        return value

    return BeforeValidator(counted)


MEASURE: Final = WithJsonSchema({"anyOf": [{"type": "number"}, {"type": "string"}]})

AnyLength: TypeAlias = Annotated[float, PlainValidator(read_length), MEASURE]
Length: TypeAlias = Annotated[float, PlainValidator(_none_or_more), MEASURE]
AnyNumber: TypeAlias = Annotated[float, PlainValidator(_number), MEASURE]
Degrees: TypeAlias = Annotated[float, PlainValidator(read_degrees), MEASURE]
Factor: TypeAlias = Annotated[float, PlainValidator(_factor), MEASURE]
Flag: TypeAlias = Annotated[bool, PlainValidator(_flag), WithJsonSchema({"type": "boolean"})]
Prose: TypeAlias = Annotated[str, PlainValidator(_text), WithJsonSchema({"type": ["string", "number"]})]
Name: TypeAlias = Annotated[str, PlainValidator(_name), WithJsonSchema({"type": ["string", "number"]})]

_T = TypeVar("_T")
Maybe: TypeAlias = Annotated[_T | None, BeforeValidator(_given)]
"""A key that may be left out (then it is None), but not left empty."""

_AXES = get_args(AxisName)
_UNITS = get_args(LengthUnit)
AxisSlot: TypeAlias = Annotated[AxisName, choice(*_AXES), words(*_AXES)]
UnitSlot: TypeAlias = Annotated[LengthUnit, choice(*_UNITS, meant=unit_meant), words(*_UNITS)]
