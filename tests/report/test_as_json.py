"""The machine contract. Oracle throughout: the example of the contract, written out by hand."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from packcheck.findings import Report
from packcheck.report.as_json import as_dict, as_json, table_as_json
from packcheck.report.text.caution import CAUTION
from tests.report.made import CLASH, FULL, HOSTILE, finding, report


def loaded(made: Report) -> dict[str, Any]:
    """The JSON text read back; NaN and Infinity are not JSON and fail."""
    read: dict[str, Any] = json.loads(as_json(made, version="0.1.0"), parse_constant=_refuse)
    return read


def _refuse(name: str) -> None:
    raise AssertionError(name)


def test_the_contract_keys_come_first_and_in_order() -> None:
    head = ["packcheck", "format", "scene", "layout", "verdict", "counts", "pairs", "findings"]
    assert list(loaded(FULL))[:8] == head


def test_the_head_of_a_report() -> None:
    read = loaded(FULL)
    assert read["packcheck"] == "0.1.0"
    assert read["format"] == 1
    assert read["scene"] == "scenes/bay.yaml"
    assert read["layout"] is None
    assert read["verdict"] == "fail"
    assert read["counts"] == {"fail": 1, "unsure": 0, "close": 0, "pass": 593, "not_checked": 0}
    assert list(read["counts"]) == ["fail", "unsure", "close", "pass", "not_checked"]
    assert read["pairs"] == {"total": 595, "culled": 541, "measured": 54}
    assert read["caution"] == CAUTION


def test_a_finding_is_written_as_the_contract_shows() -> None:
    expected = {
        "study": "gaps",
        "verdict": "fail",
        "word": "clash",
        "subjects": ["water_pump", "fuel_pump"],
        "value": -6.2,
        "unit": "mm",
        "bound": "exact",
        "low": -6.2,
        "high": -6.2,
        "limit": {"must": 10.0, "want": None},
        "margin": -16.2,
        "points": [[58.1, -306.2, 118.0], [58.1, -300.0, 118.0]],
        "direction": [0.0, 1.0, 0.0],
        "when": "",
        "pose": {},
        "standard_uncertainty": None,
        "rule": {"between": ["*", "*"], "why": "", "source": "scene default", "want_source": "", "lowered": ""},
        "mark": "scenes/bay.yaml:31:3",
        "move": {
            "part": "water_pump",
            "by": [0.0, 17.0, 0.0],
            "text": "move water_pump 17 mm right (clears every neighbour)",
            "carries": [],
        },
        "where": {
            "from": "bulkhead",
            "by": [58.1, -303.1, 118.0],
            "text": "58 mm aft of bulkhead, 303 mm left, 118 mm up",
        },
    }
    found = loaded(FULL)["findings"][0]
    assert list(found)[: len(expected)] == list(expected)
    assert {key: found[key] for key in expected} == expected


def test_ends_are_rounded_outward_and_the_value_to_the_nearest() -> None:
    """Oracle: 1.23456 lies between 1.234 and 1.235 and nearer to 1.235."""
    found = loaded(report(finding(1.23456, 1.23556, value=1.23456)))["findings"][0]
    assert (found["low"], found["value"], found["high"]) == (1.234, 1.235, 1.236)
    assert found["margin"] == -8.766


def test_the_verdict_comes_from_the_unrounded_numbers() -> None:
    found = loaded(report(finding(9.9949, must=10.0)))["findings"][0]
    assert (found["verdict"], found["low"]) == ("fail", 9.994)


@pytest.mark.parametrize("endless", [math.inf, -math.inf, math.nan])
def test_a_number_that_is_not_finite_is_null(endless: float) -> None:
    made = replace(finding(8.0), value=endless, pose={"angle": endless})
    found = loaded(report(made))["findings"][0]
    assert found["value"] is None
    assert found["pose"] == {"angle": None}


def test_an_upper_limit_is_only_there_when_asked() -> None:
    found = loaded(report(finding(1.0, must=-1.0, most=0.5)))["findings"][0]
    assert found["limit"] == {"must": -1.0, "want": None, "most": 0.5}


def test_poses_with_arrays_are_plain_lists() -> None:
    made = replace(
        finding(8.0), pose={"lid": np.float64(43.1), "by": np.array([1.0, 2.0]), "open": True, "n": (1,)}
    )
    found = loaded(report(made))["findings"][0]
    assert found["pose"] == {"lid": 43.1, "by": [1.0, 2.0], "open": True, "n": [1]}


def test_what_is_missing_lowered_noted_and_tabled_is_there() -> None:
    read = loaded(FULL)
    assert read["missing"] == ["hoses", "fasteners"]
    assert read["lowered"] == ["rail and pump: lowered from 10 to 3, line 31 (cast boss)"]
    assert read["notes"] == ["measured with a tape"]
    assert read["tables"] == [
        {
            "id": "meshes",
            "title": "Geometry files",
            "columns": ["part", "size, mm"],
            "rows": [["deck", 1200.5], ["cap", None]],
            "note": "",
        }
    ]


def test_findings_come_by_verdict_margin_and_names_whatever_their_order() -> None:
    made = [CLASH, finding(3.0), finding(1.0, names=("b", "c")), finding(1.0, names=("a", "c")), finding(30.0)]
    text = as_json(report(*made), version="0.1.0")
    assert text == as_json(report(*reversed(made)), version="0.1.0")
    names = [found["subjects"][0] for found in json.loads(text)["findings"]]
    assert names == ["water_pump", "a", "b", "tank", "tank"]


def test_the_text_is_ascii_so_no_console_can_spoil_it() -> None:
    made = report(replace(CLASH, subjects=(HOSTILE, "Kühler")))
    text = as_json(made, version="0.1.0")
    assert text.isascii()
    assert "\x1b" not in text
    assert json.loads(text)["findings"][0]["subjects"] == [HOSTILE, "Kühler"]


def test_each_finding_stands_on_its_own_line() -> None:
    lines = as_json(report(CLASH, finding(3.0)), version="0.1.0").splitlines()
    assert sum(line.startswith('  {"study"') for line in lines) == 2


def test_a_table_alone_is_json_too() -> None:
    read = json.loads(table_as_json(FULL.tables[0], version="0.1.0"))
    assert (read["packcheck"], read["id"]) == ("0.1.0", "meshes")
    assert read["rows"] == [["deck", 1200.5], ["cap", None]]


def test_the_dict_and_the_text_are_the_same() -> None:
    assert as_dict(FULL, version="0.1.0") == loaded(FULL)
