"""How much work the gap pass does, counted and not timed."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

import packcheck
from packcheck.assembly.assembly import Assembly
from packcheck.proximity import Session
from packcheck.studies import gaps
from tests.benchmarks import baselines
from tests.benchmarks.bays import generated_bay
from tests.benchmarks.gap_pass import trees


@pytest.fixture(scope="module")
def bay() -> Iterator[Assembly]:
    """A packed bay of 60 parts, 12 of them meshes of 10 000 triangles."""
    with generated_bay(60) as scene:
        yield packcheck.load(scene).assembly


def test_gap_pass_measures_few_pairs_beyond_those_whose_boxes_are_near(bay: Assembly) -> None:
    """Oracle: brute force over all boxes, each pair with its own limit."""
    session = Session()
    gaps.run(bay, session)
    near = len(baselines.box_filtered(bay))
    assert near > 60
    assert session.work.gaps <= 1.3 * near


def test_gap_pass_builds_less_than_half_of_the_trees(bay: Assembly) -> None:
    session = Session()
    gaps.run(bay, session)
    built, there = trees(session)
    assert 0 < built < there / 2


def test_gap_pass_of_the_same_session_measures_nothing_again(bay: Assembly) -> None:
    session = Session()
    first = gaps.run(bay, session)
    before = session.work.gaps
    again = gaps.run(bay, session)
    assert session.work.gaps == before
    assert [finding.value for finding in again.findings] == [finding.value for finding in first.findings]
