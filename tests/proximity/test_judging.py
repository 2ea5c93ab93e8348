"""The court itself: a kernel that errs in any one way is found out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from packcheck.arrays import frozen
from packcheck.proximity import Placed, Separation, Session
from tests.oracles.shapes import Box, Pair, Sphere, single
from tests.proximity.judging import Tally, judged

PAIR = Pair("ball beside a box", "near", single(Box((20, 20, 20))), single(Sphere(10), (25, 3, 0)))
"""Closed form: 25 - 10 - 5 = 10 apart."""

Doctoring = Callable[[Separation], Separation]


def doctored(monkeypatch: pytest.MonkeyPatch, doctoring: Doctoring) -> None:
    """Let every session answer with the doctored gap."""
    honest = Session.gap

    def gap(session: Session, a: Placed, b: Placed) -> Separation:
        return doctoring(honest(session, a, b))

    monkeypatch.setattr(Session, "gap", gap)


@pytest.mark.parametrize(
    ("doctoring", "fault"),
    [
        (lambda s: replace(s, low=10.00001, high=10.1), "false clear"),
        (lambda s: replace(s, high=9.9999, low=9.9), "beyond the upper end"),
        (lambda s: replace(s, value=10.002, low=9.9, high=10.1), "convex gap off"),
        (lambda s: replace(s, value=10.5), "outside its own interval"),
        (lambda s: replace(s, low=-np.inf), "not a number"),
        (lambda s: replace(s, points=frozen(s.points + 1)), "off its solid"),
        (lambda s: replace(s, direction=frozen(-s.direction)), "witness law broken"),
        (lambda s: replace(s, direction=frozen([-1, 0, 0])), "swapping does more"),
        (lambda s: replace(s, points=frozen(s.points[::-1])), "witness law broken"),
        (lambda s: replace(s, points=None), "no witness points"),
    ],
)
def test_an_answer_that_errs_is_found_out(
    monkeypatch: pytest.MonkeyPatch, doctoring: Doctoring, fault: str
) -> None:
    """Oracle: closed form. The honest answer is 10; each case spoils one field."""
    doctored(monkeypatch, doctoring)
    judgement = judged(PAIR)
    assert any(fault in found for found in judgement.faults), judgement.faults
    assert Tally().add([judgement]).faulty


def test_an_honest_answer_has_no_faults() -> None:
    """Oracle: closed form, 10 apart."""
    judgement = judged(PAIR, both_ways=True)
    assert judgement.faults == ()
    assert judgement.found.value == pytest.approx(10, abs=1e-9)


def test_the_table_counts_pairs_and_names_the_worst_error() -> None:
    lines = str(Tally().add([judged(PAIR), judged(PAIR)])).splitlines()
    assert lines[0].startswith("2 pairs, 0 at fault")
    assert lines[-1].split()[:4] == ["box", "-", "sphere", "2"]
