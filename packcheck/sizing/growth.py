"""The scene as one of its params grows: how fast each gap can change with it, and where every limit is kept.

Where the param only places parts or frames, or is a size of plain shapes, and does so evenly, no point of a part
moves faster than some mm for each mm of the param. That rate bounds how soon a limit can be missed, so that one
value is asked after the other and nothing between is left out, as with `packcheck leeway`. Otherwise values are
tried at even steps, and what lies between is not proven: which of the two it was is always said.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations

import numpy as np

from packcheck.arrays import Vector
from packcheck.assembly.assembly import Assembly, assemble
from packcheck.assembly.restraint import refuse_changed, restraints
from packcheck.bay import Bay
from packcheck.errors import SceneError
from packcheck.findings import Finding, Limit, Verdict
from packcheck.moving.moving_pairs import MovingPair
from packcheck.notknown.requirement import HAIR, Requirement
from packcheck.placing.boxes import box_distances
from packcheck.placing.placing import Stock
from packcheck.proximity import Placed, Session
from packcheck.scene.build import Written
from packcheck.scene.model.scene import Part
from packcheck.sizing.moving_limits import Left, MovingLimits, moving_limits
from packcheck.sizing.rates import measure_rates, pair_rate, slack_rate, speed_of
from packcheck.studies.gaps import ID as GAPS
from packcheck.studies.gaps import pair_finding, with_contributors
from packcheck.studies.measures import ID as MEASURES
from packcheck.studies.measures import measure_finding
from packcheck.studies.moving import findings_of
from packcheck.tolerances import BOX_SLACK, JOINT_GAP

__all__ = ["Probe", "Varied"]

RESOLUTION = 0.1
"""mm. Ways shorter than this are not told apart."""

EVEN = ("distance", "height", "to_plane", "between_planes")
"""Measures that change no faster than twice what their points move."""

STOP = 0.002
"""mm. A margin smaller than this is used up."""


@dataclass(frozen=True, slots=True)
class Probe:
    """One value of the param: all limits are kept for `free` mm more of it (negative: one is missed, by `by`).

    `missing` mm of the param are surely needed before it can pass. `refused` says why the scene does not load.
    """

    free: float
    by: str = ""
    missing: float = 0.0
    refused: str = ""


@dataclass(slots=True)
class Varied:
    """A scene file and one of its params; `fixed` are values of others, mm. `still` leaves all motions out.

    What does not depend on the param is left alone: it neither passes nor fails here.
    """

    written: Written
    param: str
    layout: str | None = None
    fixed: dict[str, float] = field(default_factory=dict)
    session: Session = field(default_factory=Session)
    stock: Stock = field(default_factory=Stock)
    still: bool = False
    unproven: str = ""  # why values between are not proven, when they are not
    _asked: float = 0.0
    _far: tuple[Assembly, float] | None = None
    _unchanged: Assembly | None = None
    _known: dict[float, Assembly] = field(default_factory=dict)
    _rates: dict[tuple[str, str], float] = field(default_factory=dict)
    _measures: dict[int, float] = field(default_factory=dict)
    _moving: MovingLimits = field(default_factory=MovingLimits)

    def at(self, value: float) -> Assembly:
        """The scene with the param at `value` mm. Raises SceneError where that makes no sound scene."""
        if value not in self._known:
            params = {name: f"{mm!r} mm" for name, mm in {**self.fixed, self.param: value}.items()}
            made = assemble(self.written.scene(self.layout, params), stock=self.stock)
            if restraints(made.scene):
                refuse_changed(self._as_written(), made, self.param)
            self._known[value] = made
        return self._known[value]

    def _as_written(self) -> Assembly:
        """The scene with the param as the file has it."""
        if self._unchanged is None:
            self._unchanged = assemble(self.written.scene(self.layout), stock=self.stock)
        return self._unchanged

    def prepare(self, value: float) -> None:
        """Find what rests on the param, and how fast it moves, about `value` mm.

        Raises
        ------
        SceneError
            The scene does not load at `value` and 1 mm off it.
        """
        here, there = self.at(value), self._beside(value)
        odd = [
            use.path
            for use in self.written.uses(self.param, self.layout)
            if not (use.evenly and use.is_place_or_size)
        ]
        speeds = {name: speed_of(here, there, name) for name in here.parts}
        led = _led(here, speeds)
        self._rates = {}
        for pair in combinations(here.parts, 2):
            if here.rules.unasked.between(*pair):
                continue
            rate = pair_rate(here, there, pair, speeds) + slack_rate(here, there, pair)
            if rate > 0 or _touched(odd, pair) or led.intersection(pair):
                self._rates[pair] = rate or 1.0
        if not self.still:
            self._moving = moving_limits(
                here,
                there,
                speeds,
                lambda pair: _touched_moving(odd, pair) or bool(led.intersection((pair.a, pair.b))),
            )
        measures = here.scene.measures
        self._measures = {k: rate for k, rate in enumerate(measure_rates(here, there)) if rate > 0}
        doubts = [f"it is used in {path}" for path in odd]
        doubts += [
            f"{name} changes in another way than by place or size" for name, v in speeds.items() if v is None
        ]
        doubts += [f"{name} goes where another part lets it rest" for name in here.parts if name in led]
        doubts += [f"measure {measures[k].name} bends" for k in self._measures if measures[k].sort not in EVEN]
        doubts += self._moving.doubts
        self.unproven = doubts[0] if doubts else ""

    def _loaded(self, end: float) -> tuple[Assembly, float] | None:
        """The scene at the end of the way, where it loads."""
        try:
            return self.at(end), end
        except SceneError:
            return None

    def _beside(self, value: float) -> Assembly:
        try:
            return self.at(value + 1.0)
        except SceneError:
            return self.at(value - 1.0)

    def probe(self, value: float, end: float) -> Probe:
        """Whether all that rests on the param keeps its limit at `value`, and how much farther towards `end`."""
        horizon = max(abs(end - value), RESOLUTION)
        try:
            assembly = self.at(value)
        except SceneError as error:
            return Probe(-1.0, refused=error.faults[0].what)
        self._asked, self._far = value, self._loaded(end)
        found = Probe(horizon)
        for margins in (
            self._gaps,
            self._joints,
            self._measured,
            self._in_motion,
        ):  # cheapest first: one that is missed will do
            for name, left, short, rate in margins(assembly, horizon):
                found = _worse(found, name, left, short, rate)
            if found.free < 0:
                break
        return found

    def _gaps(self, assembly: Assembly, horizon: float) -> Iterator[Left]:
        index = {name: k for k, name in enumerate(assembly.parts)}
        apart = box_distances(assembly.boxes, assembly.boxes)
        for (a, b), rate in self._rates.items():
            if assembly.rules.joint(a, b):
                continue
            asked, beyond = self._requirement(assembly, a, b), rate * horizon
            if apart[index[a], index[b]] > asked.reach + beyond + BOX_SLACK:
                continue
            bounds = self.session.bounds(assembly.parts[a], assembly.parts[b], beyond + asked.reach)
            left, short = min(asked.spare(asked.low(bounds)), beyond), asked.missing(bounds)
            if asked.convex and bounds.direction is not None and STOP <= left < beyond:
                rate = min(rate, self._closing(asked.pair, bounds.direction, left))
            yield f"{a} - {b}", left, short, rate

    def _requirement(self, assembly: Assembly, a: str, b: str) -> Requirement:
        limit = assembly.rules.limit(a, b).limit
        return Requirement((a, b), limit, assembly.doubt(a, b), assembly.convex(a, b))

    def _closing(self, pair: tuple[str, str], way: Vector, left: float) -> float:
        """How fast a gap closes along its plane, at the most, all the way to the end; per mm of the param.

        What a plane between two convex parts leaves of a limit changes evenly with the param, or less and less.
        """
        if self._far is None or self.unproven:
            return np.inf
        far, end = self._far
        a, b = (far.parts[name] for name in pair)
        apart = -_reach(a, -way) - _reach(b, way)
        asked = self._requirement(far, *pair)
        rest = asked.spare(asked.doubt.least_gap(apart, way, convex=True))
        return max(1e-9, (left - rest) / max(abs(end - self._asked), RESOLUTION))

    def _joints(self, assembly: Assembly, horizon: float) -> Iterator[Left]:
        """Joined parts must go on touching: no deeper than the seat, no farther apart than a joint's gap."""
        for (a, b), rate in self._rates.items():
            if not assembly.rules.joint(a, b):
                continue
            off = assembly.doubt(a, b).most
            deepest, widest = assembly.scene.clearances.seat + off, JOINT_GAP + off
            first, second = assembly.parts[a], assembly.parts[b]
            bounds = self.session.bounds(first, second, widest + rate * horizon)
            sunk = Limit(-deepest).spare(bounds.low)
            if not (first.convex and second.convex) and bounds.low < deepest:  # what grows may jam where it touches
                room = self.session.room_by(first, second, deepest, straight=False)
                sunk = max(room, HAIR) if sunk >= 0 else room or -1.0
            left = min(sunk, Limit(most=widest).spare(None, bounds.high)) - HAIR
            yield f"{a} - {b}", left, max(0.0, bounds.low - widest, -deepest - bounds.high), rate

    def _measured(self, assembly: Assembly, _: float) -> Iterator[Left]:
        for k, rate in self._measures.items():
            measure = assembly.scene.measures[k]
            yield measure.name, measure_finding(assembly, measure).spare - HAIR, 0.0, rate

    def _in_motion(self, assembly: Assembly, horizon: float) -> Iterator[Left]:
        return self._moving.left(assembly, self.session, horizon)

    def worst(self, value: float) -> Finding | None:
        """The finding with the least margin among all that rests on the param, at `value` mm."""
        assembly = self.at(value)
        found = [pair_finding(assembly, self.session, a, b) for a, b in self._rates]
        findings = [finding for finding in found if finding is not None]
        findings += [measure_finding(assembly, assembly.scene.measures[k]) for k in self._measures]
        findings += findings_of(assembly, self.session, self._moving.pairs(assembly))
        asked = [f for f in findings if f.verdict is not Verdict.PASS or _is_telling(f)]
        worst = min(asked, key=lambda f: (-np.inf if f.margin is None else f.margin, f.sort_key), default=None)
        return with_contributors(assembly, worst) if worst is not None and worst.study == GAPS else worst

    def untouched_shortfalls(self, value: float) -> int:
        """How many pairs fall short at `value` that do not rest on the param."""
        report = Bay(self.at(value), self.session).check(moves=False)
        short = [f for f in report.findings if f.verdict in (Verdict.FAIL, Verdict.UNSURE, Verdict.NOT_CHECKED)]
        rested = {frozenset(pair) for pair in (*self._rates, *self._moving.subjects)}
        measures = {self.at(value).scene.measures[k].name for k in self._measures}
        own = [
            f
            for f in short
            if frozenset(f.subjects) in rested or (f.study == MEASURES and f.subjects[0] in measures)
        ]
        return len(short) - len(own)


