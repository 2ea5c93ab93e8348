"""Which worlds does a scene allow? Corners, edges and insides of what is not known, and the worst that is found.

A *choice* is an array a node: how its doubt is used up. Any array is made a permitted world by `Space.world`:

    ball of a frame   (6,) shift and turn, the latter in units of t over the half diagonal of the reach
    ball of a part    (10,) the same, then a shift (3,) of its surface and its growth; together used up once
    box               (3,) shares of its half edges
    likely            (6,) standard deviations; left at zero in hard worlds
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import TypeAlias

import numpy as np

from tests.oracles.bodies import box_corners
from tests.oracles.shapes import Array
from tests.worlds.evaluate import Drawn
from tests.worlds.reach import reach_of
from tests.worlds.scene import Scene
from tests.worlds.sources import Move, Skin, Source, World, rotated, sources_of

__all__ = ["Choice", "Space", "worst"]

Choice: TypeAlias = Mapping[tuple[str, str], Array]
"""By node and kind of source ("ball", "box", "likely"); the shape of a part goes with its ball."""

SHARE = 1 - 1e-9
"""Of a tolerance that is used up at the most, for rounding."""


class Space:
    """All worlds of a scene."""

    def __init__(self, scene: Scene) -> None:
        self.scene = scene
        self.sources = sources_of(scene)
        self._drawn = Drawn(scene)
        self._reach = {s.node: reach_of(self._drawn, s.node) for s in self.sources if s.kind == "ball"}
        self._axes = {s.node: self._stood(s.node) for s in self.sources}
        self._size: dict[tuple[str, str], Array] = {(s.node, s.kind): s.size for s in self.sources}

    def _stood(self, name: str) -> Array:
        """The axes (3, 3) along which the moves of a node are given."""
        node = self.scene.nodes[name]
        if node.image is None or node.image.own:
            return self._drawn.stand(node.parent).rotation
        source = self.scene.nodes[node.image.of]
        axes: Array = self._drawn.mirror(node.image.across).rotation @ self._drawn.axes_of(source)
        return axes

    def length(self, key: tuple[str, str]) -> int:
        """How many numbers a choice has for a source."""
        node, kind = key
        if kind == "ball":
            return 6 if self.scene.nodes[node].pieces is None else 10
        return 3 if kind == "box" else 6

    @property
    def hard(self) -> list[tuple[str, str]]:
        """The sources with a set, by node and kind; the shape goes with its ball."""
        return [(s.node, s.kind) for s in self.sources if s.kind in ("ball", "box")]

    @property
    def soft(self) -> list[tuple[str, str]]:
        return [(s.node, s.kind) for s in self.sources if s.kind == "likely"]

    def world(self, choice: Choice) -> World:
        """The permitted world of a choice."""
        moves: dict[str, Move] = {}
        skins: dict[str, Skin] = {}
        for (node, kind), values in choice.items():
            if kind == "box":
                move = Move(np.clip(values, -1, 1) * self._size[node, kind] * SHARE, np.zeros(3))
            elif kind == "likely":
                scaled = values * self._size[node, kind]
                move = Move(scaled[:3], scaled[3:])
            else:
                move, skin = self._balled(node, values)
                if skin is not None:
                    skins[node] = skin
            moves[node] = _both(moves[node], move) if node in moves else move
        return World(moves, skins)

    def _balled(self, node: str, values: Array) -> tuple[Move, Skin | None]:
        """Place and surface share out one tolerance."""
        t = float(self._size[node, "ball"][0]) * SHARE
        shares = np.array([np.linalg.norm(values[:6]), np.linalg.norm(values[6:9]), *np.abs(values[9:])])
        scale = 1 / max(1.0, float(shares.sum()))
        move = self._rigid(node, values[:6], t * scale * shares[0])
        if len(values) == 6:
            return move, None
        return move, Skin(values[6:9] * scale * t, float(values[9]) * scale * t)

    def _rigid(self, node: str, way: Array, t: float, most: float | None = None) -> Move:
        """The rigid move along `way` (6,) that takes the farthest of the reach by `t`, no more than `most`."""
        if t == 0.0:
            return Move(np.zeros(3), np.zeros(3))
        low, high = self._reach[node]
        half = float(np.linalg.norm(high - low)) / 2
        arms = box_corners(tuple(high - low))
        shift, turn = way[:3], way[3:] / half
        unit = float(np.linalg.norm(shift + np.cross(turn, arms), axis=1).max())
        size = t / unit
        for _ in range(3 if turn.any() else 0):
            moved = size * shift + arms @ rotated(size * turn).T - arms
            size *= t / float(np.linalg.norm(moved, axis=1).max())
        turned = rotated(size * turn)
        centre, zero = (low + high) / 2, self._drawn.stand(node).translation
        off = size * shift + centre + turned @ (zero - centre) - zero
        axes = self._axes[node]
        move = Move(axes.T @ off, axes.T @ (size * turn) * np.linalg.det(axes))
        moved = size * shift + arms @ turned.T - arms
        most = t if most is None else most
        over = float(np.linalg.norm(moved, axis=1).max()) / most
        return move if over <= 1 + 1e-9 else self._rigid(node, way, t / over, most)

    def drawn(self, rng: np.random.Generator, key: tuple[str, str]) -> Array:
        """A choice for one source: mostly at its limits."""
        kind = key[1]
        if kind == "likely":
            return rng.normal(size=6)
        if kind == "box":
            return _in_box(rng)
        size = 1.0 if rng.random() < 0.8 else rng.random()
        values = np.zeros(self.length(key))
        style = rng.integers(4)
        if len(values) == 10 and style == 3:
            values[6:9], values[9] = _unit(rng, 3), 0.0
            if rng.random() < 0.5:
                values[6:9], values[9] = 0.0, rng.choice([-1.0, 1.0])
        elif style == 2:
            values = _unit(rng, len(values))
        else:
            values[:3] = _unit(rng, 3)
        return values * size

    def random(
        self, rng: np.random.Generator, *, solo: tuple[str, str] | None = None
    ) -> dict[tuple[str, str], Array]:
        """A choice at random for every hard source, or for one alone."""
        return {key: self.drawn(rng, key) for key in ([solo] if solo else self.hard)}


def _both(first: Move, second: Move) -> Move:
    """A hard and a likely move of one node, one on top of the other; both are small."""
    return Move(first.shift + second.shift, first.turn + second.turn)


def _unit(rng: np.random.Generator, size: int) -> Array:
    values = rng.normal(size=size)
    unit: Array = values / np.linalg.norm(values)
    return unit


def _in_box(rng: np.random.Generator) -> Array:
    """A corner, an edge or the inside."""
    values = rng.choice([-1.0, 1.0], 3)
    for axis in range(int(rng.choice([0, 0, 0, 1, 3]))):
        values[axis] = rng.uniform(-1, 1)
    return values


def worst(
    space: Space, value: Callable[[World], float], rng: np.random.Generator, direction: Array, rounds: int = 24
) -> tuple[dict[tuple[str, str], Array], float]:
    """The choice that makes `value` least, as far as a search by sources and then by small steps finds it.

    `direction` (3,), car axes, is the way in which the gap grows; it is tried first.
    """
    best: dict[tuple[str, str], Array] = {key: np.zeros(space.length(key)) for key in space.hard}
    low = value(space.world(best))
    for _ in range(2):
        for key in space.hard:
            for trial in _trials(space, key, direction):
                found = value(space.world({**best, key: trial}))
                if found < low:
                    best, low = {**best, key: trial}, found
    step = 0.5
    for place in range(rounds if space.hard else 0):
        key = space.hard[place % len(space.hard)]
        trial = best[key] + step * rng.normal(size=len(best[key]))
        if key[1] == "ball":
            trial = trial / max(1e-12, float(np.linalg.norm(trial)))
        found = value(space.world({**best, key: trial}))
        if found < low:
            best, low = {**best, key: trial}, found
        else:
            step = max(step * 0.85, 0.02)
    return best, low


def _trials(space: Space, key: tuple[str, str], direction: Array) -> Iterator[Array]:
    if key[1] == "box":
        yield from (np.array([x, y, z], float) for x in (-1, 1) for y in (-1, 1) for z in (-1, 1))
        return
    size = space.length(key)
    for way in (direction, *np.eye(3)):
        for sign in (-1.0, 1.0):
            yield np.r_[sign * way, np.zeros(size - 3)]
    if size == 10:
        for sign in (-1.0, 1.0):
            yield np.r_[np.zeros(9), sign]
            yield np.r_[np.zeros(6), sign * direction, 0.0]
    for axis in range(3):
        for sign in (-1.0, 1.0):
            yield np.r_[np.zeros(3), sign * np.eye(3)[axis], np.zeros(size - 6)]


def solo_keys(space: Space) -> Iterator[tuple[Source, tuple[str, str]]]:
    """Every hard source with the key of its choice."""
    for source in space.sources:
        if source.kind != "likely":
            yield source, (source.node, "box" if source.kind == "box" else "ball")


__all__ += ["solo_keys"]
