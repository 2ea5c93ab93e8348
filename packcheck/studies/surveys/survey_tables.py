"""A survey in tables: points, what stands where, every reading, what rocks, what to measure next."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from math import asin, degrees, sqrt

import numpy as np

from packcheck.arrays import Floats
from packcheck.assembly.assembly import Assembly
from packcheck.findings import Cell, Finding, Table, Verdict
from packcheck.frames import turn_degrees
from packcheck.proximity import Session
from packcheck.scene.model.survey import Rock
from packcheck.studies import gaps
from packcheck.studies.surveys.survey_next import deciding, offered
from packcheck.survey.propagate import linear
from packcheck.surveying.survey_fits import other_fits
from packcheck.surveying.surveyed import Surveyed
from packcheck.tolerances import COVERAGE

__all__ = ["measure_next", "points_table", "readings_table", "rocks_table", "standing_table"]


def points_table(surveyed: Surveyed) -> Table:
    """Where each point is, and to what it is known, 95 times in 100."""
    adjustment = surveyed.adjustment
    rows: list[tuple[Cell, ...]] = []
    for name, point in surveyed.survey.points.items():
        spot = next(k for k, one in enumerate(adjustment.network.spots) if one.name == name)
        spread = COVERAGE * np.sqrt(np.diag(adjustment.point_covariance(spot)))
        carried = adjustment.network.spots[spot].body in surveyed.bodies
        known = "" if point.at is None else f"on {point.on}" if carried else "known"
        ends = (None, None, None) if not spread.any() else tuple(round(float(s), 1) for s in spread)
        rows.append((name, *(round(float(v), 1) for v in adjustment.placed[spot]), *ends, known))
    columns = ("point", "x, mm", "y, mm", "z, mm", "+- x", "+- y", "+- z", "")
    return Table(
        "survey_points", "Points, in the car", columns, tuple(rows), "+-: holds the truth 95 times in 100."
    )


def standing_table(surveyed: Surveyed) -> Table:
    """Where the frames and parts stand that the points set in place."""
    rows: list[tuple[Cell, ...]] = []
    for name in surveyed.bodies:
        pose, covariance = surveyed.adjustment.pose(name), surveyed.adjustment.body_covariance([name])
        spread = COVERAGE * np.sqrt(np.diag(covariance))
        at = [round(float(v), 1) for v in pose.translation]
        turn = [round(v, 2) + 0.0 for v in turn_degrees(pose.rotation)]
        shift = round(float(spread[:3].max()), 1)
        rows.append((name, *at, shift, *turn, round(degrees(float(spread[3:].max())), 2), _misfit(surveyed, name)))
    columns = ("frame or part", "x, mm", "y, mm", "z, mm", "+-", "turn x, deg", "turn y", "turn z", "+-", "marks")
    note = "+-: the worst of the three, 95 times in 100. marks: what is left between marks and points, at the most."
    return Table("survey_places", "Set in place", columns, tuple(rows), note)


def _misfit(surveyed: Surveyed, name: str) -> str:
    """What is left of the marks of a part, and whether another scale or a mirror image would fit better."""
    adjustment, place = surveyed.adjustment, surveyed.survey.places[name]
    left = [
        abs(float(value))
        for value, owner in zip(adjustment.left, adjustment.network.owner, strict=True)
        if adjustment.network.readings[owner].role == "matched"
        and adjustment.network.readings[owner].mark == place.mark
    ]
    said = f"{max(left):.1f} mm" if left else ""
    return ", ".join(filter(None, [said, *other_fits(surveyed, name)]))


def readings_table(surveyed: Surveyed) -> Table:
    """Every reading beside what the adjustment says it should be; those set aside are marked."""
    adjustment = surveyed.adjustment
    rows: list[tuple[Cell, ...]] = []
    for k, reading in enumerate(adjustment.network.readings):
        if reading.label not in surveyed.repeats:
            continue
        own = np.flatnonzero(adjustment.network.owner == k)
        row = int(own[np.argmax(np.abs(adjustment.standardised[own]))])
        given = adjustment.network.rows[row]
        share = round(100 * float(adjustment.redundancy[row]))
        figures = (given.value, given.value - adjustment.left[row], adjustment.left[row])
        said = (round(float(v), 1) + 0.0 for v in figures)
        worth = round(float(adjustment.standardised[row]), 1) + 0.0
        scatter = surveyed.repeats[reading.label].scatter
        repeated = "" if scatter is None else f"scatter {scatter:.2g}"
        rows.append((reading.label, *said, worth, share, repeated))
    rows += _aside(surveyed)
    columns = ("reading", "reads", "should", "left", "worth", "checked, %", "")
    note = "mm or degrees. worth: what is left, in its own standard uncertainties; past 3 or so it is suspect."
    return Table("survey_readings", "Readings", columns, tuple(rows), note)


def _aside(surveyed: Surveyed) -> Iterator[tuple[Cell, ...]]:
    for suspect in surveyed.verdicts.suspects:
        if suspect.reading in surveyed.verdicts.aside:
            reading = surveyed.network.readings[suspect.reading]
            left = round(suspect.reads - suspect.others, 1)
            figures = (round(suspect.reads, 1), round(suspect.others, 1), left)
            yield reading.label, *figures, round(suspect.standardised, 1), None, "left out"


def rocks_table(surveyed: Surveyed) -> Iterator[Table]:
    """How far things rock, in degrees, from how far a point was seen to move."""
    if surveyed.survey.rocks:
        rows = tuple(_rock(surveyed, rock) for rock in surveyed.survey.rocks)
        columns = ("rocks", "about", "moves, mm", "swings, deg", "+- deg", "arm, mm")
        yield Table("survey_rocks", "Rocking", columns, rows, "End to end; +- holds 95 times in 100.")


def _rock(surveyed: Surveyed, rock: Rock) -> tuple[Cell, ...]:
    adjustment = surveyed.adjustment
    number = {spot.name: k for k, spot in enumerate(adjustment.network.spots)}
    spots = [number[name] for name in (*rock.axis, rock.point)]
    motion = adjustment.motions[spots].reshape(9, -1)
    covariance = np.zeros((10, 10))
    covariance[:9, :9] = motion @ adjustment.covariance @ motion.T
    covariance[9, 9] = rock.standard**2

    def swing(values: Floats) -> Floats:
        a, b, point = values[:9].reshape(3, 3)
        arm = np.linalg.norm(np.cross(point - a, b - a)) / np.linalg.norm(b - a)
        return np.array([degrees(2 * asin(min(1.0, values[9] / (2 * arm)))), arm])

    found = linear(swing, np.append(adjustment.placed[spots].ravel(), rock.moves), covariance)
    figures = (round(float(found.value[0]), 2), round(COVERAGE * float(found.standard[0]), 2))
    return rock.name, " - ".join(rock.axis), rock.moves, *figures, round(float(found.value[1]), 1)


def _open_end(assembly: Assembly, finding: Finding) -> bool:
    """Whether a skin that was not read to its edges leaves a gap undecided: no reading of places can help that."""
    a, b = finding.subjects
    placed = assembly.parts[a], assembly.parts[b]
    return assembly.beyond.keeps_open(finding, *placed, assembly.doubt(a, b).hard.most)


def measure_next(assembly: Assembly, session: Session, only: Collection[str]) -> Iterator[Table]:
    """For each gap that is only likely one way or the other: the one reading that would decide it."""
    assert assembly.surveyed is not None
    report = gaps.run(assembly, session, only)
    undecided = [one for one in report.findings if one.verdict is Verdict.UNSURE and one.standard_uncertainty]
    readings = offered(assembly.surveyed) if undecided else ()
    rows: list[tuple[Cell, ...]] = []
    for finding in sorted(undecided, key=lambda one: one.sort_key):
        found = deciding(assembly, finding, readings)
        pair = " - ".join(finding.subjects)
        if _open_end(assembly, finding):
            unread = next(name for name in finding.subjects if assembly.beyond.unread(name))
            rows.append((pair, f"more heights of {unread}: it was not read far enough there", None, ""))
        elif found is None:
            rows.append((pair, "no single reading would: give it more room", None, ""))
        else:
            limit = round(found.standard * sqrt(3.0), 1)
            rows.append((pair, found.text, limit, "clear" if found.clear else "short"))
    if rows:
        columns = ("undecided", "measure", "good to, mm", "it would be")
        note = "If the reading says what is expected; another may decide otherwise."
        yield Table("survey_next", "What to measure next", columns, tuple(rows), note)