def _worse(found: Probe, name: str, left: float, short: float, rate: float) -> Probe:
    """What was found so far, and one more limit with `left` mm over it."""
    if left < STOP:
        free = -1.0 if left < 0 else 0.0
        by = name if free < found.free or not found.by else found.by
        return Probe(min(found.free, free), by, max(found.missing, short / rate))
    return Probe(left / rate, name, found.missing) if left / rate < found.free else found


def _reach(placed: Placed, way: Vector) -> float:
    """How far a convex part reaches along the unit vector `way`, car frame, mm."""
    (solid,) = placed.solids
    assert solid.support is not None
    farthest = solid.support((placed.pose.rotation.T @ way)[None])[0]
    return float(placed.pose.apply(farthest) @ way) + solid.radius


def _is_telling(finding: Finding) -> bool:
    """Whether a passing finding has a margin worth telling: a sound joint has not."""
    return finding.margin is not None and (finding.limit.most is None or finding.study == MEASURES)


def _led(assembly: Assembly, speeds: Mapping[str, float | None]) -> set[str]:
    """The parts that may be led along by what they, or what carries or shows them, rest on, sooner or later."""
    parts = assembly.scene.parts
    moved = {name for name, speed in speeds.items() if speed != 0.0}
    led: set[str] = set()
    while more := {name for name, part in parts.items() if _follows(part, moved, led)} - led:
        led |= more
        moved |= more
    return led


def _follows(part: Part, moved: Collection[str], led: Collection[str]) -> bool:
    """Whether a part rests where something is moved, or hangs on such a one, or is its image."""
    if part.rest is not None and (part.name in moved or not set(part.rest.on).isdisjoint(moved)):
        return True
    return part.parent in led or (part.mirror is not None and part.mirror.of in led)


def _touched_moving(odd: Sequence[str], pair: MovingPair) -> bool:
    """The same for a pair that moves: its motions may rest on the param."""
    moved = any(path.startswith(f"motions.{name}.") for path in odd for name in pair.motions)
    return moved or _touched(odd, (pair.a, pair.b))


def _touched(odd: Sequence[str], pair: tuple[str, str]) -> bool:
    """Whether what rests on the param otherwise than by place or size may bear on a pair."""
    wide = any(path.startswith(("clearances", "frames")) for path in odd)
    return wide or any(path.startswith(f"parts.{name}.") for path in odd for name in pair)
