"""Pairs that rest on a guess, counted."""

from __future__ import annotations

import random
from itertools import combinations

import pytest

from packcheck.clearance.guesses import Guesses
from packcheck.scene.model.scene import Frame, Known, Part, Scene


def random_scene(seed: int) -> Scene:
    rng = random.Random(seed)
    ways: tuple[Known | None, ...] = (None, "guess", "tape", None)
    frames: dict[str, Frame] = {}
    parts: dict[str, Part] = {}
    for k in range(4):
        frames[f"f{k}"] = Frame(f"f{k}", rng.choice(["car", *frames]), known=rng.choice(ways))
    for k in range(9):
        parts[f"p{k}"] = Part(f"p{k}", (), parent=rng.choice(["car", *frames, *parts]), known=rng.choice(ways))
    return Scene("bay.yaml", frames=frames, parts=parts)


def chain(scene: Scene, name: str) -> list[str]:
    nodes: dict[str, Frame | Part] = {**scene.frames, **scene.parts}
    return [] if name == "car" else [name, *chain(scene, nodes[name].parent)]


@pytest.mark.parametrize("seed", range(40))
def test_counts_are_those_of_every_pair_looked_at_alone(seed: int) -> None:
    """Oracle: brute force over the chains; a guess counts unless both hang on it, and always for the two parts."""
    scene = random_scene(seed)
    guesses = Guesses(scene)
    nodes: list[Frame | Part] = [*scene.frames.values(), *scene.parts.values()]
    guessed = {node.name for node in nodes if node.known == "guess"}
    expected = set()
    for a, b in combinations(scene.parts, 2):
        unshared = set(chain(scene, a)) ^ set(chain(scene, b)) | {a, b}
        if unshared & guessed:
            expected.add((a, b))
    assert {pair for pair in combinations(scene.parts, 2) if guesses.between(*pair)} == expected
    assert guesses.pairs(scene.parts) == len(expected)
