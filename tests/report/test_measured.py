"""Numbers in words. Oracle throughout: the wording of the report's contract, figures by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from packcheck.findings import Finding, Limit
from packcheck.report.text.measured import Measured
from tests.report.made import CLASH, finding


@pytest.mark.parametrize(
    ("found", "expected"),
    [
        pytest.param(finding(8.2), "gap 8.2 mm", id="exact"),
        pytest.param(CLASH, "overlap 6.2 mm", id="exact overlap"),
        pytest.param(finding(9.0, 13.0, value=11.0), "gap between 9.0 and 13.0 mm, 11.0 as drawn", id="between"),
        pytest.param(finding(8.96, 13.01, value=11.0), "gap between 8.9 and 13.1 mm, 11.0 as drawn", id="outward"),
        pytest.param(finding(12.0, None), "gap at least 12.0 mm", id="at least"),
        pytest.param(finding(None, 5.0, value=5.0), "gap at most 5.0 mm", id="at most"),
        pytest.param(finding(-3.0, None), "overlap at most 3.0 mm", id="envelopes overlap"),
        pytest.param(finding(None, -3.0, value=-3.0), "overlap at least 3.0 mm", id="proven overlap"),
        pytest.param(
            finding(-8.0, -6.0, value=-7.0), "overlap between 6.0 and 8.0 mm, 7.0 as drawn", id="overlap between"
        ),
        pytest.param(
            finding(-2.0, 3.0, value=1.0),
            "between overlap 2.0 mm and gap 3.0 mm, gap 1.0 mm as drawn",
            id="crossing",
        ),
        pytest.param(finding(None, None, value=None), "", id="nothing known"),
        pytest.param(finding(None, None, value=4.0), "gap 4.0 mm as drawn", id="no bounds"),
    ],
)
def test_a_gap_is_said_with_its_bound(found: Finding, expected: str) -> None:
    assert Measured(found, "mm").number() == expected


@pytest.mark.parametrize(
    ("found", "expected"),
    [
        pytest.param(finding(8.2, must=15.0), "short by 6.8 mm", id="exact"),
        pytest.param(CLASH, "short by 16.2 mm", id="clash"),
        pytest.param(finding(3.0, 7.0, value=5.0), "short by 3.0 to 7.0 mm", id="surely short"),
        pytest.param(finding(9.0, 13.0, value=11.0), "may be short by up to 1.0 mm", id="undecided"),
        pytest.param(finding(None, 13.0, value=13.0), "may be short", id="no low end"),
        pytest.param(finding(None, 4.0, value=4.0), "short by at least 6.0 mm", id="surely short, no low end"),
        pytest.param(finding(1.0, must=-1.0, most=0.5), "over by 0.5 mm", id="not seated"),
        pytest.param(finding(-4.0, must=-1.0, most=0.5), "over by 3.0 mm", id="joint too deep"),
        pytest.param(finding(60.0, must=50.0, want=100.0), "", id="close is not short"),
        pytest.param(finding(12.0), "", id="passing"),
    ],
)
def test_the_shortfall_is_what_the_limit_is_missed_by(found: Finding, expected: str) -> None:
    assert Measured(found, "mm").shortfall() == expected


@pytest.mark.parametrize(
    ("found", "expected"),
    [
        (finding(8.2), "needs 10 mm"),
        (finding(8.2, must=12.7, want=25.0), "needs 12.7 mm, wanted 25 mm"),
        (finding(1.0, must=-1.0, most=0.5), "allowed: overlap up to 1 mm, gap up to 0.5 mm"),
        (finding(8.2, must=None), ""),
        (finding(200.0, must=50.0, want=100.0), "needs 50 mm"),
    ],
)
def test_what_is_needed_is_said_as_it_was_typed(found: Finding, expected: str) -> None:
    assert Measured(found, "mm").needed() == expected


def test_the_line_of_a_joint_tells_what_is_allowed_from_what_was_found() -> None:
    said = Measured(finding(-4.0, must=-1.0, most=0.5), "mm").line()
    assert said == "overlap 4.0 mm, allowed: overlap up to 1 mm, gap up to 0.5 mm; over by 3.0 mm"


def test_a_gap_just_under_its_limit_is_told_in_thousandths() -> None:
    assert Measured(finding(9.96), "mm").line() == "gap 9.960 mm, needs 10 mm, short by 0.040 mm"


def test_an_inch_scene_is_told_in_inches_with_mm_in_brackets() -> None:
    """Oracle: 6.35 mm is a quarter of an inch, 12.7 mm half of one."""
    said = Measured(finding(6.35, must=12.7), "in").line()
    assert said == "gap 0.250 in (6.4 mm), needs 0.5 in (12.7 mm), short by 0.250 in (6.4 mm)"


def test_a_number_that_is_no_gap_keeps_its_sign_and_unit() -> None:
    cold = Finding(
        "heat", ("tank",), "cold", value=-4.0, unit="C", low=-5.0, high=-3.0, limit=Limit(0.0, None, 60.0)
    )
    said = Measured(cold, "mm").line()
    assert said == "between -5.0 and -3.0 C, -4.0 as drawn, needs at least 0 C, at most 60 C, short by 3.0 to 5.0 C"


def test_a_size_with_no_bounds_claims_no_shortfall() -> None:
    size = Finding("meshes", ("deck",), "odd size", value=0.4, limit=Limit(5.0))
    assert Measured(size, "mm").line() == "0.4 mm as drawn, needs at least 5 mm"


def test_a_finding_without_numbers_says_nothing() -> None:
    skipped = replace(finding(None, None, value=None, must=None), skipped="cannot be read")
    assert Measured(skipped, "mm").line() == ""
