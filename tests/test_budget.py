"""A budget ends where it says, at the same question every time, and never begins again.

Oracle: counting.
"""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import packcheck
from packcheck import Report, Verdict
from packcheck.budget import Budget, BudgetError, read_budget


@given(st.integers(0, 60), st.lists(st.integers(1, 9), max_size=40))
def test_no_more_is_asked_than_there_is(questions: int, counts: list[int]) -> None:
    budget, granted, over = Budget(questions), 0, False
    for count in counts:
        fits = not over and granted + count <= questions and granted < questions
        assert budget.spend(count) is fits
        granted += count if fits else 0
        over = over or not fits
    assert budget.asked == granted <= questions
    assert budget.counted


def test_seconds_are_of_work_and_run_from_the_first_question_on() -> None:
    now = 100.0
    budget = Budget(seconds=5, clock=lambda: now)
    now = 900.0
    assert budget.spend()
    now = 904.9
    assert budget.spend()
    now = 905.0
    assert not budget.spend()
    now = 0.0
    assert budget.spent
    assert not budget.counted


def test_without_a_budget_there_is_no_end() -> None:
    budget = Budget()
    assert all(budget.spend(1000) for _ in range(1000))
    assert budget.said() == "no limit"


def test_a_part_ends_no_later_than_the_whole() -> None:
    now = 0.0
    budget = Budget(seconds=10, clock=lambda: now)
    assert budget.spend()
    now = 4.0
    share = budget.at_most(5)
    assert share.spend()
    now = 10.0
    assert share.spent
    counted = Budget(100)
    counted.spend(20)
    assert counted.at_most(30).questions == 30
    assert counted.at_most(300).questions == 80
    counted.take(79)
    assert counted.left(7) == 1
    counted.take(1)
    assert counted.left(7) == 0


def test_seconds_run_from_where_the_work_begins() -> None:
    now = 100.0
    budget = Budget(seconds=5, clock=lambda: now)
    budget.begin()
    now = 105.0
    assert budget.spent


BALLS = """packcheck: 1
parts:
  lid: {box: [400, 300, 4], at: [200, 0, 0]}
PARTSmotions:
  lid_opens: {carries: lid, hinge: {through: [0, 0, 0], axis: y, from: 0, to: -60}}
"""


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.tuples(st.integers(40, 380), st.integers(-140, 140), st.integers(30, 400)), min_size=1, max_size=4),
    st.integers(1, 60),
)
def test_a_budget_passes_nothing_that_none_would_not(places: list[tuple[int, int, int]], questions: int) -> None:
    """Oracle: the same check without an end. A lid swings up among balls."""
    parts = "".join(f"  b{k}: {{sphere: {{diameter: 20}}, at: {list(at)}}}\n" for k, at in enumerate(places))
    with TemporaryDirectory() as folder:
        scene = Path(folder) / "scene.yaml"
        scene.write_text(BALLS.replace("PARTS", parts), encoding="utf-8")
        whole = packcheck.load(scene).check(budget=Budget())
        short = packcheck.load(scene).check(budget=Budget(questions))
    assert passed(short) <= passed(whole)
    assert short.verdict not in GOOD or whole.verdict in GOOD


GOOD = (Verdict.PASS, Verdict.CLOSE)


def passed(report: Report) -> set[tuple[str, ...]]:
    """The pairs that move and do not fall short; where nothing is said of one it passes."""
    moving = {(*one.subjects, one.study): one.verdict for one in report.findings if one.study == "moving"}
    names = sorted({name for one in report.findings for name in one.subjects} | {"lid", "b0", "b1", "b2", "b3"})
    pairs = [(a, b, "moving") for a in names for b in names if a != b]
    return {pair for pair in pairs if moving.get(pair, Verdict.PASS) in GOOD}


@pytest.mark.parametrize(
    ("text", "questions", "seconds", "said"),
    [
        ("30s", None, 30, "30 s"),
        (" 1.5 s", None, 1.5, "1.5 s"),
        ("2min", None, 120, "120 s"),
        ("20000", 20000, None, "20000 questions"),
        ("1", 1, None, "1 question"),
    ],
)
def test_a_budget_is_read(text: str, questions: float | None, seconds: float | None, said: str) -> None:
    budget = read_budget(text)
    assert budget.questions == (questions or float("inf"))
    assert budget.seconds == (seconds or float("inf"))
    assert budget.said() == said


@pytest.mark.parametrize("text", ["", "s", "0", "0s", "-3", "1e3", "30 h", "2.5", "nan", "inf", "9" * 30, "1,5s"])
def test_what_is_no_budget_is_refused(text: str) -> None:
    with pytest.raises(BudgetError, match="no budget"):
        read_budget(text)
