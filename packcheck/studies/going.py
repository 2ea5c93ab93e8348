"""A part on its way, straight or turning: how much farther is one limit surely kept, or missed?"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import degrees, radians

import numpy as np

from packcheck.arrays import Vector
from packcheck.assembly.assembly import Assembly
from packcheck.assembly.features import Directed, Flat, Standing, standing
from packcheck.frames import Pose
from packcheck.moving.moving_pairs import MovingPair
from packcheck.moving.sliding import Slide
from packcheck.notknown.requirement import HAIR, Requirement
from packcheck.scene.model.features import Measure
from packcheck.studies.measures import measure_finding
from packcheck.trial.trial import Trial

__all__ = ["MOST_QUERIES", "STEP", "Way", "in_play", "stands_on"]

STOP = 0.002
"""mm. A margin smaller than this is used up."""

STEP = 0.1
"""mm or deg. What a place that passes must at least be wide to be found."""

MOST_QUERIES = 2_000
"""Of one limit along one way; then the way is proven no farther, which is said."""


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """A one-parameter motion: where the group is at `s` (mm or deg), and how a margin bounds what is free of it.

    What it tells of one limit is a step to be marched by (`search.march`), in units of `s`.
    """

    trial: Trial
    at: Callable[[float], Pose]
    speed: float  # mm that a point of the group travels at the most, per unit of s
    reach: float
    slide: Slide  # the same, while the motions go on
    along: Vector | None = None  # the direction of a straight way

    def gap_free(self, ask: Requirement, s: float) -> tuple[float, float]:
        """How much farther than `s` this limit is surely kept, and what is surely missing now, both in s."""
        swung = 0.0 if self.along is not None else radians(1.0) * ask.turned / self.speed
        beyond = (self.reach - s) * self.speed * (1.0 + ask.shifted + swung)
        margin = self.trial.margin(ask, self.at(s), beyond, straight=self.along is not None)
        if margin.left < STOP:
            return (-1.0 if margin.left < 0 else 0.0), margin.short / self.speed
        return margin.free(self.along, swung) / self.speed, 0.0

    def measure_free(self, measure: Measure, s: float) -> tuple[float, float]:
        """The same for a measure."""
        assembly = self.trial.moved(self.at(s))
        left = measure_finding(assembly, measure).spare - HAIR
        if left < STOP:
            return (-1.0 if left < 0 else 0.0), 0.0
        rate, most = self._rate(assembly, measure)
        return (np.inf if rate == 0 else min(left / rate, most)), 0.0

    def moving_free(self, pair: MovingPair, s: float) -> tuple[float, float]:
        """Whether a pair keeps its limit all over its motions at `s`, and what is surely missing."""
        short = self.slide.short_at(pair, s)
        if short is None:
            return 0.0, 0.0
        missing = self.slide.limit(pair).floor - short.high
        return -1.0, max(0.0, missing / self.slide.leads(pair)) if self.along is not None else 0.0

    def _rate(self, assembly: Assembly, measure: Measure) -> tuple[float, float]:
        """How fast, per unit of s, a measure can change, and for how much farther that holds."""
        features = [standing(assembly, feature) for feature in measure.features]
        turning = 0.0 if self.along is not None else 2.0  # degrees of the group's own turn, per degree
        stretched = [f for f in features if isinstance(f, Directed) and self._is_split(f)]
        if measure.sort == "slope":
            start, end = features
            assert isinstance(start, Standing) and isinstance(end, Standing)
            stretched = [Directed(start, end)]
        shortest = min((line.length for line in stretched), default=np.inf)
        speed = max(self.speed, self._feature_speed(features))
        if measure_finding(assembly, measure).unit == "deg":
            return turning + (degrees(2 * speed / shortest) if stretched else 0.0), shortest / 2 / speed
        return 2 * speed, np.inf

    def _is_split(self, line: Directed) -> bool:
        return (line.start.node in self.trial.nodes) != (line.end.node in self.trial.nodes)

    def _feature_speed(self, features: Sequence[Standing | Directed | Flat]) -> float:
        """A point of a measure may lie farther from the axis of a turn than the group does."""
        if self.along is not None:
            return 1.0
        pivot = self.trial.assembly.poses[self.trial.part].translation
        points = [end.at for f in features if isinstance(f, Directed) for end in (f.start, f.end)]
        points += [f.at for f in features if isinstance(f, Standing)]
        points += [f.point.at for f in features if isinstance(f, Flat)]
        return radians(max((float(np.linalg.norm(point - pivot)) for point in points), default=0.0))


def in_play(way: Way) -> tuple[list[Requirement], list[Measure]]:
    """The limits that can be missed on the way, by the boxes swept, and the measures that stand on the group."""
    trial = way.trial
    travel = way.reach * way.speed
    asks = []
    for ask in trial.asks:
        low, high = trial.assembly.parts[ask.pair[0]].box()
        swept = np.array([low - travel, high + travel])
        if way.along is not None:
            ends = np.stack([np.zeros(3), way.along * way.reach])
            swept = np.array([low + ends.min(axis=0), high + ends.max(axis=0)])
        if trial.reachable(ask, swept):
            asks.append(ask)
    nodes = trial.nodes
    moved = [
        measure
        for measure in trial.assembly.scene.measures
        if measure.sort != "restraint" and stands_on(trial.assembly, measure, nodes)
    ]
    return asks, moved


def stands_on(assembly: Assembly, measure: Measure, nodes: frozenset[str]) -> bool:
    return any(set(standing(assembly, feature).nodes) & nodes for feature in measure.features)
