r"""What stands in a part's way when it is only shifted, as barriers for the map of positions.

The part stands turned as asked with its middle at the zero of the car, and a position x shifts it from there.
Convex solids A and B meet where x is in C = B - A, which reaches as far along a direction as B does, and A
backwards:

    h_C(n) = h_B(n) + h_A(-n)       true supports where the solids have them, corners and their error where not

What is not convex is cut into patches of its triangles for the planes; the hull of a patch is never farther than
the patch. To prove a position bad, points of what is not convex are taken: the part need only be too near to one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from packcheck.arrays import Floats, Points, Vector, frozen
from packcheck.frames import IDENTITY, Pose
from packcheck.moving.moving_pairs import MovingPair
from packcheck.notknown.doubt import Doubt, Round
from packcheck.notknown.moving import InMotion
from packcheck.notknown.requirement import HAIR, Requirement
from packcheck.proximity import Placed
from packcheck.search import Barrier, Blocker, Crowd, Planes, Polytope, inner_polytope, spread_directions
from packcheck.solids.core.sampling import sampled
from packcheck.solids.core.solid import POINT, Solid
from packcheck.trial.pieces import planes_between, triangles_reach
from packcheck.trial.trial import Trial

__all__ = ["Shifted", "barrier", "blockers_between", "directions", "may_hold", "nearness"]

_SHARE: Final = 0.08  # of a cell: how far a curved barrier may be off between two directions
_FEWEST: Final = 100  # directions
_MOST: Final = 1600
_LOOKS: Final = 27  # points of a part from which the nearest points of another are looked for
_ROUGH: Final = 40  # directions, besides the first 26, of a polytope with few faces
_FARTHEST: Final = 1e4  # mm; what must be kept clear of by more has no shape to look at closely
_CROWD: Final = 0.35  # of a cell: the spacing of points on what is not convex


@dataclass(slots=True, eq=False)
class Shifted:
    """A part turned as asked, shifted about: a position says where the middle of its own box stands, car axes.

    `turned` (3, 3) is its rotation in the car; `cell` mm the size of the cells, which decides how closely things
    are looked at.
    """

    trial: Trial
    turned: Floats
    cell: float
    middle: Vector = field(init=False)
    _crowds: dict[tuple[int, bytes, bytes], Points] = field(default_factory=dict)

    def __post_init__(self) -> None:
        placed = self.trial.assembly.parts[self.trial.part]
        low, high = placed.at(Pose(frozen(self.turned), frozen(np.zeros(3)))).box()
        self.middle = (low + high) / 2

    def displaced(self, position: Vector) -> Pose:
        """What takes the part from where it stands to `position` (3,) mm, turned as asked."""
        return self.pose(position) @ self.trial.assembly.poses[self.trial.part].inverse()

    def pose(self, position: Vector) -> Pose:
        """The part's own frame in the car once its middle is at `position` (3,) mm."""
        return Pose(frozen(self.turned), frozen(position - self.middle))

    def member(self, name: str) -> Placed:
        return self.trial.placed(name, self.displaced(np.zeros(3)))

    def over(self, ask: Requirement, travels: Floats) -> Requirement:
        """The requirement of a pair wherever the middle is in a box (2, 3), mm."""
        if ask.joint:
            return ask
        there = self.trial.there(ask, self.displaced(travels.mean(axis=0)))
        return there.known(there.doubt.grown(ask.shifted * self._half(travels)))

    def moving_doubt(self, pair: MovingPair, travels: Floats) -> Doubt:
        """What is not known of a moving pair at any setting, wherever the middle is in a box (2, 3), mm.

        Its ball is taken off anywhere; the rest may be.
        """
        trial, roots = self.trial, tuple(self.trial.assembly.motions.roots(pair.drives))
        account = trial.account(self.displaced(travels.mean(axis=0)))
        found = InMotion(account, pair.a, pair.b, pair.drives, roots)
        if found.constant is not None:
            return found.constant
        shifted = sum(trial.assembly.account.leverage(*ends, trial.nodes)[0] for ends in pair.both)
        worst = found.most + shifted * self._half(travels)
        return Doubt(rounds=(Round(np.zeros((3, 3)), worst, worst),))

    @staticmethod
    def _half(travels: Floats) -> float:
        return float(np.linalg.norm(travels[1] - travels[0])) / 2

    def crowd(self, solid: Solid, pose: Pose) -> Points:
        """Points on the core of a solid, car frame, near enough to each other for the cells."""
        key = id(solid), *pose.mark
        if key not in self._crowds:
            self._crowds[key] = pose.apply(sampled(solid.draft or solid, self.cell * _CROWD))
        return self._crowds[key]


