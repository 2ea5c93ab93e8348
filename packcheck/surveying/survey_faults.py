"""Why a survey is no ground to stand on: too few readings, two places that fit, readings that contradict others."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from packcheck.arrays import Point
from packcheck.datums import AxisWords
from packcheck.errors import Fault, SourceMark
from packcheck.survey.adjust import Lack
from packcheck.survey.blunders import Suspect
from packcheck.survey.solve import Twin
from packcheck.survey.weak import way_words
from packcheck.surveying.survey_fits import other_fits
from packcheck.surveying.surveyed import Surveyed

__all__ = ["slip_of_unit", "survey_faults", "words_of"]

SLIPS: Final = {25.4: "inches", 10.0: "cm", 1000.0: "m", 1 / 25.4: "mm taken for inches", 0.1: "mm taken for cm"}
"""What a reading was multiplied by too little, and what unit it was taken in then."""

NEAR: Final = 0.02
"""Share within which a reading in another unit agrees with what the others say."""


def words_of(surveyed: Surveyed) -> AxisWords:
    """What directions are called in this scene."""
    axes = surveyed.scene.axes
    return AxisWords(axes.x, axes.y, axes.z, surveyed.scene.units)


def survey_faults(surveyed: Surveyed) -> tuple[Fault, ...]:
    """Everything that keeps the places found from being used."""
    if surveyed.faults:
        return surveyed.faults
    if surveyed.lacking:
        return tuple(_lacking(surveyed))
    found = [*_twins(surveyed), *(_misfits(surveyed) or _contradictions(surveyed))]
    if not surveyed.adjustment.converged and not found:
        what = "survey: the readings do not settle to one place"
        why = "they contradict each other, or leave a point almost free"
        found.append(Fault(surveyed.survey.mark, what, why, "look at packcheck survey, and measure again"))
    return tuple(found)


def _lacking(surveyed: Surveyed) -> Iterator[Fault]:
    """Points first: a frame that hangs on a free point is free only because of it."""
    points = [lack for lack in surveyed.lacking if lack.name in surveyed.survey.points]
    for lack in points or surveyed.lacking:
        yield _lack(surveyed, lack)


def _lack(surveyed: Surveyed, lack: Lack) -> Fault:
    point = surveyed.survey.points.get(lack.name)
    count = f"{lack.readings or 'no'} reading{'' if lack.readings == 1 else 's'}"
    if point is None:
        place = surveyed.survey.places.get(lack.name)
        mark = place.mark if place else surveyed.survey.mark
        what = f"survey.place {lack.name!r}: with {count}, it is free in {lack.missing} of its 6 ways to move"
        return Fault(mark, what, mend="match more points, or read to more points on it")
    words = words_of(surveyed)
    ways = ", and ".join(way_words(way, words) for way in lack.directions)
    what = f"survey point {lack.name!r}: has {count}, needs three that do not repeat each other; it is free {ways}"
    more = "a reading that tells" if lack.missing == 1 else f"{lack.missing} readings that tell"
    mend = f"add {more} it there{_unread(surveyed)}"
    return Fault(point.mark, what, "a point in space has three coordinates", mend)


def _unread(surveyed: Surveyed) -> str:
    open_ends = len(surveyed.unread)
    return f"; {open_ends} of the sheet still to be read" if open_ends else ""


def _twins(surveyed: Surveyed) -> Iterator[Fault]:
    for twin in surveyed.solution.twins:
        mark = surveyed.survey.points[twin.name].mark
        places = f"{_place(twin.here)} and {_place(twin.there)} mm"
        what = f"survey point {twin.name!r}: two places fit the readings: {places}"
        way = _way(twin, words_of(surveyed))
        mend = f"say which: choose: {way[0]}, or choose: {way[1]}; or add a reading that tells them apart"
        yield Fault(mark, what, "they mirror each other in the plane of what was measured from", mend)


def _misfits(surveyed: Surveyed) -> list[Fault]:
    """Parts whose marks contradict their points, and would not in another size or mirrored."""
    readings = surveyed.network.readings
    if not any(readings[suspect.reading].role == "matched" for suspect in surveyed.verdicts.suspects):
        return []
    return [
        Fault(place.mark, f"survey.place {name!r}: its marks do not fit their points; it {said}")
        for name, place in surveyed.survey.places.items()
        for said in other_fits(surveyed, name)
    ]


def _place(point: Point) -> str:
    return f"({', '.join(f'{value:.0f}' for value in point)})"


def _way(twin: Twin, words: AxisWords) -> tuple[str, str]:
    steps = words.steps(twin.there - twin.here)
    opposite = words.steps(twin.here - twin.there)
    longest = int(np.argmax([length for length, _ in steps]))
    return steps[longest][1], opposite[longest][1]


def slip_of_unit(suspect: Suspect) -> str:
    """The unit that would explain a suspicious reading, or nothing."""
    if suspect.reads == 0:
        return ""
    ratio = suspect.others / suspect.reads
    return next((name for factor, name in SLIPS.items() if abs(ratio / factor - 1) < NEAR), "")


def _contradictions(surveyed: Surveyed) -> Iterator[Fault]:
    readings = surveyed.network.readings
    for suspect in surveyed.verdicts.suspects:
        reading = readings[suspect.reading]
        said = f"{reading.label} reads {suspect.reads:.5g} {reading.unit}"
        agreed = f"the others agree on {suspect.others:.5g} +- {1.96 * suspect.standard:.2g} (95 %)"
        slip = slip_of_unit(suspect) if reading.unit == "mm" else ""
        if slip:
            mend = "write its unit behind it, such as 12 in"
            yield Fault(reading.mark, f"{said}, {agreed}", f"it fits as {slip}", mend)
        elif suspect.rivals:
            rivals = ", ".join(f"{readings[k].label}{_line(readings[k].mark)}" for k in suspect.rivals)
            why = f"one of these is wrong, and the readings cannot tell which: {reading.label}, {rivals}"
            yield Fault(reading.mark, f"{said}, {agreed}", why, "read them again, or add a reading to these points")
    if not surveyed.verdicts.settled and not any(suspect.rivals for suspect in surveyed.verdicts.suspects):
        what = f"survey: {len(surveyed.verdicts.suspects)} readings are set aside, and the rest still disagree"
        yield Fault(
            surveyed.survey.mark, what, mend="measure again, beginning with those that packcheck survey names"
        )


def _line(mark: SourceMark | None) -> str:
    return f" (line {mark.line})" if mark else ""
