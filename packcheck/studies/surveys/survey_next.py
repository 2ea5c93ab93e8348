"""Which single reading, and how good, would decide a gap that is undecided?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from packcheck.arrays import Floats
from packcheck.assembly.assembly import Assembly
from packcheck.findings import Finding
from packcheck.scene.model.scene import CAR
from packcheck.survey.network import ARM, Reading
from packcheck.survey.weak import Help, Weakness, best_help, candidates, needed_accuracy
from packcheck.surveying.surveyed import Surveyed
from packcheck.tolerances import COVERAGE

__all__ = ["Deciding", "deciding", "help_for", "offered", "on_survey"]

COARSEST: Final = 20.0
"""mm, standard. A reading that may be worse than this is none."""

FINEST: Final = 0.1
"""mm, standard. What has to be better than this is not to be had with a tape."""


@dataclass(frozen=True, slots=True)
class Deciding:
    """A reading that decides a gap, if it says what is expected: how good it must be, and to what verdict."""

    text: str
    standard: float
    clear: bool


def offered(surveyed: Surveyed) -> tuple[Reading, ...]:
    """Every reading one could take: a tape between a found point and any other, its place along each axis."""
    network = surveyed.network
    number = {spot.name: k for k, spot in enumerate(network.spots)}
    points = [number[name] for name in surveyed.survey.points if name in number]
    axes = {}
    for tip in ("x", "y", "z"):
        if f"{CAR} +{tip}" in number:
            axes[_axis_word(surveyed, tip)] = (number[CAR], number[f"{CAR} +{tip}"])
    return tuple(candidates(surveyed.adjustment, points, axes))


def _axis_word(surveyed: Surveyed, axis: str) -> str:
    words = {"fore": "fore and aft place", "aft": "fore and aft place", "up": "height", "down": "height"}
    return words.get(getattr(surveyed.scene.axes, axis), "sideways place")


def help_for(surveyed: Surveyed, weak: Weakness, readings: tuple[Reading, ...]) -> Help | None:
    """The reading that would help a weak point most."""
    adjustment = surveyed.adjustment
    target = np.zeros(adjustment.network.unknowns)
    target[adjustment.network.columns(weak.name)] = weak.way
    return best_help(adjustment, target, readings)


def deciding(assembly: Assembly, finding: Finding, readings: tuple[Reading, ...]) -> Deciding | None:
    """The coarsest single reading that would turn an undecided gap into clear or short; None when none would."""
    surveyed, unsure = assembly.surveyed, finding.standard_uncertainty
    low, high = finding.hard
    must = finding.limit.must
    if surveyed is None or not unsure or must is None or finding.points is None or finding.direction is None:
        return None
    clear = low is not None and low > must
    room = low - must if low is not None and clear else must - high if high is not None else 0.0
    if room <= 0:
        return None
    band = COVERAGE * unsure if finding.spread is None else finding.spread.band
    to_go = unsure**2 - (room * unsure / band) ** 2  # the band shrinks with the uncertainty
    found = list(_good_enough(surveyed, _target(assembly, surveyed, finding), readings, to_go))
    if not found:
        return None
    standard, text = max(found)
    return Deciding(text, standard, clear)


def _good_enough(
    surveyed: Surveyed, target: Floats, readings: tuple[Reading, ...], to_go: float
) -> Iterator[tuple[float, str]]:
    for reading in readings:
        needed = needed_accuracy(surveyed.adjustment, target, reading, to_go)
        if needed is not None and needed >= FINEST:
            yield min(needed, COARSEST), reading.label


def _target(assembly: Assembly, surveyed: Surveyed, finding: Finding) -> Floats:
    """How the gap changes with the unknowns of the survey (n,)."""
    assert finding.points is not None and finding.direction is not None
    a, b = finding.subjects
    gradient = assembly.account.gradient(a, b, finding.points, finding.direction)
    return on_survey(assembly, gradient, surveyed)


def on_survey(assembly: Assembly, gradient: Floats, surveyed: Surveyed) -> Floats:
    """A gradient by shifts and turns as one by the unknowns of the survey (n,)."""
    network, columns = surveyed.adjustment.network, assembly.account.sources.likely.columns
    target = np.zeros(network.unknowns)
    for body in surveyed.bodies:
        own = gradient[columns[body] : columns[body] + 6]
        target[network.columns(body)] = np.concatenate([own[:3], own[3:] / ARM])
    return target
