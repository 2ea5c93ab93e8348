"""Observations of the scene as equations between points."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from packcheck.arrays import Floats
from packcheck.errors import Fault
from packcheck.scene.model.directions import AXIS_NAMES, FACES, axis_of
from packcheck.scene.model.scene import Cylinder, Part, Tube
from packcheck.scene.model.survey import Instrument, Observation
from packcheck.survey.accuracy import HOOK, SAG, Averaged, averaged, tape_standard
from packcheck.survey.network import Reading, Row
from packcheck.surveying.survey_spots import Spots

__all__ = ["Repeats", "readings_of"]

Repeats = dict[str, Averaged]
"""What repeated readings came to, by label."""


def readings_of(
    observations: tuple[Observation, ...],
    spots: Spots,
    parts: Mapping[str, Part],
    extents: Mapping[str, Floats],
) -> tuple[list[Reading], Repeats, list[str]]:
    """The equations of every observation that was read, gaps between parts left aside.

    Parameters
    ----------
    extents : mapping
        Of the parts whose faces are named: least and greatest coordinates (2, 3) mm in their own frame.

    Returns
    -------
    tuple
        The readings; the mean, scatter and standard uncertainty of each; the labels of those still to be read.
    """
    made: list[Reading] = []
    repeats: Repeats = {}
    unread: list[str] = []
    for one in observations:
        if not _is_read(one):
            unread.append(one.label)
        elif one.kind != "gap":
            mean = mean_of(one, spots.survey.instruments)
            repeats[one.label] = mean
            rows = tuple(_rows(one, mean, spots, parts, extents))
            unit = "deg" if one.kind == "angle" else "mm"
            made.append(Reading(one.label, rows, unit, mark=one.mark, note=_note(mean)))  # type: ignore[arg-type]
    return made, repeats, unread


def _is_read(one: Observation) -> bool:
    return bool(one.values) or one.kind in ("plumb", "lies_on")


def mean_of(one: Observation, instruments: Mapping[str, Instrument]) -> Averaged:
    """One number for an observation, with its standard uncertainty, mm or degrees."""
    values = one.values or (0.0,)
    return averaged(values, standard_of(one, instruments, float(np.mean(values))))


def standard_of(one: Observation, instruments: Mapping[str, Instrument], length: float) -> float:
    """The standard uncertainty of a single reading of `length`, as stated or as its instrument promises."""
    if one.standard is not None:
        return one.standard
    instrument = instruments[one.instrument or one.kind]
    if instrument.standard is not None:
        return instrument.standard
    hook = HOOK if instrument.hook is None else instrument.hook
    sag = SAG if instrument.sag is None else instrument.sag
    return tape_standard(instrument.tape, abs(length), hook=hook, sag=sag)


def _note(mean: Averaged) -> str:
    if mean.scatter is None:
        return ""
    said = f"mean of {mean.count}, scatter {mean.scatter:.2g}"
    return f"{said}, more than its accuracy allows" if mean.wild else said


def _rows(
    one: Observation, mean: Averaged, spots: Spots, parts: Mapping[str, Part], extents: Mapping[str, Floats]
) -> Iterator[Row]:
    at = [spots.at(name) for name in one.names]
    value, standard = mean.value, mean.standard
    match one.kind:
        case "tape":
            yield Row("distance", (at[0], at[1]), value, standard)
        case "level":
            yield Row("along", (at[1], at[0], *spots.up()), value, standard)
        case "plumb":
            for way in spots.level():
                yield Row("along", (at[1], at[0], *way), 0.0, standard)
        case "offset":
            yield _offset(one, at[0], value + one.step, standard, spots)
        case "angle":
            yield _angle(one, at, value, standard, spots)
        case "lies_on":
            yield from _lies_on(one, at, standard, spots, parts, extents)


def _offset(one: Observation, point: int, value: float, standard: float, spots: Spots) -> Row:
    assert one.along is not None
    way = spots.direction(one.along, one.axes)
    if len(one.origin) == 3:
        a, b, c = (spots.at(name) for name in one.origin)
        return Row("plane", (point, a, b, c, *way), value, standard)
    start = spots.at(one.origin[0]) if one.origin else way[0]
    return Row("along", (point, start, *way), value, standard)


def _angle(one: Observation, at: list[int], value: float, standard: float, spots: Spots) -> Row:
    if len(at) == 3:
        return Row("angle", (at[0], at[1], at[2]), value, standard)
    if one.to is None or one.to == "level":
        return Row("elevation", (at[0], at[1], *spots.up()), value, standard)
    return Row("angle_to", (at[0], at[1], *spots.direction(one.to, one.axes)), value, standard)


def _lies_on(
    one: Observation,
    at: list[int],
    standard: float,
    spots: Spots,
    parts: Mapping[str, Part],
    extents: Mapping[str, Floats],
) -> Iterator[Row]:
    if one.face == "side":
        yield from _round(one, at[0], standard, spots, parts[one.of], extents[one.of])
    elif one.face is not None:
        axis, sign = axis_of(spots.ways, FACES[one.face])
        way = spots.axis(one.of, axis, sign)
        yield Row("along", (at[0], way[0], *way), float(sign * extents[one.of][int(sign > 0), axis]), standard)
    elif len(at) == 4:
        yield Row("plane", (*at, *spots.up()), 0.0, standard)
    else:
        yield Row("beside", (at[0], at[1], at[2]), 0.0, standard)
        yield Row("over", (at[0], at[1], at[2]), 0.0, standard)


def _round(
    one: Observation, point: int, standard: float, spots: Spots, part: Part, extents: Floats
) -> Iterator[Row]:
    """On the round side of a cylinder or tube."""
    shape = part.solids[0].shape if len(part.solids) == 1 else None
    if not isinstance(shape, (Cylinder, Tube)) or part.solids[0].turn != (0.0, 0.0, 0.0):
        what = f"{one.label}: {one.of!r} is no single cylinder or tube, which alone have a side"
        spots.faults.append(
            Fault(one.mark, what, mend="name one of its faces: front, rear, left, right, top, bottom")
        )
        return
    middle = extents.mean(axis=0)
    start = spots.on(one.of, middle, f"{one.of} middle")
    end = spots.on(one.of, middle + 1000.0 * np.eye(3)[AXIS_NAMES.index(shape.along)], f"{one.of} along")
    width = shape.diameter if isinstance(shape, Cylinder) else shape.outer
    yield Row("radius", (point, start, end), width / 2, standard)
