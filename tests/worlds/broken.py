"""Which worlds lie outside what was said? Bounds of pairs held against worlds, every complaint certified."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any

import numpy as np

from tests.oracles.shapes import Array
from tests.worlds.evaluate import Drawn, MissedError, Settings, needed
from tests.worlds.gap import Gap, certified, gap, way_apart
from tests.worlds.roles import Role, roles_of
from tests.worlds.scene import Scene, read
from tests.worlds.settings import at_ends, least_over, random_settings
from tests.worlds.sources import World
from tests.worlds.worlds import Choice, Space, solo_keys, worst

__all__ = ["Bound", "Outside", "Tally", "broken", "look"]

ROUNDING = 0.002
"""mm, beside the error of a gap: what two numbers may differ by that were found on two ways."""

CONTACT = 0.02
"""mm; what rests touches to within 0.01 (the manual), as each of the two numbers has it."""

EFFECT = 0.1
"""mm; a source whose effect is over this has met its role."""

SEARCHED_FROM = 20
"""Worlds of a pair from which on its worst world is searched for, too."""

SEARCHED = 0.06
"""mm; how near to the least gap of a motion its high end is told."""


@dataclass(frozen=True, slots=True, eq=False)
class Bound:
    """What was said of a pair: at rest (no `motions`), or of the least gap over `motions`; None: no such end.

    `at` is where the least gap is said to be.
    """

    a: str
    b: str
    low: float | None
    high: float | None
    motions: tuple[str, ...] = ()
    at: Settings = field(default_factory=dict)


@dataclass(frozen=True, slots=True, eq=False)
class Outside:
    """A permitted world whose gap, mm, is outside of what was said. `missed`: a part meets nothing to rest on."""

    bound: Bound
    world: World
    settings: Settings
    gap: float
    excess: float
    missed: str = ""


@dataclass(slots=True, eq=False)
class Tally:
    """How many pair-worlds were looked at, which roles they met, and how near to the bounds they came."""

    worlds: int = 0
    roles: Counter[Role] = field(default_factory=Counter)
    outside: list[Outside] = field(default_factory=list)
    reached: list[float] = field(default_factory=list)  # of each pair: worst drop found over the drop allowed


def broken(text: str | dict[str, Any], bounds: Sequence[Bound], seed: int, n: int) -> list[Outside]:
    """The worlds outside of `bounds` among `n` of every pair."""
    tally = Tally()
    look(read(text), bounds, np.random.default_rng(seed), n, tally)
    return tally.outside


def look(scene: Scene, bounds: Sequence[Bound], rng: np.random.Generator, n: int, tally: Tally) -> None:
    """Hold `n` worlds of every pair against its bound. Nothing holds where a part rests on nothing as drawn."""
    try:
        space = Space(scene)
    except MissedError as missed:
        tally.outside += [Outside(bound, World(), {}, np.nan, 0.0, str(missed)) for bound in bounds]
        return
    for bound in bounds:
        _Looker(scene, space, bound, rng, tally).look(n)


@dataclass(slots=True, eq=False)
class _Looker:
    scene: Scene
    space: Space
    bound: Bound
    rng: np.random.Generator
    tally: Tally

    @property
    def rounding(self) -> float:
        """mm, beside the error of a gap."""
        nodes = needed(self.scene, self.bound.a) | needed(self.scene, self.bound.b)
        rests = any(self.scene.nodes[name].rest for name in nodes)
        return ROUNDING + CONTACT if rests else ROUNDING

    def look(self, n: int) -> None:
        """Solo worlds to meet roles, worlds at random, and the worst that can be found."""
        roles = roles_of(self.scene, self.bound.a, self.bound.b, self.bound.motions)
        solo = [(source, key) for source, key in solo_keys(self.space) if (source.node, source.kind) in roles]
        ends = self._stops()
        try:
            nominal = {id(s): self.gap(World(), s).value for s in ends}
        except MissedError as missed:
            self.tally.outside.append(Outside(self.bound, World(), ends[0], np.nan, 0.0, str(missed)))
            return
        for place in range(n):
            settings = ends[place % len(ends)] if self.rng.random() < 0.6 else self._anywhere()
            if solo and place % 4 < 3:
                source, key = solo[int(self.rng.integers(len(solo)))]
                world = self._alone(source.kind == "shape", key)
                found = self.hold(world, settings)
                known = nominal.get(id(settings))
                known = self.gap(World(), settings).value if known is None else known
                met = roles.get((source.node, source.kind))
                if met is not None and found is not None and abs(found - known) > EFFECT:
                    self.tally.roles[met] += 1
            else:
                self.hold(self.space.world(self.space.random(self.rng)), settings)
        if n >= SEARCHED_FROM:
            self._worst(ends)

    def _alone(self, shape: bool, key: tuple[str, str]) -> World:
        choice = self.space.drawn(self.rng, key)
        if shape:
            choice = np.zeros(10)
            unit = self.rng.normal(size=3)
            choice[6:9] = unit / np.linalg.norm(unit)
            if self.rng.random() < 0.5:
                choice[6:9], choice[9] = 0.0, self.rng.choice([-1.0, 1.0])
        elif len(choice) == 10:
            choice[6:] = 0.0
            choice = choice / max(1e-9, float(np.linalg.norm(choice[:6]))) if choice.any() else np.eye(10)[0]
        return self.space.world({key: choice})

    def _stops(self) -> list[Settings]:
        """The ends of the motions and where the least gap is said to be."""
        if not self.bound.motions:
            return [{}]
        return [dict(self.bound.at), *at_ends(self.scene, self.bound.motions)]

    def _anywhere(self) -> Settings:
        return random_settings(self.scene, self.bound.motions, self.rng)

    def gap(self, world: World, settings: Settings) -> Gap:
        drawn = Drawn(self.scene, world)
        return gap(drawn.solid(self.bound.a, settings), drawn.solid(self.bound.b, settings))

    def hold(self, world: World, settings: Settings) -> float | None:
        """The gap in a world, which is told when it is outside."""
        self.tally.worlds += 1
        low, high = self.bound.low, self.bound.high
        try:
            found = self.gap(world, settings)
        except MissedError as missed:
            if low is not None:
                self.tally.outside.append(Outside(self.bound, world, settings, np.nan, 0.0, str(missed)))
            return None
        slack = found.error + self.rounding
        if low is not None and found.value < low - slack:
            self._complain(world, settings, below=True)
        if high is not None and found.exact and found.value > high + slack and self._over(world, settings):
            self._complain(world, settings, below=False)
        return found.value

    def _over(self, world: World, settings: Settings) -> bool:
        """In motion the high end is that of the least gap: whether that is over it, too.

        Asked only where the least gap is said to be; elsewhere a gap says nothing of it.
        """
        if not self.bound.motions:
            return True
        if dict(settings) != dict(self.bound.at):
            return False
        assert self.bound.high is not None
        drawn = Drawn(self.scene, world)
        start = dict(self.bound.at)

        def value(at: Settings) -> float:
            return gap(drawn.solid(self.bound.a, at), drawn.solid(self.bound.b, at)).value

        return least_over(self.scene, self.bound.motions, value, start) > self.bound.high + SEARCHED

    def _complain(self, world: World, settings: Settings, *, below: bool) -> None:
        drawn = Drawn(self.scene, world)
        sure = certified(drawn.solid(self.bound.a, settings), drawn.solid(self.bound.b, settings))
        slack = sure.error + self.rounding
        assert (self.bound.low if below else self.bound.high) is not None
        end = float(self.bound.low if below else self.bound.high)  # type: ignore[arg-type]
        excess = end - sure.value if below else sure.value - end
        if excess > slack:
            self.tally.outside.append(Outside(self.bound, world, settings, sure.value, excess))

    def _worst(self, stops: list[Settings]) -> None:
        """Local searches for the least gap and the greatest, at the setting that is said to be worst."""
        settings = stops[0]
        try:
            direction = self._direction(settings)
            nominal = self.gap(World(), settings).value
        except MissedError:
            return
        for sign in (1.0, -1.0) if not self.bound.motions else (1.0,):
            value = partial(self._signed, settings=settings, sign=sign)
            choice, low = worst(self.space, value, self.rng, direction)
            self.hold(self.space.world(choice), settings)
            if sign > 0 and self.bound.low is not None and nominal - self.bound.low > EFFECT:
                self.tally.reached.append((nominal - low) / (nominal - self.bound.low))

    def _signed(self, world: World, settings: Settings, sign: float) -> float:
        self.tally.worlds += 1
        try:
            return sign * self.gap(world, settings).value
        except MissedError:
            return float("inf")

    def _direction(self, settings: Settings) -> Array:
        drawn = Drawn(self.scene)
        return way_apart(drawn.solid(self.bound.a, settings), drawn.solid(self.bound.b, settings))


def told(choice: Choice) -> str:
    """A choice in one line."""
    return ", ".join(f"{node} {kind} {np.round(values, 3).tolist()}" for (node, kind), values in choice.items())


__all__ += ["told"]
