"""What is known of a gap, where it need not be known in full."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from packcheck.arrays import Vector

__all__ = ["Bounds"]


@dataclass(frozen=True, slots=True, eq=False)
class Bounds:
    """The gap lies in [low, high] mm; `value` and `direction` (3,), car frame, as in a Separation."""

    low: float
    high: float
    value: float = np.inf
    direction: Vector | None = None

    def least_step(self, way: Vector, needed: float) -> float:
        """How far the first part must travel along the unit vector `way` at the least, mm, for a gap `needed`.

        Its witness points travel with the parts, so the gap is never more than the distance between them:

            a *        |w + t way| >= needed        w: from b's witness point to a's
              | w
            b *---> way
        """
        straight = max(0.0, needed - self.high)
        if self.direction is None or self.value < 0:
            return straight
        along = self.value * float(self.direction @ way)
        farther = needed - max(0.0, self.high - self.value)
        beside = along * along + farther * farther - self.value * self.value
        return max(straight, float(np.sqrt(max(beside, 0.0))) - along) if farther > self.value else straight
