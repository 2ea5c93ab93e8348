"""A scene of nothing but arithmetic is refused in time; what builders write is far from that."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from packcheck.scene.text.effort import MOST_ARITHMETIC
from tests.scene.writing import faults_of, scene_of


def parts(count: int, sum_: str) -> str:
    lines = [f"  p{k}: {{box: [{sum_}, {sum_}, {sum_}], at: [{k}, 0, 0]}}" for k in range(count)]
    return "parts:\n" + "\n".join(lines) + "\n"


@pytest.mark.parametrize("one_long", [True, False], ids=["one long sum", "many short ones"])
def test_megabytes_of_arithmetic_are_refused_soon(one_long: bool, tmp_path: Path) -> None:
    """Oracle: the limit itself; before it stood, such a file took 47 s of work."""
    text = parts(1, " + ".join(["1 mm"] * 230_000)) if one_long else parts(15_000, "1 mm + 2 mm * 3 + 4 mm")
    began = time.process_time()
    (fault,) = faults_of(tmp_path, text)
    assert fault.what == f"the scene holds more than {MOST_ARITHMETIC} characters of arithmetic"
    assert fault.mark is not None
    assert time.process_time() - began < 25


def test_a_thousand_parts_of_sums_are_no_trouble(tmp_path: Path) -> None:
    scene = scene_of(tmp_path, "params: {plenum_height: 150 mm}\n" + parts(1_000, "plenum_height / 2 + 20 mm"))
    assert len(scene.parts) == 1_000


def test_prose_is_not_arithmetic(tmp_path: Path) -> None:
    note = "see 3/8 - 1/2 (or so) * " * 20_000
    scene = scene_of(tmp_path, f'note: "{note}"\nparts: {{it: {{box: [1, 1, 1], note: "{note}"}}}}')
    assert scene.parts
