"""Parts that nobody said how well they are known: counted, as typed, and what a tape would leave undecided."""

from __future__ import annotations

import json
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import packcheck
from packcheck import Bay, Verdict
from packcheck.report.as_csv import as_csv
from packcheck.report.as_json import as_json
from packcheck.report.as_page import as_page
from packcheck.report.text.as_text import as_text
from packcheck.studies.unstated import unstated


def bay(tmp_path: Path, text: str) -> Bay:
    scene = tmp_path / "scene.yaml"
    scene.write_text(f"packcheck: 1\n{text}", encoding="utf-8")
    return packcheck.load(scene)


TWO = """
list_within: 100
parts:
  fuel_line: {kind: fuel, at: [0, 0, 0], box: [300, 8, 8], KEYS}
  downpipe: {kind: exhaust, at: [0, 79.1, 0], box: [300, 50, 50], note: straight}
clearances: {rules: [{between: [fuel_line, downpipe], gap: 50, lower: true, why: wanted gap left out}]}
"""


@pytest.mark.parametrize(("keys", "names"), [
    ("note: x", ("fuel_line", "downpipe")),
    ("known: tape", ("downpipe",)),
    ("tolerance: 0", ("downpipe",)),
    ("tolerance: 2", ("downpipe",)),
    ("tolerance: [0, 0, 0]", ("downpipe",)),
    ("uncertainty: {standard: 1 mm}", ("downpipe",)),
    ("fit: about", ("downpipe",)),
])  # fmt: skip
def test_what_says_how_well_it_is_known_is_not_counted(tmp_path: Path, keys: str, names: tuple[str, ...]) -> None:
    """Oracle: by head: whoever writes one of these keys has said it, be it nothing at all that it is off by."""
    made = bay(tmp_path, TWO.replace("KEYS", keys))
    assert unstated(made.assembly) == names


def test_a_default_says_it_for_every_part(tmp_path: Path) -> None:
    made = bay(tmp_path, TWO.replace("KEYS", "note: x") + "known: drawing\n")
    assert unstated(made.assembly) == ()
    assert made.check().tape is None
    assert "as typed" not in as_text(made.check())


def test_room_is_not_a_part_to_be_known(tmp_path: Path) -> None:
    made = bay(
        tmp_path,
        "parts:\n  fan: {box: [9, 9, 9], known: tape, needs: {top: 9}}\n"
        "  jack_room: {kind: keep_out, at: [300, 0, 0], box: [9, 9, 9]}\n",
    )
    assert unstated(made.assembly) == ()


def test_a_gap_of_such_a_part_is_not_called_exact(tmp_path: Path) -> None:
    """Oracle: 79.1 - 4 - 25 = 50.1 as typed; at 3 mm to each side it may be 44.1, where 50 must be."""
    made = bay(tmp_path, TWO.replace("KEYS", "note: x"))
    report = made.check()
    (finding,) = report.findings
    assert finding.value == pytest.approx(50.1)
    assert (finding.bound, finding.verdict) == ("as_typed", Verdict.PASS)
    assert report.tape is not None
    assert (report.tape.accuracy, report.tape.undecided, report.tape.at_most) == (3.0, 1, 1)
    said = (
        "2 parts do not say how well they are known (known, tolerance): their gaps are as typed. Were each known "
        "as with a tape (3 mm), 1 limit that is met at rest would be undecided."
    )
    assert said in " ".join(as_text(report).split())
    assert said in " ".join(as_page(report, made.model(report), version="1").split())
    told = json.loads(as_json(report, version="1"))
    assert told["tape"] == {"parts": ["fuel_line", "downpipe"], "accuracy": 3.0, "undecided": 1, "at_most": 1}
    assert told["findings"][0]["bound"] == "as_typed"
    assert ",as_typed," in as_csv(report)
    assert f'"{said}"' in as_csv(report)


def test_a_gap_of_parts_that_are_known_is_exact(tmp_path: Path) -> None:
    made = bay(tmp_path, TWO.replace("KEYS", "tolerance: 0").replace("note: straight", "tolerance: 0"))
    assert [finding.bound for finding in made.check().findings] == ["exact"]


def test_the_tape_of_the_scene_is_the_one_that_is_reckoned_with(tmp_path: Path) -> None:
    text = TWO.replace("KEYS", "note: x") + "known: {tape: 0.04 mm}\n"
    tape = bay(tmp_path, text).check().tape
    assert tape is not None
    assert (tape.accuracy, tape.undecided) == (0.04, 0)


def test_what_both_hang_on_cancels(tmp_path: Path) -> None:
    """Oracle: by head: a tray carries both, so that its own 3 mm shift both alike: 6, not 9 or 12, is taken off."""
    text = """
parts:
  tray: {box: [400, 400, 2], at: [0, 0, -200]}
  one: {in: tray, box: [10, 10, 10], at: [0, 0, 100]}
  other: {in: tray, box: [10, 10, 10], at: [0, GAP, 100]}
clearances: {use: none, default: 20}
"""
    for gap, count in ((25.9, 1), (26.1, 0)):
        tape = bay(tmp_path, text.replace("GAP", f"{10 + gap}")).check(["one"]).tape
        assert tape is not None and tape.at_most == count


@st.composite
def crowds(draw: st.DrawFn) -> tuple[list[tuple[float, ...]], list[bool]]:
    count = draw(st.integers(2, 6))
    places = [tuple(float(draw(st.integers(-40, 40))) for _ in range(3)) for _ in range(count)]
    return places, [draw(st.booleans()) for _ in range(count)]


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(crowd=crowds())
def test_no_fewer_are_counted_than_become_undecided_when_a_tape_is_written(
    tmp_path: Path, crowd: tuple[list[tuple[float, ...]], list[bool]]
) -> None:
    """Oracle: the same scene with `tolerance: 3` written where nothing was: its unsure findings that passed."""
    places, stated = crowd

    def text(written: str) -> str:
        keys = ["tolerance: 0" if said else written for said in stated]
        lines = [f"  p{k}: {{box: [12, 12, 12], at: {list(at)}, {keys[k]}}}" for k, at in enumerate(places)]
        return "parts:\n" + "\n".join(lines) + "\nclearances: {use: none, default: 6}\n"

    typed, taped = bay(tmp_path, text("note: x")).check(moves=False), bay(tmp_path, text("tolerance: 3")).check()
    met = {finding.subjects for finding in typed.findings if finding.verdict not in (Verdict.PASS, Verdict.CLOSE)}
    turned = [f for f in taped.findings if f.verdict is Verdict.UNSURE and f.subjects not in met]
    if typed.tape is None:
        assert all(stated)
    else:
        assert typed.tape.undecided <= len(turned) <= typed.tape.at_most


def test_it_costs_no_gap_of_its_own(tmp_path: Path) -> None:
    rng = np.random.default_rng(3)
    parts = "".join(
        f"  p{k}: {{box: [20, 20, 20], at: {[round(float(x), 2) for x in rng.uniform(-200, 200, 3)]}KEYS}}\n"
        for k in range(40)
    )
    asked = []
    for keys in ("", ", tolerance: 0"):
        made = bay(tmp_path, f"parts:\n{parts.replace('KEYS', keys)}")
        made.check(moves=False)
        asked.append(made.session.work.gaps)
    assert asked[0] == asked[1]
    assert len(list(combinations(range(40), 2))) > asked[0]
