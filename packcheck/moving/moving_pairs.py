"""Which pairs of parts can a motion bring near each other? Told by boxes swept over it, before any is measured."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from packcheck.arrays import Floats
from packcheck.assembly.assembly import Assembly
from packcheck.kinematics.joints import Chain, spread
from packcheck.kinematics.motions import Act, Drive
from packcheck.moving.moved_pair import MovedPair
from packcheck.notknown.moving import InMotion
from packcheck.placing.boxes import box_distance
from packcheck.proximity import Placed, Session
from packcheck.proximity.hulls import Hull, hull_of
from packcheck.search import Cell

__all__ = ["MovingPair", "Sweeps", "doubt_of", "is_asked", "moving_pairs", "swept_box", "the_pair"]

_STRIDE = 20.0  # mm; a box is swept in pieces over which nothing travels farther
_MOST_PIECES = 64


@dataclass(frozen=True, slots=True)
class MovingPair:
    """Two parts, the act that moves them against each other, and the parameters between them."""

    a: str
    b: str
    act: Act
    motions_a: tuple[str, ...]
    motions_b: tuple[str, ...]
    drives: tuple[Drive, ...]

    @property
    def both(self) -> tuple[tuple[str, str], tuple[str, str]]:
        """The two parts, either one first."""
        return (self.a, self.b), (self.b, self.a)

    @property
    def motions(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys((*self.motions_a, *self.motions_b)))


def moving_pairs(assembly: Assembly) -> Iterator[MovingPair]:
    """Every pair of parts that some act moves against each other, in scene order; each set of motions once."""
    motions = assembly.motions
    for a, b in combinations(assembly.parts, 2):
        seen = set()
        for act in motions.acts:
            mine, others = motions.between(a, b, act)
            moved = dict.fromkeys((*mine, *others))
            if not moved or not act.asks(a, b, moved):
                continue
            drives = tuple(act.drive(drive) for name in moved for drive in motions.drives[name])
            key = mine, others, drives, act.of in (a, b)
            if key not in seen:
                seen.add(key)
                yield MovingPair(a, b, act, mine, others, drives)


def is_asked(assembly: Assembly, pair: MovingPair) -> bool:
    """Whether anything is asked of a pair while it moves: it is not joined, and not left out on purpose."""
    rules = assembly.rules
    return not (rules.joint(pair.a, pair.b) or rules.unasked.in_motion(pair.a, pair.b, pair.act.of))


def doubt_of(assembly: Assembly, pair: MovingPair) -> InMotion:
    """What is not known of a pair over its motions."""
    roots = tuple(assembly.motions.roots(pair.drives))
    return InMotion(assembly.account, pair.a, pair.b, pair.drives, roots)


def the_pair(assembly: Assembly, session: Session, pair: MovingPair, doubt: InMotion | None = None) -> MovedPair:
    """The pair as a problem for the search, as drawn or less what is not known."""
    placed = assembly.parts
    roots = tuple(
        (
            cell,
            assembly.motions.chain(pair.a, pair.motions_a, pair.drives, piece),
            assembly.motions.chain(pair.b, pair.motions_b, pair.drives, piece),
        )
        for cell, piece in assembly.motions.roots(pair.drives)
    )
    return MovedPair(session, placed[pair.a], placed[pair.b], roots, doubt)


class Sweeps:
    """Boxes of parts swept over motions, each worked out once."""

    def __init__(self, assembly: Assembly, parts: Mapping[str, Placed] | None = None) -> None:
        self._assembly = assembly
        self._parts = assembly.parts if parts is None else parts
        self._known: dict[tuple[str, tuple[str, ...]], Floats] = {}
        self._hulls: dict[str, Hull] = {}

    def apart(self, pair: MovingPair) -> float:
        """How far the boxes of a pair stay apart all over its motions, mm, seen from what carries both."""
        boxes = (self._box(pair.a, pair.motions_a), self._box(pair.b, pair.motions_b))
        return box_distance(boxes[0], boxes[1])

    def reaching_out(self, pair: MovingPair, needed: float) -> str:
        """Why the pair is not surely `needed` mm from what was not read of a skin, in words; empty where it is.

        A skin that moves itself is never sure: the box of what it meets is not seen from it.
        """
        beyond = self._assembly.beyond
        for skin, other, moved, motions in (
            (pair.a, pair.b, pair.motions_a, pair.motions_b),
            (pair.b, pair.a, pair.motions_b, pair.motions_a),
        ):
            if not beyond.unread(skin):
                continue
            if moved:
                return f"{skin} moves, and was not read to its edges"
            if said := beyond.swept_out(self._parts[skin], other, self._box(other, motions), needed):
                return said
        return ""

    def hull(self, part: str) -> Hull:
        if part not in self._hulls:
            self._hulls[part] = hull_of(self._parts[part].solids)
        return self._hulls[part]

    def _box(self, part: str, motions: tuple[str, ...]) -> Floats:
        key = (part, motions)
        if key not in self._known:
            self._known[key] = self._swept(part, motions)
        return self._known[key]

    def _swept(self, part: str, motions: Sequence[str]) -> Floats:
        placed = self._parts[part]
        if not motions:
            return np.array(placed.box())
        drives = tuple(drive for name in motions for drive in self._assembly.motions.drives[name])
        boxes = [
            swept_box(self._assembly.motions.chain(part, motions, drives, piece), placed, self.hull(part), cell)
            for cell, piece in self._assembly.motions.roots(drives)
        ]
        return np.array([np.min(boxes, axis=0)[0], np.max(boxes, axis=0)[1]])


def swept_box(chain: Chain, placed: Placed, hull: Hull, root: Cell) -> Floats:
    """Least and greatest corner (2, 3), mm, of a box that holds a part wherever a chain carries it over a cell."""
    rest = placed.pose.apply(hull.points)
    waiting, low, high = [root], np.full(3, np.inf), np.full(3, -np.inf)
    kept = 0
    while waiting:
        cell = waiting.pop(0)
        seen = spread(chain, rest, cell, hull.error)
        farthest = seen.travel.sum(axis=0)
        if farthest.max() > _STRIDE and kept + len(waiting) < _MOST_PIECES:
            waiting += cell.halved(int(np.argmax(seen.travel.max(axis=1))))
            continue
        kept += 1
        low = np.minimum(low, (seen.points - farthest[:, None]).min(axis=0))
        high = np.maximum(high, (seen.points + farthest[:, None]).max(axis=0))
    grown = hull.greatest_radius + hull.error
    return np.array([low - grown, high + grown])
