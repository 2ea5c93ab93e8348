"""Pairs of every kind in every situation, drawn from a seed: numbers only, nothing of packcheck.

More than half stand square on a grid of 1 or 5 mm, most of those with a centre coordinate in common: that is how
people place parts, and where distance engines fail. Both things of a pair stand up to 10 m from the origin.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from tests.crowd_shapes import KINDS, Maker
from tests.oracles.cover import reach_along
from tests.oracles.shapes import Array, Pair, Thing

__all__ = ["KINDS", "SITUATIONS", "drawn_pair", "pairs"]

SITUATIONS = ("near", "touching", "shallow", "nested", "random")
FARTHEST = 10_000.0  # mm
NEAR = 30.0  # mm


def pairs(seed: int, count: int) -> Iterator[Pair]:
    """`count` pairs; the same seed gives the same pairs, each on its own."""
    return (drawn_pair(seed, index) for index in range(count))


def drawn_pair(seed: int, index: int, kinds: tuple[str, str] | None = None) -> Pair:
    """One pair: of the two `kinds` given, or of any."""
    rng = np.random.default_rng([seed, index])
    first, second = kinds or rng.choice(KINDS, 2)
    grid = float(rng.choice([1.0, 5.0])) if rng.random() < 0.6 else None
    situation = str(rng.choice(SITUATIONS, p=[0.4, 0.15, 0.1, 0.15, 0.2]))
    maker = Maker.drawn(rng, grid)
    other = Maker.drawn(rng, grid, maker.base / 3 if situation == "nested" else 600.0)
    a, b = _turned(maker, first), _turned(other, second)
    b = b.shifted(_put(rng, situation, a, b, maker))
    away = maker.offset(np.full(3, FARTHEST / np.sqrt(3))) * (rng.random() < 0.5)
    return Pair(f"seed {seed} pair {index}", situation, a.shifted(away), b.shifted(away))


def _turned(maker: Maker, kind: str) -> Thing:
    thing = maker.thing(str(kind))
    return Thing(thing.kind, thing.pieces, type(thing.pose)(maker.rotation()))


def _put(rng: np.random.Generator, situation: str, a: Thing, b: Thing, maker: Maker) -> Array:
    """The shift of `b` that brings about the situation."""
    (centre_a, half_a), (centre_b, half_b) = _bounds(a), _bounds(b)
    reach = 1.5 * (half_a + half_b) if situation == "random" else half_a + half_b
    shared = rng.random(3) < (0.7 if maker.grid else 0.1)
    shift = centre_a - centre_b + np.where(shared, 0.0, maker.offset(reach))
    if situation == "random":
        return shift
    if situation == "nested":
        return centre_a - centre_b + np.where(shared, 0.0, maker.offset(half_a / 3))
    way = np.eye(3)[rng.integers(3)] * rng.choice([-1.0, 1.0]) if maker.grid else _unit(rng.normal(size=3))
    reached = float(reach_along(a, way[None])[0] + reach_along(b.shifted(shift), -way[None])[0])
    return shift + way * (reached + _wanted(rng, situation, maker))


def _wanted(rng: np.random.Generator, situation: str, maker: Maker) -> float:
    """The gap between the supporting planes of both things, mm."""
    if situation == "touching":
        return 0.0
    if situation == "shallow":
        return -float(rng.choice([0.001, 0.01, 0.1, 1.0, 5.0]))
    drawn = float(rng.uniform(0, NEAR))
    return drawn if maker.grid is None else round(drawn / maker.grid) * maker.grid


def _bounds(thing: Thing) -> tuple[Array, Array]:
    """Centre and half sizes (3,) of the box around a thing."""
    high, low = reach_along(thing, np.eye(3)), -reach_along(thing, -np.eye(3))
    return (high + low) / 2, (high - low) / 2


def _unit(vector: Array) -> Array:
    unit: Array = vector / np.linalg.norm(vector)
    return unit
