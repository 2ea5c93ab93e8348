"""What is not known between two parts while motions go on: at one setting, all over a cell, or at the most."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass, field, replace

import numpy as np

from packcheck.arrays import Floats
from packcheck.kinematics.motions import Drive
from packcheck.notknown.account import Account
from packcheck.notknown.chains import Setting
from packcheck.notknown.doubt import Doubt
from packcheck.search import Cell
from packcheck.tolerances import COVERAGE_ANY

__all__ = ["InMotion", "Lead"]


@dataclass(frozen=True, slots=True, eq=False)
class Lead:
    """One more parameter, the last: a group of parts is led by it.

    `account` is that of the scene with it at a value; what is not known grows by no more than `rate` mm a unit.
    """

    account: Callable[[float], Account]
    rate: float


@dataclass(slots=True, eq=False)
class InMotion:
    """The doubt of a pair over the settings of its drives, and of a lead behind them.

    `roots` are cells that hold every setting, each with the piece that a path is on. `constant` is the doubt where
    it is the same at every one.
    """

    account: Account
    a: str
    b: str
    drives: tuple[Drive, ...]
    roots: tuple[tuple[Cell, dict[str, int]], ...]
    lead: Lead | None = None
    constant: Doubt | None = field(init=False)
    _known: dict[bytes, Doubt] = field(default_factory=dict, init=False)
    _most: float | None = field(default=None, init=False)
    _coverage: float | None = field(default=None, init=False)

    def __post_init__(self) -> None:
        account = self.account if self.lead is None else self.lead.account(0.0)
        self.constant = account.alike(self.a, self.b, self._motions)

    @property
    def _motions(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(drive.motion for drive in self.drives))

    @property
    def most(self) -> float:
        """The most that any gap of the two can change at any setting, mm."""
        if self._most is None:
            self._most = max((self.over(cell).most for cell, _ in self.roots), default=0.0)
        return self._most

    @property
    def mark(self) -> Hashable:
        """What tells this doubt from others of the same parts."""
        if self.constant is not None:
            return self.most
        return self.account.token, self.drives, None if self.lead is None else id(self.lead)

    def at(self, setting: Floats) -> Doubt:
        """The doubt at parameters (k,)."""
        return self._over(setting, np.zeros(len(setting)))

    def over(self, cell: Cell) -> Doubt:
        """A doubt that holds at every setting of a cell."""
        return self._over(cell.centre, cell.halves)

    def growth(self, cell: Cell) -> float:
        """How much more, mm, anything along one direction can come to in a cell than in its middle."""
        if self.constant is not None:
            return 0.0
        over, here = self.over(cell), self.at(cell.centre)
        pairs = list(zip(over.rounds, here.rounds, strict=False))
        if len(over.rounds) == len(here.rounds) and all(np.array_equal(w.matrix, h.matrix) for w, h in pairs):
            rounds = sum(max(wide.extra - one.extra, wide.most - one.most) for wide, one in pairs)
        else:  # in the very middle some cancel
            rounds = sum(wide.farthest for wide in over.rounds)
        return max(0.0, over.ball - here.ball + rounds)

    def _over(self, centre: Floats, halves: Floats) -> Doubt:
        if self.constant is not None:
            return self.constant
        key = centre.tobytes() + halves.tobytes()
        if key not in self._known:
            self._known[key] = self._found(centre, halves)
        return self._known[key]

    def _found(self, centre: Floats, halves: Floats) -> Doubt:
        account = self.account if self.lead is None else self.lead.account(float(centre[-1]))
        rest = found = account.at(self.a, self.b, self.setting(centre))
        if halves[: len(self.drives)].any():
            found = account.at(self.a, self.b, self.setting(centre), self._split(halves))
        if self.lead is not None:
            found = found.grown(self.lead.rate * float(halves[-1]))
        if found.twist is None:
            return found
        z = self._z()
        beyond = max(1.0, z / COVERAGE_ANY)  # remainder and growth are reckoned at that many standard uncertainties
        grown = found.ball - rest.ball
        return replace(found, z=z, ball=found.ball + (beyond - 1.0) * grown, curved=found.curved * beyond**2)

    def _z(self) -> float:
        """Standard uncertainties that hold all that is likely at every setting at once, 95 times in 100."""
        from scipy.special import chdtri

        if self._coverage is None:
            numbers = self.account.numbers(self.a, self.b, self._motions)
            self._coverage = float(np.sqrt(chdtri(numbers, 0.05)))
        return self._coverage

    def _split(self, values: Floats) -> dict[str, Floats]:
        found: dict[str, list[float]] = {}
        for drive, value in zip(self.drives, values, strict=False):
            found.setdefault(drive.motion, []).append(float(value))
        return {name: np.array(own) for name, own in found.items()}

    def setting(self, values: Floats) -> Setting:
        """Parameters (k,) by motion."""
        pieces = self._pieces(values)
        return {name: (own, pieces.get(name, 0)) for name, own in self._split(values).items()}

    def _pieces(self, values: Floats) -> dict[str, int]:
        count = len(self.drives)
        for cell, pieces in self.roots:
            low, high = cell.low[:count], cell.high[:count]
            if (values[:count] >= low - 1e-9).all() and (values[:count] <= high + 1e-9).all():
                return pieces
        raise ValueError(f"no such setting: {values}")
