"""How far may a part travel, and turn, before something stands in its way; and what stops it?

Method
------
The part, with all that hangs on it, is led along the six directions of the car, and turned both ways about its own
three axes through its own zero. The margin at one place says how far it may surely go on: no gap shrinks faster
than the part travels, a turn carries no point farther than its distance from the axis, and a plane between two
convex parts holds until the part has travelled to it. So one place is asked after the other and nothing between is
left out. The figure printed is proven: at no place within it is a limit missed, by the same rules and tolerances as
in `packcheck check`. Just behind it (0.1 mm, 0.1 degrees) something is missed, or may be.

Where the part falls short as it stands, the nearest place along the way is sought where it does not: stretches are
ruled out by what is surely missing, at least 0.1 mm at a time, so that a place narrower than that may be passed by.

Measures that stand on the part count as well. What it is bolted to may lose its joint but not be sunk into; joints
that come undone are named. Hoses and looms bolted to it are led anew and ask nothing.

Limits
------
Straight ways and turns about one axis at a time, everything else at rest. A way that is free is free of the shapes
in the file, as described there.

Example
-------
    packcheck leeway scenes/hillclimb_rear_bay.yaml coolant_pump
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from math import degrees, radians
from typing import TypeAlias

import numpy as np

from packcheck.arrays import Vector, frozen
from packcheck.assembly.assembly import Assembly
from packcheck.assembly.features import Directed, Flat, Standing, standing
from packcheck.assembly.trial import HAIR, Ask, Trial
from packcheck.datums import AxisWords
from packcheck.findings import Report, Table
from packcheck.frames import IDENTITY, Pose
from packcheck.proximity import Session
from packcheck.scene.features import Measure
from packcheck.scene.model import Capsule, Cone, Cylinder, Sphere, Tube
from packcheck.studies.measures import measure_finding
from packcheck.tolerances import LIMIT_SLACK, MOVE_REACH

__all__ = ["ID", "TURN_REACH", "Leeway", "leeways", "run"]

ID = "leeway"

TURN_REACH = 90.0
"""deg. A part turned farther is another layout."""

STOP = 0.002
"""mm. A margin smaller than this is used up."""

STEP = 0.1
"""mm or deg. What a place that passes must at least be wide to be found."""

ROUNDING = 1e-6
"""mm or deg lost to adding up steps."""

MOST_QUERIES = 2_000
"""Of one limit along one way; then the way is proven no farther, which is said."""


@dataclass(frozen=True, slots=True)
class Leeway:
    """How far one way goes.

    Parameters
    ----------
    way : str
        The direction in words, or the axis and the sense of the turn.
    unit : str
        mm or deg.
    free : float
        Proven: nothing is missed up to here. inf: as far as was looked. Zero when something is missed already.
    stopped_by : tuple of str
        The other part, or the measure, that stops it there.
    passes_at : float or None
        Where the part falls short as it stands: the nearest place along the way where it does not.
    open_end : bool
        The way may go on: it was proven no farther.
    undone : tuple of str
        Joints that are not made any more at the end of the way.
    """

    way: str
    unit: str
    free: float
    stopped_by: tuple[str, ...] = ()
    passes_at: float | None = None
    short_now: bool = False
    open_end: bool = False
    undone: tuple[str, ...] = ()


def run(assembly: Assembly, session: Session, only: Collection[str] = ()) -> Report:
    """The leeway of each part of `only`, as tables."""
    tables = [_table(assembly, part, tuple(leeways(assembly, session, part))) for part in only]
    scene = assembly.scene
    return Report(scene.path, scene.title, scene.layout, tables=tuple(tables), units=scene.units)


def leeways(assembly: Assembly, session: Session, part: str, reach: float = MOVE_REACH) -> Iterator[Leeway]:
    """The six ways of the car, then both turns about each of the part's own axes; `reach` mm."""
    trial = Trial(assembly, session, part)
    axes = assembly.scene.axes
    words = AxisWords(axes.x, axes.y, axes.z)
    for axis in range(3):
        for sign in (1.0, -1.0):
            yield _along(trial, words, sign * np.eye(3)[axis], reach)
    for axis, letter in enumerate("xyz"):
        if _is_round(assembly, part, letter):
            yield Leeway(f"turn about its {letter}", "deg", np.inf)
            continue
        for sign, sense in ((1.0, "+"), (-1.0, "-")):
            yield _about(trial, f"turn {sense} about its {letter}", axis, sign)


def _is_round(assembly: Assembly, part: str, axis: str) -> bool:
    """Whether turning the part about one of its own axes changes nothing: one round shape on that axis, alone."""
    scene = assembly.scene.parts[part]
    if len(scene.solids) != 1 or assembly.carried_by(part):
        return False
    (spec,) = scene.solids
    if isinstance(spec.shape, Sphere):
        return spec.anchor == ("mid", "mid", "mid")
    if not isinstance(spec.shape, Cylinder | Capsule | Cone | Tube) or spec.shape.along != axis:
        return False
    across = [end for end, other in zip(spec.anchor, "xyz", strict=True) if other != axis]
    return across == ["mid", "mid"] and not any(spec.turn)


Step: TypeAlias = Callable[[float], tuple[float, float]]
"""How much farther than s one limit is surely kept (negative: it is not), and what is surely missing, both in s."""


