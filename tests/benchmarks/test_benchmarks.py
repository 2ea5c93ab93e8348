"""Every benchmark runs and prints its table; what stands in it is for the reader to judge."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.benchmarks.gap_pass import gap_pass
from tests.benchmarks.growth import growth
from tests.benchmarks.memory import memory
from tests.benchmarks.motions import demo_motions, random_motions
from tests.benchmarks.one_nudge import one_nudge
from tests.benchmarks.place_map import place_map
from tests.benchmarks.startup import startup, where_the_time_goes
from tests.benchmarks.window_nudge import window_nudge

RUNS = [
    gap_pass,
    growth,
    startup,
    where_the_time_goes,
    memory,
    one_nudge,
    place_map,
    window_nudge,
    random_motions,
    demo_motions,
]


@pytest.mark.benchmark
@pytest.mark.parametrize("run", RUNS)
def test_benchmark_prints_a_table(run: Callable[[], str], capsys: pytest.CaptureFixture[str]) -> None:
    text = run()
    with capsys.disabled():
        print(f"\n{text}")  # noqa: T201 - the table is what the benchmark is run for
    assert "\n| --- |" in text
