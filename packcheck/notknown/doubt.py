r"""What is not known of where one part stands against another, at one setting: how far it can take their gap.

    hard      ball, rounds, boxes: sets; the gap is inside the ends for every world they allow
    likely    a covariance of shift and turn (6, 6) about a zero; taken as one more set, s C^-1 s <= z^2, so that in
              every hard world the gap is inside the ends 95 times in 100 or more

    convex, n from B to A   low = least over points x of A of [n.x - likely(x)] - greatest of B along n - hard(n)
    any, apart              low = gap - farthest       high = sqrt(gap^2 + 2 gap h + m^2)

z is the root of chi squared at 95 in 100 (NIST/SEMATECH e-Handbook, 1.3.6.7.4) for as many independent numbers as
bear on the gap: 1.96 for one (convex parts, shifts alone), 2.80 for three (a plane that shifts and tilts, or a
shift), 3.55 for six.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from packcheck.arrays import Floats, Point, Points, Vector, corners_of
from packcheck.findings import Chance
from packcheck.frames import cross_matrix
from packcheck.tolerances import COVERAGES

__all__ = ["NOTHING", "Doubt", "Round"]

_SIGNS: Final = np.array([[1, 1, 1], [1, 1, -1], [1, -1, 1], [1, -1, -1]], dtype=np.float64)  # corners, by halves
_ARM: Final = 300.0  # mm; at which turns are counted beside shifts
_FLAT: Final = 1e-9  # of the greatest variance: what is less does not count as a number of its own


@dataclass(frozen=True, slots=True, eq=False)
class Round:
    """A ball seen several times, or in part: along n it counts |matrix n| + `extra`, mm.

    Never more than `most`; never less than `least`, the surface of the same part. In motion it changes by no more
    than `turns` mm a radian that its axes turn, and `strays` mm a mm that the parts shift against each other.
    """

    matrix: Floats
    extra: float
    most: float
    least: float = 0.0
    turns: float = 0.0
    strays: float = 0.0

    def widened(self, turned: float, shifted: float) -> Round:
        """The same all over a cell in which axes turn by so many radians, and points shift by so many mm."""
        return replace(self, extra=self.extra + min(self.most, self.turns * turned + self.strays * shifted))

    def along(self, n: Vector) -> float:
        return self._within(float(np.linalg.norm(self.matrix @ n)))

    @property
    def farthest(self) -> float:
        return self._within(float(np.linalg.norm(self.matrix, ord=2)))

    def _within(self, counted: float) -> float:
        return max(self.least, min(self.most, counted + self.extra))


@dataclass(frozen=True, slots=True, eq=False)
class Doubt:
    """How far two parts may stand off their places in the file, relative to each other.

    Parameters
    ----------
    ball : float
        mm, whichever way.
    rounds : tuple of Round
        Balls that count less one way than another.
    boxes : (k, 3, 3)
        The three half edges of each box as rows, mm, car frame.
    twist : (6, 6) or None
        Covariance of shift, mm, and turn, radians, about `origin`, mm, car frame; likely errors alone.
    sides : two arrays (n, 3)
        Points of A and of B, mm, car frame, whose hulls hold them; only where something is likely.
    z : float or None
        Standard uncertainties that count; None where that follows from the pair.
    curved : float
        mm, what first order leaves out of likely errors.
    lost : str
        Why nothing can be said; empty otherwise.
    """

    ball: float = 0.0
    rounds: tuple[Round, ...] = ()
    boxes: Floats = field(default_factory=lambda: np.empty((0, 3, 3)))
    twist: Floats | None = None
    origin: Point = field(default_factory=lambda: np.zeros(3))
    sides: tuple[Points, Points] | None = None
    z: float | None = None
    curved: float = 0.0
    lost: str = ""

    @property
    def nothing(self) -> bool:
        return self is NOTHING or (self.most == 0.0)

    @property
    def hard(self) -> Doubt:
        """Without what is only likely."""
        return self if self.twist is None else replace(self, twist=None, sides=None, curved=0.0)

    def grown(self, by: float) -> Doubt:
        """The same with so many mm more, whichever way."""
        return self if by == 0.0 else replace(self, ball=self.ball + by)

    @property
    def most(self) -> float:
        """The most any gap can change, mm, up or down, likely errors included; inf where nothing is known."""
        if self.lost:
            return np.inf
        return self._farthest_hard + self._likely_farthest

    def least_gap(self, low: float, direction: Vector | None, *, convex: bool) -> float:
        """The least the gap can be, mm, `low` being proven as drawn; -inf where that is not known.

        `direction` (3,) from B to A. Between convex parts the plane across it goes on separating them when one is
        moved a little, so only what is along it counts. How deep others overlap once turned, nobody knows.
        """
        least = low - self.nearer(direction, convex=convex)
        return least if convex or least >= 0 or self.shifts_alone else -np.inf

    def nearer(self, direction: Vector | None, *, convex: bool) -> float:
        """How much nearer the two may be, mm; inf where nothing is known."""
        if self.lost:
            return np.inf
        if convex and direction is not None:
            return self.along(direction) + self._likely_plane(direction)
        return self._farthest_hard + self._likely_farthest

    def across(self, n: Vector) -> float:
        """How much of the room over a plane square to n (3,) what is not known may take, mm."""
        if self.lost:
            return np.inf
        if self.twist is None or self.sides is None:
            return self.along(n)
        worst = min(float(self._standards(side, n).max()) for side in self.sides)
        return self.along(n) + self._coverage(n) * worst + self.curved

    @property
    def shifts_alone(self) -> bool:
        """Whether nothing turns one part against the other, or changes its surface."""
        return self.ball == 0.0 and not self.rounds and not self.turning

    def greatest_gap(self, high: float, direction: Vector | None, points: Points | None = None) -> float:
        """The most the gap can be, mm: no more than the distance of the displaced witness points (2, 3)."""
        if self.lost:
            return np.inf
        far = self._farthest_hard + (self._likely_at(points) if points is not None else self._likely_farthest)
        if direction is None or high < 0:
            return high + far
        along = self.along(direction) + self._likely_along(direction, points)
        return float(min(high + far, np.sqrt(high * high + 2 * high * along + far * far)))

    def reading(self, n: Vector, points: Points | None) -> float:
        """How far off a gap may be found along n (3,), mm, at witness points (2, 3); inf where nothing is known."""
        return np.inf if self.lost else self.along(n) + self._likely_along(n, points)

    def along(self, n: Vector) -> float:
        """What the hard sets come to along the unit vector n (3,), mm."""
        shifted = float(np.abs(self.boxes @ n).sum()) if len(self.boxes) else 0.0
        return self.ball + shifted + sum(one.along(n) for one in self.rounds)

    @property
    def _farthest_hard(self) -> float:
        corners = np.linalg.norm(_SIGNS @ self.boxes, axis=2).max(axis=1).sum() if len(self.boxes) else 0.0
        return self.ball + float(corners) + sum(one.farthest for one in self.rounds)

    @property
    def turning(self) -> bool:
        """Whether anything likely turns the parts against each other."""
        return self.twist is not None and bool(np.trace(self.twist[3:, 3:]) > 0)

    def chance(self, direction: Vector | None, points: Points | None, *, convex: bool) -> Chance | None:
        """How the gap is spread by likely errors; None where there are none."""
        if self.twist is None or self.sides is None:
            return None
        standard = farthest = self._spread_farthest
        if points is not None and direction is not None:
            standard = float(self._standards(points[:1], direction)[0])
        across = direction if convex else None
        if across is not None:
            farthest = float(min(self._standards(side, across).max() for side in self.sides))
        even = across is not None and not self.turning
        return Chance(standard, max(standard, farthest), self._numbers(across), even)

    def _numbers(self, n: Vector | None) -> int:
        """How many independent numbers bear on the gap; on a plane square to n (3,) no more than three."""
        assert self.twist is not None
        if n is None:
            seen = np.eye(6)
        else:
            across = np.linalg.svd(n[None])[2][1:]
            seen = np.vstack([np.append(n, np.zeros(3)), np.hstack([np.zeros((2, 3)), across])])
        weighed = seen * np.repeat([1.0, _ARM], 3)
        variances = np.linalg.eigvalsh(weighed @ self.twist @ weighed.T)
        return max(1, int((variances > _FLAT * self._size).sum()))

    @property
    def _size(self) -> float:
        """The greatest variance, mm^2, turns counted at an arm."""
        assert self.twist is not None
        return float((np.diag(self.twist) * np.repeat([1.0, _ARM**2], 3)).max())

    def _coverage(self, n: Vector | None) -> float:
        return self.z or COVERAGES[self._numbers(n) - 1]

    def _standards(self, points: Points, n: Vector) -> Floats:
        """The standard uncertainty (m,), mm, along n of what is at points (m, 3)."""
        assert self.twist is not None
        rows = np.hstack([np.broadcast_to(n, points.shape), np.cross(points - self.origin, n)])
        found: Floats = np.sqrt(np.maximum(np.einsum("ij,jk,ik->i", rows, self.twist, rows), 0.0))
        return found

    def _likely_plane(self, n: Vector) -> float:
        """How much nearer along n likely errors can bring the parts, seen from either, the lesser."""
        if self.twist is None or self.sides is None:
            return 0.0
        z, found = self._coverage(n), []
        for points, sign in zip(self.sides, (1.0, -1.0), strict=True):
            heights = sign * (points @ n)
            found.append(float((z * self._standards(points, n) - (heights - heights.min())).max()))
        return min(found) + self.curved

    def _likely_along(self, n: Vector, points: Points | None) -> float:
        if self.twist is None:
            return 0.0
        if points is None:
            return self._likely_farthest
        return self._coverage(None) * float(self._standards(points[:1], n)[0]) + self.curved

    def _likely_at(self, points: Points) -> float:
        """How far likely errors take the first of two witness points (2, 3), mm."""
        if self.twist is None:
            return 0.0
        return self._coverage(None) * float(self._worst(points[:1]).max()) + self.curved

    def _worst(self, points: Points) -> Floats:
        """The standard uncertainty (m,), mm, of where points (m, 3) get, along the worst direction of each."""
        assert self.twist is not None
        maps = np.stack([np.hstack([np.eye(3), -cross_matrix(point - self.origin)]) for point in points])
        found = np.linalg.eigvalsh(maps @ self.twist @ maps.transpose(0, 2, 1))[:, 2]
        worst: Floats = np.sqrt(np.maximum(found, 0.0))
        return worst

    @property
    def _spread_farthest(self) -> float:
        """A standard uncertainty, mm, that no gap of the two exceeds."""
        if self.twist is None or self.sides is None:
            return 0.0
        boxes = ((side.min(axis=0), side.max(axis=0)) for side in self.sides)
        return min(
            float(self._worst(corners_of(*box)).max()) for box in boxes
        )  # convex in a point: most at corners

    @property
    def _likely_farthest(self) -> float:
        return 0.0 if self.twist is None else self._coverage(None) * self._spread_farthest + self.curved


NOTHING = Doubt()
"""All is known."""
