"""Gaps measured on the car, beside the predicted ones."""

from __future__ import annotations

from dataclasses import replace

import pytest

from packcheck.assembly.assembly import assemble
from packcheck.bay import Bay
from packcheck.findings import Finding, Verdict
from packcheck.scene.model.scene import Box, Frame
from packcheck.scene.model.survey import Check, Uncertainty
from tests.bays import part, scene


def checked(measured: float, standard: float, **facts: object) -> Finding:
    """The finding of one check between two boxes 20 mm apart; `facts` are the second's."""
    made = scene(part("a", Box((100, 100, 100))), part("b", Box((100, 100, 100)), at=(120, 0, 0), **facts))
    made = replace(made, checks=(Check(("a", "b"), measured, standard, "drill"),))
    (finding,) = (f for f in Bay(assemble(made)).check(moves=False).findings if f.study == "checks")
    return finding


def test_a_measured_gap_that_agrees() -> None:
    """Oracle: closed form. 21 against 20 with 0.6 and 0.8 together 1.0: within 1.96."""
    finding = checked(21, 0.8, uncertainty=Uncertainty((0.6, 0, 0)))
    assert (finding.verdict, finding.word) == (Verdict.PASS, "agrees")
    assert finding.value == pytest.approx(1.0, abs=1e-6)
    assert finding.limit.most == pytest.approx(2.0)  # 1.96, rounded up to a tenth


def test_a_measured_gap_that_disagrees_names_the_likeliest_suspect() -> None:
    """Oracle: closed form. 24 against 20 is more than 2.0; the second part alone is uncertain."""
    finding = checked(24, 0.8, uncertainty=Uncertainty((0.6, 0, 0)))
    assert (finding.verdict, finding.word) == (Verdict.FAIL, "disagrees")
    assert finding.note.startswith("predicted 20.0 mm +- 2.0, measured 24 mm")
    assert finding.note.endswith("likeliest suspect: b")


def test_hard_tolerances_make_room_too() -> None:
    """Oracle: closed form: 3 mm of tolerance on top of 1.96 x 0.5."""
    assert checked(23.5, 0.5, tolerance=(3, 3, 3)).verdict is Verdict.PASS
    assert checked(24.5, 0.5, tolerance=(3, 3, 3)).verdict is Verdict.FAIL


def test_a_gap_of_what_nobody_doubts_suspects_the_file() -> None:
    assert "a size or place in the file" in checked(30, 0.1).note


def test_of_several_the_one_that_weighs_most_is_suspected() -> None:
    """Oracle: closed form. The frame is off by a standard 3 along the gap, the part in it by 0.5."""
    frames = {"f": Frame("f", uncertainty=Uncertainty((3, 0, 0)))}
    doubtful = part("b", Box((100, 100, 100)), at=(120, 0, 0), parent="f", uncertainty=Uncertainty((0.5, 0, 0)))
    made = scene(part("a", Box((100, 100, 100))), doubtful, frames=frames)
    made = replace(made, checks=(Check(("a", "b"), 60, 0.1),))
    (finding,) = (f for f in Bay(assemble(made)).check(moves=False).findings if f.study == "checks")
    assert finding.note.endswith("likeliest suspect: f")


def test_nothing_is_changed_by_a_check() -> None:
    """Oracle: the scene without the check."""
    parts = part("a", Box((100, 100, 100))), part("b", Box((100, 100, 100)), at=(120, 0, 0))
    plain = scene(*parts, list_within=50.0)
    with_check = replace(plain, checks=(Check(("a", "b"), 60, 0.1),))
    (one,), (other,) = (
        [f for f in Bay(assemble(made)).check(moves=False).findings if f.study == "gaps"]
        for made in (plain, with_check)
    )
    assert (one.value, one.low, one.high) == (other.value, other.low, other.high)
