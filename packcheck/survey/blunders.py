"""Which reading is wrong? Each is compared with what all the others say together.

Method: data snooping. A residual over its own standard uncertainty is normal when all is well; the largest of them
is tested so that one sound survey in a hundred raises a false alarm, however many readings it has. The reading
whose removal mends most is set aside and the test repeated. When another reading's removal would mend nearly as
much, the two cannot be told apart, and both are named.

Source: Baarda, *A testing procedure for use in geodetic networks*, 1968; the share of each test after Šidák 1967.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Final

import numpy as np

from packcheck.arrays import Floats
from packcheck.survey.adjust import Adjustment, adjusted_from
from packcheck.survey.network import Network

__all__ = ["Suspect", "Verdicts", "find_blunders", "least_detectable", "outlying", "stands_alone"]

FALSE_ALARMS: Final = 0.01
"""Share of sound surveys that raise an alarm."""

TELLING: Final = 6.63
"""How much less the squares must sum to without one reading than without another, for the first to be named alone
(chi-square, 1, a chance of one in a hundred)."""

UNCHECKED: Final = 0.1
"""A redundancy below this: a mistake as large as ten times its own residual would hide."""

MOST: Final = 5
"""Readings set aside at the most; a survey with more is measured again."""

CANDIDATES: Final = 8
"""Readings under suspicion that are tried one by one. A blunder spoils the residuals of its neighbours, yet its own
stands among the largest."""

DETECTED: Final = 0.84
"""Standard deviations for finding four blunders in five."""


@dataclass(frozen=True, slots=True)
class Suspect:
    """A reading, by number, that disagrees with the others: what it reads, what they agree on and how surely.

    `rivals` are readings that could be the wrong one just as well; then none of them was set aside.
    """

    reading: int
    reads: float
    others: float
    standard: float
    standardised: float
    rivals: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Verdicts:
    """The adjustment without what was set aside, and every suspect; `settled`: nothing suspicious is left in it."""

    adjustment: Adjustment
    suspects: tuple[Suspect, ...]
    settled: bool

    @property
    def aside(self) -> tuple[int, ...]:
        return tuple(suspect.reading for suspect in self.suspects if not suspect.rivals)


def outlying(count: int) -> float:
    """How large the largest of `count` standardised residuals may be before an alarm."""
    share = 1.0 - (1.0 - FALSE_ALARMS) ** (1.0 / max(count, 1))
    return NormalDist().inv_cdf(1.0 - share / 2)


def find_blunders(adjustment: Adjustment) -> Verdicts:
    """Every reading that the others contradict, one after another, and what is left without them."""
    network = adjustment.network
    aside: list[int] = []
    suspects: list[Suspect] = []
    current = adjustment
    while len(aside) < MOST:
        ranked = _ranked(current, network, aside)
        if not ranked:
            return Verdicts(current, tuple(suspects), True)
        (reading, found), *others = ranked
        rivals = tuple(other for other, without in others if without.refined.cost - found.refined.cost < TELLING)
        suspects.append(_suspect(network, reading, found, current, aside, rivals))
        if rivals or not found.converged:
            return Verdicts(current, tuple(suspects), False)
        aside.append(reading)
        current = found
    return Verdicts(current, tuple(suspects), False)


def _ranked(current: Adjustment, network: Network, aside: Sequence[int]) -> list[tuple[int, Adjustment]]:
    """Readings under suspicion, by how much their removal mends, each with the adjustment without it."""
    kept = [k for k in range(len(network.readings)) if k not in aside]
    size = np.abs(current.standardised)
    suspicious = {}
    for place, k in enumerate(kept):
        largest = float(size[current.network.owner == place].max())
        if largest > _limit(current) and network.readings[k].role != "defining":
            suspicious[k] = largest
    worst = sorted(suspicious, key=lambda k: -suspicious[k])[:CANDIDATES]
    tried = [(k, adjusted_from(network.without(frozenset({*aside, k})), current.state)) for k in worst]
    return sorted(tried, key=lambda pair: pair[1].refined.cost)


def _limit(current: Adjustment) -> float:
    return outlying(int(np.sum(current.redundancy > 1e-6)))


def _suspect(
    network: Network,
    reading: int,
    found: Adjustment,
    current: Adjustment,
    aside: Sequence[int],
    rivals: tuple[int, ...],
) -> Suspect:
    whole = network.readings[reading]
    place = reading - sum(k < reading for k in aside)
    size = np.where(current.network.owner == place, np.abs(current.standardised), 0.0)
    row = int(np.argmax(size)) - int(np.argmax(current.network.owner == place))
    others, standard = _told(Network(network.spots, network.bodies, (whole,)), found)
    return Suspect(reading, whole.rows[row].value, others[row], standard[row], float(size.max()), rivals)


def _told(alone: Network, found: Adjustment) -> tuple[Floats, Floats]:
    """What an adjustment says that the rows of other readings should read, and how surely."""
    _, slope = alone.evaluate(found.state)
    slope = slope * alone.standards[:, None]
    variance = np.einsum("mi,ij,mj->m", slope, found.covariance, slope)
    return alone.expected(found.state), np.sqrt(variance)


def least_detectable(adjustment: Adjustment) -> Floats:
    """The smallest mistake (m,) in each row, in its unit, that is found four times in five; inf: none would be."""
    shown = np.sqrt(adjustment.redundancy)
    need = _limit(adjustment) + DETECTED
    return np.where(shown > 1e-3, need * adjustment.network.standards / np.maximum(shown, 1e-3), np.inf)


def stands_alone(adjustment: Adjustment) -> tuple[int, ...]:
    """Readings, by number, that the others do not check: a mistake in one of them would not be noticed."""
    owner, network = adjustment.network.owner, adjustment.network
    best = [float(adjustment.redundancy[owner == k].max(initial=0.0)) for k in range(len(network.readings))]
    return tuple(k for k, r in enumerate(best) if r < UNCHECKED and network.readings[k].role == "reading")