def barrier(shifted: Shifted, ask: Requirement) -> Barrier:
    """What one limit leaves of the positions: clear where it is surely kept, blocked where it surely is not."""
    member, other = shifted.member(ask.pair[0]), shifted.trial.assembly.parts[ask.pair[1]]
    boxes = ask.doubt.boxes if ask.convex else None
    needed = ask.limit.floor + HAIR + ask.unread
    needed += ask.doubt.most if boxes is None else replace(ask.doubt, boxes=boxes[:0]).most
    ways = directions(shifted, (member, other), min(needed, _FARTHEST))
    planes = [planes_between(ways, member, [other], needed, boxes=boxes)]
    planes += _boxes_apart(member, other)
    blockers = () if ask.joint and not ask.convex else tuple(blockers_between(shifted, member, other, ask.short))
    return Barrier(planes, blockers, may_hold(member, other))


def may_hold(a: Placed, b: Placed) -> bool:
    """Whether one of two parts can hold the other without touching its surface, for all that planes tell."""
    return not (a.convex and b.convex) and any(solid.closed for solid in (*a.solids, *b.solids))


def nearness(shifted: Shifted, other: Placed, reach: float) -> Barrier:
    """Clear where no part of the group can be within `reach` mm of another, blocked where it surely is."""
    member = shifted.member(shifted.trial.part)
    planes = planes_between(directions(shifted, (member, other), reach), member, [other], reach + HAIR)
    return Barrier([planes], tuple(blockers_between(shifted, member, other, reach - HAIR)))


def directions(shifted: Shifted, pair: tuple[Placed, Placed], needed: float) -> Points:
    """Directions close enough for the curves of two solids, and square to their flat faces."""
    reach = max(needed, 0.0) + 0.25 * sum(float(np.linalg.norm(np.subtract(*placed.box()))) for placed in pair)
    count = int(np.clip(2.8 * reach / (_SHARE * shifted.cell), _FEWEST, _MOST))
    flats = [_flat_normals(solid) @ placed.pose.rotation.T for placed in pair for solid in placed.solids]
    return np.vstack([spread_directions(count), np.unique(np.vstack([*flats, *(-flat for flat in flats)]), axis=0)])


def _flat_normals(solid: Solid) -> Points:
    """Normals (n, 3) of the few large faces of a convex solid; none of what is not convex, or not closed."""
    if not (solid.convex and solid.closed):
        return np.empty((0, 3))
    corners = (solid.draft or solid).vertices[(solid.draft or solid).faces]
    crossed = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    lengths = np.linalg.norm(crossed, axis=1)
    real = lengths > 1e-9
    found: Points = np.unique(np.round(crossed[real] / lengths[real, None], 9), axis=0)
    return found if len(found) <= 128 else np.empty((0, 3))


def _boxes_apart(a: Placed, b: Placed) -> list[Planes]:
    """Of an open surface nobody knows what is inside: the boxes of both must not meet, in its own axes."""
    found = []
    for skin, other, sign in ((b, a, 1.0), (a, b, -1.0)):
        if not any(solid.open_surface for solid in skin.solids):
            continue
        axes = sign * np.vstack([np.eye(3), -np.eye(3)]) @ skin.pose.rotation.T
        heights = [
            _all_reach(skin, sign * axes) + _all_reach(other, -sign * axes) + HAIR
            if sign > 0
            else _all_reach(other, axes) + _all_reach(skin, -axes) + HAIR
        ]
        found.append(Planes(frozen(axes), frozen(heights)))
    return found


