"""Is any hose bent so sharply that it would kink?

Method
------
Of every `pipe` of kind `hose` the centreline radius `bend` is held against its outside diameter. Under one diameter
the inside of the bend is nearly a fold: a straight hose is flat there, and even a moulded elbow is seldom made so.

Limits
------
Common practice. What a hose can be bent to depends on its make and lies far higher for a straight one (its maker
tells, often four to nine diameters). Corners drawn without a `bend` are not judged.

Example
-------
    packcheck check scenes/hillclimb_rear_bay.yaml
"""

from __future__ import annotations

from collections.abc import Collection

from packcheck.assembly.assembly import Assembly
from packcheck.findings import Finding, Limit, Report, RuleNote
from packcheck.proximity import Session
from packcheck.scene.model.scene import Pipe

__all__ = ["ID", "run"]

ID = "bends"

LEAST: float = 1.0
"""Outside diameters. The centreline radius that a hose must have: common practice for moulded elbows."""

_NOTE = "a straight hose needs far more than this: ask its maker, or draw a moulded elbow as it is"


def run(assembly: Assembly, session: Session, only: Collection[str] = ()) -> Report:  # noqa: ARG001
    """A finding for each hose that is bent too sharply; `only` keeps these parts."""
    findings = [
        Finding(
            ID,
            (name,),
            "too sharp",
            value=shape.bend,
            low=shape.bend,
            high=shape.bend,
            limit=Limit(must=LEAST * shape.outside),
            rule=RuleNote((name, "*"), "a hose kinks in a bend tighter than its own diameter", "common practice"),
            mark=part.mark,
            note=_NOTE,
        )
        for name, part in assembly.scene.parts.items()
        if "hose" in part.kinds and (not only or name in only)
        for shape in (spec.shape for spec in part.solids)
        if isinstance(shape, Pipe) and 0 < shape.bend < LEAST * shape.outside and len(shape.through) > 2
    ]
    return Report(assembly.scene.path, findings=tuple(findings))
