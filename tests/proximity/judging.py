"""One random pair before both courts: what the kernel says of it, against what the oracles prove."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

import numpy as np

from packcheck.proximity import Separation, Session
from tests.adapters import to_placed
from tests.oracles.bodies import PointHull
from tests.oracles.convex import core_distance
from tests.oracles.cover import convex_body
from tests.oracles.shapes import Bracket, Pair
from tests.oracles.truth import is_convex, truth

__all__ = ["Judgement", "Tally", "distance_to", "judged", "measurable"]

ROUNDING = 1e-6
"""mm. The conic solver closes its own brackets to 1e-7 on shapes of 2 m; poses 10 m out round to 1e-11."""

EXACT = 0.001
"""mm. What every reported gap of convex pairs that are apart must be within of the true one, either way."""

LAW = 1e-9
"""mm. The witness law is an identity: only rounding may break it, of coordinates up to 10 m."""

CLEARING = 0.001
"""mm. Moved beyond a stated way out, so that the oracle's own width near contact does not decide. Much more would
lead a part that is not convex out of one overlap into the next."""

SURE = 1e-4
"""mm. A bracket narrower than this is a number to measure accuracy by."""


@dataclass(frozen=True, slots=True, eq=False)
class Judgement:
    """A pair, the bracket that holds its true gap, the kernel's answer, and everything wrong with that."""

    pair: Pair
    truth: Bracket
    found: Separation
    faults: tuple[str, ...]

    @property
    def error(self) -> float | None:
        """How far `value` lies from the true gap, mm; None when the oracles give no number."""
        if not measurable(self.pair, self.truth):
            return None
        return distance_to(self.truth, self.found.value)

    def __str__(self) -> str:
        pair, found = self.pair, self.found
        which = f"{pair.label} ({pair.a.kind}, {pair.b.kind}, {pair.situation})"
        said = f"{found.value:.9g} in [{found.low}, {found.high}], true {self.truth}"
        return f"{which}: {'; '.join(self.faults)}: {said}"


def measurable(pair: Pair, true: Bracket) -> bool:
    """Whether the true gap is known as one number that the kernel means to give: not the ways out it searches."""
    return true.width <= SURE and (true.low > 0 or (is_convex(pair.a) and is_convex(pair.b)))


def distance_to(true: Bracket, value: float) -> float:
    """How far a value lies outside the bracket of the true one, mm."""
    return max(0.0, true.low - value, value - true.high)


def judged(pair: Pair, *, both_ways: bool = False) -> Judgement:
    """The kernel's answer on a pair, checked. `both_ways` also measures with the roles exchanged."""
    true = truth(pair)
    session = Session()
    a, b = to_placed(pair.a, "a"), to_placed(pair.b, "b")
    found = session.gap(a, b)
    faults = [*_against_truth(found, true, pair), *_stuck(found, pair)]
    faults += [*_against_laws(found), *_swapped(found, session.gap(b, a))]
    if both_ways:
        exchanged = Session().gap(to_placed(pair.b, "a"), to_placed(pair.a, "b"))
        other = Pair(pair.label, pair.situation, pair.b, pair.a)
        faults += [f"exchanged: {fault}" for fault in _against_truth(exchanged, true, other)]
    return Judgement(pair, true, found, tuple(faults))


def _against_truth(found: Separation, true: Bracket, pair: Pair) -> Iterator[str]:
    if found.low is not None and found.low > true.high + ROUNDING:
        yield f"false clear by {found.low - true.high:.3g}"
    if found.high is not None and found.high < true.low - ROUNDING:
        yield f"true gap beyond the upper end by {true.low - found.high:.3g}"
    if true.low > 0 and is_convex(pair.a) and is_convex(pair.b):
        off = max(found.value - true.low, true.high - found.value)
        if off > EXACT:
            yield f"convex gap off by {off:.3g}"
        yield from _off_their_solids(found, pair)


def _stuck(found: Separation, pair: Pair) -> Iterator[str]:
    """Overlapping parts come apart when the first is moved along the direction by the depth and a little more."""
    if found.value >= 0 or found.direction is None or found.low is None:
        return
    way = found.direction * (CLEARING - min(found.value, found.low))
    if truth(Pair(pair.label, pair.situation, pair.a.shifted(way), pair.b)).high <= 0:
        yield "the way out does not lead out"


def _off_their_solids(found: Separation, pair: Pair) -> Iterator[str]:
    """Witness points of convex things apart lie on them."""
    if found.points is None:
        yield "no witness points"
        return
    for thing, point in zip((pair.a, pair.b), found.points, strict=True):
        body = convex_body(thing.pieces[0], thing.pose)
        if body is not None:
            away = core_distance(PointHull(point[None]), body).low - body.radius
            if away > EXACT:
                yield f"witness point {away:.3g} off its solid"


def _against_laws(found: Separation) -> Iterator[str]:
    ends = [end for end in (found.low, found.high) if end is not None]
    if not np.isfinite([found.value, *ends]).all():
        yield "an end of the interval is not a number"
    below = found.low is not None and found.value < found.low - ROUNDING
    if below or (found.high is not None and found.value > found.high + ROUNDING):
        yield "value outside its own interval"
    if found.points is None or found.direction is None:
        return
    if np.abs(found.points[0] - found.points[1] - found.value * found.direction).max() > LAW:
        yield "witness law broken"
    if abs(np.linalg.norm(found.direction) - 1) > LAW:
        yield "direction is not a unit vector"


def _swapped(found: Separation, other: Separation) -> Iterator[str]:
    if (found.value, found.low, found.high) != (other.value, other.low, other.high):
        yield "swapping changes the gap"
    if found.points is not None and (other.points is None or (found.points != other.points[::-1]).any()):
        yield "swapping changes the points"
    if found.direction is not None and (other.direction is None or (found.direction != -other.direction).any()):
        yield "swapping does more than flip the direction"


@dataclass(slots=True)
class Tally:
    """Worst figures by pair of kinds, and every judgement that found fault."""

    count: int = 0
    faulty: list[Judgement] = field(default_factory=list)
    seen: Counter[tuple[str, str]] = field(default_factory=Counter)
    open: Counter[tuple[str, str]] = field(default_factory=Counter)
    error: dict[tuple[str, str], float] = field(default_factory=lambda: defaultdict(float))
    width: dict[tuple[str, str], float] = field(default_factory=lambda: defaultdict(float))

    def add(self, judgements: Iterable[Judgement]) -> Tally:
        for judgement in judgements:
            self._add(judgement)
        return self

    def _add(self, judgement: Judgement) -> None:
        kinds = sorted((judgement.pair.a.kind, judgement.pair.b.kind))
        key = kinds[0], kinds[1]
        self.count += 1
        self.seen[key] += 1
        if judgement.faults:
            self.faulty.append(judgement)
        error, found = judgement.error, judgement.found
        if error is None:
            self.open[key] += 1
            return
        self.error[key] = max(self.error[key], error)
        if found.low is not None and found.high is not None:
            self.width[key] = max(self.width[key], found.high - found.low)

    def __str__(self) -> str:
        head = f"{self.count} pairs, {len(self.faulty)} at fault, {sum(self.open.values())} known only to overlap"
        rows = [f"{'kinds':<28}{'pairs':>7}{'overlap':>9}{'worst error':>13}{'widest':>11}"]
        for key in sorted(self.seen):
            name = " - ".join(key)
            figures = f"{self.error[key]:>13.2e}{self.width[key]:>11.2e}"
            rows.append(f"{name:<28}{self.seen[key]:>7}{self.open[key]:>9}{figures}")
        return "\n".join([head, *rows])
