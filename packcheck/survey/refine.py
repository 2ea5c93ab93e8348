"""Nonlinear least squares on any space in which a step can be taken: points, turns, plain parameters.

Turns have no coordinates without a seam, so the unknowns are a `state` that `moved` shifts by a small step; at each
state the residuals and their derivatives by such a step are asked for anew.

Source: Levenberg 1944; Marquardt 1963; the damping schedule of Nielsen 1999.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Generic, TypeVar

import numpy as np

from packcheck.arrays import Floats

__all__ = ["Refined", "refine"]

State = TypeVar("State")

MOST_STEPS: Final = 200

FLAT: Final = 1e-9
"""Cosine between the residuals and every column of their derivatives at which the bottom is reached."""

LEAST_DAMPING: Final = 1e-20
"""Keeps a direction that no residual depends on from being undefined."""

NOTHING: Final = 1e-7
"""Residuals this small all together are the noise of reckoning, with no slope to speak of."""

STILL: Final = 1e-11
"""Step, against the size of its own column's effect on the residuals, below which nothing moves any more."""


@dataclass(frozen=True, slots=True, eq=False)
class Refined(Generic[State]):
    """Where it ended: the `state`, its residuals (m,), their derivatives (m, n), and whether it is the bottom."""

    state: State
    residuals: Floats
    jacobian: Floats
    converged: bool
    steps: int

    @property
    def cost(self) -> float:
        """Sum of squared residuals."""
        return float(self.residuals @ self.residuals)


def refine(
    evaluate: Callable[[State], tuple[Floats, Floats]],
    start: State,
    moved: Callable[[State, Floats], State],
    *,
    most: int = MOST_STEPS,
) -> Refined[State]:
    """The state near `start` with the least sum of squared residuals.

    Parameters
    ----------
    evaluate : callable
        Residuals (m,) and their derivatives (m, n) at a state; infinite or undefined residuals end a step.
    start : State
    moved : callable
        The state shifted by a step (n,).

    Returns
    -------
    Refined
        `converged` is False when `most` steps did not reach a place where the residuals are square to every
        derivative; such an answer is no answer.
    """
    state = start
    residuals, jacobian = evaluate(state)
    scale = _scale(jacobian)
    damping, growth = 1e-3, 2.0
    for count in range(most):
        if _flat(residuals, jacobian):
            return Refined(state, residuals, jacobian, True, count)
        step = _step(residuals, jacobian, scale, damping)
        after = moved(state, step)
        tried, derivatives = evaluate(after)
        gain = _gain(residuals, jacobian, step, tried)
        if gain > 0:
            still = float(np.linalg.norm(step * scale)) <= STILL * (1.0 + float(np.linalg.norm(residuals)))
            state, residuals, jacobian = after, tried, derivatives
            scale = np.maximum(scale, _scale(jacobian))
            damping, growth = damping * max(1 / 3, 1 - (2 * min(gain, 1.0) - 1) ** 3), 2.0
            if still:
                return Refined(state, residuals, jacobian, True, count + 1)
        elif damping > 1e12:
            return Refined(state, residuals, jacobian, _flat(residuals, jacobian, slack=1e3), count + 1)
        else:
            damping, growth = damping * growth, growth * 2
    return Refined(state, residuals, jacobian, False, most)


def _scale(jacobian: Floats) -> Floats:
    norms: Floats = np.linalg.norm(jacobian, axis=0)
    return np.where(norms > 0, norms, 1.0)


def _flat(residuals: Floats, jacobian: Floats, *, slack: float = 1.0) -> bool:
    size = float(np.linalg.norm(residuals))
    if size <= NOTHING:
        return True
    slope = np.abs(residuals @ jacobian) / _scale(jacobian) / size
    return float(slope.max(initial=0.0)) <= FLAT * slack


def _step(residuals: Floats, jacobian: Floats, scale: Floats, damping: float) -> Floats:
    """The damped Gauss-Newton step (n,), from the rows themselves: squaring them would lose half the figures."""
    rows = np.vstack([jacobian / scale, np.sqrt(max(damping, LEAST_DAMPING)) * np.eye(len(scale))])
    q, r = np.linalg.qr(rows)
    step: Floats = np.linalg.solve(r, -residuals @ q[: len(residuals)]) / scale
    return step


def _gain(residuals: Floats, jacobian: Floats, step: Floats, tried: Floats) -> float:
    """How much of the promised fall came true; negative when the sum of squares rose."""
    cost = float(residuals @ residuals)
    after = float(tried @ tried)
    if not np.isfinite(after) or after > cost:
        return -1.0
    linear = residuals + jacobian @ step
    promised = cost - float(linear @ linear)
    return (cost - after) / promised if promised > 0 else 1.0
