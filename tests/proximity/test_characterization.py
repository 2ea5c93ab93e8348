"""The published accuracy table stays true: worse fails, and so does much better."""

from __future__ import annotations

import pytest

from tests.proximity.characterize import KIND_PAIRS, measured, stored

WORSE = 1.5
WORSE_FLOOR = 1e-9  # mm; rounding of coordinates up to 10 m
BETTER = 1 / 20
BETTER_FLOOR = 1e-7  # mm; below this the oracles' own width decides, not the kernel


@pytest.mark.parametrize(("first", "second"), KIND_PAIRS, ids=map(" - ".join, KIND_PAIRS))
def test_worst_error_of_a_pair_of_kinds_is_as_published(first: str, second: str) -> None:
    """Oracle: second methods (`tests/oracles/truth.py`); the stored figure only shows change."""
    worst, published = measured(first, second), stored()[f"{first} - {second}"]
    assert worst <= max(WORSE * published, WORSE_FLOOR), "the kernel got worse"
    assert worst >= BETTER * published or published <= BETTER_FLOOR, "much better: publish the new table"


def test_table_holds_every_pair_of_kinds_and_no_other() -> None:
    assert set(stored()) == {" - ".join(pair) for pair in KIND_PAIRS}
