"""Numbers in print. A low end is only ever rounded down and a high end up, so that no rounding flatters a gap."""

from __future__ import annotations

import math
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from enum import Enum
from typing import Final

__all__ = ["Toward", "length", "plain", "rounded"]

MM_PER_INCH: Final = 25.4

NOISE: Final = 1e-9
"""mm. A figure nearer than this to a round one is the round one: far above the rounding of a float at 1 m, far
below anything that can be measured."""

ENDLESS: Final = 1e12
"""Figures beyond this carry no decimals to round."""


class Toward(Enum):
    """Which way a figure may be rounded."""

    NEAREST = ROUND_HALF_EVEN
    DOWN = ROUND_FLOOR
    UP = ROUND_CEILING


def rounded(value: float, places: int = 3, toward: Toward = Toward.NEAREST) -> float:
    """`value` to `places` decimals, never minus zero.

    Examples
    --------
    >>> rounded(8.2999, 1, Toward.DOWN), rounded(8.2001, 1, Toward.UP), rounded(-0.0001)
    (8.2, 8.3, 0.0)
    """
    if abs(value) >= ENDLESS:
        return float(value)
    exact = Decimal(repr(float(value)))
    step = Decimal(1).scaleb(-places)
    nearest = exact.quantize(step, ROUND_HALF_EVEN)
    chosen = nearest if abs(float(exact - nearest)) <= NOISE else exact.quantize(step, toward.value)
    return float(chosen) + 0.0


def plain(value: float) -> str:
    """A figure as a person types it: no trailing zeros, at most three decimals."""
    return f"{rounded(value):.3f}".rstrip("0").rstrip(".")


def length(
    mm: float,
    units: str,
    toward: Toward = Toward.NEAREST,
    *,
    fine: bool = False,
    typed: bool = False,
) -> str:
    """A length in words: mm, or inches with mm in brackets.

    Parameters
    ----------
    mm : float
    units : str
        Units of the scene; only `in` prints inches.
    toward : Toward
        Which way both figures are rounded.
    fine : bool
        Thousandths of a mm (ten-thousandths of an inch) instead of tenths (thousandths).
    typed : bool
        A figure someone typed, such as a limit: printed without trailing zeros.

    Examples
    --------
    >>> length(8.2, "mm"), length(12.7, "in"), length(10, "mm", typed=True)
    ('8.2 mm', '0.500 in (12.7 mm)', '10 mm')
    """
    if not math.isfinite(mm):
        return "endless"
    places = 3 if fine else 1
    metric = f"{plain(mm) if typed else f'{rounded(mm, places, toward):.{places}f}'} mm"
    if units != "in":
        return metric
    places = 4 if fine else 3
    inches = mm / MM_PER_INCH
    said = plain(inches) if typed else f"{rounded(inches, places, toward):.{places}f}"
    return f"{said} in ({metric})"
