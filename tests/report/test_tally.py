"""Counts add up: pairs each once by their worst, states and other measures apart."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from packcheck.bay import load
from packcheck.findings import Finding, PairCount, Report, Verdict
from packcheck.report.as_json import as_json
from packcheck.report.text.as_text import as_text
from packcheck.report.text.headline import headline
from packcheck.report.text.tally import at_rest, besides, by_pair, in_motion, tally_words
from tests.report.made import finding
from tests.scene.writing import write

SWEPT = """\
packcheck: 1
clearances: {use: none, default: 5 mm}
parts:
  jack_room: {kind: access, at: [0, 0, 0], box: [100, 100, 100]}
  tyre: {at: [0, 0, 200], box: [50, 50, 50], tolerance: 2}
  rail: {at: [0, 300, 200], box: [50, 50, 50]}
  strut: {at: [0, 352, 200], box: [50, 50, 50]}
motions:
  bump: {carries: [tyre], travel: {by: z, from: -180, to: 0}}
measures:
  reach: {distance: {from: tyre, to: rail}, most: 100}
  low: {height: {of: tyre, above: car}, must: 100}
"""


def moving(made: Finding) -> Finding:
    return replace(made, study="moving")


def test_pairs_states_and_measures_are_counted_apart(tmp_path: Path) -> None:
    """Oracle: by hand. Six pairs; rail and strut are 2 mm apart at rest; a tyre sweeps into the room; one of two
    distances is too long. Three pairs hold the tyre, so three states in motion."""
    report = load(write(tmp_path, SWEPT)).check(moves=False)
    assert tally_words(by_pair(report)) == "2 fail, 4 pass"
    assert tally_words(at_rest(report)) == "1 fails, 5 pass"
    assert tally_words(in_motion(report)) == "1 fails, 2 pass"
    assert {study: tally_words(tally) for study, tally in besides(report).items()} == {
        "measures": "1 fails, 1 passes"
    }
    assert headline(report).startswith("3 shortfalls found, in 2 of 6 pairs and 1 of the measures: ")
    text = as_text(report, width=1000)
    assert "Each by the worst of its states: 2 fail, 4 pass.\nAt rest: 1 fails, 5 pass.\n" in text
    assert "\nIn motion, 3 pairs: 2 cleared by swept box, 1 searched; 1 fails, 2 pass.\n" in text
    assert "\nMeasures: 1 fails, 1 passes.\n" in text
    read = json.loads(as_json(report, version="0"))
    assert (read["pair_counts"]["fail"], sum(read["pair_counts"].values())) == (2, read["pairs"]["total"])
    assert sum(read["states"]["at_rest"].values()) == 6
    assert (sum(read["states"]["in_motion"].values()), read["moving"]["total"]) == (3, 3)


def test_pair_short_at_rest_and_in_motion_counts_once() -> None:
    """Oracle: by hand: three shortfalls, two of them of one pair whatever order it is named in."""
    other = finding(3.0, names=("pump", "rail"))
    swept = replace(moving(finding(1.0)), subjects=("rail", "tank"))
    report = Report("bay.yaml", findings=(finding(4.0), swept, other), pairs=PairCount(3, 0, 3))
    assert headline(report) == "3 shortfalls found, in 2 of 3 pairs: 3 tight"
    assert tally_words(by_pair(report)) == "2 fail, 1 passes"


NAMES = st.sampled_from([("a", "b"), ("b", "a"), ("a", "c"), ("b", "c"), ("c", "d")])
FOUND = st.builds(
    lambda names, low, high, study: replace(finding(low, low + high, names=names), study=study),
    NAMES,
    st.floats(-5, 15),
    st.floats(0, 9),
    st.sampled_from(["gaps", "moving", "measures"]),
)


@given(st.lists(FOUND, max_size=9))
def test_counts_add_up(found: list[Finding]) -> None:
    """Oracle: by definition: as many pairs as there are, as many states as were looked at, none better than
    its worst."""
    resting = {frozenset(f.subjects): f for f in found if f.study == "gaps"}
    others = [f for f in found if f.study != "gaps"]
    moved = sum(f.study == "moving" for f in others)
    report = Report(
        "bay.yaml",
        findings=(*resting.values(), *others),
        pairs=PairCount(6, 0, 6),
        moving=PairCount(moved + 2, 2, moved),
    )
    assert sum(by_pair(report).values()) == sum(at_rest(report).values()) == 6
    assert sum(in_motion(report).values()) == moved + 2
    short = {frozenset(f.subjects) for f in report.findings if f.verdict is Verdict.FAIL and f.study != "measures"}
    assert by_pair(report)[Verdict.FAIL] == len(short)
