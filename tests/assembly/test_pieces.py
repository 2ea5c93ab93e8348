"""Parts cut into pieces: no cut holds more numbers than it may, and coarser ones prove nothing more."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import packcheck
from packcheck.search import Planes, spread_directions
from packcheck.trial import pieces


@pytest.mark.parametrize("most", [300, 3_000, 30_000])
def test_cuts_that_would_hold_too_much_are_left_out(
    most: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Oracle: counting, and the same planes without an end."""
    scene = tmp_path / "scene.yaml"
    tube = "tube: {outer: 80, inner: 60, length: 50}"
    scene.write_text(f"packcheck: 1\nparts:\n  a: {{{tube}}}\n  b: {{{tube}, at: [200, 0, 0]}}\n", encoding="utf-8")
    parts = packcheck.load(scene).assembly.parts
    ways = spread_directions(40)
    full = pieces.planes_between(ways, parts["a"], [parts["b"]], 5.0)
    monkeypatch.setattr(pieces, "_MOST", most)
    capped = pieces.planes_between(ways, parts["a"], [parts["b"]], 5.0)
    assert max(sizes(full)) > most
    assert all(size <= most for size in sizes(capped)[1:])
    centres, halves = np.random.default_rng(1).uniform(-250, 250, (400, 3)), np.full(3, 2.0)
    assert not (capped.clear(centres, halves) & ~full.clear(centres, halves)).any()


def sizes(planes: Planes | None) -> list[int]:
    found = []
    while planes is not None:
        found.append(planes.heights.size)
        planes = planes.finer
    return found
