"""Verdicts follow from the interval and the limit, and from nothing else."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from packcheck.findings import Finding, Limit, Report, Verdict, worst
from packcheck.tolerances import LIMIT_SLACK

numbers = st.floats(-500, 500)


def finding(low: float | None, high: float | None, limit: Limit, **facts: str) -> Finding:
    return Finding("gaps", ("a", "b"), "", value=0.0, low=low, high=high, limit=limit, **facts)  # type: ignore[arg-type]


@pytest.mark.parametrize("low, high, limit, verdict", [
    (12.0, 12.0, Limit(must=10), Verdict.PASS),
    (10.0, 10.0, Limit(must=10), Verdict.PASS),
    (9.996, 9.996, Limit(must=10), Verdict.PASS),       # a gap designed at its limit
    (9.99, 9.99, Limit(must=10), Verdict.FAIL),
    (7.0, 15.0, Limit(must=10), Verdict.UNSURE),        # 11 with parts good to 2 mm each
    (12.0, None, Limit(must=10), Verdict.PASS),         # an envelope that clears
    (-3.0, None, Limit(must=10), Verdict.UNSURE),       # an envelope that overlaps: may clash
    (None, 9.0, Limit(must=10), Verdict.FAIL),
    (None, 12.0, Limit(must=10), Verdict.UNSURE),
    (None, None, Limit(must=10), Verdict.UNSURE),
    (12.0, 12.0, Limit(must=10, want=20), Verdict.CLOSE),
    (20.0, 25.0, Limit(must=10, want=20), Verdict.PASS),
    (0.0, 0.2, Limit(must=-1, most=0.5), Verdict.PASS),
    (9.0, 9.0, Limit(must=-1, most=0.5), Verdict.FAIL),  # not seated
    (-3.0, -3.0, Limit(must=-1, most=0.5), Verdict.FAIL),
    (0.0, 0.9, Limit(must=-1, most=0.5), Verdict.UNSURE),
    (5.0, 5.0, Limit(), Verdict.PASS),
])  # fmt: skip
def test_verdict(low: float | None, high: float | None, limit: Limit, verdict: Verdict) -> None:
    """Oracle: the rule as stated: pass when the low end meets it, fail when the high end misses it, else unsure."""
    assert finding(low, high, limit).verdict is verdict


@given(numbers, st.floats(0, 50), st.floats(0, 100))
def test_a_gap_whose_low_end_misses_its_limit_never_passes(low: float, width: float, must: float) -> None:
    """Oracle: the first aim: never call clear what is not."""
    verdict = finding(low, low + width, Limit(must=must)).verdict
    if low < must - LIMIT_SLACK:
        assert verdict in (Verdict.FAIL, Verdict.UNSURE)
    if low + width < must - LIMIT_SLACK:
        assert verdict is Verdict.FAIL


def test_what_was_skipped_is_not_checked_whatever_its_numbers() -> None:
    assert finding(50, 50, Limit(must=10), skipped="the engine gave no distance").verdict is Verdict.NOT_CHECKED


@pytest.mark.parametrize("low, high, bound", [
    (1.0, 1.0009, "exact"),
    (1.0, 1.1, "between"),
    (1.0, None, "at_least"),
    (None, 1.0, "at_most"),
    (None, None, "unknown"),
])  # fmt: skip
def test_bound(low: float | None, high: float | None, bound: str) -> None:
    assert finding(low, high, Limit()).bound == bound


def test_margin_is_the_worse_end() -> None:
    assert finding(7.0, 9.0, Limit(must=10)).margin == -3.0
    assert finding(0.0, 0.2, Limit(must=-1, most=0.5)).margin == pytest.approx(0.3)
    assert finding(None, 3.0, Limit(must=1)).margin is None


def test_order_of_verdicts() -> None:
    assert worst([Verdict.PASS, Verdict.CLOSE]) is Verdict.CLOSE
    assert worst([Verdict.CLOSE, Verdict.NOT_CHECKED, Verdict.UNSURE]) is Verdict.UNSURE
    assert worst(list(Verdict)) is Verdict.FAIL


def test_a_report_of_nothing_is_not_a_pass() -> None:
    assert Report("bay.yaml").verdict is Verdict.NOT_CHECKED
    assert Report("bay.yaml", unlisted=3).verdict is Verdict.PASS
