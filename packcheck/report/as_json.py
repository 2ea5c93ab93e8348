"""A report as JSON: the machine contract.

Lengths are mm and points are in the car frame. Figures are given to 0.001 (directions to 0.000001): `low` and
`margin` are rounded down, `high` and `standard_uncertainty` up, all others to the nearest; `verdict` and `bound`
come from the unrounded numbers. A bound that does not exist is null; there is no NaN and no infinity.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from typing import Any

from packcheck.findings import (
    Cell,
    Finding,
    Limit,
    Move,
    PairCount,
    Place,
    Report,
    RuleNote,
    Table,
    TapeDoubt,
    Verdict,
)
from packcheck.report.text.caution import CAUTION
from packcheck.report.text.figures import Toward, rounded
from packcheck.report.text.tally import Tally, at_rest, by_pair, in_motion

__all__ = ["FORMAT", "as_dict", "as_json", "finding_as_dict", "table_as_json"]

FORMAT = 1
"""Version of the format: raised when a key changes its meaning or goes."""

DIRECTION_PLACES = 6

COUNT_ORDER = (Verdict.FAIL, Verdict.UNSURE, Verdict.CLOSE, Verdict.PASS, Verdict.NOT_CHECKED)


def as_json(report: Report, *, version: str) -> str:
    """The report as JSON text in ASCII, one finding a line. Same report, same bytes."""
    entries = [f" {_text(key)}: {_value(key, value)}" for key, value in as_dict(report, version=version).items()]
    return "{\n" + ",\n".join(entries) + "\n}\n"


def table_as_json(table: Table, *, version: str) -> str:
    """One table as JSON text in ASCII, a row a line."""
    entries = _table(table)
    rows = ",\n".join(f"  {_text(row)}" for row in entries.pop("rows"))
    head = {"packcheck": version, "format": FORMAT, **entries}
    lines = [f" {_text(key)}: {_text(value)}" for key, value in head.items()]
    return "{\n" + ",\n".join([*lines, f' "rows": [\n{rows}\n ]']) + "\n}\n"


def as_dict(report: Report, *, version: str) -> dict[str, Any]:
    """The report as plain dicts, lists, strings, numbers and None, in the order of the contract."""
    return {
        "packcheck": version,
        "format": FORMAT,
        "scene": report.scene,
        "layout": report.layout,
        "verdict": report.verdict.value,
        "counts": _tally(report.counts),
        "pairs": _pairs(report.pairs),
        "findings": [finding_as_dict(finding) for finding in sorted(report.findings, key=_order)],
        "title": report.title,
        "units": report.units,
        "moving": _pairs(report.moving),
        "pair_counts": _tally(by_pair(report)),
        "states": {"at_rest": _tally(at_rest(report)), "in_motion": _tally(in_motion(report))},
        "unlisted": report.unlisted,
        "envelope_passes": report.envelope_passes,
        "guess_passes": report.guess_passes,
        "tape": None if report.tape is None else _tape(report.tape),
        "lowered": list(report.lowered),
        "missing": list(report.missing),
        "unmeasured": list(report.unmeasured),
        "notes": list(report.notes),
        "tables": [_table(table) for table in report.tables],
        "caution": CAUTION,
    }


def _tape(tape: TapeDoubt) -> dict[str, Any]:
    return {
        "parts": list(tape.parts),
        "accuracy": _figure(tape.accuracy),
        "undecided": tape.undecided,
        "at_most": tape.at_most,
    }


def _pairs(pairs: PairCount) -> dict[str, Any]:
    return {"total": pairs.total, "culled": pairs.culled, "measured": pairs.measured}


def _tally(tally: Tally) -> dict[str, int]:
    return {verdict.value: tally[verdict] for verdict in COUNT_ORDER}


def _order(finding: Finding) -> tuple[int, float, tuple[str, ...], str]:
    return finding.sort_key


def _text(value: object) -> str:
    return json.dumps(value, allow_nan=False)


def _value(key: str, value: Any) -> str:
    if key in ("findings", "tables") and value:
        return "[\n" + ",\n".join(f"  {_text(entry)}" for entry in value) + "\n ]"
    return _text(value)


def finding_as_dict(finding: Finding) -> dict[str, Any]:
    """One finding as plain values, in the order of the contract."""
    return {
        "study": finding.study,
        "verdict": finding.verdict.value,
        "word": finding.word,
        "subjects": list(finding.subjects),
        "value": _figure(finding.value),
        "unit": finding.unit,
        "bound": finding.bound,
        "low": _figure(finding.low, Toward.DOWN),
        "high": _figure(finding.high, Toward.UP),
        "limit": _limit(finding.limit),
        "margin": _figure(finding.margin, Toward.DOWN),
        "points": None if finding.points is None else [_vector(point) for point in finding.points],
        "direction": None if finding.direction is None else _vector(finding.direction, DIRECTION_PLACES),
        "when": finding.when,
        "pose": _plain(finding.pose),
        "standard_uncertainty": _figure(finding.standard_uncertainty, Toward.UP),
        "rule": None if finding.rule is None else _rule(finding.rule),
        "mark": None if finding.mark is None else str(finding.mark),
        "move": None if finding.move is None else _move(finding.move),
        "where": None if finding.where is None else _where(finding.where),
        "no_move": finding.no_move,
        "envelope": finding.envelope,
        "note": finding.note,
        "skipped": finding.skipped,
        "looks_joined": finding.looks_joined,
        "chance": _figure(finding.chance, Toward.UP),
        "contributors": [{"name": one.name, "mm": _figure(one.takes, Toward.UP)} for one in finding.contributors],
    }


def _limit(limit: Limit) -> dict[str, float | None]:
    asked = {"must": _figure(limit.must), "want": _figure(limit.want)}
    return asked if limit.most is None else {**asked, "most": _figure(limit.most)}


def _rule(rule: RuleNote) -> dict[str, Any]:
    return {
        "between": list(rule.between),
        "why": rule.why,
        "source": rule.source,
        "want_source": rule.want_source,
        "lowered": rule.lowered,
    }


def _move(move: Move) -> dict[str, Any]:
    return {"part": move.part, "by": _vector(move.by), "text": move.text, "carries": list(move.carries)}


def _where(place: Place) -> dict[str, Any]:
    return {"from": place.datum, "by": _vector(place.by), "text": place.text}


def _table(table: Table) -> dict[str, Any]:
    rows = [[_cell(cell) for cell in row] for row in table.rows]
    return {"id": table.id, "title": table.title, "columns": list(table.columns), "rows": rows, "note": table.note}


def _cell(cell: Cell) -> Cell:
    return _figure(cell) if isinstance(cell, float) else cell


def _figure(value: float | None, toward: Toward = Toward.NEAREST, places: int = 3) -> float | None:
    if value is None or not math.isfinite(value):
        return None
    return rounded(value, places, toward)


def _vector(values: Any, places: int = 3) -> list[float | None]:
    return [_figure(value, places=places) for value in values]


def _plain(value: Any) -> Any:
    """Any pose data as JSON values; arrays become lists."""
    if isinstance(value, Mapping):
        return {str(key): _plain(entry) for key, entry in value.items()}
    if value is None or isinstance(value, str | bool | int):
        return value
    if hasattr(value, "tolist"):
        return _plain(value.tolist())
    if isinstance(value, float):
        return _figure(value, places=DIRECTION_PLACES)
    return [_plain(entry) for entry in value] if isinstance(value, Sequence) else str(value)
