r"""What moves past a part, as barriers for the map of positions.

A motion is cut into stretches over which nothing travels far. Over each the moving part stays within its stance in
the middle grown by that travel, so that all stances must be cleared; at each stance itself, it blocks.

      stance 1   stance 2   stance 3       clear of all, each grown by half a stretch: clear of the motion
       |====|     |====|     |====|        too near to one, not grown: too near at some time

Only motions of what stands around are told of. Those of the part itself, or about lines that stand on it, depend on
where it is put.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from packcheck.arrays import Floats
from packcheck.findings import Limit
from packcheck.kinematics.joints import Chain, carried, spread
from packcheck.moving.moving_pairs import MovingPair, is_asked, moving_pairs
from packcheck.notknown.requirement import HAIR
from packcheck.placing.boxes import box_distance
from packcheck.proximity import Placed
from packcheck.proximity.hulls import hull_of
from packcheck.scene.model.motion import Path
from packcheck.search import Barrier, Cell
from packcheck.tolerances import BOX_SLACK
from packcheck.trial.barriers import Shifted, blockers_between, directions, may_hold
from packcheck.trial.pieces import planes_between
from packcheck.trial.trial import Trial

__all__ = ["Passing", "passing"]

_STRIDE: Final = 0.4  # of a cell of the map: how far a part may travel either way from a stance
_MOST: Final = 96  # stances of one pair; of a longer motion they are farther apart
_BLOCKING: Final = 12  # stances that block, spread over the motion


@dataclass(frozen=True, slots=True, eq=False)
class Passing:
    """A part that moves past one of the group: the pair, its stances, and how far it gets from each, mm."""

    pair: MovingPair
    member: str
    stances: tuple[Placed, ...]
    grown: tuple[float, ...]
    needed: float
    hard: float

    def barrier(self, shifted: Shifted) -> Barrier:
        """Clear where the moving limit is surely kept all over the motion, blocked where it surely is not."""
        member = shifted.member(self.member)
        ways = directions(shifted, (member, self.stances[0]), self.hard)
        planes = planes_between(ways, member, self.stances, self.needed, self.grown)
        step = -(-len(self.stances) // _BLOCKING)
        blockers = [
            blocker
            for stance in self.stances[::step]
            for blocker in blockers_between(shifted, member, stance, self.hard)
        ]
        return Barrier([planes], tuple(blockers), may_hold(member, self.stances[0]), passing=True)


def passing(shifted: Shifted, travels: Floats) -> tuple[list[Passing], list[str]]:
    """What moves past the group while the part's middle is in a box (2, 3), and motions that cannot be told of."""
    trial = shifted.trial
    found: list[Passing] = []
    untold: list[str] = []
    group = set(trial.members)
    for pair in moving_pairs(trial.assembly):
        if (pair.a in group) == (pair.b in group) or not is_asked(trial.assembly, pair):
            continue
        member, other = (pair.a, pair.b) if pair.a in group else (pair.b, pair.a)
        mine, theirs = (pair.motions_a, pair.motions_b) if member == pair.a else (pair.motions_b, pair.motions_a)
        if mine or any(_goes_along(trial, name) for name in theirs):
            untold += [*mine, *theirs]
        elif one := _passing(shifted, pair, (member, other, theirs), travels):
            found.append(one)
    return found, list(dict.fromkeys(untold))


def _goes_along(trial: Trial, motion: str) -> bool:
    """Whether the line of a motion, or the zero that a path turns about, is shifted with the group."""
    found = trial.assembly.scene.motions[motion]
    about_carried = isinstance(found.movement, Path) and found.movement.about is None
    return found.frame in trial.nodes or (about_carried and found.carries[0] in trial.nodes)


def _passing(
    shifted: Shifted, pair: MovingPair, names: tuple[str, str, tuple[str, ...]], travels: Floats
) -> Passing | None:
    """The stances of one moving part, or None when none of them comes near."""
    member, other, motions = names
    assembly = shifted.trial.assembly
    limit = Limit(assembly.rules.limit(member, other).moving)
    doubt = shifted.moving_doubt(pair, travels)
    needed = limit.floor + HAIR + doubt.most + assembly.beyond.between(member, other)
    reach = np.array(shifted.member(member).box()) + travels
    placed, stances, grown = assembly.parts[other], [], []
    for cell, piece in assembly.motions.roots(pair.drives):
        chain = assembly.motions.chain(other, motions, pair.drives, piece)
        for centre, travel in _stretches(chain, placed, cell, _STRIDE * shifted.cell):
            stance = placed.at(carried(chain, centre) @ placed.pose)
            if box_distance(stance.box(), reach) <= max(needed, 0.0) + travel + BOX_SLACK:
                stances.append(stance)
                grown.append(travel)
    if not stances:
        return None
    if any(solid.open_surface for part in (placed, assembly.parts[member]) for solid in part.solids):
        needed = np.inf  # what an open surface holds as it moves nobody knows
    return Passing(pair, member, tuple(stances), tuple(grown), needed, limit.floor + doubt.ball - HAIR)


def _stretches(chain: Chain, placed: Placed, root: Cell, stride: float) -> Iterator[tuple[Floats, float]]:
    """Middles (k,) of stretches of a motion, and how far any point of the part gets from its stance there, mm."""
    hull = hull_of(placed.solids)
    rest = placed.pose.apply(hull.points)
    waiting, kept = [root], 0
    while waiting:
        cell = waiting.pop(0)
        seen = spread(chain, rest, cell, hull.error)
        travel = float(seen.travel.sum(axis=0).max())
        if travel > stride and kept + len(waiting) < _MOST:
            waiting += cell.halved(int(np.argmax(seen.travel.max(axis=1))))
            continue
        kept += 1
        yield cell.centre, travel + BOX_SLACK
