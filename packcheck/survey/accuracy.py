"""How good is a reading? From what an instrument promises to a standard uncertainty.

A bare accuracy is a limit: "good to 2 mm" means that the reading is surely within 2 mm, and every place inside is
as likely. Its standard uncertainty is then the limit over the root of three (GUM, JCGM 100:2008, 4.3.7). A tape of
an accuracy class may err by a + b L, L being its length in metres rounded up, and by a further c where the zero is
its own end, as with a hook (Directive 2014/32/EU, annex X, the same as OIML R 35-1). The allowances for the hook
sliding, for reading to a millimetre and for sag are common practice, and are named so.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil, sqrt
from statistics import fmean, stdev
from typing import Final

__all__ = [
    "HOOK",
    "READING",
    "SAG",
    "TAPE_CLASSES",
    "Averaged",
    "TapeClass",
    "averaged",
    "from_limits",
    "permissible_error",
    "tape_standard",
]

HOOK: Final = 0.5
"""mm. What a sliding hook, and laying it on, may add. Common practice."""

READING: Final = 0.5
"""mm. What reading it to the nearest millimetre may add. Common practice."""

SAG: Final = 0.01
"""Sag over span of a tape drawn tight by hand. Common practice; it lengthens the reading by 8/3 of its square."""

MM_PER_M: Final = 1000.0


@dataclass(frozen=True, slots=True)
class TapeClass:
    """mm, mm per metre, and mm more where the zero is the end of the tape."""

    fixed: float
    per_metre: float
    end: float


TAPE_CLASSES: Final[Mapping[str, TapeClass]] = {
    "I": TapeClass(0.1, 0.1, 0.1),
    "II": TapeClass(0.3, 0.2, 0.2),
    "III": TapeClass(0.6, 0.4, 0.3),
}
"""2014/32/EU, annex X (MI-008), chapter I."""


def permissible_error(tape: str, length: float, *, from_end: bool = False) -> float:
    """The most, mm, that a tape of class `tape` may err over `length` mm; `from_end`: its zero is its own end.

    Examples
    --------
    >>> round(permissible_error("II", 3000), 3), round(permissible_error("II", 3000.5, from_end=True), 3)
    (0.9, 1.3)
    """
    graded = TAPE_CLASSES[tape]
    metres = max(1, ceil(length / MM_PER_M - 1e-12))
    return graded.fixed + graded.per_metre * metres + (graded.end if from_end else 0.0)


def from_limits(limit: float) -> float:
    """The standard uncertainty of a number surely within `limit` of its value, no place likelier: GUM 4.3.7."""
    return limit / sqrt(3.0)


def tape_standard(tape: str, length: float, *, hook: float = HOOK, sag: float = SAG) -> float:
    """The standard uncertainty, mm, of a distance read with a hooked tape held free.

    Parameters
    ----------
    length : float
        What it reads, mm.
    hook : float
        Allowance for the hook, mm; 0 for a tape read from a line.
    sag : float
        Sag over span; 0 for a tape that lies on something. A tape that sags by s over L reads 8 s^2 / 3 L too much.
    """
    parts = (permissible_error(tape, length, from_end=hook > 0), hook, READING, 8.0 / 3.0 * sag**2 * length)
    return sqrt(sum(from_limits(part) ** 2 for part in parts))


@dataclass(frozen=True, slots=True)
class Averaged:
    """Several readings of one thing: their mean and its standard uncertainty; `scatter` None for a single one."""

    value: float
    standard: float
    count: int
    scatter: float | None = None
    wild: bool = False  # they scatter more than the stated accuracy allows


def averaged(readings: Sequence[float], standard: float) -> Averaged:
    """One number from repeated readings.

    Parameters
    ----------
    readings : at least one, all of the same thing
    standard : float
        Standard uncertainty of a single one, as the instrument promises it.

    Returns
    -------
    Averaged
        The scatter shrinks with the root of the count; what the instrument promises does not, since a bent hook is
        bent every time. So the mean of many is never called better than the instrument (GUM 4.2.3, 4.3, 5.1.2), and
        single readings, of which the promise is all that is known, are given just that.
    """
    count = len(readings)
    if count == 1:
        return Averaged(readings[0], standard, 1)
    scatter = stdev(readings)
    whole = sqrt(standard**2 + scatter**2 / count)
    return Averaged(fmean(readings), whole, count, scatter, _wild(count, scatter, standard))


def _wild(count: int, scatter: float, standard: float) -> bool:
    """Whether the scatter is more than one sound set in a hundred would show (chi-square)."""
    from scipy.special import chdtrc

    return bool(chdtrc(count - 1, (count - 1) * (scatter / standard) ** 2) < 0.01)
