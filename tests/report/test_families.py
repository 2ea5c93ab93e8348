"""Rows of repeated parts: the worst is told, the rest is counted, nothing is lost to machines."""

from __future__ import annotations

import csv
import io
import json

import pytest

from packcheck.bay import Bay
from packcheck.errors import SceneError
from packcheck.findings import Finding, Limit, Report
from packcheck.report.as_csv import as_csv
from packcheck.report.as_json import as_json
from packcheck.report.text.as_text import as_text
from packcheck.report.text.families import worst_of_rows
from packcheck.scene.model.scene import Box
from tests.bays import bay, part

FAMILIES = {f"{row}.{k}": row for row in ("runner", "clip") for k in (1, 2, 3)}


def gap(a: str, b: str, value: float) -> Finding:
    word = "clash" if value < 0 else "tight" if value < 10 else "clear"
    return Finding("gaps", (a, b), word, value=value, low=value, high=value, limit=Limit(10.0))


REPORT = Report(
    "bay.yaml",
    findings=(
        gap("runner.1", "rail", 4.0),
        gap("runner.2", "rail", -3.0),
        gap("runner.3", "rail", 12.0),
        gap("rail", "clip.1", 5.0),
        gap("runner.1", "clip.1", 1.0),
        gap("runner.2", "clip.3", 2.0),
        gap("runner.1", "runner.2", 6.0),
        gap("rail", "tank", 7.0),
        gap("rail", "pump", 8.0),
    ),
    families=FAMILIES,
)


def test_the_worst_of_a_row_against_one_part_speaks_for_all() -> None:
    told = {finding.subjects: finding.note for finding in worst_of_rows(REPORT).findings}
    assert told == {
        ("runner.2", "rail"): "2 more of this row, none worse: 1 tight, 1 clear",
        ("runner.1", "clip.1"): "1 more of this row, none worse: 1 tight",
        ("rail", "clip.1"): "",
        ("runner.1", "runner.2"): "",
        ("rail", "tank"): "",
        ("rail", "pump"): "",
    }


def test_text_and_csv_tell_the_worst_and_json_all() -> None:
    text = as_text(REPORT)
    assert "runner.2 - rail" in text and "runner.1 - rail" not in text
    assert "2 more of this row, none worse: 1 tight, 1 clear" in " ".join(text.split())
    assert "8 fail, 1 passes" in text
    rows = list(csv.DictReader(io.StringIO(as_csv(REPORT))))
    assert len(rows) == 6
    assert rows[0]["note"].startswith("2 more of this row")
    assert len(json.loads(as_json(REPORT, version="0"))["findings"]) == 9


def rows_of_boxes() -> Bay:
    members = (part(f"box.{k}", Box((10, 10, 10)), at=(15.0 * k, 0.0, 0.0), family="box") for k in (1, 2))
    return bay(*members, part("rail", Box((10, 10, 10)), at=(0.0, 0.0, 0.0)))


def test_a_row_is_asked_for_by_its_name() -> None:
    made = rows_of_boxes()
    pairs = {finding.subjects for finding in made.check(["box"], moves=False).findings}
    assert pairs == {("box.1", "box.2"), ("box.1", "rail")}  # box.2 - rail is culled
    assert made.check(["box.2"], moves=False).pairs.total == 2
    with pytest.raises(SceneError, match="there is no part 'bix'"):
        made.check(["bix"])
