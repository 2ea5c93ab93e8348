"""Where may the motions of a scene stand? Ends, places at random, and the least value over them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import product

import numpy as np

from tests.worlds.evaluate import Settings
from tests.worlds.scene import Scene

__all__ = ["at_ends", "least_over", "random_settings"]

GRID = 25
ROUNDS = 40


def at_ends(scene: Scene, motions: Sequence[str]) -> list[Settings]:
    """Corners of the ranges, eight at the most."""
    found: list[Settings] = []
    ranges = [(name, r) for name in motions for r in scene.motions[name].ranges]
    for ends in list(product(*(r for _, r in ranges)))[:8]:
        settings: dict[str, tuple[float, ...]] = {}
        for (name, _), end in zip(ranges, ends, strict=True):
            settings[name] = (*settings.get(name, ()), end)
        found.append(settings)
    return found


def random_settings(scene: Scene, motions: Sequence[str], rng: np.random.Generator) -> Settings:
    return {name: tuple(float(rng.uniform(*r)) for r in scene.motions[name].ranges) for name in motions}


def least_over(scene: Scene, motions: Sequence[str], value: Callable[[Settings], float], start: Settings) -> float:
    """The least value that a grid and a search by single parameters finds; no more than the value at `start`."""
    at = {name: start.get(name, tuple(r[0] for r in scene.motions[name].ranges)) for name in motions}
    best = value(at)
    for _ in range(2):
        for name in motions:
            for place, (low, high) in enumerate(scene.motions[name].ranges):
                for amount in np.linspace(low, high, GRID):
                    trial = {**at, name: _put(at[name], place, float(amount))}
                    if (found := value(trial)) < best:
                        at, best = trial, found
    step = 1.0 / GRID
    for _ in range(ROUNDS):
        better = False
        for name in motions:
            for place, (low, high) in enumerate(scene.motions[name].ranges):
                for sign in (-1.0, 1.0):
                    amount = float(np.clip(at[name][place] + sign * step * (high - low), low, high))
                    trial = {**at, name: _put(at[name], place, amount)}
                    if (found := value(trial)) < best:
                        at, best, better = trial, found, True
        step = step if better else step / 2
    return best


def _put(values: tuple[float, ...], place: int, amount: float) -> tuple[float, ...]:
    return (*values[:place], amount, *values[place + 1 :])
