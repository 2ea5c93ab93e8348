"""What may stand in one place of the scene file: a length, an angle, a name, one of several words.

Each slot is a type for the grammar: it turns what was written straight into mm, degrees or text, or says what is
wrong with it. Bare numbers are in the units of the file they were written in.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Annotated, Final, TypeAlias, TypeVar, get_args

from pydantic import BeforeValidator, PlainValidator, ValidationInfo, WithJsonSchema

from packcheck.scene.expressions import evaluate, names_in
from packcheck.scene.model import AxisName, LengthUnit
from packcheck.scene.nodes import Number, Text
from packcheck.units import PLAIN, Quantity, QuantityError, to_degrees, to_mm, to_number

__all__ = [
    "AnyLength",
    "AxisSlot",
    "Context",
    "Degrees",
    "Factor",
    "Flag",
    "Length",
    "Maybe",
    "Name",
    "Prose",
    "Size",
    "UnitSlot",
    "Untold",
    "Wrong",
    "bare",
    "choice",
    "closest",
    "many",
    "nearest",
    "quantity",
    "row",
    "words",
    "written",
]

SMALLEST: Final = 0.001
"""mm. Nothing smaller can be made or measured: a smaller size is a slip of the unit."""

Key: TypeAlias = tuple[str | int, ...]


class Wrong(ValueError):  # noqa: N818 - reads as what it says
    """One mistake in a slot: `phrase` follows the name of the slot, `key` leads from it to the culprit."""

    def __init__(
        self, phrase: str, *, why: str = "", mend: str = "", key: Key = (), offset: int | None = None
    ) -> None:
        super().__init__(phrase)
        self.phrase, self.why, self.mend, self.key, self.offset = phrase, why, mend, key, offset


class Untold(ValueError):  # noqa: N818 - never shown
    """Rests on a param whose own fault is reported already."""


@dataclass(frozen=True, slots=True)
class Context:
    """What slots need to know: units and folder of each file (as marks name it), and the params.

    `spoilt` are the params that could not be evaluated; `param_units` the units of the file each was written in.
    """

    units: Mapping[str, LengthUnit]
    folders: Mapping[str, Path]
    params: Mapping[str, Quantity]
    spoilt: frozenset[str] = frozenset()
    param_units: Mapping[str, LengthUnit] | None = None


def closest(word: str, known: Iterable[str]) -> str:
    """The known word most like `word`, or nothing."""
    alike = [other for other in known if abs(len(other) - len(word)) <= 3][:500]
    return next(iter(get_close_matches(word, alike, n=1)), "")


def nearest(word: str, known: Iterable[str]) -> str:
    """A sentence naming the known word most like `word`, or nothing."""
    near = closest(word, known)
    return f"did you mean {near!r}?" if near else ""


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


def quantity(value: object, context: Context) -> Quantity:
    """The number or expression in a slot."""
    if isinstance(value, Number):
        return Quantity(float(value))
    if not isinstance(value, Text):
        raise Wrong(f"is {written(value)}, needs a number")
    if context.spoilt and not context.spoilt.isdisjoint(names_in(value)):
        raise Untold
    return evaluate(value, context.params)


def _slot(value: object, info: ValidationInfo, read: Callable[[Quantity, Text | Number], float]) -> float:
    context: Context = info.context  # type: ignore[assignment]
    try:
        made = quantity(value, context)
        return read(made, value)  # type: ignore[arg-type]
    except QuantityError as error:
        raise Wrong(f"{written(value)} {error.what}", mend=error.mend, offset=error.offset) from None


def _length(value: object, info: ValidationInfo) -> float:
    context: Context = info.context  # type: ignore[assignment]

    def read(made: Quantity, source: Text | Number) -> float:
        units = context.units[source.mark.file]
        if made.dimension == PLAIN and isinstance(source, Text):
            _refuse_foreign_plain(source, units, context)
        return to_mm(made, units)

    return _slot(value, info, read)


def _refuse_foreign_plain(text: Text, units: LengthUnit, context: Context) -> None:
    """A plain param from a file in mm must not silently become inches in another."""
    for name in names_in(text):
        home = (context.param_units or {}).get(name, units)
        if home != units and context.params[name].dimension == PLAIN:
            what = f"takes the plain number {name!r}, written in a file in {home}, as a length in {units}"
            raise QuantityError(what, mend=f"give {name!r} a unit")


def _size(value: object, info: ValidationInfo) -> float:
    length = _length(value, info)
    if length < SMALLEST:
        needed = "more than 0 mm" if length <= 0 else f"at least {SMALLEST:g} mm"
        raise Wrong(f"is {length:g} mm, needs {needed}")
    return length


def _none_or_more(value: object, info: ValidationInfo) -> float:
    length = _length(value, info)
    if length < 0:
        raise Wrong(f"is {length:g} mm, needs 0 mm or more")
    return length


def _degrees(value: object, info: ValidationInfo) -> float:
    return _slot(value, info, lambda made, _: to_degrees(made))


def _factor(value: object, info: ValidationInfo) -> float:
    factor = _slot(value, info, lambda made, _: to_number(made))
    if not 1e-6 <= factor <= 1e6:
        raise Wrong(f"is {factor:g}, needs to be between 0.000001 and 1000000")
    return factor


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
        return str(value).strip()
    mend = "put it in quotes" if isinstance(value, bool) else ""
    raise Wrong(f"is {written(value)}, needs text", mend=mend)


def _name(value: object) -> str:
    name = _text(value)
    if not name:
        raise Wrong("is empty, needs a name")
    return name


def choice(*words: str) -> PlainValidator:
    """The validator of a slot that takes one of `words`."""

    def chosen(value: object) -> str:
        if isinstance(value, str) and value in words:
            return str(value)
        listed = ", ".join(words[:-1]) + " or " + words[-1]
        raise Wrong(f"is {written(value)}, needs {listed}", mend=nearest(str(value), words))

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
            mend = "a decimal comma begins a new value, write 1.5" if len(value) > count and "x" in form else ""
            raise Wrong(f"has {len(value)} values, needs {count}: [{form}]", mend=mend)
        return value

    return BeforeValidator(counted)


def many(least: int) -> BeforeValidator:
    """The validator of a list of at least so many items."""

    def counted(value: object) -> object:
        if not isinstance(value, list):
            raise Wrong(f"is {written(value)}, needs a list")
        if len(value) < least:
            raise Wrong(f"has {len(value)} items, needs at least {least}")
        return value

    return BeforeValidator(counted)


_MEASURE = WithJsonSchema({"anyOf": [{"type": "number"}, {"type": "string"}]})

AnyLength: TypeAlias = Annotated[float, PlainValidator(_length), _MEASURE]
Size: TypeAlias = Annotated[float, PlainValidator(_size), _MEASURE]
Length: TypeAlias = Annotated[float, PlainValidator(_none_or_more), _MEASURE]
Degrees: TypeAlias = Annotated[float, PlainValidator(_degrees), _MEASURE]
Factor: TypeAlias = Annotated[float, PlainValidator(_factor), _MEASURE]
Flag: TypeAlias = Annotated[bool, PlainValidator(_flag), WithJsonSchema({"type": "boolean"})]
Prose: TypeAlias = Annotated[str, PlainValidator(_text), WithJsonSchema({"type": ["string", "number"]})]
Name: TypeAlias = Annotated[str, PlainValidator(_name), WithJsonSchema({"type": ["string", "number"]})]

T = TypeVar("T")
Maybe: TypeAlias = Annotated[T | None, BeforeValidator(_given)]
"""A key that may be left out (then it is None), but not left empty."""

_AXES = get_args(AxisName)
_UNITS = get_args(LengthUnit)
AxisSlot: TypeAlias = Annotated[AxisName, choice(*_AXES), words(*_AXES)]
UnitSlot: TypeAlias = Annotated[LengthUnit, choice(*_UNITS), words(*_UNITS)]
