"""Does the car agree with the model, where a gap was measured on it after the fact?

Method
------
Each of the `checks` is a gap between two parts that was measured on the car. It stands beside the gap the model
predicts. The two agree when they differ by no more than what both may be off by: hard tolerances at their worst,
and 1.96 standard uncertainties of the predicted and the measured gap together, so that one sound check in twenty at
the most is called into question. Nothing in the model is changed by a check.

Where they disagree, the likeliest suspect is named: the part or frame whose own uncertainty or tolerance makes up
most of what the gap may be off by, and, of the readings of a survey, the one that weighs most in it.

Limits
------
A gap is measured where the tool went in; the model's is the smallest between the two parts. A drill shank that went
in beside the narrowest place finds more.

Example
-------
    packcheck check scenes/measured_bay.yaml --part fuel_pump
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from math import ceil

import numpy as np

from packcheck.arrays import Floats
from packcheck.assembly.assembly import Assembly
from packcheck.errors import QueryError
from packcheck.findings import Finding, Limit, Report, RuleNote
from packcheck.proximity import Separation, Session
from packcheck.scene.model.survey import Check
from packcheck.studies.surveys.survey_next import on_survey
from packcheck.tolerances import COVERAGE

__all__ = ["ID", "run"]

ID = "checks"


def run(assembly: Assembly, session: Session, only: Collection[str] = ()) -> Report:
    """Every gap that was measured on the car, beside the predicted one; `only` keeps those of some parts."""
    present = [check for check in assembly.scene.checks if set(check.between) <= assembly.parts.keys()]
    wanted = [check for check in present if not only or {*only} & {*check.between}]
    findings = tuple(_finding(assembly, session, check) for check in wanted)
    return Report(scene=assembly.scene.path, findings=findings)


def _finding(assembly: Assembly, session: Session, check: Check) -> Finding:
    a, b = check.between
    tool = f" with {check.tool}" if check.tool else ""
    rule = RuleNote((a, b), f"measured on the car{tool}: {check.measured:g} mm", "checks of this scene")
    blank = Finding(ID, (a, b), "", unit="mm off", rule=rule, mark=check.mark)
    try:
        separation = session.gap(assembly.parts[a], assembly.parts[b])
    except QueryError as error:
        return replace(blank, word="not checked", skipped=str(error))
    if separation.low is None or separation.high is None:
        return replace(blank, word="not checked", skipped=separation.doubt or "the model's gap is not known")
    return _compared(assembly, check, blank, separation)


def _compared(assembly: Assembly, check: Check, blank: Finding, separation: Separation) -> Finding:
    """Predicted beside measured. The limit is what both together may be off by."""
    a, b = check.between
    doubt = assembly.doubt(a, b)
    convex = assembly.convex(a, b)
    spread = doubt.chance(separation.direction, separation.points, convex=convex)
    standard = float(np.hypot(0.0 if spread is None else spread.standard, check.standard))
    may = ceil(10 * (doubt.hard.most + COVERAGE * standard)) / 10
    off = abs(separation.value - check.measured)
    agrees = off <= may
    where = None if separation.points is None else assembly.datums.place(separation.points.mean(axis=0))
    predicted = f"predicted {separation.value:.1f} mm +- {may:.1f}, measured {check.measured:g} mm"
    suspect = "" if agrees else f"; likeliest suspect: {_suspect(assembly, check, separation)}"
    return replace(
        blank,
        word="agrees" if agrees else "disagrees",
        value=off,
        low=off,
        high=off,
        limit=Limit(most=may),
        points=separation.points,
        where=where,
        note=predicted + suspect,
    )


def _suspect(assembly: Assembly, check: Check, separation: Separation) -> str:
    """What makes up most of what the gap may be off by; the reading that weighs most in it, if a survey does."""
    shares = dict(assembly.account.counting(*check.between))
    if separation.points is not None and separation.direction is not None:
        gradient = assembly.account.gradient(*check.between, separation.points, separation.direction)
        for name, own in assembly.account.shares(gradient).items():
            shares[name] = max(shares.get(name, 0.0), COVERAGE * own)
        name = max(shares, key=lambda one: shares[one], default="")
        reading = _reading(assembly, gradient)
        if reading and assembly.surveyed is not None and name in assembly.surveyed.bodies:
            return f"{name}; of all readings {reading} weighs most in this gap"
    name = max(shares, key=lambda one: shares[one], default="")
    if not name or shares[name] <= 0:
        return "a size or place in the file, since none of them is said to be uncertain"
    return name


def _reading(assembly: Assembly, gradient: Floats) -> str:
    """The reading whose own error makes up most of the gap's, or the one set aside that touches it."""
    surveyed = assembly.surveyed
    if surveyed is None or not surveyed.bodies:
        return ""
    adjustment = surveyed.adjustment
    target = on_survey(assembly, gradient, surveyed)
    gain = adjustment.refined.jacobian @ (adjustment.covariance @ target)  # of each row, per own standard
    weights = np.zeros(len(adjustment.network.readings))
    np.add.at(weights, adjustment.network.owner, gain**2)
    of_readings = [reading.label in surveyed.repeats for reading in adjustment.network.readings]
    weights = np.where(of_readings, weights, 0.0)
    return adjustment.network.readings[int(np.argmax(weights))].label if weights.max(initial=0.0) > 0 else ""
