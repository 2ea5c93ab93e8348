"""What looks like a joint, and what never does."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from packcheck.assembly.assembly import assemble
from packcheck.bay import load
from packcheck.findings import Finding, Verdict
from packcheck.proximity import Session
from packcheck.scene.model.scene import Box, Rule
from packcheck.studies import gaps
from tests.bays import bay, part, ruled

CUBE, PLATE = Box((10.0, 10.0, 10.0)), Box((10.0, 40.0, 40.0))
DEMO = Path(__file__).parents[2] / "scenes" / "hillclimb_rear_bay.yaml"


def pair(
    gap: float, *, names: tuple[str, str] = ("a", "b"), must: float = 10.0, tolerance: float = 0.0, kind: str = ""
) -> Finding:
    """Two parts `gap` mm apart; `tolerance` and `kind` are those of the second."""
    facts = {"at": (10 + gap, 0, 0), "tolerance": (tolerance,) * 3, "kinds": (kind,) if kind else ()}
    parts = [part(names[0], CUBE), part(names[1], PLATE, **facts)]
    (found,) = bay(*parts, clearances=ruled(Rule(names, must=must))).check(moves=False).findings
    return found


@pytest.mark.parametrize("gap", [-1.0, -0.3, 0.0, 0.4])
def test_contact_within_the_seat_and_a_small_part_on_a_big_one(gap: float) -> None:
    """Oracle: by head; a plate of 16 cubes, a seat of 1 mm, paint of 0.5 mm."""
    found = pair(gap)
    assert found.looks_joined.endswith("a is small beside b (1 to 16)")
    assert found.verdict is Verdict.FAIL


@pytest.mark.parametrize("gap", [-1.1, 0.6, 5.0])
def test_beyond_the_seat_nothing_looks_like_a_joint(gap: float) -> None:
    assert not pair(gap).looks_joined
    assert not pair(gap, names=("bracket", "rail")).looks_joined


def test_contact_alone_is_no_evidence() -> None:
    parts = [part("a", CUBE), part("b", CUBE, at=(10, 0, 0))]
    (found,) = bay(*parts).check(moves=False).findings
    assert (found.word, found.looks_joined) == ("touching", "")


@pytest.mark.parametrize(
    ("names", "kind", "said"),
    [
        (("pump_brackets", "rail"), "", "bracket in the name pump_brackets"),
        (("dynamo", "dynamo_drive"), "", "dynamo in both names"),
        (("dynamo", "drive"), "structure", "drive is of kind structure"),
    ],
)
def test_names_and_kinds_speak_for_a_joint(names: tuple[str, str], kind: str, said: str) -> None:
    assert said in pair(0.0, names=names, kind=kind).looks_joined


def test_standing_on_a_frame_is_no_sign_where_tolerances_leave_contact_open() -> None:
    """Oracle: by head; two cubes of one size that touch as drawn, known to 3 mm or exactly."""
    seen = {}
    for tolerance in (0.0, 3.0):
        facts = {"at": (10, 0, 0), "tolerance": (tolerance,) * 3, "kinds": ("structure",)}
        (found,) = bay(part("cell", CUBE), part("rail", CUBE, **facts)).check(moves=False).findings
        seen[tolerance] = bool(found.looks_joined)
    assert seen == {0.0: True, 3.0: False}


def test_within_tolerances_only_a_strong_sign_counts() -> None:
    """Oracle: by head; 3 mm apart with a tolerance of 5 mm."""
    assert not pair(3.0, tolerance=5.0).looks_joined
    told = pair(3.0, names=("clamp", "b"), tolerance=5.0).looks_joined
    assert told.startswith("gap 3 mm, within 0.5 mm, and tolerances of 5 mm; clamp in the name clamp")


def test_where_much_air_is_asked_no_contact_looks_intended() -> None:
    assert pair(0.0, names=("bracket", "b"), must=20.0).looks_joined
    assert not pair(0.0, names=("bracket", "b"), must=25.0).looks_joined


def test_nothing_is_bolted_to_a_hand() -> None:
    assert not pair(0.0, names=("bracket", "b"), kind="hand").looks_joined


def test_a_stated_joint_is_not_offered_again() -> None:
    parts = [part("bracket", CUBE), part("b", PLATE, at=(12, 0, 0), bolted_to=("bracket",))]
    (found,) = bay(*parts).check(moves=False).findings
    assert (found.word, found.looks_joined) == ("not seated", "")


def test_the_demo_without_its_joints_gets_most_of_them_back_and_no_others() -> None:
    """Oracle: the joints that the demo scene states. A first check must be worth reading: nine in ten are found."""
    scene = load(DEMO).assembly.scene
    stated = {frozenset((name, other)) for name, part in scene.parts.items() for other in part.bolted_to}
    bare = {name: replace(part, bolted_to=()) for name, part in scene.parts.items()}
    report = gaps.run(assemble(replace(scene, parts=bare)), Session())
    offered = {frozenset(finding.subjects) for finding in report.findings if finding.looks_joined}
    assert offered <= stated
    assert len(offered) >= 0.9 * len(stated)
    assert report.counts[Verdict.FAIL] >= len(offered)