@dataclass(frozen=True, slots=True, eq=False)
class _Way:
    """A one-parameter motion: where the group is at `s` (mm or deg), and how a margin bounds what is free of it."""

    trial: Trial
    at: Callable[[float], Pose]
    speed: float  # mm that a point of the group travels at the most, per unit of s
    reach: float
    along: Vector | None = None  # the direction of a straight way

    def gap_free(self, ask: Ask, s: float) -> tuple[float, float]:
        """How much farther than `s` this limit is surely kept, and what is surely missing now, both in s."""
        margin = self.trial.margin(ask, self.at(s), (self.reach - s) * self.speed)
        free = margin.left if self.along is None else margin.free(self.along)
        if margin.left < STOP:
            return (-1.0 if margin.left < 0 else 0.0), margin.short / self.speed
        return free / self.speed, 0.0

    def measure_free(self, measure: Measure, s: float) -> tuple[float, float]:
        """The same for a measure."""
        assembly = self.trial.moved(self.at(s))
        margin = measure_finding(assembly, measure).margin
        left = -1.0 if margin is None else margin + LIMIT_SLACK - HAIR
        if left < STOP:
            return (-1.0 if left < 0 else 0.0), 0.0
        rate, most = self._rate(assembly, measure)
        return (np.inf if rate == 0 else min(left / rate, most)), 0.0

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


def _along(trial: Trial, words: AxisWords, direction: Vector, reach: float) -> Leeway:
    way = _Way(trial, lambda s: Pose(IDENTITY.rotation, frozen(direction * s)), 1.0, reach, direction)
    return _gone(way, words.shift_words(direction).split(" ", 2)[2], "mm")


def _about(trial: Trial, said: str, axis: int, sign: float) -> Leeway:
    pose = trial.assembly.poses[trial.part]
    thumb = pose.rotation[:, axis]

    def at(s: float) -> Pose:
        own = np.zeros(3)
        own[axis] = sign * s
        return pose @ Pose.of((0, 0, 0), own) @ pose.inverse()

    speed = radians(max(trial.radius(thumb, pose.translation), 1e-3))
    return _gone(_Way(trial, at, speed, TURN_REACH), said, "deg")


def _gone(way: _Way, said: str, unit: str) -> Leeway:
    """Every limit followed along the way; the first to be missed stops it."""
    asks, measures = _in_play(way)
    steps: list[Step] = [partial(way.gap_free, ask) for ask in asks]
    steps += [partial(way.measure_free, measure) for measure in measures]
    names = [*(ask.other for ask in asks), *(measure.name for measure in measures)]
    now = [step(0.0)[0] for step in steps]
    short = tuple(dict.fromkeys(name for name, free in zip(names, now, strict=True) if free < 0))
    if short:
        return Leeway(said, unit, 0.0, short, _first_passing(steps, way.reach), short_now=True)
    best, by, open_end = way.reach, "", False
    for step, name in zip(steps, names, strict=True):
        end, closed = _followed(step, best)
        if end < best:
            best, by, open_end = end, name, not closed
    undone = way.trial.undone(way.at(best))
    if not by:
        return Leeway(said, unit, np.inf, undone=undone)
    return Leeway(said, unit, best, (by,), open_end=open_end, undone=undone)


def _in_play(way: _Way) -> tuple[list[Ask], list[Measure]]:
    """The limits that can be missed on the way, by the boxes swept, and the measures that stand on the group."""
    trial = way.trial
    travel = way.reach * way.speed
    asks = []
    for ask in trial.asks:
        low, high = trial.assembly.parts[ask.member].box()
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
        if measure.sort != "restraint" and _stands_on(trial.assembly, measure, nodes)
    ]
    return asks, moved


def _stands_on(assembly: Assembly, measure: Measure, nodes: frozenset[str]) -> bool:
    return any(set(standing(assembly, feature).nodes) & nodes for feature in measure.features)


def _followed(step: Step, reach: float) -> tuple[float, bool]:
    """How far one limit is surely kept, up to `reach`; False when the queries ran out before it was missed."""
    s = 0.0
    for _ in range(MOST_QUERIES):
        free, _short = step(s)
        if free <= 0.0:
            return s, True
        s += free
        if s >= reach - ROUNDING:
            return reach, True
    return s, False


def _first_passing(steps: Sequence[Step], reach: float) -> float | None:
    """The nearest place where every limit is kept, looked for in steps of what is surely missing."""
    s = 0.0
    while s <= reach:
        missing = -1.0
        for step in steps:
            free, short = step(s)
            if free < 0:
                missing = max(missing, short)
                if missing > STEP:
                    break
        if missing < 0:
            return s
        s += max(missing, STEP)
    return None


def _table(assembly: Assembly, part: str, ways: tuple[Leeway, ...]) -> Table:
    rows = [_row(way) for way in ways]
    columns = ("way", "free", "unit", "stopped by", "passes after", "joints undone", "note")
    title = f"Leeway of {part}" + _along_with(assembly, part)
    note = "Proven: within what is free no limit is missed."
    if any(way.short_now for way in ways):
        note = "It falls short as it stands. The way to where it passes may lead through other parts."
    return Table("leeway", title, columns, tuple(rows), note)


def _along_with(assembly: Assembly, part: str) -> str:
    carried = assembly.carried_by(part)
    return f", with {', '.join(carried)}" if carried else ""


def _row(way: Leeway) -> tuple[str | float | None, ...]:
    endless = not np.isfinite(way.free)
    looked = MOVE_REACH if way.unit == "mm" else TURN_REACH
    free: str | float = f"over {looked:g}" if endless else float(np.floor(way.free * 10 + 1e-6) / 10)
    note = "proven no farther" if way.open_end else ""
    passes = None if way.passes_at is None else float(np.ceil(way.passes_at * 10 - 1e-6) / 10)
    if way.short_now and passes is None:
        note = f"nowhere within {looked:g}"
    if endless and way.way.startswith("turn about"):
        free, note = "any", "round: changes nothing"
    return way.way, free, way.unit, ", ".join(way.stopped_by), passes, ", ".join(way.undone), note
