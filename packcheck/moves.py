"""The smallest move that puts a shortfall right, checked against everything around.

The part is marched along one direction at a time (`search.march`). Where a pair misses its limit by s mm at some
point of the way, no point nearer than s farther on can do, since a gap grows no faster than the part is shifted; so
whole stretches are ruled out with one query, and the first point where every limit is kept is the answer for that
direction. It is offered where the way there leads through nothing (`assembly.passing`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from packcheck.arrays import Vector, frozen
from packcheck.assembly.assembly import Assembly
from packcheck.assembly.likely import bulk
from packcheck.assembly.restraint import restraints_with
from packcheck.budget import Budget
from packcheck.data import RESERVED
from packcheck.datums import MM_PER_INCH, length_words
from packcheck.errors import QueryError
from packcheck.findings import Finding, Move, Verdict
from packcheck.moving.motion_check import short_in_motion
from packcheck.proximity import Session
from packcheck.search.march import first_kept
from packcheck.studies import moving
from packcheck.studies.promised import newly_short
from packcheck.tolerances import MOVE_REACH
from packcheck.trial.elsewhere import is_followed, put_elsewhere
from packcheck.trial.neighbours import Neighbours, stride

__all__ = ["first_clear", "with_moves"]

MOST_SOUGHT = 40
"""Moves are sought for this many shortfalls, worst first; a scene with more needs another layout."""

IN_MOTION = "not sought: a move mends what falls short at rest; packcheck place asks what moves as well"

LEAST_SHARE = 1_000
"""Questions that one shortfall may ask where a quarter of what is left is less: the worst leaves some."""

_CLOSE = 0.1  # mm; the first clear point is told to within this
_TWO_AXES = 1.15  # a move along two axes must be this much shorter to be preferred: one is easier to do


def with_moves(
    assembly: Assembly,
    session: Session,
    findings: tuple[Finding, ...],
    *,
    apart: bool = False,
    budget: Budget | None = None,
) -> tuple[Finding, ...]:
    """The same findings; those that fail or are unsure for want of room get a move, or the reason for none.

    What looks like a joint gets one only where it is asked to be kept `apart`. What `budget` does not reach,
    counted in places tried, is told as not sought.
    """
    budget = Budget() if budget is None else budget
    sought = [k for k, finding in enumerate(findings) if _wants_move(finding)]
    sought.sort(key=lambda k: findings[k].sort_key)
    answered = [replace(one, no_move=IN_MOTION) if _short_in_motion(one) else one for one in findings]
    for k in [k for k in sought if findings[k].looks_joined and not apart]:
        sought.remove(k)
        answered[k] = replace(findings[k], no_move="not sought: it looks like a joint; --part asks for one")
    for k in sought[:MOST_SOUGHT]:
        own = budget.at_most(max(LEAST_SHARE, (budget.questions - budget.asked) / 4))
        answered[k] = _answered(assembly, session, findings[k], own)
        budget.take(own.asked)
    for k in sought[MOST_SOUGHT:]:
        reason = f"not sought: more than {MOST_SOUGHT} shortfalls; ask for one part at a time"
        answered[k] = replace(findings[k], no_move=reason)
    return tuple(answered)


def _short_in_motion(finding: Finding) -> bool:
    return finding.study == moving.ID and finding.verdict in (Verdict.FAIL, Verdict.UNSURE) and not finding.no_move


def _wants_move(finding: Finding) -> bool:
    short = finding.verdict in (Verdict.FAIL, Verdict.UNSURE)
    return finding.study == "gaps" and short and finding.limit.must is not None and len(finding.subjects) == 2


def _answered(assembly: Assembly, session: Session, finding: Finding, budget: Budget) -> Finding:
    if finding.limit.most is not None:
        return replace(finding, no_move="joined on purpose: measure both again, or the joint is not made")
    if finding.note:
        return replace(finding, no_move=finding.note)
    free = _movable(assembly, finding.subjects)
    held = [how for name in finding.subjects for _, how in restraints_with(assembly, name)]
    if held and not free:
        return replace(finding, no_move=f"{'; '.join(dict.fromkeys(held))}: none is moved here")
    if not free:
        fixed = all(assembly.scene.parts[name].fixed for name in finding.subjects)
        return replace(finding, no_move="both parts are fixed" if fixed else "neither may be moved")
    if budget.spent:
        return replace(finding, no_move="not sought: the budget of the check was spent before")
    smallest_first = sorted(free, key=lambda part: _bulk(assembly, part))
    try:
        move, reasons = _easiest(assembly, session, finding, smallest_first, budget)
    except QueryError as error:
        return replace(finding, no_move=f"could not be sought: {error}")
    if budget.spent and move is None:
        return replace(finding, no_move=f"not sought to the end within {budget.said()}")
    if move is not None and (broken := _led_astray(assembly, session, move)):
        return replace(finding, no_move=broken)
    if move is not None and assembly.scene.motions:
        move = _looked_at_in_motion(assembly, session, move)
    if move is not None and budget.spent:
        move = replace(move, text=f"{move.text.removesuffix(')')}; shorter ones not sought)")
    return replace(finding, move=move, no_move="" if move else "; ".join(reasons))


def _led_astray(assembly: Assembly, session: Session, move: Move) -> str:
    """What the move would make short of what follows the part without hanging on it; empty where nothing."""
    if not is_followed(assembly, move.part):
        return ""
    there = put_elsewhere(assembly, move.part, assembly.poses[move.part].shifted(move.by))
    short = newly_short(assembly, there, session)
    if short is None:
        return ""
    return f"{move.text.split(' (')[0]} would leave {short.subjects[0]} and {short.subjects[1]} short: one follows"


def _looked_at_in_motion(assembly: Assembly, session: Session, move: Move) -> Move:
    """The move, with what it leaves short, or may, while something moves."""
    short = short_in_motion(assembly, session, move.part, move.by)
    if short is None:
        return replace(move, text=move.text.replace(_CLEARS, f"{_CLEARS}, in motion too"))
    moving = " and ".join(short.motions)
    told = f"{_CLEARS} at rest, but {short.a} and {short.b} are not proven clear while {moving} moves"
    return replace(move, text=move.text.replace(_CLEARS, told))


def _movable(assembly: Assembly, subjects: Sequence[str]) -> list[str]:
    """What may be moved to mend a finding: the air that a part needs goes with the part, other room stays.

    What carries both cannot part them. Panels and tubes are moved only where nothing else can be.
    """
    parts = assembly.scene.parts
    owners = dict.fromkeys(parts[name].air_of or name for name in subjects)
    free = [name for name in owners if not parts[name].fixed and not RESERVED.intersection(parts[name].kinds)]
    free = [name for name in free if not any(restraints_with(assembly, name))]
    apart = [name for name in free if not {*subjects} <= {name, *assembly.carried_by(name)}]
    return [name for name in apart if not _FRAMEWORK.intersection(parts[name].kinds)] or apart


def _easiest(
    assembly: Assembly, session: Session, finding: Finding, names: Sequence[str], budget: Budget
) -> tuple[Move | None, list[str]]:
    """The move of the smaller part, unless that goes far and the larger one need not go half as far.

    `names` stand smallest first. With the reasons why parts have no move.
    """
    cheapest, move, reasons = np.inf, None, []
    for name in names:
        if cheapest <= _FAR or budget.spent:
            break
        attempt = _Attempt(assembly, Neighbours(assembly, session, name), finding, name, budget)
        shift = attempt.best(min(MOVE_REACH, cheapest / 2))
        if shift is not None:
            cheapest, move = _cost(shift), attempt.move(shift)
        elif move is None:
            reasons.append(attempt.reason())
    return move, reasons


def _bulk(assembly: Assembly, part: str) -> float:
    """Volume of the boxes of a part and all it carries: the smaller is the easier to move."""
    return sum(bulk(assembly, name) for name in (part, *assembly.carried_by(part)))


@dataclass(frozen=True, slots=True, eq=False)
class _Attempt:
    """One part's chances of mending one finding by moving."""

    assembly: Assembly
    around: Neighbours
    finding: Finding
    part: str
    budget: Budget

    def best(self, reach: float) -> Vector | None:
        """The cheapest shift (3,) mm, car frame, that mends the finding and breaks nothing; None within `reach`."""
        best = self._cheapest([*self._axes(), *self._slants()], reach)
        if best is not None and _cost(best) <= _FAR:
            return best
        aslant = self._cheapest(_DIAGONALS, reach if best is None else _cost(best))
        return best if aslant is None else aslant

    def move(self, shift: Vector) -> Move:
        """The shift as a move, in words, with what goes along and what has to follow."""
        words = self.assembly.datums.words.shift_words(shift)
        undone = self.around.undone(shift)
        notes = [_CLEARS, *([f"undoes its joint with {_listing(undone)}"] if undone else [])]
        carries = self.around.members[1:]
        along = f" with {_listing(carries)}" if carries else ""
        return Move(self.part, frozen(shift), f"move {self.part}{along} {words} ({'; '.join(notes)})", carries)

    def reason(self) -> str:
        """Why no move of this part will do, direction by direction."""
        words = self.assembly.datums.words
        blocked = [f"{words.shift_words(way).split()[-1]} {self._blocker(way)}" for way in _SIX]
        reach = length_words(MOVE_REACH, words.units)
        return f"no straight move of {self.part} within {reach} along one or two axes will do: {', '.join(blocked)}"

    def _blocker(self, way: Vector) -> str:
        pair = self._own_pair()
        enough = first_clear(self.around, way, MOVE_REACH, pair)
        if enough is None:
            return "is not far enough"
        short = self.around.shortfall(way * enough)
        if short is not None and short.unseated:
            return f"undoes its joint with {short.other}, which is fixed"
        blocker = short.other if short is not None else self.around.in_the_way(way * enough)
        return "ends nowhere clear" if blocker is None else f"is blocked by {blocker}"

    def _own_pair(self) -> tuple[str, str]:
        a, b = self.finding.subjects
        return (a, b) if a in self.around.members else (b, a)

    def _cheapest(self, ways: Sequence[Vector], reach: float) -> Vector | None:
        best: Vector | None = None
        for way in ways:
            clear = first_clear(self.around, way, reach if best is None else _cost(best), budget=self.budget)
            found = self._rounded(way, clear) if clear else None
            if found is None or (best is not None and _cost(found) >= _cost(best)):
                continue
            if self.around.in_the_way(found, self.budget) is None:
                best = found
        return best

    def _rounded(self, way: Vector, length: float) -> Vector:
        """The shift rounded outward to a length one can mark out, as coarse as every limit still allows."""
        exact = way * length
        for grid in _GRIDS["in" if self.assembly.scene.units == "in" else "mm"]:
            coarse = np.sign(exact) * np.ceil(np.abs(exact) / grid - 1e-9) * grid
            if self.around.shortfall(coarse) is None:
                return coarse
        return exact

    def _axes(self) -> list[Vector]:
        """The six directions of the car, most promising first."""
        wanted = self._wanted()
        return sorted(_SIX, key=lambda way: -float(way @ wanted))

    def _slants(self) -> list[Vector]:
        """The direction in which the gap grows fastest, laid into each plane of two axes."""
        flat = [self._wanted() * (np.arange(3) != axis) for axis in range(3)]
        return [way / np.linalg.norm(way) for way in flat if np.count_nonzero(np.abs(way) > _SLIGHT) == 2]

    def _wanted(self) -> Vector:
        """The direction (3,) in which moving the part makes the gap grow fastest, or zero."""
        direction = self.finding.direction
        if direction is None:
            return np.zeros(3)
        return direction if self.finding.subjects[0] in self.around.members else -direction


