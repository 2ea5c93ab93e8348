"""Findings and reports made by hand."""

from __future__ import annotations

from dataclasses import replace

from packcheck.arrays import frozen
from packcheck.errors import SourceMark
from packcheck.findings import Finding, Limit, Move, PairCount, Place, Report, RuleNote, Table

UNSET = -1e9

CLASH = Finding(
    "gaps",
    ("water_pump", "fuel_pump"),
    "clash",
    value=-6.2,
    low=-6.2,
    high=-6.2,
    limit=Limit(10.0),
    points=frozen([[58.1, -306.2, 118.0], [58.1, -300.0, 118.0]]),
    direction=frozen([0.0, 1.0, 0.0]),
    rule=RuleNote(source="scene default"),
    mark=SourceMark("scenes/bay.yaml", 31, 3),
    where=Place("bulkhead", frozen([58.1, -303.1, 118.0]), "58 mm aft of bulkhead, 303 mm left, 118 mm up"),
    move=Move("water_pump", frozen([0.0, 17.0, 0.0]), "move water_pump 17 mm right (clears every neighbour)"),
)


def finding(
    low: float | None,
    high: float | None = UNSET,
    *,
    value: float | None = UNSET,
    must: float | None = 10.0,
    want: float | None = None,
    most: float | None = None,
    word: str = "tight",
    names: tuple[str, ...] = ("tank", "rail"),
) -> Finding:
    """A finding with these ends; `high` and the value are `low` unless given."""
    top = low if high == UNSET else high
    nominal = low if value == UNSET else value
    return Finding("gaps", names, word, value=nominal, low=low, high=top, limit=Limit(must, want, most))


def report(*findings: Finding, units: str = "mm", unlisted: int = 0) -> Report:
    """A report of a scene of 35 parts."""
    return Report(
        "scenes/bay.yaml",
        "Hillclimb special",
        findings=findings,
        pairs=PairCount(595, 541, 54),
        unlisted=unlisted,
        units=units,
    )


FULL: Report = replace(
    report(CLASH, finding(12.0, None, word="clear"), unlisted=592),
    envelope_passes=3,
    lowered=("rail and pump: lowered from 10 to 3, line 31 (cast boss)",),
    missing=("hoses", "fasteners"),
    notes=("measured with a tape",),
    tables=(Table("meshes", "Geometry files", ("part", "size, mm"), (("deck", 1200.5), ("cap", None))),),
)

HOSTILE = "=1+1\x1b[2J\u202e\nnext"
