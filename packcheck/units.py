"""Quantities: numbers that know whether they are lengths, angles or plain, and arithmetic over them.

Inside packcheck every length is mm and every angle degrees; this is the only place where other units exist.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Collection
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from fractions import Fraction
from typing import Final, NamedTuple, TypeAlias

__all__ = [
    "ANGLE",
    "FARTHEST",
    "LENGTH",
    "PLAIN",
    "RATIO",
    "UNITS",
    "Dimension",
    "Mend",
    "Quantity",
    "QuantityError",
    "literal",
    "to_degrees",
    "to_mm",
    "to_number",
    "unit_meant",
]

UNITS: Final = {"mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000), "in": Fraction("25.4")}
"""mm per length unit. The inch is exactly 25.4 mm (international yard and pound agreement of 1959)."""

FARTHEST: Final = 1e6
"""mm. Nothing about a car is 1 km long: a longer length is a slip of the unit or of a power of ten."""

_KIN = {"inch": "in", "inches": "in", "millimetre": "mm", "millimeter": "mm", "metre": "m"}
_KIN |= {"meter": "m", "degree": "deg", "degrees": "deg", "°": "deg", "centimetre": "cm", "centimeter": "cm"}
_INCH_MARKS: Final = ('"', "''", "″")
_FEET: Final = ("ft", "foot", "feet", "'")
_LONGEST_UNIT: Final = 20
"""Characters that are looked at to find what was meant."""

_ALIKE: Final = 0.75
"""Alikeness of a misspelt unit and the one it is taken for."""


Mend: TypeAlias = str | Callable[[], str]
"""What would put a mistake right; a function where finding it takes long and may not be asked for."""


class QuantityError(ValueError):
    """A quantity that cannot be read or reckoned; `offset` is the place in the text when it is known."""

    def __init__(self, what: str, *, mend: Mend = "", offset: int | None = None) -> None:
        super().__init__(what)
        self.what, self.offset = what, offset
        self._mend = mend

    @property
    def mend(self) -> str:
        return self._mend if isinstance(self._mend, str) else self._mend()


class Dimension(NamedTuple):
    """Powers of length and angle; `ratio` marks a plain number that came from dividing like by like."""

    length: int = 0
    angle: int = 0
    ratio: bool = False

    def __str__(self) -> str:
        known = {PLAIN: "a plain number", RATIO: "a ratio", LENGTH: "mm", ANGLE: "deg"}
        powers = [f"{unit}^{power}" for unit, power in (("mm", self.length), ("deg", self.angle)) if power]
        return known.get(self) or " ".join(powers)


PLAIN: Final = Dimension()
RATIO: Final = Dimension(ratio=True)
LENGTH: Final = Dimension(length=1)
ANGLE: Final = Dimension(angle=1)


def _combined(a: Dimension, b: Dimension, sign: int) -> Dimension:
    length, angle = a.length + sign * b.length, a.angle + sign * b.angle
    bare = not length and not angle
    return Dimension(length, angle, ratio=bare and not (a == b == PLAIN))


@dataclass(frozen=True, slots=True)
class Quantity:
    """A finite number in mm, degrees or their powers, and its dimension.

    `fraction` is the text of a fraction without a unit that it was reckoned from, such as 2 7/8: people write
    inches so, and as a length it is taken in nothing else.

    Raises
    ------
    QuantityError
        When the number is not finite, or when unlike quantities are added or compared.

    Examples
    --------
    >>> Quantity(10.0, LENGTH) + Quantity(5.0, LENGTH)
    Quantity(value=15.0, dimension=Dimension(length=1, angle=0, ratio=False))
    >>> Quantity(10.0, LENGTH) < Quantity(5.0, ANGLE)
    Traceback (most recent call last):
    packcheck.units.QuantityError: cannot compare mm and deg
    """

    value: float
    dimension: Dimension = PLAIN
    fraction: str = field(default="", compare=False, repr=False)

    def __post_init__(self) -> None:
        if not math.isfinite(self.value):
            raise QuantityError("is too large a number, or not a number at all")

    def _like(self, other: Quantity, verb: str) -> Dimension:
        """The dimension both share; a ratio and a plain number are alike."""
        if self.dimension == other.dimension:
            return self.dimension
        if {self.dimension, other.dimension} == {PLAIN, RATIO}:
            return RATIO
        mend = "give the number a unit, such as 20 mm" if PLAIN in (self.dimension, other.dimension) else ""
        raise QuantityError(f"cannot {verb} {self.dimension} and {other.dimension}", mend=mend)

    def __add__(self, other: Quantity) -> Quantity:
        return Quantity(self.value + other.value, self._like(other, "add"), self.fraction or other.fraction)

    def __sub__(self, other: Quantity) -> Quantity:
        return Quantity(self.value - other.value, self._like(other, "subtract"), self.fraction or other.fraction)

    def __mul__(self, other: Quantity) -> Quantity:
        dimension = _combined(self.dimension, other.dimension, 1)
        return Quantity(self.value * other.value, dimension, self.fraction or other.fraction)

    def __truediv__(self, other: Quantity) -> Quantity:
        if not other.value:
            raise QuantityError("divides by zero")
        dimension = _combined(self.dimension, other.dimension, -1)
        return Quantity(self.value / other.value, dimension, self.fraction or other.fraction)

    def __neg__(self) -> Quantity:
        return replace(self, value=-self.value)

    def __pos__(self) -> Quantity:
        return self

    def __abs__(self) -> Quantity:
        return replace(self, value=abs(self.value))

    def __lt__(self, other: Quantity) -> bool:
        self._like(other, "compare")
        return self.value < other.value

    def __le__(self, other: Quantity) -> bool:
        self._like(other, "compare")
        return self.value <= other.value

    def __gt__(self, other: Quantity) -> bool:
        self._like(other, "compare")
        return self.value > other.value

    def __ge__(self, other: Quantity) -> bool:
        self._like(other, "compare")
        return self.value >= other.value


def to_mm(quantity: Quantity, units: str = "mm") -> float:
    """How many mm is it? A plain number is taken in `units`; a fraction without a unit in inches only."""
    if quantity.dimension == PLAIN and quantity.fraction and units != "in":
        raise QuantityError(
            f"is a fraction without a unit in a file with units: {units}",
            mend=f"{quantity.fraction} in? write the unit",
        )
    if quantity.dimension == PLAIN:
        length = quantity.value if units == "mm" else float(Fraction(quantity.value) * UNITS[units])
    else:
        length = _demand(quantity, LENGTH, "a length")
    if abs(length) > FARTHEST:
        raise QuantityError(
            f"is {length:g} mm, needs to be within 1 km", mend="check the unit and the decimal point"
        )
    return length


def to_degrees(quantity: Quantity) -> float:
    """How many degrees is it? A plain number is taken in degrees; more than a whole turn is an error."""
    angle = quantity.value if quantity.dimension == PLAIN else _demand(quantity, ANGLE, "an angle")
    if abs(angle) > 360.0:
        raise QuantityError(f"is {angle:g} deg, needs to be within one whole turn, -360 to 360 deg")
    return angle


def to_number(quantity: Quantity) -> float:
    """The value of a plain number or of a ratio."""
    if quantity.dimension == RATIO:
        return quantity.value
    return _demand(quantity, PLAIN, "a plain number")


def _demand(quantity: Quantity, dimension: Dimension, wanted: str) -> float:
    if quantity.dimension == dimension:
        return quantity.value
    got = {LENGTH: "a length", ANGLE: "an angle", Dimension(2): "an area"}.get(quantity.dimension)
    raise QuantityError(f"is {got or quantity.dimension}, not {wanted}")


_NUMBER = r"(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
_LITERAL = re.compile(
    rf"""(?<![\w.])
    (?: (?: (?P<whole>[0-9]+)\s+ )? (?P<over>[0-9]+)\s*/\s*(?P<under>[0-9]+) (?(whole)|(?=\s*[^\W\d_]|\s*["'″°]))
      | (?P<number>{_NUMBER}) )
    (?: \s*(?P<unit>[^\W\d_]\w*|["'″°]+) )?""",
    re.VERBOSE,
)
# A fraction is one literal when a whole number stands before it or a unit behind it; a bare 3/8 is left to
# ordinary division, so that a / 3/8 keeps its usual meaning.
_JOINED = re.compile(r"[\w.]+")


def literal(text: str, at: int = 0, known: Collection[str] = ()) -> tuple[Quantity, int] | None:
    """The quantity written at `text[at:]` and where it ends, or None when no number stands there.

    Parameters
    ----------
    text : str
        Such as ``12 mm``, ``3/8 in``, ``14 3/8"``, ``1 1/2``, ``2.5e-1``.
    known : collection of str
        Names a user may have meant to multiply by; only for hints.

    Raises
    ------
    QuantityError
        Unknown unit, improper mixed number, or a number out of range.
    """
    found = _LITERAL.match(text, at)
    if found is None:
        return None
    if joined := _JOINED.match(text, found.end()):
        raise QuantityError(f"has {found.group() + joined.group()!r}, which is not a number", offset=at)
    value, unit = _value(found), found["unit"]
    if unit is None:
        return Quantity(_near(value), fraction=found.group() if found["over"] else ""), found.end()
    unit = "in" if unit in _INCH_MARKS else unit
    if unit in UNITS:
        return Quantity(_near(value * UNITS[unit]), LENGTH), found.end()
    if unit == "deg":
        return Quantity(_near(value), ANGLE), found.end()
    raise QuantityError(
        f"has the unknown unit {unit!r}, known are mm, cm, m, in and deg",
        mend=_unit_mend(unit) or (f"to multiply, write * {unit}" if unit in known else ""),
        offset=found.start("unit"),
    )


def _value(found: re.Match[str]) -> Fraction:
    """Exact, so that 0.1 in is the float nearest to 2.54 mm."""
    if found["number"] is None:
        return _mixed(found)
    near = float(found["number"])
    if not math.isfinite(near):
        raise QuantityError("is too large a number", offset=found.start())
    return Fraction(near) if "e" in found["number"].lower() else Fraction(found["number"])


def _mixed(found: re.Match[str]) -> Fraction:
    whole, over, under = int(found["whole"] or 0), int(found["over"]), int(found["under"])
    if not under:
        raise QuantityError("divides by zero", offset=found.start("under"))
    if found["whole"] and over >= under:
        raise QuantityError(
            f"has {over}/{under} after a whole number, needs a fraction below 1", offset=found.start()
        )
    return whole + Fraction(over, under)


def _near(value: Fraction) -> float:
    try:
        return float(value)
    except OverflowError:
        raise QuantityError("is too large a number") from None


def _unit_mend(unit: str) -> str:
    if unit.lower() in _FEET:
        return "a foot is 12 in"
    meant = unit_meant(unit)
    return f"write {meant!r}" if meant else ""


def unit_meant(word: str) -> str:
    """The unit somebody meant who wrote another word, misspelt or in full, or nothing.

    Examples
    --------
    >>> unit_meant("milimetres"), unit_meant("inchs"), unit_meant("MM"), unit_meant("furlong")
    ('mm', 'in', 'mm', '')
    """
    lower = word.lower()[:_LONGEST_UNIT]
    for known in (lower, lower.removesuffix("s")):
        if known in UNITS or known == "deg":
            return known
    near = get_close_matches(lower, _KIN, n=1, cutoff=_ALIKE)
    return _KIN[near[0]] if near else ""
