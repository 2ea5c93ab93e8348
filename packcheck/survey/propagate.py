"""From the uncertainty of what goes in to that of what comes out: by first derivatives, and by drawing at random.

Source: GUM (JCGM 100:2008) 5.1.2 and 5.2.2; its supplement 1 (JCGM 101:2008) for the draws.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np

from packcheck.arrays import Floats

__all__ = ["Function", "Spread", "linear", "root_of", "simulated"]

Function: TypeAlias = Callable[[Floats], Floats]
"""What comes out (k,) for what goes in (n,)."""

STEP: Final = 1e-3
"""Step of a central difference, in standard uncertainties of what goes in."""


@dataclass(frozen=True, slots=True, eq=False)
class Spread:
    """What comes out (k,), and its covariance (k, k)."""

    value: Floats
    covariance: Floats

    @property
    def standard(self) -> Floats:
        standard: Floats = np.sqrt(np.diag(self.covariance))
        return standard


def linear(function: Function, values: Floats, covariance: Floats) -> Spread:
    """The law of propagation: derivatives at `values` (n,) and their `covariance` (n, n), correlations included."""
    slopes = np.array(
        [_slope(function, values, k, float(np.sqrt(covariance[k, k])) * STEP) for k in range(len(values))]
    ).T
    return Spread(function(values), slopes @ covariance @ slopes.T)


def _slope(function: Function, values: Floats, place: int, step: float) -> Floats:
    if step == 0.0:
        return np.zeros_like(function(values))
    ahead, behind = values.copy(), values.copy()
    ahead[place] += step
    behind[place] -= step
    return (function(ahead) - function(behind)) / (2 * step)


def simulated(
    function: Function, values: Floats, covariance: Floats, *, seed: int = 1, draws: int = 2000
) -> Floats:
    """What comes out (draws, k) when what goes in is drawn `draws` times; the same draws for the same seed."""
    root = root_of(covariance)
    normal = np.random.default_rng(seed).standard_normal((draws, len(values)))
    return np.array([function(values + root @ drawn) for drawn in normal])


def root_of(covariance: Floats) -> Floats:
    """A matrix whose square is `covariance`, which need not have full rank."""
    size, axes = np.linalg.eigh(covariance)
    root: Floats = axes * np.sqrt(np.maximum(size, 0.0))
    return root
