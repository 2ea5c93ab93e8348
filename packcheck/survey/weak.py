"""In which direction is a point badly known, and which one more reading would help most?

The covariance of a point is an ellipsoid. Where its longest axis stands out, the geometry is weak: a point nearly
in the plane of what it was measured from is well known in that plane, and badly across it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from math import sqrt
from typing import Final

import numpy as np

from packcheck.arrays import Floats, Vector
from packcheck.datums import AxisWords
from packcheck.survey.adjust import Adjustment
from packcheck.survey.network import Network, Reading, Row

__all__ = ["Help", "Weakness", "best_help", "candidates", "needed_accuracy", "way_words", "weak_line", "weaknesses"]

STANDS_OUT: Final = 3.0
"""How many times longer than the middle axis of its ellipsoid, and than the accuracy of the readings, the longest
axis must be for a point to be called weak."""

ALONG: Final = 0.95
"""Cosine from which a direction is told by one axis alone (18 degrees)."""

_BOTH: Final = {"fore": "fore and aft", "aft": "fore and aft", "left": "left and right", "right": "left and right"}


@dataclass(frozen=True, slots=True, eq=False)
class Weakness:
    """A point known to `standard` mm along the unit vector `way` (3,), and to `across` mm at the next worst."""

    name: str
    way: Vector
    standard: float
    across: float


@dataclass(frozen=True, slots=True)
class Help:
    """One more reading, in words, and the standard uncertainty, mm, that it would leave."""

    text: str
    before: float
    after: float
    standard: float


def weaknesses(adjustment: Adjustment, points: Iterable[int] | None = None) -> tuple[Weakness, ...]:
    """Every free point whose ellipsoid is drawn out."""
    typical = float(np.median([row.standard for row in _lengths(adjustment.network)] or [1.0]))
    found = []
    for spot in adjustment.network.free if points is None else points:
        variances, axes = np.linalg.eigh(adjustment.point_covariance(spot))
        middle, most = np.sqrt(np.maximum(variances[1:], 0.0))
        if most > STANDS_OUT * max(middle, 1e-9) and most > STANDS_OUT * typical:
            found.append(Weakness(adjustment.network.spots[spot].name, axes[:, 2], float(most), float(middle)))
    return tuple(found)


def weak_line(adjustment: Adjustment, body: str, axis: int) -> Weakness | None:
    """How badly the line along its own `axis` through the zero of a body is known, across itself, if it is weak."""
    way = adjustment.pose(body).rotation[:, axis]
    across = np.eye(3) - np.outer(way, way)
    variances, axes = np.linalg.eigh(across @ adjustment.body_covariance([body])[:3, :3] @ across)
    middle, most = np.sqrt(np.maximum(variances[1:], 0.0))
    typical = float(np.median([row.standard for row in _lengths(adjustment.network)] or [1.0]))
    if most <= STANDS_OUT * typical:
        return None
    return Weakness(body, axes[:, 2], float(most), float(middle))


def _lengths(network: Network) -> Iterator[Row]:
    for reading in network.readings:
        if reading.unit == "mm" and reading.role == "reading":
            yield from reading.rows


def way_words(way: Vector, words: AxisWords) -> str:
    """A direction, either way along it, in words: "up and down (the vertical)", "between up and fore"."""
    names = (words.x, words.y, words.z)
    order = np.argsort(-np.abs(way))
    first = int(order[0])
    if abs(way[first]) >= ALONG:
        name = names[first]
        return _BOTH.get(name, "up and down (the vertical)")
    flip = np.sign(way[first])
    sides = [_toward(names[k], float(flip * way[k])) for k in order if abs(way[k]) > sqrt(1 - ALONG**2)]
    return "between " + " and ".join(sides)


def _toward(name: str, amount: float) -> str:
    opposite = {"fore": "aft", "aft": "fore", "left": "right", "right": "left", "up": "down", "down": "up"}
    return name if amount >= 0 else opposite[name]


def candidates(
    adjustment: Adjustment, spots: Iterable[int], axes: Mapping[str, tuple[int, int]]
) -> Iterator[Reading]:
    """Readings that could be taken: a tape from each of `spots` to each free point, and an offset along each axis.

    Parameters
    ----------
    axes : mapping
        What a coordinate along an axis is called, and the two points that give its direction.
    """
    network = adjustment.network
    done = {frozenset(row.spots) for row in network.rows if row.kind == "distance"}
    standard = float(np.median([row.standard for row in _lengths(network)] or [1.0]))
    anchors = list(spots)
    for point in network.free:
        name = network.spots[point].name
        for other in anchors:
            if other != point and frozenset((point, other)) not in done:
                row = Row("distance", (point, other), 0.0, standard)
                yield Reading(f"a tape from {network.spots[other].name} to {name}", (row,))
        for words, (start, end) in axes.items():
            yield Reading(f"the {words} of {name}", (Row("along", (point, start, start, end), 0.0, standard),))


def best_help(adjustment: Adjustment, target: Floats, offered: Iterable[Reading]) -> Help | None:
    """Which one of the readings offered would make `target` (n,), a gradient by the unknowns, surest?

    By the rank-one update of the covariance C: the variance falls by (t C a)^2 / (s^2 + a C a) for a reading with
    gradient a and standard uncertainty s.
    """
    before = float(target @ adjustment.covariance @ target)
    best: Help | None = None
    for reading in offered:
        shared, own = _shared(adjustment, target, reading)
        standard = reading.rows[0].standard
        after = sqrt(max(before - shared / (standard**2 + own), 0.0))
        if best is None or after < best.after - 1e-9:
            best = Help(reading.label, sqrt(max(before, 0.0)), after, standard)
    return best


def _shared(adjustment: Adjustment, target: Floats, reading: Reading) -> tuple[float, float]:
    """The square of the covariance of `target` and a reading, and the variance the reading has already."""
    slope = adjustment.slope(reading.rows[0])
    spread = adjustment.covariance @ slope
    return float(target @ spread) ** 2, float(slope @ spread)


def needed_accuracy(adjustment: Adjustment, target: Floats, reading: Reading, to_go: float) -> float | None:
    """How good, standard uncertainty in its own unit, a reading must be to take `to_go` mm^2 off the variance.

    None when even a perfect reading would not.
    """
    shared, own = _shared(adjustment, target, reading)
    if to_go <= 0 or own <= 0 or shared / own <= to_go:
        return None
    return sqrt(shared / to_go - own)
