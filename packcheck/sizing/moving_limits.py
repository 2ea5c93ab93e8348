"""The limits that must hold while things move, as a param of the scene grows: how fast each changes, what is left.

At one setting of its motions the gap of two parts changes no faster than they and the lines they turn about are
shifted against each other; what is shifted alike, from one part to the other, keeps the gap.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from typing import TypeAlias

import numpy as np

from packcheck.arrays import Vector
from packcheck.assembly.assembly import Assembly
from packcheck.findings import Limit
from packcheck.moving.motion_check import moving_margin
from packcheck.moving.moving_pairs import MovingPair, Sweeps, doubt_of, is_asked, moving_pairs, the_pair
from packcheck.notknown.requirement import HAIR
from packcheck.proximity import Session
from packcheck.scene.model.motion import Path, Travel
from packcheck.sizing.rates import growth, slack_rate
from packcheck.tolerances import BOX_SLACK

__all__ = ["Left", "MovingLimits", "moving_limits"]

Left: TypeAlias = tuple[str, float, float, float]
"""A limit: whose, what is left over it and what is surely missing, mm, and how fast that changes with the param."""

_Key: TypeAlias = tuple[str, str, tuple[str, ...], tuple[str, ...]]
"""Two parts that move against each other, and the motions of each."""


@dataclass(frozen=True, slots=True, eq=False)
class MovingLimits:
    """The pairs that rest on the param, each with its rate, and why some rates are not proven."""

    rates: Mapping[_Key, float] = field(default_factory=dict)
    doubts: tuple[str, ...] = ()

    @property
    def subjects(self) -> list[tuple[str, str]]:
        return [key[:2] for key in self.rates]

    def pairs(self, assembly: Assembly) -> list[MovingPair]:
        """The same pairs in the scene at another value of the param."""
        return [pair for pair in _asked(assembly) if _key(pair) in self.rates]

    def left(self, assembly: Assembly, session: Session, horizon: float) -> Iterator[Left]:
        """What is left of each limit, as far as matters within `horizon` mm of the param."""
        sweeps = Sweeps(assembly)
        for pair in self.pairs(assembly):
            rate, doubt = self.rates[_key(pair)], doubt_of(assembly, pair)
            limit = Limit(assembly.rules.limit(pair.a, pair.b).moving)
            needed = max(limit.floor, 0.0) + doubt.most
            unread, beyond = assembly.beyond.between(pair.a, pair.b), rate * horizon
            if sweeps.apart(pair) > needed + HAIR + unread + beyond + BOX_SLACK:
                continue
            near = bool(unread) and bool(sweeps.reaching_out(pair, needed + beyond))
            moved = the_pair(assembly, session, pair, doubt)
            left, short = moving_margin(moved.problem(), limit.floor + HAIR + (unread if near else 0.0), beyond)
            if near and left < 0 and not sweeps.reaching_out(pair, needed):
                left, short = 0.0, 0.0  # it passes here, and how much farther is not known
            yield f"{pair.a} - {pair.b} as {' and '.join(pair.motions)} moves", left, short, rate


def moving_limits(
    here: Assembly, there: Assembly, speeds: Mapping[str, float | None], touched: Callable[[MovingPair], bool]
) -> MovingLimits:
    """What moves and rests on the param, from the scene at two values 1 mm apart.

    `speeds` are those of the parts, None for one that is remade; `touched` tells what rests on the param in
    another way than by place or size.
    """
    rates, doubts = {}, []
    for pair in _asked(here):
        rate, doubt = _rate(here, there, pair, speeds)
        doubts += [doubt] if doubt else []
        if rate > 0 or touched(pair):
            rates[_key(pair)] = rate or 1.0
    return MovingLimits(rates, tuple(doubts))


def _key(pair: MovingPair) -> _Key:
    return pair.a, pair.b, pair.motions_a, pair.motions_b


def _asked(assembly: Assembly) -> Iterator[MovingPair]:
    """The pairs that motions move against each other and of which something is asked."""
    pairs = moving_pairs(assembly) if assembly.scene.motions else ()
    return (pair for pair in pairs if is_asked(assembly, pair))


def _rate(
    here: Assembly, there: Assembly, pair: MovingPair, speeds: Mapping[str, float | None]
) -> tuple[float, str]:
    """How fast the gap of two parts that move can change at any setting, and why that is not proven, if it is not.

    What shifts alike keeps the gap: a part and the line it turns about, from one part to the other.
    """
    sides = (pair.a, pair.b)
    lines = [_line_shift(here, there, name) for name in (*pair.motions_a[::-1], *pair.motions_b)]
    doubts = [line for line in lines if isinstance(line, str)]
    if doubts or any(speeds[name] is None for name in sides):
        return 1.0, next(iter(doubts), "")  # not still either; of a part remade it is told with the part
    first, second = (there.poses[name].translation - here.poses[name].translation for name in sides)
    shifts = [first, *(line for line in lines if line is not None and not isinstance(line, str)), second]
    apart = [float(np.linalg.norm(one - other)) for one, other in pairwise(shifts)]
    if any(here.scene.motions[name].placed_at for name in pair.motions):  # drawn moved: the lines are turned back
        apart = [2 * float(np.linalg.norm(shift)) for shift in shifts]
    grown = [growth(here.scene.parts[name], there.scene.parts[name]) or 0.0 for name in sides]
    return sum(rate for rate in (*apart, *grown, slack_rate(here, there, sides)) if rate > 1e-9), ""


def _line_shift(here: Assembly, there: Assembly, name: str) -> Vector | str | None:
    """How the line of a motion shifts (3,), mm; None where that changes nothing; in words why it is not plain."""
    one, other = here.scene.motions[name], there.scene.motions[name]
    turned = here.poses[one.frame].rotation - there.poses[other.frame].rotation
    if one.movement != other.movement or one.placed_at != other.placed_at or np.abs(turned).max() > 1e-12:
        return f"motion {name} changes in another way than by place"
    if isinstance(one.movement, Travel):
        return None
    about_carried = isinstance(one.movement, Path) and one.movement.about is None
    node = one.carries[0] if about_carried else one.frame
    shift: Vector = there.poses[node].translation - here.poses[node].translation
    return shift
