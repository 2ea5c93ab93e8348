r"""From the occurrences of all sources between two parts to one `Doubt`.

A place given by t has no (e, w). One occurrence counts t along any n. Several of one source, with M_k what of its
displacement d is seen at x_k:

    |n . sum M_k d(x_k)|  <=  t |sum M_k^T n| + (t / radius) sum |M_k| |x_k - x_1|        whatever stands between
                          <=  t (chord of every turn between + shift / radius)            two, joints between
                          <=  t times how often it stands there

the first with a remainder of the second order, 2 (t / radius) t for each further one, since one acts where another
has put the part; the second divided by 1 - t / radius (see `_there_and_back`).
Shape and place of one part in one pair: the larger of the two.

What is linear (shifts in boxes, likely errors) adds up by source before its size is taken. Its remainder, with eps
and phi the greatest shift and turn of an occurrence, Phi all phi in sum, |z| from its zero to the part:

    sum_k [ phi_k^2 |z| / 2 + phi_k eps_k + (Phi - phi_k) (eps_k + phi_k |z|) ]      nothing where nothing turns

A ball that stands there once needs none: it takes nothing farther than t from where all that is inside it has put
the part, since its reach is where what it bears truly is. Inside of what turns it is itself carried: Phi t more.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np

from packcheck.arrays import Floats, Points, frozen
from packcheck.notknown.chains import Word
from packcheck.notknown.doubt import Doubt, Round
from packcheck.notknown.field import Contacts, Linear, Occurrence, by_node
from packcheck.notknown.sources import Sources
from packcheck.tolerances import COVERAGE_ANY

__all__ = ["Between", "between_of", "doubt_of", "sizes_of"]

Between: TypeAlias = Callable[[int, int], tuple[float, float] | None]
"""Of two steps of a word: chords, mm at 1 mm, of all turns between, and shifts, mm; None with a mirror between."""


@dataclass(frozen=True, slots=True, eq=False)
class _Sizes:
    """Of one occurrence of what is linear: its greatest shift, mm, and turn, radians."""

    shift: float
    turn: float


def doubt_of(
    found: Sequence[Occurrence],
    sources: Sources,
    contacts: Contacts,
    radius: Callable[[str], float],
    between: Between,
    shapes: Mapping[str, float],
    sides: Callable[[], tuple[Points, Points]],
) -> Doubt:
    """All that is not known between two parts.

    `found` are the occurrences in the word from one to the other, `shapes` the balls, mm, of the surfaces of the
    two, `radius` of a node how far what it bears reaches, `sides` points that hold the two, car frame.
    """
    lost = next((said for one in found if one.kind == "rest" and (said := contacts(one.node).lost)), "")
    if lost:
        return Doubt(lost=lost)
    balls = 0.0
    rounds: list[Round] = []
    places = by_node([one for one in found if one.kind == "place"])
    for node in (*places, *(name for name in shapes if name not in places)):
        surface, ball = shapes.get(node, 0.0), sources.ball(node) if node in places else 0.0
        counted = _ball(places[node], ball, radius(node), between, sides) if ball > 0 else 0.0
        if isinstance(counted, float):
            balls += max(surface, counted)
        else:
            rounds.append(replace(counted, least=surface))
    boxes = [box for node, some in places.items() if (box := _box(some, sources.box(node))) is not None]
    boxes += [_residual(one, contacts(one.node).residual) for one in found if one.kind == "rest"]
    boxes = [box for box in boxes if box.any()]
    twist, origin, seen = None, np.zeros(3), None
    uncertain = {node: _summed(some) for node, some in places.items() if node in sources.likely.columns}
    if uncertain:
        seen = sides()
        origin = frozen(seen[0].mean(axis=0))
        twist = _twist(uncertain, sources, origin)
        if not twist.any():
            twist, seen = None, None
    hard, whole = (_remainder(places, sources, radius, sides, likely=likely) for likely in (False, True))
    return Doubt(
        balls + hard,
        tuple(rounds),
        np.array(boxes).reshape(-1, 3, 3),
        twist,
        origin,
        seen,
        curved=whole - hard,
    )


def _ball(
    some: Sequence[Occurrence],
    ball: float,
    radius: float,
    between: Between,
    sides: Callable[[], tuple[Points, Points]],
) -> Round | float:
    """What a ball counts, mm: so much along any direction, or less along some."""
    most = ball * sum(1.0 if one.spun is None else 2.0 for one in some)
    if len(some) == 1 and some[0].spun is None and some[0].shown is not None:
        return Round(ball * some[0].axes.T, 0.0, most, turns=ball)
    if len(some) == 1 or radius <= ball:
        return most
    if len(some) == 2 and some[0].sense != some[1].sense and all(one.shown is None for one in some):
        gone = between(some[0].place, some[1].place)
        if gone is not None:
            most = min(most, _there_and_back(ball, radius, *gone))
    if any(one.spun is not None for one in some):
        return most
    matrix = ball * np.sum([one.axes for one in some], axis=0).T
    extra = ball / radius * _strayed(some, sides) + _second_order(len(some), ball, radius)
    strays = 2 * (len(some) - 1) * ball / radius
    return Round(matrix, extra, most, turns=len(some) * ball, strays=strays) if extra < most else most


def _second_order(times: int, ball: float, radius: float) -> float:
    """What first order leaves out of a ball seen so many times, mm: one acts where another has put the part."""
    return 2 * (times - 1) * ball * ball / radius


def _there_and_back(ball: float, radius: float, turned: float, shifted: float) -> float:
    """What a ball counts that acts on both sides of something rigid, forwards and back, mm.

    With T what it does, J what stands between: the point x is off by D = T^-1 J T x - J x = R d(x) - d(w), where w
    is J x off by D itself; and d differs by the chord of the ball's own turn, ball / radius, for each mm between.
    """
    return ball * (turned + shifted / radius) / (1.0 - ball / radius)


def _strayed(some: Sequence[Occurrence], sides: Callable[[], tuple[Points, Points]]) -> float:
    """How far apart, mm, in all, the points are at which the occurrences see what they are of, over either part."""
    return min(_strayed_over(some, points) for points in sides())


def _strayed_over(some: Sequence[Occurrence], points: Points) -> float:
    seen = [one.pose.inverse().apply(points if one.pinned is None else one.pinned[None]) for one in some]
    return sum(float(np.linalg.norm(one - seen[0], axis=1).max()) for one in seen[1:])


def _summed(some: Sequence[Occurrence]) -> Linear:
    found = some[0].linear
    for one in some[1:]:
        found = found + one.linear
    return found


def _box(some: Sequence[Occurrence], half: Floats | None) -> Floats | None:
    """The half edges (3, 3), as rows, of where a box of shifts can take the part."""
    if half is None:
        return None
    shift = _summed(some).shift
    found: Floats = np.where(np.abs(shift) < 1e-15, 0.0, shift).T * half[:, None]
    return found


def _residual(one: Occurrence, residual: float) -> Floats:
    """The half edges (3, 3) of a shift by up to `residual` mm along the way the part came down."""
    assert one.shown is not None
    along = one.shown[int(np.argmax(np.diag(one.shown)))]
    return np.vstack([along / np.linalg.norm(along) * residual, np.zeros((2, 3))])


def _twist(uncertain: Mapping[str, Linear], sources: Sources, origin: Floats) -> Floats:
    """Covariance (6, 6) of what all likely errors come to: shift of a point `origin`, and turn."""
    likely = sources.likely
    whole = np.zeros((6, len(likely.covariance)))
    for node, linear in uncertain.items():
        at = likely.columns[node]
        whole[:3, at : at + 6] = linear.at(origin)
        whole[3:, at + 3 : at + 6] = linear.turn
    whole[np.abs(whole) < 1e-12] = 0.0
    found: Floats = whole @ likely.covariance @ whole.T
    return found


def _remainder(
    places: Mapping[str, Sequence[Occurrence]],
    sources: Sources,
    radius: Callable[[str], float],
    sides: Callable[[], tuple[Points, Points]],
    *,
    likely: bool,
) -> float:
    """What first order leaves out, mm, at the most; without what is only likely, or with it."""
    sizes = {node: sizes_of(node, sources, likely=likely) for node in places}
    linear = {node: own for node, own in sizes.items() if own.shift + own.turn > 0}
    if not linear:
        return 0.0
    several = {node: len(some) for node, some in places.items() if len(some) > 1}
    turned = sum(len(places[node]) * own.turn for node, own in linear.items())
    lent = sum(count * _ball_turn(sources.ball(node), radius(node)) for node, count in several.items())
    inside = turned * sum(len(some) * sources.ball(node) for node, some in places.items())
    if turned + lent == 0.0:
        return 0.0
    found = [(one, own) for node, own in linear.items() for one in places[node]]
    return inside + min(sum(_left_out(one, own, turned + lent, at) for one, own in found) for at in sides())


def _left_out(one: Occurrence, own: _Sizes, turns: float, points: Points) -> float:
    reach = float(np.linalg.norm(points - one.pose.translation, axis=1).max()) if own.turn else 0.0
    moved = own.shift + own.turn * reach
    return own.turn**2 * reach / 2 + own.turn * own.shift + (turns - own.turn) * moved


def _ball_turn(ball: float, radius: float) -> float:
    """The greatest turn, radians, of one occurrence of a ball's place."""
    if ball == 0.0:
        return 0.0
    return 2 * float(np.arcsin(min(1.0, ball / (2 * radius)))) if radius > 0 else np.pi


