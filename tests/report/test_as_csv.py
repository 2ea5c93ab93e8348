"""The spreadsheet. Oracle throughout: the documented columns, values by hand."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

import pytest

from packcheck.report import as_csv as module
from packcheck.report.as_csv import COLUMNS, as_csv
from tests.report.made import CLASH, FULL, HOSTILE, finding, report


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_there_is_one_line_for_each_finding_under_the_header() -> None:
    text = as_csv(FULL)
    assert text.splitlines()[0] == ",".join(COLUMNS)
    assert len(rows(text)) == len(FULL.findings)


def test_a_clash_fills_its_columns() -> None:
    row = rows(as_csv(report(CLASH)))[0]
    expected = {
        "study": "gaps",
        "verdict": "fail",
        "word": "clash",
        "part_a": "water_pump",
        "part_b": "fuel_pump",
        "value": "-6.200",
        "must": "10.000",
        "want": "",
        "margin": "-16.200",
        "bound": "exact",
        "y": "-303.100",
        "source": "scene default",
        "move": "move water_pump 17 mm right (clears every neighbour)",
        "mark": "scenes/bay.yaml:31:3",
    }
    assert {key: row[key] for key in expected} == expected


def test_a_missing_end_is_an_empty_cell() -> None:
    row = rows(as_csv(report(finding(12.0, None))))[0]
    assert (row["low"], row["high"], row["bound"]) == ("12.000", "", "at_least")


@pytest.mark.parametrize("name", ["=1+1", "+cmd", "-2", "@sum", "  =1", "\uff1d1", "\u00a0=1"])
def test_no_text_can_run_as_a_formula(name: str) -> None:
    cells = [
        cell
        for row in rows(as_csv(report(replace(CLASH, subjects=(name, name), note=name))))
        for cell in row.values()
    ]
    assert [cell for cell in cells if cell == f"'{name}"] == [f"'{name}"] * 3
    numbers = {"-6.200", "-16.200", "-303.100"}
    assert not [cell for cell in cells if cell.lstrip()[:1] in set("=+-@\uff1d") - {""} and cell not in numbers]


def test_control_characters_are_written_out_and_no_name_breaks_a_line() -> None:
    text = as_csv(report(replace(CLASH, subjects=(HOSTILE, "\tx"))))
    assert len(text.splitlines()) == 2
    assert rows(text)[0]["part_a"] == r"'=1+1\x1b[2J\u202e\nnext"


def test_further_parts_share_one_column() -> None:
    row = rows(as_csv(report(finding(1.0, names=("a", "b", "c", "d")))))[0]
    assert (row["part_a"], row["part_b"], row["others"]) == ("a", "b", "c; d")


def test_what_is_not_measured_on_purpose_has_a_line() -> None:
    told = "shaft goes into gearbox: not measured, as the file says"
    *_, row = rows(as_csv(replace(report(CLASH), unmeasured=(told,))))
    assert (row["verdict"], row["word"], row["skipped"]) == ("", "not measured", told)


@pytest.mark.parametrize("column", COLUMNS)
def test_every_column_is_documented(column: str) -> None:
    header = (module.__doc__ or "").split("-------\n")[1]
    listed = {name.strip(",") for line in header.splitlines() for name in line[:24].split()}
    assert column in listed
