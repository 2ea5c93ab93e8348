r"""How far off a motion may leave a part because its line is no surer than the frame it is given in.

       true line              A lid lies where its own readings put it; its hinge where those of a frame do, which
          o - - - - - x'      is off by a rigid displacement E of its own. The lid then moves by E T E^-1, not by T.
        e |        .          With T a turn R about o and a shift s, and E a turn W about o and a shift e, a point
          o ------- x         that starts at o + u (before E) lands off by exactly
       line in the file
                              (1 - R) e  +  (W R - R W) u  +  (W - 1) s

which is no longer than  A |e| + A |W - 1| |u| + |W - 1| |s|  with A = 2 sin(angle of R / 2): of two turns by one
angle about axes that differ by W, no vector is carried farther apart than A |W - 1| of its length. A tolerance t
says |E z - z| <= t all over the reach of the motion, so that |e|^2 + (|W - 1| |u|)^2 <= t^2; and since both E x and
E T x are then within t of where they should be, the whole is never more than 2 t. Three numbers shift and turn
nothing. Where the errors are likely ones, standard uncertainties add up as the lengths do.

What the frame and the part hang on together moves both alike, and adds nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import product
from math import hypot, pi, sin
from typing import TypeAlias

import numpy as np

from packcheck.arrays import Floats, Point, Vector, frozen
from packcheck.assembly.assembly import Assembly
from packcheck.assembly.motion_table import motion_bound
from packcheck.assembly.moving_pairs import MovingPair
from packcheck.assembly.tolerance import Slack
from packcheck.kinematics.joints import Chain, carried, spread
from packcheck.proximity.hulls import hull_of
from packcheck.search import Cell
from packcheck.tolerances import COVERAGE

__all__ = ["Course", "Courses", "LineSlack", "course_of", "hanging", "hard_slack", "line_slack", "slack_in_motion"]


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """What a motion does to a part: turns it about `about` (3,) by `angle` radians at the most.

    That point is carried no farther than `shift` mm; no point of the part is ever farther than `reach` mm from
    there. `axis` (3,) where it is the only one, and nothing is shifted.
    """

    about: Point
    angle: float
    shift: float
    reach: float
    axis: Vector | None = None

    @property
    def turned(self) -> float:
        """How far a point 1 mm from the axis gets, mm."""
        return 2 * sin(min(self.angle, pi) / 2)


Courses: TypeAlias = dict[tuple[str, str, tuple[str, ...]], Course]
"""What was found of a motion, a part and the motions further in, of one assembly: many pairs ask for the same."""


@dataclass(frozen=True, slots=True)
class LineSlack:
    """How much farther two parts may stand off than their own places say, mm.

    `hard` at the worst, and what is only likely as a `standard` uncertainty; `motions` are those whose lines may be
    off.
    """

    hard: float
    standard: float
    motions: tuple[str, ...]

    @property
    def most(self) -> float:
        return self.hard + COVERAGE * self.standard


def line_slack(assembly: Assembly, pair: MovingPair, known: Courses | None = None) -> LineSlack:
    """What unsure lines add to the slack between the two parts of a pair, all over its motions.

    `known` is what was found for other pairs of this assembly, and is added to.
    """
    courses = {} if known is None else known
    hard = standard = 0.0
    named: list[str] = []
    for part, other, motions in ((pair.a, pair.b, pair.motions_a), (pair.b, pair.a, pair.motions_b)):
        for place, motion in enumerate(motions):
            alone = len(pair.motions_a) + len(pair.motions_b) == 1
            course = partial(_known, assembly, courses, (motion, part, motions[place + 1 :]))
            more = _of_motion(assembly, motion, part, motions[place + 1 :], other if alone else "", course)
            hard, standard = hard + more[0], standard + more[1]
            named += [motion] if any(more) else []
    return LineSlack(hard, standard, tuple(dict.fromkeys(named)))


def slack_in_motion(assembly: Assembly, pair: MovingPair, known: Courses | None = None) -> float:
    """The most, mm, that two parts may stand off where a motion takes them, 95 times in 100: places and lines.

    `known` is as for `line_slack`.
    """
    return assembly.slack(pair.a, pair.b).most + line_slack(assembly, pair, known).most


def _known(assembly: Assembly, courses: Courses, key: tuple[str, str, tuple[str, ...]]) -> Course:
    if key not in courses:
        courses[key] = course_of(assembly, *key)
    return courses[key]


def _of_motion(
    assembly: Assembly, motion: str, part: str, inner: Sequence[str], other: str, course: Callable[[], Course]
) -> tuple[float, float]:
    """The hard slack and the standard uncertainty, mm, that the line of one motion adds to where it takes a part.

    `inner` are the motions it carries along. `other` is the part looked from, where nothing else moves: what that
    hangs on is in the slack of the pair already.
    """
    frames = [assembly.scene.motions[name].frame for name in (motion, *inner)]
    of_frame, *others = (hanging(assembly, name) for name in (*frames, part))
    shared = set(of_frame).intersection(*others)
    own = [name for name in of_frame if name not in shared]
    loose = [name for name in own if name not in hanging(assembly, other)]
    slacks = [slack for name in loose if (slack := assembly.slacks.own(name)).most > 0]
    likely = [name for name in of_frame if name in assembly.spreads.names]
    if not slacks and not likely:
        return 0.0, 0.0
    hard = sum(hard_slack(course(), slack) for slack in slacks)
    beside = [name for name in likely if name in shared and name not in hanging(assembly, other)]
    swung = sum(_swung(assembly, name) for name in beside)
    turned_along = swung * motion_bound(assembly, motion, part) if swung else 0.0
    return hard, turned_along + sum(_standard(assembly, name, course()) for name in likely if name in own)


def hanging(assembly: Assembly, name: str) -> tuple[str, ...]:
    """A frame or part and all it hangs on; nothing for the car, which is where it is."""
    frames, parts = assembly.scene.frames, assembly.scene.parts
    chain: list[str] = []
    while (node := frames.get(name) or parts.get(name)) is not None and name != node.parent:
        chain.append(name)
        name = node.parent
    return tuple(chain)


def course_of(assembly: Assembly, motion: str, part: str, inner: Sequence[str] = ()) -> Course:
    """What `motion` does to `part` from where it is drawn, `inner` motions going on meanwhile."""
    placed, moves = assembly.parts[part], assembly.scene.motions[motion]
    hull = hull_of(placed.solids)
    points = placed.pose.apply(hull.points)
    about, axis = _about(assembly, motion, part, points.mean(axis=0))
    angle = shift = 0.0
    for cell, chain in _roots(assembly, motion, part):
        seen = Cell.of(cell.low - moves.placed_at, cell.high - moves.placed_at)
        pose = carried(chain, seen.centre)
        turns = [joint for joint in chain if joint.drive is not None and joint.point is not None]
        swing = sum(abs(joint.rate) * float(seen.halves[joint.drive or 0]) for joint in turns)
        angle = max(angle, _angle(pose.rotation) + swing)
        off = float(np.linalg.norm(pose.apply(about) - about))
        shift = max(shift, off + float(spread(chain, about[None], seen).travel.sum()))
    widest = float(np.linalg.norm(points - about, axis=1).max()) + hull.error + hull.greatest_radius
    reach = widest + shift + sum(motion_bound(assembly, name, part) for name in inner)
    return Course(frozen(about), angle, 0.0 if axis is not None else shift, reach, axis)


def _roots(assembly: Assembly, motion: str, part: str) -> Iterator[tuple[Cell, Chain]]:
    drives = assembly.motions.drives[motion]
    for cell, piece in assembly.motions.roots(drives):
        yield cell, assembly.motions.chain(part, (motion,), drives, piece)


def _about(assembly: Assembly, motion: str, part: str, middle: Point) -> tuple[Point, Vector | None]:
    """A point that stays where it is or is shifted little, and the axis where there is no other and no shift."""
    _, chain = next(_roots(assembly, motion, part))
    turns = [joint for joint in chain if joint.drive is not None and joint.point is not None]
    if not turns:
        return middle, None
    line = turns[0].point
    assert line is not None
    if len(chain) > 1:
        return line, None
    return line + ((middle - line) @ turns[0].axis) * turns[0].axis, turns[0].axis


def _angle(rotation: Floats) -> float:
    """The angle of a rotation (3, 3), radians."""
    return float(np.arccos(np.clip((np.trace(rotation) - 1) / 2, -1.0, 1.0)))


def hard_slack(course: Course, slack: Slack) -> float:
    """How far off, mm, a motion may leave a part whose line is off by no more than `slack`."""
    turned = course.turned
    along = course.shift / course.reach if course.reach > 0 else 0.0
    ball = slack.ball * min(2.0, hypot(turned, turned + along))
    return ball + turned * sum(_farthest(box, course.axis) for box in slack.boxes)


def _farthest(box: Floats, axis: Vector | None) -> float:
    """How far from the middle a corner of a box lies, mm, given by its half edges as rows; square to `axis`."""
    corners = np.array(list(product((-1, 1), repeat=3))) @ box
    if axis is not None:
        corners = corners - np.outer(corners @ axis, axis)
    return float(np.linalg.norm(corners, axis=1).max())


def _swung(assembly: Assembly, name: str) -> float:
    """The standard uncertainty of how something is turned, radians, about its worst axis."""
    covariance, _ = assembly.spreads.own(name)
    return _worst(covariance[3:, 3:])


def _standard(assembly: Assembly, name: str, course: Course) -> float:
    """The standard uncertainty, mm, of where the part gets, `name` alone being uncertain."""
    covariance, zero = assembly.spreads.own(name)
    x, y, z = course.about - zero
    arm = np.array([[0, z, -y], [-z, 0, x], [y, -x, 0]])  # turn x arm, as a matrix of the turn
    square = np.eye(3) if course.axis is None else np.eye(3) - np.outer(course.axis, course.axis)
    there = np.hstack([square, square @ arm])
    shifted = _worst(there @ covariance @ there.T)
    swung = _worst(square @ covariance[3:, 3:] @ square)
    return course.turned * (shifted + course.reach * swung) + course.shift * swung


def _worst(covariance: Floats) -> float:
    """The standard uncertainty along the worst direction."""
    return float(np.sqrt(max(float(np.linalg.eigvalsh(covariance)[-1]), 0.0)))
