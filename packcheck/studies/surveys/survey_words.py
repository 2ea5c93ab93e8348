"""A survey in sentences: how well the readings agree, which is wrong, where the geometry is weak."""

from __future__ import annotations

from collections.abc import Iterator

from packcheck.datums import length_words
from packcheck.errors import SourceMark
from packcheck.studies.surveys.survey_next import help_for, offered
from packcheck.survey.adjust import Adjustment
from packcheck.survey.blunders import stands_alone
from packcheck.survey.weak import way_words, weak_line, weaknesses
from packcheck.surveying.survey_faults import slip_of_unit, words_of
from packcheck.surveying.survey_places import hinge_axis
from packcheck.surveying.surveyed import Surveyed
from packcheck.tolerances import COVERAGE

__all__ = ["account", "poor_fit", "said_suspect", "suspicions", "warnings"]

POOR_FIT = 0.01
"""Chance below which readings that disagree this much are not of the accuracy stated."""

TOO_GOOD = 0.01
"""Chance below which readings that agree this well are not of the accuracy stated: the lower side of the same test
(chi-square test of a standard deviation, NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.8)."""

FEW = 6
"""Unchecked readings that are listed by name."""


def account(surveyed: Surveyed) -> Iterator[str]:
    """How many readings there are, how many more than needed, and how well they agree."""
    adjustment = surveyed.adjustment
    read = sum(reading.label in surveyed.repeats for reading in adjustment.network.readings)
    spare = adjustment.freedom
    found = [name for name, point in surveyed.survey.points.items() if point.at is None]
    yield (
        f"{read} readings used, {len(found)} points found, {len(surveyed.bodies)} frames and parts set in place; "
        f"{spare} equation{'' if spare == 1 else 's'} more than needed."
    )
    if surveyed.unread:
        yield f"Still to be read: {', '.join(surveyed.unread)}."
    poor = poor_fit(surveyed)
    if spare > 0 and not poor:
        yield _good_fit(adjustment)
    elif poor:
        yield poor


def _good_fit(adjustment: Adjustment) -> str:
    """How well readings agree that do not disagree too much; whether better than their accuracies can explain."""
    said = f"Residual scatter is {adjustment.scatter:.2g} x the predicted one"
    if adjustment.accord_chance >= TOO_GOOD:
        return f"{said}: normal."
    wide = f"some {1 / adjustment.scatter:.2g} times" if adjustment.scatter > 0 else "without end"
    return (
        f"{said}: sound readings of the accuracy stated would agree so well less than once in a hundred. The "
        f"accuracies are stated far too wide ({wide}), so that every +- is, too, and a mistake may hide in it; or "
        "the readings were worked out, not taken."
    )


def poor_fit(surveyed: Surveyed) -> str:
    """That the readings kept scatter more than their accuracies allow (chi-square), if so; else nothing."""
    adjustment = surveyed.adjustment
    if adjustment.freedom <= 0 or adjustment.fit_chance >= POOR_FIT:
        return ""
    times = f"{adjustment.scatter:.2g} times"
    blame = "" if surveyed.verdicts.suspects else ", and no single one of them stands out"
    return (
        f"The survey's readings scatter {times} what their accuracies lead one to expect{blame}: sound ones of the "
        f"accuracy stated would do so less than once in a hundred. Are the accuracies true? If all were {times} "
        f"as coarse, every +- that comes from the readings would be {times} as wide."
    )


def suspicions(surveyed: Surveyed) -> Iterator[str]:
    """Every reading that the others contradict, and those that scatter wildly."""
    for suspect in surveyed.verdicts.suspects:
        yield said_suspect(surveyed, suspect.reading)
    for reading in surveyed.network.readings:
        if "more than its accuracy" in reading.note:
            yield f"{reading.label}: {reading.note}. Read it again{_at(reading.mark)}."


def said_suspect(surveyed: Surveyed, reading: int) -> str:
    """One suspicious reading: "tape a-b reads 312, the rest agree on 302 +- 1: re-measure it"."""
    suspect = next(one for one in surveyed.verdicts.suspects if one.reading == reading)
    readings = surveyed.network.readings
    unit = readings[reading].unit
    agreed = f"the rest agree on {suspect.others:.1f} +- {COVERAGE * suspect.standard:.1f} {unit} (95 %)"
    said = f"Suspicious: {readings[reading].label} reads {suspect.reads:.1f}, {agreed}"
    slip = slip_of_unit(suspect) if unit == "mm" else ""
    if slip:
        return f"{said}. It fits as {slip}{_at(readings[reading].mark)}."
    if suspect.rivals:
        rivals = ", ".join(readings[k].label for k in suspect.rivals)
        said += f"; but it could also be {rivals}. None is left out: read them again"
        return f"{said}{_at(readings[reading].mark)}."
    return f"{said}: re-measure it. It is left out until then{_at(readings[reading].mark)}."


def _at(mark: SourceMark | None) -> str:
    return "" if mark is None else f" ({mark})"


def warnings(surveyed: Surveyed) -> Iterator[str]:
    """Weak geometry with what would help, and readings that nothing checks."""
    adjustment, words = surveyed.adjustment, words_of(surveyed)
    readings = offered(surveyed)
    for weak in weaknesses(adjustment):
        way = way_words(weak.way, words)
        said = f"Weak: {weak.name} is known to {_within(weak.standard, words.units)} {way}"
        said += f", to {_within(weak.across, words.units)} across (95 %)"
        best = help_for(surveyed, weak, readings)
        better = "" if best is None else f". {best.text} would bring that to {_within(best.after, words.units)}"
        yield f"{said}{better}."
    yield from _weak_hinges(surveyed)
    alone = [adjustment.network.readings[k].label for k in stands_alone(adjustment)]
    lonely = [label for label in alone if label in surveyed.repeats]
    if lonely:
        listed = ", ".join(lonely[:FEW]) + (f" and {len(lonely) - FEW} more" if len(lonely) > FEW else "")
        yield f"Nothing checks {listed}: a mistake there would not be noticed. Measure from one more point."


def _weak_hinges(surveyed: Surveyed) -> Iterator[str]:
    """The line of a hidden hinge, found from short ways of its dots."""
    words = words_of(surveyed)
    for place in surveyed.survey.places.values():
        if place.how != "hinge" or place.name not in surveyed.bodies:
            continue
        weak = weak_line(surveyed.adjustment, place.name, hinge_axis(place, surveyed.scene))
        if weak is not None:
            said = f"the line of {place.name} is known to {_within(weak.standard, words.units)}"
            said += f" {way_words(weak.way, words)}, to {_within(weak.across, words.units)} across that (95 %)"
            yield f"Weak: {said}. Openings farther apart, or dots farther out, would help."


def _within(standard: float, units: str) -> str:
    return f"+- {length_words(COVERAGE * standard, units)}"
