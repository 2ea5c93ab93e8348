"""Do the distances and angles the builder cares about keep their limits?

Method
------
Points, lines and planes stand on frames and parts, and are carried along with them. What is measured:

    distance        from point to point
    to_line         of a point from a line, such as an axis
    to_plane        of a point from a plane, along its normal, negative behind it
    between_lines   shortest distance of two lines
    between_planes  of the point of one plane from the other, along its normal
    height          how much one point stands above another; up is the car's
    angle           between lines or planes, 0 to 90 degrees
    incline         of a line (a shaft, a cable) against the horizontal, the car standing level
    slope           degrees that a drain falls from its start to its end, negative when it climbs
    pulleys         how far their mid planes stand apart along the axis of the first, and the angle of their axes
    restraint       the angle of a belt against the horizontal

A line goes on without end: an axis passes where it passes, however short the shaft is. Only where it has a
`length`, or says `ends: true`, do distances count to no farther than its ends (`ends: false` undoes that); what is
nearer beyond them is noted. Along an axis of a part its middle is that of the part, wherever the anchor is, or the
point that `at` gives. Pulleys are measured by those middles; where one has several solids, or comes from a file,
its `at` says where the groove is.

The tolerances of the frames and parts that the features stand on widen the interval; what carries both cancels. A
tolerance of one number t lets every point be off by t on its own, so that a line of length L (the part's, or its
own) may turn by asin(2 t / L), straying the more beyond its ends, and a plane likewise over the least size of its
part across. Three numbers shift and do not turn.

A restraint angle is printed and never judged: whatever the number, that is for a qualified person.

Limits
------
Measured at rest, in the scene as it stands. Planes on frames are taken as not turned by the frame's tolerance, for
a frame has no size; where it has one, that is noted.

Example
-------
    packcheck check scenes/hillclimb_rear_bay.yaml --json
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

import numpy as np

from packcheck.arrays import frozen
from packcheck.assembly.assembly import Assembly
from packcheck.assembly.features import Directed, Flat, Standing, standing
from packcheck.findings import Finding, Limit, Report, RuleNote, Verdict
from packcheck.proximity import Session
from packcheck.scene.model.features import ANGLES, Measure
from packcheck.studies.reckoned import reckon

__all__ = ["ID", "measure_finding", "run"]

ID = "measures"

TO_JUDGE = "to be judged by a qualified person"


def run(assembly: Assembly, session: Session, only: Collection[str] = ()) -> Report:  # noqa: ARG001 - the form of a study
    """Every measure of the scene; `only` keeps those that stand on one of these parts."""
    findings = [
        measure_finding(assembly, measure)
        for measure in assembly.scene.measures
        if not only or _concerns(assembly, measure, only)
    ]
    return Report(scene=assembly.scene.path, findings=tuple(findings))


def _concerns(assembly: Assembly, measure: Measure, only: Collection[str]) -> bool:
    nodes = {node for feature in measure.features for node in standing(assembly, feature).nodes}
    carried = {name for part in only for name in assembly.carried_by(part)}
    return bool(nodes & (set(only) | carried))


def measure_finding(assembly: Assembly, measure: Measure) -> Finding:
    """The finding of one measure as the assembly stands."""
    features = [standing(assembly, feature) for feature in measure.features]
    reckoned = reckon(assembly, measure.sort, features)
    finding = Finding(
        ID,
        (measure.name,),
        "",
        value=reckoned.value,
        unit="deg" if measure.sort in ANGLES else "mm",
        low=reckoned.low,
        high=reckoned.high,
        limit=Limit(measure.must, measure.want, measure.most),
        points=None if reckoned.points is None else frozen(reckoned.points),
        rule=RuleNote(("*", "*"), measure.why or measure.sort.replace("_", " "), measure.source or "scene measure"),
        mark=measure.mark,
        where=None if reckoned.points is None else assembly.datums.place(np.mean(reckoned.points, axis=0)),
        note="; ".join(filter(None, [measure.note, reckoned.note, *_doubts(assembly, features)])),
    )
    if measure.sort == "restraint":
        note = "; ".join(filter(None, [finding.note, TO_JUDGE]))
        return replace(finding, word="to be judged", judge=TO_JUDGE, note=note)
    return replace(finding, word=_word(finding))


def _doubts(assembly: Assembly, features: list[Standing | Directed | Flat]) -> list[str]:
    loose = [
        feature.point.node
        for feature in features
        if isinstance(feature, Flat) and feature.size is None and assembly.account.tilting(feature.point.node)
    ]
    return [f"that {node} may be turned within its tolerance is not in it" for node in dict.fromkeys(loose)]


def _word(finding: Finding) -> str:
    """What the number comes to, in a word."""
    verdict, limit, value = finding.verdict, finding.limit, finding.value
    if verdict is Verdict.CLOSE:
        return "close"
    if verdict is Verdict.PASS:
        return "as asked"
    assert value is not None
    above = limit.most is not None and (limit.must is None or value > (limit.must + limit.most) / 2)
    word = "too much" if above else "too little"
    return word if verdict is Verdict.FAIL else f"may be {word}"
