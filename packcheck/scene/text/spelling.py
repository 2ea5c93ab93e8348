"""Values as a builder would write them in YAML: on one line where they fit, quoted only where they must be."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, TypeAlias, cast

from packcheck.scene.model.scene import LengthUnit
from packcheck.scene.text.nodes import is_plain_word
from packcheck.units import UNITS

__all__ = ["Mm", "Value", "block", "figure", "flow", "is_bare", "settled"]

WIDTH: Final = 100
"""Columns that a line written by us keeps to where it can."""

FINEST: Final = 64
"""Parts of an inch that a rule is marked in."""

_SAFE = re.compile(r"[\w(][\w .+*/()-]*(?<! )")


@dataclass(frozen=True, slots=True)
class Mm:
    """A length in mm, written in the units of the file it goes to."""

    mm: float


Value: TypeAlias = "str | float | bool | Mm | Sequence[Value] | Mapping[str, Value] | None"


def settled(value: Value, units: LengthUnit) -> Value:
    """The same value with every `Mm` as a bare number of `units`, or in inches as a fraction where it is one."""
    match value:
        case Mm():
            return _length(value.mm, units)
        case str():
            return value
        case Mapping():
            return {key: settled(entry, units) for key, entry in value.items()}
        case Sequence():
            return [settled(item, units) for item in value]
        case _:
            return value


def _length(mm: float, units: LengthUnit) -> Value:
    exact = mm / float(UNITS[units])
    parts = Fraction(round(exact * FINEST), FINEST)
    if units != "in" or parts.denominator == 1 or abs(exact - parts) > 1e-6:
        return exact
    whole, rest = divmod(abs(parts), 1)
    said = f"{whole} {rest} in" if whole else f"{rest} in"
    return f"-({said})" if parts < 0 and whole else f"-{said}" if parts < 0 else said


def figure(number: float) -> str:
    """A number as a person types it: at most six decimals, no exponent, no trailing zeros."""
    text = f"{number:.6f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def flow(value: Value) -> str:
    """A settled value on one line.

    Examples
    --------
    >>> flow({"at": [60, -1.5, "12 up"], "note": "a: b"})
    '{at: [60, -1.5, 12 up], note: "a: b"}'
    """
    match value:
        case None | bool():
            return {None: "null", True: "true", False: "false"}[value]
        case int() | float():
            return figure(value)
        case str():
            return value if is_bare(value) and not is_plain_word(value) else _quoted(value)
        case Mapping():
            return "{" + ", ".join(f"{_key(key)}: {flow(entry)}" for key, entry in value.items()) + "}"
        case _:
            return "[" + ", ".join(flow(item) for item in cast("Sequence[Value]", value)) + "]"


def is_bare(text: str) -> bool:
    """Whether `text` may stand in a list on one line without quotes, whatever it is read as."""
    return _SAFE.fullmatch(text) is not None


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=not text.isprintable())


def _key(name: str) -> str:
    return name if is_bare(name) else _quoted(name)


def block(name: str, value: Value, column: int, step: int) -> list[str]:
    """An entry of a block map as lines, its key in `column`, what belongs to it `step` deeper."""
    blank = " " * column
    line = f"{blank}{_key(name)}: {flow(value)}"
    nested = isinstance(value, Mapping) and any(isinstance(entry, Mapping) for entry in value.values())
    if not isinstance(value, Mapping) or not value or (not nested and len(line) <= WIDTH):
        return [line]
    below = [line for key, entry in value.items() for line in block(key, entry, column + step, step)]
    return [f"{blank}{_key(name)}:", *below]
