"""From the understood grammar of a survey to its facts; the sheet with the readings is read on the way."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any, Final

from packcheck.errors import Fault, SourceMark
from packcheck.scene.document.document import RawScene
from packcheck.scene.document.faults import spot_at
from packcheck.scene.grammar import observing, surveying
from packcheck.scene.grammar.sureness import AnyAccuracy, standard_of
from packcheck.scene.model.directions import Ways
from packcheck.scene.model.survey import (
    Check,
    Instrument,
    Match,
    Observation,
    Place,
    Rock,
    Stance,
    Survey,
    SurveyPoint,
)
from packcheck.scene.quantities.placement import turn_of
from packcheck.scene.text.sheet import read_sheet

__all__ = ["made_checks", "made_survey"]

MARKING: Final = 0.5 / 3**0.5
"""mm, standard. How near a centre punch or a pencil dot is to what it marks: within 0.5 mm. Common practice."""

TOOLS: Final[Mapping[str, float]] = {"drill": 0.2, "feeler": 0.1, "calliper": 0.1, "clay": 0.5, "tape": 1.0}
"""mm. How near a gap is told by what it was measured with: surely within this. Common practice."""


def _mark(raw: RawScene, *loc: str | int) -> SourceMark:
    spot = spot_at(raw.tree, loc)
    return spot.key_mark or spot.mark


def _standard(accuracy: AnyAccuracy | None, otherwise: float) -> float:
    return otherwise if accuracy is None else standard_of(accuracy)


def made_survey(raw: RawScene, survey: surveying.Survey | None, ways: Ways) -> tuple[Survey | None, list[Fault]]:
    """The facts, and the faults of the sheet; no survey, no facts."""
    if survey is None:
        return None, []
    observations = _observations(raw, survey)
    made = Survey(
        points={name: _point(raw, name, point) for name, point in survey.points.items()},
        observations=observations,
        instruments={name: _instrument(name, one) for name, one in survey.instruments.items()},
        stance=_stance(raw, survey.stance, ways),
        places={name: _place(raw, name, place) for name, place in survey.place.items()},
        rocks=tuple(_rock(raw, name, rock) for name, rock in survey.rocks.items()),
        sheet=survey.readings or "",
        mark=_mark(raw, "survey"),
    )
    return _filled(raw, made) if survey.readings else (made, [])


def _filled(raw: RawScene, survey: Survey) -> tuple[Survey, list[Fault]]:
    """The survey with the readings of its sheet in the place of those that were left open."""
    spot = spot_at(raw.tree, ("survey", "readings"))
    labels = {one.label: one.kind == "angle" for one in survey.observations}
    path = raw.folders[spot.mark.file] / survey.sheet
    sheet = read_sheet(path, spot.mark, labels, raw.units[spot.mark.file])
    twice = [one for one in survey.observations if one.values and sheet.values.get(one.label)]
    faults = [
        Fault(one.mark, f"{one.label!r} has reads here and in {survey.sheet}", mend="leave out one of the two")
        for one in twice
    ]
    filled = (
        one if one.values else replace(one, values=sheet.values.get(one.label, ())) for one in survey.observations
    )
    return replace(survey, observations=tuple(filled)), [*sheet.faults, *faults]


def _point(raw: RawScene, name: str, point: surveying.SurveyPoint) -> SurveyPoint:
    return SurveyPoint(
        name,
        point.in_ if point.at is not None else "",
        point.at,
        _standard(point.accuracy, 0.0),
        point.near,
        point.choose,
        _mark(raw, "survey", "points", name),
    )


def _instrument(name: str, one: surveying.Instrument) -> Instrument:
    stated = one.angles or one.accuracy
    return Instrument(
        name,
        None if stated is None else standard_of(stated),
        one.angles is not None,
        one.tape or "",
        one.hook,
        one.sag,
    )


def _stance(raw: RawScene, stance: surveying.Stance | None, ways: Ways) -> Stance:
    if stance is None:
        return Stance()
    return Stance(turn_of(stance, ways), _standard(stance.accuracy, 0.0), _mark(raw, "survey", "stance"))


def _place(raw: RawScene, name: str, place: surveying.Place) -> Place:
    made = Place(
        name, "readings", standard=_standard(place.accuracy, MARKING), mark=_mark(raw, "survey", "place", name)
    )
    if place.origin is not None and place.toward and place.side:
        (first, second), (third, fourth) = *place.toward.items(), *place.side.items()
        return replace(made, how="points", points=(place.origin, second, fourth), ways=(first, third))
    along = (place.along,) if place.along else ()
    if place.plane is not None:
        return replace(made, how="plane", points=tuple(place.plane), ways=along)
    if place.axis is not None:
        return replace(made, how="axis", points=place.axis, ways=along)
    if place.matched is not None:
        return replace(made, how="matched", matches=tuple(Match(*pair) for pair in place.matched.items()))
    if place.hinge is not None:
        return replace(made, how="hinge", dots=tuple(tuple(dot) for dot in place.hinge), ways=along)
    return made


def _rock(raw: RawScene, name: str, rock: surveying.Rock) -> Rock:
    mark = _mark(raw, "survey", "rocks", name)
    return Rock(name, rock.axis, rock.point, rock.moves, standard_of(rock.accuracy), mark)


def _observations(raw: RawScene, survey: surveying.Survey) -> tuple[Observation, ...]:
    made: list[Observation] = []
    seen: dict[str, int] = {}
    for place, observation in enumerate(survey.observations):
        one = _observation(observation, _mark(raw, "survey", "observations", place))
        seen[one.label] = seen.get(one.label, 0) + 1
        made.append(one if seen[one.label] == 1 else replace(one, label=f"{one.label} ({seen[one.label]})"))
    return tuple(made)


def _observation(read: observing.AnyReading, mark: SourceMark) -> Observation:
    facts = _facts(read)
    accuracy = read.accuracy
    return replace(
        Observation(**facts, mark=mark),
        values=tuple(getattr(read, "reads", ())),
        standard=None if accuracy is None else standard_of(accuracy),
        instrument=read.with_ or "",
    )


def _facts(read: observing.AnyReading) -> dict[str, Any]:
    """Kind, label, names and what else the kind has."""
    match read:
        case observing.OffsetReading():
            origin = tuple(read.from_ or ())
            start = f" from {' '.join(origin)}" if origin else ""
            axes = "" if read.axes == "car" else f" of {read.axes}"
            label = f"offset {read.offset} {read.along}{axes}{start}"
            facts = {"names": (read.offset,), "origin": origin, "along": read.along, "axes": read.axes}
            return {"kind": "offset", "label": label, "step": read.step, **facts}
        case observing.AngleReading():
            to = f" to {read.to}" if read.to else ""
            label = f"angle {'-'.join(read.angle)}{to}"
            return {"kind": "angle", "label": label, "names": tuple(read.angle), "to": read.to, "axes": read.axes}
        case observing.LiesOnReading():
            return _lies_on(read)
        case _:
            kind, names = next(_paired(read))
            return {"kind": kind, "label": f"{kind} {'-'.join(names)}", "names": names}


def _paired(read: observing.AnyReading) -> Iterator[tuple[str, tuple[str, ...]]]:
    for kind in ("tape", "level", "plumb", "gap"):
        if hasattr(read, kind):
            yield kind, getattr(read, kind)


def _lies_on(read: observing.LiesOnReading) -> dict[str, Any]:
    others = tuple(read.plane or read.line or ())
    what = f"{read.face} of {read.of}" if read.face else f"{'plane' if read.plane else 'line'} {' '.join(others)}"
    facts = {"face": read.face, "of": read.of or "", "names": (read.lies_on, *others)}
    return {"kind": "lies_on", "label": f"lies_on {read.lies_on} {what}", **facts}


def made_checks(raw: RawScene, checks: list[surveying.Check], survey: Survey | None) -> tuple[Check, ...]:
    """The gaps measured on the car. `links` saw to it that each says how good it is."""
    instruments = {} if survey is None else survey.instruments
    return tuple(_check(raw, place, check, instruments) for place, check in enumerate(checks))


def _check(raw: RawScene, place: int, check: surveying.Check, instruments: Mapping[str, Instrument]) -> Check:
    tool = check.with_ or ""
    stated = instruments[tool].standard if tool in instruments else None
    standard = _standard(check.accuracy, stated or TOOLS.get(tool, 1.0) / 3**0.5)
    return Check(check.between, check.measured, standard, tool, _mark(raw, "checks", place))
