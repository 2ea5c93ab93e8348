"""What is required of a number, and whether an interval keeps it; how a number that is only likely is spread."""

from __future__ import annotations

from dataclasses import dataclass
from math import copysign, erfc, exp, factorial, inf, pi, prod, sqrt
from typing import Final

from packcheck.tolerances import COVERAGES, LIMIT_SLACK

__all__ = ["NO_LIMIT", "Chance", "Limit"]


@dataclass(frozen=True, slots=True)
class Limit:
    """What is asked of a number: at least `must` (better `want`), at most `most`. None: not asked.

    Here alone a number designed exactly at its limit is given `LIMIT_SLACK`, for the rounding of what was typed.
    """

    must: float | None = None
    want: float | None = None
    most: float | None = None

    @property
    def floor(self) -> float:
        """The least number that keeps `must`."""
        return -inf if self.must is None else self.must - LIMIT_SLACK

    @property
    def ceiling(self) -> float:
        """The greatest number that keeps `most`."""
        return inf if self.most is None else self.most + LIMIT_SLACK

    def keeps(self, low: float | None, high: float | None) -> bool:
        """Whether a number that lies in [low, high] surely keeps the limit; None is no end."""
        return (self.must is None or (low is not None and low >= self.floor)) and (
            self.most is None or (high is not None and high <= self.ceiling)
        )

    def misses(self, low: float | None, high: float | None) -> bool:
        """Whether it surely does not."""
        return (high is not None and high < self.floor) or (low is not None and low > self.ceiling)

    def satisfies(self, low: float | None) -> bool:
        """Whether it surely is what is wanted, besides."""
        return self.want is None or (low is not None and low >= self.want - LIMIT_SLACK)

    def spare(self, low: float | None, high: float | None = None) -> float:
        """What is surely left of the limit; -inf where an end that counts is not known."""
        under = inf if self.must is None else -inf if low is None else low - self.floor
        over = inf if self.most is None else -inf if high is None else self.ceiling - high
        return min(under, over)


NO_LIMIT: Final = Limit()
"""Nothing is required."""


@dataclass(frozen=True, slots=True)
class Chance:
    """How a likely gap is spread: standard uncertainty, mm, at the nearest points and at the farthest corner.

    `numbers` independent ones bear on it, 1 to 6; `even` where they shift all of it alike.
    """

    standard: float
    farthest: float
    numbers: int
    even: bool = True

    @property
    def band(self) -> float:
        """What it may be off by to each side, 95 times in 100, mm."""
        return COVERAGES[self.numbers - 1] * self.farthest

    def beyond(self, room: float) -> float:
        """The chance, at the most, that the gap is more than `room` mm off, in the worst hard world."""
        steps = room / self.farthest if self.farthest > 0 else copysign(inf, room)
        if self.numbers == 1 and self.even:
            return 0.5 * erfc(steps / sqrt(2.0))
        return min(1.0, _outside(max(steps, 0.0), self.numbers))


def _outside(z: float, numbers: int) -> float:
    """The chance that the squares of so many standard normal numbers add up to more than z squared."""
    half = z * z / 2
    if half > 700:
        return 0.0
    if numbers % 2 == 0:
        return exp(-half) * sum(half**k / factorial(k) for k in range(numbers // 2))
    terms = sum(z ** (2 * k - 1) / prod(range(1, 2 * k, 2)) for k in range(1, (numbers + 1) // 2))
    return erfc(z / sqrt(2.0)) + sqrt(2 / pi) * exp(-half) * terms
