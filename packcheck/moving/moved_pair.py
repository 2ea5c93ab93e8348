r"""Two parts that move against each other, as a problem for the certified search.

Joints that carry both parts alike are left out; the others make two chains. What counts is only how the parts move
relative to each other, so they may be looked at from any frame along the way from one to the other:

    a <-- joints of a --- common carrier --- joints of b --> b
    |                          |                             |
  seen from a: b moves     seen from here: both move     seen from b: a moves

The bounds hold in each of these frames, and the best one is taken. A long lid seen from the lid: it is the small
pump under it that swings, on a short radius.

For convex parts a plane is carried along by one of these frames: the gap is never less than the room between the
two parts' reaches across it. Moving along the plane costs nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from packcheck.arrays import Floats, Points, Vector
from packcheck.frames import Pose
from packcheck.kinematics.joints import Chain, Spread, backwards, carried, spread
from packcheck.notknown.doubt import NOTHING
from packcheck.notknown.moving import InMotion
from packcheck.proximity import Bounds, Placed, Session
from packcheck.proximity.hulls import Hull, hull_of
from packcheck.search import Bound, Cell, Outcome, Probe, Problem, Sample, corner_bound, decide, least
from packcheck.solids.core.solid import Solid
from packcheck.tolerances import SEARCH_BUDGET, SEARCH_ROUNDING

__all__ = ["MovedPair"]


@dataclass(slots=True, eq=False)
class MovedPair:
    """The gap of two parts over their motions; with a `doubt`, the least that it can be for all that is not known.

    `roots` are the cells to be searched, each with the chains of the first and the second part that hold in it.
    """

    session: Session
    a: Placed
    b: Placed
    roots: tuple[tuple[Cell, Chain, Chain], ...]
    doubt: InMotion | None = None
    hulls: tuple[Hull, Hull] = field(init=False)
    _outlines: tuple[_Outline, _Outline] = field(init=False)
    _travels: dict[bytes, Floats] = field(default_factory=dict, init=False)
    _last: tuple[bytes, list[_Seen]] | None = field(default=None, init=False)

    def __post_init__(self) -> None:
        self.hulls = hull_of(self.a.solids), hull_of(self.b.solids)
        self._outlines = _Outline.of(self.a, self.hulls[0]), _Outline.of(self.b, self.hulls[1])

    @property
    def convex(self) -> bool:
        """Whether both parts are convex: then the gap is bounded also where they overlap."""
        return self.a.convex and self.b.convex

    def problem(self) -> Problem:
        """The search over every setting of the joints between the two."""
        spare = self.hulls[0].least_radius + self.hulls[1].least_radius
        corners = corner_bound(self._sag, spare)
        bounds: list[Bound] = [] if self._varies else [corners]
        if self._varies and not self.convex:
            bounds = [lambda probe: corners(probe) - 2 * self._growth(probe.cell)]
        if self.convex:
            bounds = [self._planes, *bounds]
        return Problem(self.gap, tuple(cell for cell, _, _ in self.roots), self._travel, bounds)

    @property
    def _varies(self) -> bool:
        """Whether what is not known is not the same at every setting."""
        return self.doubt is not None and self.doubt.constant is None

    def _growth(self, cell: Cell) -> float:
        return 0.0 if self.doubt is None else self.doubt.growth(cell)

    @property
    def drawn(self) -> MovedPair:
        """The same pair as drawn."""
        return self if self.doubt is None else replace(self, doubt=None)

    @property
    def mark(self) -> tuple[object, ...]:
        """The bits of all that a search of this pair depends on."""
        roots = (
            (cell.low.tobytes(), cell.high.tobytes(), *(tuple(joint.mark for joint in chain) for chain in chains))
            for cell, *chains in self.roots
        )
        doubt = 0.0 if self.doubt is None else self.doubt.mark
        return self.session.mark(self.a), self.session.mark(self.b), doubt, *roots

    def decided(self, limit: float, budget: int = SEARCH_BUDGET) -> Outcome:
        """Whether the gap keeps `limit` mm everywhere; the session remembers, as of the other searches."""
        return self.session.once(
            (self.mark, "decided", limit, budget), lambda: decide(self.problem(), limit, budget)
        )

    def closed_in(self, start: Floats, budget: int = SEARCH_BUDGET) -> Outcome:
        """The least gap, `start` (k,) being a setting worth trying first."""
        return self.session.once(
            (self.mark, "closed in", start.tobytes(), budget),
            lambda: least(self.problem(), budget=budget, start=[start]),
        )

    def placed(self, setting: Floats) -> tuple[Placed, Placed]:
        """Both parts at parameters (k,), seen from what carries both."""
        chain_a, chain_b = self._chains(setting)
        moved_a, moved_b = carried(chain_a, setting), carried(chain_b, setting)
        return self.a.at(moved_a @ self.a.pose), self.b.at(moved_b @ self.b.pose)

    def gap(self, setting: Floats, enough: float) -> Sample:
        """The gap at parameters (k,), mm, less what is not known; the witness is the kernel's `Bounds` as drawn.

        Where a shape encloses the true one, the true gap may be greater than `high` says.
        """
        a, b = self.placed(setting)
        doubt = NOTHING if self.doubt is None else self.doubt.at(setting)
        if doubt.lost:
            return Sample(-np.inf, np.inf, self.session.bounds(a, b, max(enough, 0.0)))
        bounds = self.session.bounds(a, b, max(enough + doubt.most, 0.0))
        high = bounds.high
        if self.encloses and np.isfinite(bounds.value):
            high = bounds.value + sum(hull.fine_error for hull in self.hulls)
        nearer = doubt.nearer(bounds.direction, convex=self.convex)
        return Sample(bounds.low - nearer, high - nearer, bounds)

    @property
    def encloses(self) -> bool:
        """Whether a shape here only encloses the true one."""
        return any(solid.encloses for part in (self.a, self.b) for solid in part.solids)

    def _chains(self, setting: Floats) -> tuple[Chain, Chain]:
        for cell, chain_a, chain_b in self.roots:
            if (setting >= cell.low).all() and (setting <= cell.high).all():
                return chain_a, chain_b
        raise ValueError(f"no such setting: {setting}")

    def _frames_seen(self, cell: Cell) -> list[_Seen]:
        """The cell seen from each frame; the last one asked for is remembered."""
        key = cell.low.tobytes() + cell.high.tobytes()
        if self._last is None or self._last[0] != key:
            frames = _frames(*self._chains(cell.centre))
            self._last = key, [_Seen.of(frame, self._outlines, cell) for frame in frames]
        return self._last[1]

    def _travel(self, cell: Cell) -> Floats:
        key = cell.low.tobytes() + cell.high.tobytes()
        found = self._travels.get(key)
        if found is None:
            travels = [seen.travel for seen in self._frames_seen(cell)]
            found = min(travels, key=lambda travel: float(travel.sum()))
            if (growth := self._growth(cell)) > 0:
                found = found + growth * (np.arange(len(found)) == int(np.argmax(found)))
            self._travels[key] = found
        return found

    def _sag(self, cell: Cell, distance: float) -> float:
        return min(seen.sag(distance) for seen in self._frames_seen(cell))

    def _planes(self, probe: Probe) -> float:
        """The most that a plane carried by one of the frames keeps the two apart all over the cell."""
        bounds = probe.centre.witness
        if not isinstance(bounds, Bounds) or bounds.direction is None:
            return -np.inf
        best, lowest = -np.inf, probe.cell.centre
        for seen in self._frames_seen(probe.cell):
            across = carried(seen.frame.outside, probe.cell.centre).inverse().rotate(bounds.direction)
            (room_a, slope_a), (room_b, slope_b) = seen.rooms(across)
            if room_a + room_b > best:
                best = room_a + room_b
                lowest = probe.cell.centre - np.sign(slope_a + slope_b) * probe.cell.halves
        if self.doubt is not None:
            best -= self.doubt.at(probe.cell.centre).across(bounds.direction) + self._growth(probe.cell)
        probe.hint(np.clip(lowest, probe.cell.low, probe.cell.high), best)
        return best - SEARCH_ROUNDING


@dataclass(frozen=True, slots=True, eq=False)
class _Frame:
    """A frame to look from: what carries it from the common carrier, and the chains of a and b seen from it."""

    outside: Chain
    a: Chain
    b: Chain


def _frames(a: Chain, b: Chain) -> list[_Frame]:
    """The frames worth looking from: of b, of a, and of what carries both when both move."""
    from_b, from_a = _Frame(b, (*backwards(b), *a), ()), _Frame(a, (), (*backwards(a), *b))
    return [from_b, from_a, _Frame((), a, b)] if a and b else [from_b, from_a]


@dataclass(frozen=True, slots=True, eq=False)
class _Outline:
    """The points (n, 3) of a part at rest, car frame, that tell how far it gets, and how far off they may be, mm.

    `solid` and its `pose` where the part is one convex solid, of which the points then are all corners.
    """

    points: Points
    error: float
    pose: Pose
    solid: Solid | None

    @staticmethod
    def of(part: Placed, hull: Hull) -> _Outline:
        if not part.convex:
            return _Outline(part.pose.apply(hull.points), hull.error, part.pose, None)
        (solid,) = part.solids
        return _Outline(part.pose.apply(solid.vertices), solid.error, part.pose, solid)

    def lowest(self, across: Vector) -> float:
        """How low the convex part at rest reaches across a plane through zero with unit normal `across`, mm."""
        assert self.solid is not None
        assert self.solid.support is not None
        point = self.solid.support(self.pose.inverse().rotate(-across)[None])[0]
        return float(self.pose.apply(point) @ across) - self.solid.radius


@dataclass(frozen=True, slots=True, eq=False)
class _Seen:
    """A cell seen from one frame: what it does to the outline of either part; None for one that stands still."""

    frame: _Frame
    outlines: tuple[_Outline, _Outline]
    spreads: tuple[Spread | None, Spread | None]
    width: int

    @staticmethod
    def of(frame: _Frame, outlines: tuple[_Outline, _Outline], cell: Cell) -> _Seen:
        a, b = (
            spread(chain, outline.points, cell, outline.error) if chain else None
            for chain, outline in zip((frame.a, frame.b), outlines, strict=True)
        )
        return _Seen(frame, outlines, (a, b), len(cell.low))

    @property
    def _moving(self) -> list[Spread]:
        return [one for one in self.spreads if one is not None]

    @property
    def travel(self) -> Floats:
        """How far (k,), mm, each parameter lets any point travel relative to the other part."""
        return sum((one.travel.max(axis=1) for one in self._moving), np.zeros(self.width))

    def sag(self, distance: float) -> float:
        """How far the gap can sink under its corners, mm; points are `distance` mm apart or more."""
        speed = sum(float(one.speed.max()) for one in self._moving)
        return speed * speed / (2 * distance) + sum(float(one.bend.max()) for one in self._moving) / 2

    def rooms(self, across: Vector) -> tuple[tuple[float, Floats], tuple[float, Floats]]:
        """Over a plane with unit normal `across` (from b to a): how low a reaches, and b the other way round, mm.

        With them the slopes (k,), mm a half width, of the points that get there.
        """
        (a, b), (first, second) = self.outlines, self.spreads
        return _room(a, first, across, self.width), _room(b, second, -across, self.width)


def _room(outline: _Outline, seen: Spread | None, across: Vector, width: int) -> tuple[float, Floats]:
    """The least height over a plane through zero that a convex part keeps all over a cell, mm, and the slope there.

    Each corner of the core is followed to first order, and half of what its way bends is taken off. What comes of
    it is concave in the point, so that corners suffice.
    """
    if seen is None:
        return outline.lowest(across), np.zeros(width)
    assert outline.solid is not None
    slopes = seen.slopes @ across
    heights = seen.points @ across - np.abs(slopes).sum(axis=0) - seen.bend / 2
    lowest = int(np.argmin(heights))
    return float(heights[lowest]) - outline.solid.radius - outline.error, slopes[:, lowest]