def sizes_of(node: str, sources: Sources, *, likely: bool = True) -> _Sizes:
    """The greatest shift and turn of what is linear of a node's place; likely errors at 3.55 standard ones."""
    box = sources.box(node)
    shift = 0.0 if box is None else float(np.linalg.norm(box))
    turn = 0.0
    if likely and node in sources.likely.columns:
        own = sources.likely.own(node)
        shift += COVERAGE_ANY * _worst(own[:3, :3])
        turn = COVERAGE_ANY * _worst(own[3:, 3:])
    return _Sizes(shift, turn)


def _worst(covariance: Floats) -> float:
    """The standard uncertainty along the worst direction."""
    return float(np.sqrt(max(float(np.linalg.eigvalsh(covariance)[-1]), 0.0)))


def between_of(word: Word, turned: Callable[[str], tuple[float, float]]) -> Between:
    """What stands between two steps of a word; `turned` says of a motion its chords and shifts at the setting."""

    def between(first: int, second: int) -> tuple[float, float] | None:
        low, high = sorted((first, second))
        chords = shifts = 0.0
        for (kind, name), _ in word[low + 1 : high]:
            if kind == "mirror" or kind.startswith("mixed"):
                return None
            if kind == "joint":
                chord, shift = turned(name)
                chords, shifts = chords + chord, shifts + shift
        return chords, shifts

    return between
