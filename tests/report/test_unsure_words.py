"""What is only likely, in words."""

from __future__ import annotations

from dataclasses import replace

import pytest

from packcheck.findings import Finding, Limit
from packcheck.limits import Chance
from packcheck.report.text.measured import Measured
from packcheck.tolerances import COVERAGE


def likely(value: float, standard: float, hard: float = 0.0, must: float = 10.0) -> Finding:
    expanded = COVERAGE * standard
    low, high = value - hard - expanded, value + hard + expanded
    return Finding("gaps", ("a", "b"), "", value, "mm", low, high, Limit(must), standard_uncertainty=standard)


@pytest.mark.parametrize(
    ("finding", "said"),
    [
        (likely(8.1, 1.2), "gap 8.1 +- 2.4 mm (95 %)"),
        (likely(-3.0, 0.5), "overlap 3.0 +- 1.0 mm (95 %)"),
        (
            likely(8.1, 1.2, hard=1),
            "gap 8.1 +- 2.4 mm (95 %) where drawn, gap between 7.1 and 9.1 mm by tolerance; gap between 4.7 and "
            "11.5 mm in all",
        ),
    ],
    ids=["alone", "overlapping", "beside hard tolerances"],
)
def test_number_tells_what_is_likely_and_what_is_hard_apart(finding: Finding, said: str) -> None:
    """Oracle: the definition: 1.96 standard uncertainties, rounded up; low ends down, high ends up."""
    assert Measured(finding, "mm").number() == said


def test_inches_tell_both_units() -> None:
    assert Measured(likely(25.4, 1.0), "in").number() == "gap 1.000 in (25.4 mm) +- 0.078 in (2.0 mm) (95 %)"


@pytest.mark.parametrize(
    ("finding", "said"),
    [
        (likely(10.0, 1.0), "50 % that it is under 10 mm"),
        (likely(11.0, 1.0), "16 % that it is under 10 mm"),
        (likely(20.0, 1.0), "under 0.1 % that it is under 10 mm"),
        (likely(2.0, 1.0), "over 99.9 % that it is under 10 mm"),
        (likely(12.0, 1.0, hard=1.0), "16 % that it is under 10 mm, tolerances at their worst"),
    ],
)
def test_chance_in_words(finding: Finding, said: str) -> None:
    """Oracle: tables of the normal distribution."""
    assert Measured(finding, "mm").chance() == said


@pytest.mark.parametrize(("numbers", "said"), [
    (1, "16 % at the nearest points, up to 31 % in all, that it is under 10 mm"),
    (6, "16 % at the nearest points, up to 99.8 % in all, that it is under 10 mm"),
])  # fmt: skip
def test_a_chance_that_is_only_a_bound_is_not_told_as_the_chance(numbers: int, said: str) -> None:
    """Oracle: tables: one standard uncertainty is missed by 0.159; half of one by 0.309; chi-square of 0.5 squared
    with six degrees of freedom is exceeded in 0.9997 of all, of 0.68 squared in 0.9985."""
    farthest = 2.0 if numbers == 1 else 1 / 0.68
    finding = replace(likely(11.0, 1.0), spread=Chance(1.0, farthest, numbers))
    assert Measured(finding, "mm").chance() == said


def test_nothing_is_said_of_chance_where_all_is_certain() -> None:
    assert Measured(Finding("gaps", ("a", "b"), "", 8.0, "mm", 8.0, 8.0, Limit(10.0)), "mm").chance() == ""
