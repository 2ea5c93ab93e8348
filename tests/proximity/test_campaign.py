"""Random pairs of every kind against the oracles: a fixed slice every time, a campaign on demand.

Oracle: independent second methods (`tests/oracles/truth.py`): conic programs with dual certificates, Minkowski
differences, branch and bound over exact cells, brute force over triangles. The campaign is split by seed:

    PACKCHECK_CAMPAIGN_SEED=7 PACKCHECK_CAMPAIGN_PAIRS=20000 pytest -m campaign -s
"""

from __future__ import annotations

import os

import pytest

from tests.crowds import drawn_pair, pairs
from tests.proximity.judging import Tally, judged

SLICE_SEED = 2024
PARTS = 5
PAIRS_PER_PART = 130
BOTH_WAYS_EVERY = 10  # pairs; roles exchanged, which costs a second measurement


@pytest.mark.parametrize("part", range(PARTS))
def test_slice_of_random_pairs_holds_the_truth(part: int) -> None:
    """Oracle: second methods. No false clear, every interval holds the true gap, the laws hold."""
    indices = range(part * PAIRS_PER_PART, (part + 1) * PAIRS_PER_PART)
    tally = Tally().add(judged(drawn_pair(SLICE_SEED, i), both_ways=i % BOTH_WAYS_EVERY == 0) for i in indices)
    assert not tally.faulty, "\n".join(map(str, tally.faulty))


ONCE_WRONG = {
    (1, 348): "a way out that was none",
    (101, 19677): "a way out that was none",
    (102, 1943): "a way out that was none",
    (2024, 952): "a way out that was none",
    (1, 1425): "no lower end for touching parts of several solids",
    (4, 2237): "no lower end for touching parts of several solids",
    (101, 5830): "no lower end for touching parts of several solids",
    (3, 663): "the direction of a face of the difference that was not closed",
    (102, 4886): "the direction of a face of the difference that was not closed",
    (102, 10705): "the direction of a face of the difference that was not closed",
    (3, 787): "a way out that stopped short of free",
    (1, 12063): "a proven depth taken from patches that had been passed over",
    (2, 4846): "a proven depth taken from patches that had been passed over",
    (1, 8425): "the direction of a ball round a point of a surface",
    (1, 20335): "the engine's points where surfaces only touch",
    (1, 24300): "the engine's points where surfaces only touch",
    (2, 10316): "points off the face where the overlap is next to nothing",
    (2, 13197): "a direction from points nearer than rounding",
    (101, 6551): "thin triangles whose distance the engine overstated, asked one way round",
}


@pytest.mark.parametrize(("seed", "index"), ONCE_WRONG)
def test_a_pair_that_once_failed_holds_the_truth(seed: int, index: int) -> None:
    """Oracle: second methods, as for the slice."""
    judgement = judged(drawn_pair(seed, index))
    assert not judgement.faults, str(judgement)


@pytest.mark.campaign
def test_campaign_of_random_pairs_holds_the_truth(capsys: pytest.CaptureFixture[str]) -> None:
    """Oracle: second methods, as for the slice."""
    seed = int(os.environ.get("PACKCHECK_CAMPAIGN_SEED", "1"))
    count = int(os.environ.get("PACKCHECK_CAMPAIGN_PAIRS", "100000"))
    tally = Tally().add(
        judged(pair, both_ways=i % BOTH_WAYS_EVERY == 0) for i, pair in enumerate(pairs(seed, count))
    )
    with capsys.disabled():
        print(f"\nseed {seed}: {tally}")  # noqa: T201 - the table is what the campaign is run for
    assert not tally.faulty, "\n".join(map(str, tally.faulty))
