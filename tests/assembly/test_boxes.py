"""The broad phase in blocks: no pair is lost, and no array grows with the square of the parts."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from packcheck.assembly.assembly import assemble
from packcheck.placing.boxes import BLOCK, box_distances, near_blocks
from packcheck.scene import load_scene
from packcheck.studies import gaps


def crowd(count: int, seed: int) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    random = np.random.default_rng(seed)
    low = random.uniform(0, 100 * count ** (1 / 3), (count, 3))
    return np.stack([low, low + random.uniform(0, 80, (count, 3))], axis=1)


@pytest.mark.parametrize(("count", "seed"), [(1, 0), (BLOCK, 1), (BLOCK + 1, 2), (3000, 3)])
@pytest.mark.parametrize("reach", [0.0, 35.0])
def test_blocks_hold_every_near_pair(count: int, seed: int, reach: float) -> None:
    """Oracle: brute force over all pairs."""
    boxes = crowd(count, seed)
    held = np.zeros((count, count), dtype=bool)
    for one, other in near_blocks(boxes, reach):
        assert len(one) <= BLOCK
        held[np.ix_(one, other)] = held[np.ix_(other, one)] = True
    assert held[box_distances(boxes, boxes) <= reach].all()


def test_blocks_far_apart_are_never_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    """Oracle: counted; all pairs of 3 000 are 4 498 500."""
    monkeypatch.setattr("packcheck.placing.boxes.BLOCK", 60)
    asked = sum(len(one) * len(other) for one, other in near_blocks(crowd(3000, 3), 35.0))
    assert asked < 0.35 * 4_498_500


def test_pairs_are_those_of_all_at_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Oracle: the same with one block for all: rules of kinds, of names, lowered ones, a joint far off."""
    random = np.random.default_rng(5)
    kinds = ("fuel", "exhaust", "electrical", "body")
    parts = [
        f"  p{k}: {{box: [20, 20, 20], kind: {kinds[k % 4]}, at: {random.integers(0, 500, 3).tolist()}}}"
        for k in range(150)
    ]
    rules = "    - {between: [p3, '*'], gap: 90}\n    - {between: [p5, p9], gap: 1, lower: true, why: by hand}\n"
    scene = tmp_path / "scene.yaml"
    joint = "  far: {box: [5, 5, 5], at: [9000, 0, 0], bolted_to: p1}"
    text = "\n".join(["packcheck: 1", "parts:", *parts, joint, "clearances:", "  rules:", rules])
    scene.write_text(text, encoding="utf-8")
    assembly = assemble(load_scene(scene))
    names = list(assembly.parts)
    whole = list(gaps._near_pairs(assembly, names, set(range(len(names)))))
    monkeypatch.setattr("packcheck.placing.boxes.BLOCK", 7)
    assert list(gaps._near_pairs(assembly, names, set(range(len(names))))) == whole
    assert (names.index("p1"), names.index("far")) in whole
