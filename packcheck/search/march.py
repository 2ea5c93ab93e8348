r"""One way along one parameter: how far is a limit kept from here, and where is it kept first?

A *step* is asked at one place `s` and answers with two lengths, both in units of the parameter and proven by
whoever made it: for how much farther the limit is surely kept (negative: it is not proven to be kept at `s`), and
for how much farther it is surely missed. From a margin f that changes by no more than L for each unit of s they are
f(s) / L and -f(s) / L. There are two questions, each the other turned round:

    kept_until   f |\                       first_kept   |            __*  the first place found that is kept
                   | \ L  |\                             |       /|  /
                   |__\___|_\_|\.           ____________ | __ / _|_/___
                   s0  s1    s2 s3 used up               |/ ->|=>|->|
                                                         s0  s1 s2 s3
    Goes on by what is kept. What is proven is           Goes on by what is surely missed, or by the resolution
    all of the way, things thinner than any step         where that is more: a place that is kept may be passed
    included.                                            over only where it is narrower than that, which is told.

Proof. Only what lies ahead is used: f(s + t) >= f(s) - L t in the one, f(s + t) <= f(s) + L t in the other, for
t >= 0, so that a plane or a rate that holds in one direction will do.

- Kept: if f(s) >= 0, then f >= 0 on [s, s + f(s) / L]. The next place asked is the end of that stretch, so the
  stretches leave nothing out and by induction f >= 0 from the start to the end of the last.
- Missed: if f(s) < 0, then f < 0 on [s, s - f(s) / L). Places are asked in their order, s(i+1) = s(i) +
  max(-f(s(i)) / L, r(s(i))), and all were missed. A stretch on which f >= 0, and which does not reach to the place
  found, holds none of them. So it lies between two, behind what is ruled out: it is narrower than r(s(i)) less
  -f(s(i)) / L. The widest of these is `coarse`.

Closing in by halves moves the place found towards a missed one; it stays a place that is kept, and lies no farther
than `within` behind one that is not, or that is ruled out.

Source: the saw of S. A. Piyavskii, "An algorithm for finding the absolute extremum of a function", USSR Comput.
Math. Math. Phys. 12 (1972), walked along and ended at its first answer; for the distance of bodies, conservative
advancement: B. Mirtich, "Impulse-based dynamic simulation of rigid body systems" (1996).

Example
-------
>>> from packcheck.search.march import first_kept, kept_until
>>> fin = lambda s: (abs(s - 200) - 0.25, 0.25 - abs(s - 200))  # half a millimetre thick, 200 mm away
>>> kept_until(lambda s: (fin(s)[0] if fin(s)[0] > 0.001 else 0.0, 0.0), 0.0, 300.0).proven > 199.74
True
>>> found = first_kept(fin, 200.0, 300.0, resolution=0.1)
>>> found.at, found.coarse
(200.25, 0.0)
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import inf
from typing import Final, TypeAlias

__all__ = ["Ended", "March", "Step", "all_kept", "closed_in", "first_kept", "kept_until"]

Step: TypeAlias = Callable[[float], tuple[float, float]]
"""How much farther than a place it is surely kept (negative: not proven to be kept there), and surely missed."""

_ROUNDING: Final = 1e-12
"""Of the greatest place: what adding up steps may lose. A way proven to within this of its end is proven."""


class Ended(StrEnum):
    """Why a march came to its end."""

    KEPT = "kept"  # at a place that is kept: nothing farther on is proven, or it was looked for
    MISSED = "missed"  # at a place that is not proven to be kept
    END = "end"  # the way is over
    SPENT = "spent"  # no more questions were allowed


@dataclass(frozen=True, slots=True)
class March:
    """Where a march came to.

    Parameters
    ----------
    proven : float
        All from the start up to here is kept (`kept_until`), or missed (`first_kept`); nothing is left out.
    at : float or None
        A place that was asked and is kept: the last one before `proven`, or the first one found.
    ended : Ended
    asked : int
        How many places were asked.
    coarse : float
        Before `at`, or before the end, no stretch that is kept is as wide as this, or wider; 0: there is none.
    """

    proven: float
    at: float | None
    ended: Ended
    asked: int
    coarse: float = 0.0


def kept_until(step: Step, start: float, end: float, budget: float = inf) -> March:
    """How far is it proven kept, from `start` on and no farther than `end`, asking `budget` places at the most?"""
    s, at, asked = start, None, 0
    spare = _ROUNDING * max(abs(start), abs(end))
    while asked < budget:
        kept, _ = step(s)
        asked += 1
        if kept < 0.0:
            return March(s, at, Ended.MISSED, asked)
        at, last = s, s
        s += kept
        if s >= end - spare:
            return March(end, at, Ended.END, asked)
        if s <= last:
            return March(s, at, Ended.KEPT, asked)
    return March(s, at, Ended.SPENT, asked)


def first_kept(
    step: Step,
    start: float,
    end: float,
    resolution: float | Callable[[float], float],
    within: float = inf,
    budget: float = inf,
) -> March:
    """Where is the first place from `start` to `end` that is kept, as far as the `resolution` at each place tells?

    With `within` it is closed in on until a place that is not kept lies no farther than that before it.
    """
    s, proven, coarse, asked = start, start, 0.0, 0
    missed = start  # surely, from the last place asked up to here
    while s <= end:
        if asked >= budget:
            return March(proven, None, Ended.SPENT, asked, coarse)
        kept, missing = step(s)
        asked += 1
        if kept >= 0.0:
            closed = closed_in(step, missed, s, within)
            return March(proven, closed.kept, Ended.KEPT, asked + closed.asked, coarse)
        missed = s + missing
        proven = missed if proven >= s else proven
        finest = resolution(s) if callable(resolution) else resolution
        coarse = max(coarse, finest - missing)
        s += max(missing, finest)
    return March(min(proven, end), None, Ended.END, asked, coarse)


@dataclass(frozen=True, slots=True)
class Closed:
    """Between a place that is `missed`, or ruled out, and one that is `kept` it begins to be kept."""

    missed: float
    kept: float
    asked: int


def closed_in(step: Step, missed: float, kept: float, within: float) -> Closed:
    """Where does it begin to be kept, between a place that is missed and one that is kept? Halved until `within`.

    Either may lie before the other. What is surely missed is meant on the way from the missed place to the kept.
    """
    towards = 1.0 if kept >= missed else -1.0
    asked = 0
    while abs(kept - missed) > within:
        middle = (kept + missed) / 2
        free, missing = step(middle)
        asked += 1
        if free >= 0.0:
            kept = middle
        else:
            missed = middle + towards * min(missing, abs(kept - middle))
    return Closed(missed, kept, asked)


def all_kept(steps: Sequence[Step], enough: float = inf) -> Step:
    """Several limits as one: kept where all are. Surely missed for more than `enough`, no further one is asked."""

    def step(s: float) -> tuple[float, float]:
        free, missing = inf, 0.0
        for one in steps:
            kept, missed = one(s)
            free = min(free, kept)
            if kept < 0.0:
                missing = max(missing, missed)
                if missing > enough:
                    break
        return free, missing

    return step
