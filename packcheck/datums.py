"""A point in the builder's own words: "58 mm aft of bulkhead, 303 mm left, 118 mm up"."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from packcheck.arrays import Point, Vector, frozen
from packcheck.findings import Place
from packcheck.frames import Pose

__all__ = ["AxisWords", "Datums", "inch_figure", "length_words"]

MM_PER_INCH = 25.4
_OPPOSITE = {"fore": "aft", "aft": "fore", "left": "right", "right": "left", "up": "down", "down": "up"}
_OF = {
    "fore": "forward of",
    "aft": "aft of",
    "left": "left of",
    "right": "right of",
    "up": "above",
    "down": "below",
}
_ALONE = {"fore": "forward"}


@dataclass(frozen=True, slots=True)
class AxisWords:
    """What the positive x, y and z point to, and the unit lengths are written in (`in`: inches, else mm)."""

    x: str = "aft"
    y: str = "right"
    z: str = "up"
    units: str = "mm"

    def steps(self, by: Vector) -> list[tuple[float, str]]:
        """A vector (3,) mm as positive lengths with their direction words, fore and aft first, up and down last."""
        named = [(abs(v), w if v >= 0 else _OPPOSITE[w]) for v, w in zip(by, (self.x, self.y, self.z), strict=True)]
        order = ("fore", "aft", "left", "right", "up", "down")
        return sorted(named, key=lambda step: order.index(step[1]) // 2)

    def way(self, word: str) -> Vector:
        """The unit vector (3,) that a direction word means."""
        axes = (self.x, self.y, self.z)
        return frozen([1.0 if word == axis else -1.0 if _OPPOSITE[word] == axis else 0.0 for axis in axes])

    def shift_words(self, by: Vector) -> str:
        """A move in words: "17 mm right and 4 mm up"."""
        said = [
            f"{length_words(length, self.units)} {_ALONE.get(word, word)}"
            for length, word in self.steps(by)
            if length > 1e-9
        ]
        return " and ".join(said)


@dataclass(frozen=True, slots=True)
class Datums:
    """The named frames that one can tape from, `frames` being their poses in the car, without `car` itself."""

    frames: Mapping[str, Pose]
    words: AxisWords = AxisWords()

    def place(self, point: Point) -> Place:
        """`point` (3,) mm, car frame, told from the nearest named frame, or from the car's zero if there is none.

        Distances run along the car's axes, as a tape held level and square does, also when the datum is tilted.
        """
        name = min(
            self.frames,
            key=lambda frame: float(np.linalg.norm(point - self.frames[frame].translation)),
            default="car",
        )
        origin = self.frames[name].translation if name in self.frames else np.zeros(3)
        by = frozen(point - origin)
        return Place(name, by, self._words(by, name if name in self.frames else "the car's zero"))

    def _words(self, by: Vector, datum: str) -> str:
        steps = [(length, word) for length, word in self.words.steps(by) if length >= _printable(self.words.units)]
        if not steps:
            return f"at {datum}"
        (first, word), *rest = steps
        said = [f"{length_words(first, self.words.units)} {_OF[word]} {datum}"]
        said += [f"{length_words(length, self.words.units)} {_ALONE.get(word, word)}" for length, word in rest]
        return ", ".join(said)


def _printable(units: str) -> float:
    """The least length, mm, that does not print as zero."""
    return MM_PER_INCH / 32 if units == "in" else 0.5


def length_words(length: float, units: str) -> str:
    """A length, mm, to a whole mm, or to tenths when it is not whole and short; inches to the nearest sixteenth."""
    if units == "in":
        return _inches(length)
    whole = round(length)
    if length < 10 and abs(length - whole) > 0.05:
        return f"{length:.1f} mm"
    return f"{whole} mm"


def _inches(length: float) -> str:
    return f"{inch_figure(length)} in"


def inch_figure(length: float, whole: Callable[[float], int] = round, parts: int = 16) -> str:
    """A length, mm, in inches and a fraction of `parts`; `whole` rounds it, floor and ceil past what is only noise.

    Examples
    --------
    >>> from math import ceil, floor
    >>> inch_figure(26.0), inch_figure(26.0, ceil), inch_figure(25.4 * 3 / 8, floor)
    ('1', '1 1/16', '3/8')
    """
    count = length / MM_PER_INCH * parts
    near = round(count)
    fraction = Fraction(near if abs(count - near) < _NOISE else whole(count), parts)
    full, part = divmod(fraction, 1)
    return " ".join([*([str(full)] if full or not part else []), *([str(part)] if part else [])])


_NOISE = 1e-6