def _all_reach(placed: Placed, ways: Points) -> Floats:
    own, along = ways @ placed.pose.rotation, ways @ placed.pose.translation
    reach: Floats = np.max([triangles_reach(s, own) for s in placed.solids], axis=0) + along
    return reach


def blockers_between(shifted: Shifted, a: Placed, b: Placed, short: float) -> Iterator[Blocker]:
    """What proves positions bad: each two solids nearer than `short` mm, or sunk so deep where that is negative."""
    for mine in a.solids:
        for theirs in b.solids:
            made = _blocker(shifted, (mine, a.pose), (theirs, b.pose), short)
            if made is not None:
                yield made


def _blocker(
    shifted: Shifted, mine: tuple[Solid, Pose], theirs: tuple[Solid, Pose], short: float
) -> Blocker | None:
    (a, pose_a), (b, pose_b) = mine, theirs
    if a.convex and b.convex:
        made = _hull(shifted, mine, theirs, short + a.radius + b.radius)
        return None if made is None else Blocker(made)
    if b.convex:  # points of A near to B: x + p in B, so that o = -p
        return _crowded(_hull(shifted, None, theirs, _deep(short, b, a)), -shifted.crowd(a, pose_a))
    crowd = shifted.crowd(b, pose_b)
    if a.convex:  # points of B near to A: x - q in -A
        return _crowded(_hull(shifted, mine, None, _deep(short, a, b)), crowd)
    off = sum((solid.draft or solid).error for solid in (a, b))
    made = _hull(shifted, None, None, short + a.radius + b.radius - off)
    looks = shifted.crowd(a, pose_a)
    looks = looks[:: max(1, len(looks) // _LOOKS)]
    return None if made is None else Blocker(made, Crowd(crowd, np.eye(3)), looks, looks)


def _crowded(made: Sequence[Polytope] | None, points: Points) -> Blocker | None:
    """Points round a polytope: of all of them the one deepest inside is likely that nearest to its middle.

    Near is meant with the polytope pressed into a ball, or nearly: by its widths along its own axes.
    """
    if made is None:
        return None
    normals, offsets = made[-1]
    feet = normals * offsets[:, None]
    middle = feet.mean(axis=0)
    own = np.linalg.eigh(np.cov((feet - middle).T))[1]
    shape = own / np.maximum(np.ptp(feet @ own, axis=0), 1e-6)
    reach = float(np.linalg.norm((feet - middle) @ shape, axis=1).max())
    return Blocker(made, Crowd(points, shape, reach), -middle[None])


def _deep(short: float, solid: Solid, pointed: Solid) -> float:
    """How near a point must be to a convex core; a ball round the point tells nothing of how deep it is sunk."""
    near = short + solid.radius - (pointed.draft or pointed).error
    return near + pointed.radius if near > 0 else near


def _hull(
    shifted: Shifted, mine: tuple[Solid, Pose] | None, theirs: tuple[Solid, Pose] | None, near: float
) -> Sequence[Polytope] | None:
    """Polytopes of positions within `near` mm of where the cores meet (deeper than that where negative).

    The smaller ones have few faces. None in place of a solid stands for a point at zero.
    """
    placed = [Placed("", (s,), p) for s, p in filter(None, (mine, theirs))]
    point = Placed("", (POINT,), IDENTITY)
    one, other = [*placed, point, point][:2]
    ways = directions(shifted, (one, other), near)
    points = np.zeros_like(ways)
    if theirs is not None:
        points = points + _supports(*theirs, ways)
    if mine is not None:
        points = points - _supports(*mine, -ways)
    points = points + max(near, 0.0) * ways
    few = np.concatenate([points[:26], points[26 :: max(1, len(points) // _ROUGH)]])
    found = [inner_polytope(few), inner_polytope(points)]
    return [(normals, offsets + min(near, 0.0)) for normals, offsets in filter(None, found)] or None


def _supports(solid: Solid, pose: Pose, ways: Points) -> Points:
    assert solid.support is not None
    return pose.apply(solid.support(ways @ pose.rotation))