def first_clear(
    around: Neighbours,
    way: Vector,
    reach: float,
    pair: tuple[str, str] | None = None,
    budget: Budget | None = None,
) -> float | None:
    """How far along the unit vector `way` the first point lies where every limit is kept, mm; None within `reach`.

    With `pair` only that pair's limit counts. None as well where the `budget` ends first.
    """

    def step(gone: float) -> tuple[float, float]:
        if budget is not None and not budget.spend():
            return -1.0, 0.0  # nothing more is asked, so nothing more is found clear
        short = around.shortfall(way * gone, way, pair)
        return (0.0, 0.0) if short is None else (-1.0, short.to_go)

    return first_kept(step, 0.0, reach, stride, _CLOSE).at


def _cost(shift: Vector) -> float:
    axes = np.count_nonzero(shift)
    return float(np.linalg.norm(shift)) * (_TWO_AXES if axes > 1 else 1.0)


def _listing(names: Sequence[str]) -> str:
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


_CLEARS = "clears every neighbour"
_SIX = [sign * axis for axis in np.eye(3) for sign in (1.0, -1.0)]
_DIAGONALS = [(a + b) / np.sqrt(2) for a, b in combinations(_SIX, 2) if a @ b == 0]
_GRIDS = {"mm": (1.0, 0.5, 0.1), "in": (MM_PER_INCH / 16, MM_PER_INCH / 32, MM_PER_INCH / 64)}
_SLIGHT = 0.05
_FRAMEWORK = frozenset({"structure", "body"})
_FAR = 20.0  # mm; a small part moved less than this is not worth moving a large one for
