"""Least-squares adjustment of a network: where everything is, how sure that is, and how each reading fits.

Source: Wolf, Ghilani, *Adjustment Computations*; redundancy numbers after Baarda 1968 and Förstner 1979. Weights
are the inverse squares of the stated standard uncertainties, and those are taken at their word: the covariance is
not scaled by how well the readings happen to agree. Where they agree badly, that is said (`fit_chance`).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from packcheck.arrays import Floats, Points
from packcheck.frames import Pose
from packcheck.survey.network import ARM, Network, Row, State
from packcheck.survey.refine import Refined, refine
from packcheck.survey.rows import gradients

__all__ = ["UNKNOWN", "Adjustment", "Lack", "adjusted_from", "lacks"]

UNKNOWN: Final = 1000.0
"""mm. A direction in which the readings leave a standard uncertainty of a metre is not determined by them."""

LOADED: Final = 0.1
"""Share of an undetermined direction that a point must carry to be named."""


@dataclass(frozen=True, slots=True, eq=False)
class Lack:
    """A point or body that the readings do not fix, and the unit direction (3,), car, in which a point is free.

    `directions` (k, 3): 1 to 3 of them for a point; for a body they say nothing, and `missing` counts.
    """

    name: str
    directions: Points
    missing: int
    readings: int


@dataclass(frozen=True, eq=False)
class Adjustment:
    """A network at rest. Arrays over rows are (m,); unknowns are in the order of the network."""

    network: Network
    refined: Refined[State]

    @property
    def state(self) -> State:
        return self.refined.state

    @property
    def converged(self) -> bool:
        return self.refined.converged

    @cached_property
    def placed(self) -> Points:
        """Every point (s, 3) in the car, mm."""
        return self.network.place(self.state)

    @cached_property
    def covariance(self) -> Floats:
        """Of the unknowns (n, n), mm^2, turns counted at `ARM`. Huge in directions that are not determined."""
        _, size, vt = np.linalg.svd(self.refined.jacobian, full_matrices=True)
        spread = np.full(len(vt), 1e3 * UNKNOWN)
        spread[: len(size)] = np.minimum(1.0 / np.maximum(size, 1e-9), 1e3 * UNKNOWN)
        covariance: Floats = (vt.T * spread**2) @ vt
        return covariance

    @cached_property
    def left(self) -> Floats:
        """Read less expected, in the unit of each row."""
        left: Floats = -self.refined.residuals * self.network.standards
        return left

    @cached_property
    def redundancy(self) -> Floats:
        """The share of an error in each row that shows in its own residual: 0 unchecked, 1 fully checked."""
        u, size, _ = np.linalg.svd(self.refined.jacobian, full_matrices=False)
        used = u[:, size > 1.0 / UNKNOWN]
        redundancy: Floats = np.clip(1.0 - np.einsum("mk,mk->m", used, used), 0.0, 1.0)
        return redundancy

    @cached_property
    def standardised(self) -> Floats:
        """Residual over its own standard uncertainty; 0 where nothing checks the row. Normal when all is well."""
        checked = self.redundancy > 1e-6
        root = np.sqrt(np.where(checked, self.redundancy, 1.0))
        return np.where(checked, -self.refined.residuals / root, 0.0)

    @property
    def freedom(self) -> int:
        """Rows more than the unknowns that they determine."""
        size = np.linalg.svd(self.refined.jacobian, compute_uv=False)
        return len(self.network.rows) - int(np.sum(size > 1.0 / UNKNOWN))

    @property
    def fit_chance(self) -> float:
        """How often sound readings of the stated accuracies would disagree as much as these or more."""
        from scipy.special import chdtrc

        return float(chdtrc(self.freedom, self.refined.cost)) if self.freedom > 0 else 1.0

    @property
    def accord_chance(self) -> float:
        """How often sound readings of the stated accuracies would agree as well as these or better."""
        from scipy.special import chdtr

        return float(chdtr(self.freedom, self.refined.cost)) if self.freedom > 0 else 1.0

    @property
    def scatter(self) -> float:
        """How many times their stated accuracy the readings scatter; 1 when all is well, also with no check."""
        return float(np.sqrt(self.refined.cost / self.freedom)) if self.freedom > 0 else 1.0

    @cached_property
    def motions(self) -> Floats:
        """How every point moves with the unknowns (s, 3, n)."""
        return self.network.motions(self.state)

    def slope(self, row: Row) -> Floats:
        """How a row, of this network or not, would change with the unknowns (n,)."""
        spots = list(row.spots)
        slope: Floats = np.einsum(
            "ki,kin->n", gradients(row.kind, self.placed[None, spots])[0], self.motions[spots]
        )
        return slope

    def point_covariance(self, spot: int) -> Floats:
        """Of a point by number (3, 3), mm^2, car frame; that of a point on a free body comes from its pose."""
        motion = self.motions[spot]
        covariance: Floats = motion @ self.covariance @ motion.T
        return covariance

    def pose(self, body: str) -> Pose:
        return self.state.poses[self.network.bodies.index(body)]

    def body_covariance(self, bodies: Iterable[str]) -> Floats:
        """Of shifts, mm, and turns, radians, of several bodies about their own zeros (6 k, 6 k), car frame."""
        columns = [self.network.columns(body) for body in bodies]
        index = np.concatenate([np.arange(which.start, which.stop) for which in columns])
        scale = np.tile([1.0, 1.0, 1.0, 1 / ARM, 1 / ARM, 1 / ARM], len(columns))
        covariance: Floats = self.covariance[np.ix_(index, index)] * np.outer(scale, scale)
        return covariance


def adjusted_from(network: Network, start: State) -> Adjustment:
    """The network settled from `start`; `converged` says whether it did settle."""
    return Adjustment(network, refine(network.evaluate, start, network.moved))


def lacks(adjustment: Adjustment) -> tuple[Lack, ...]:
    """Every point and body that the readings leave undetermined, and in which directions."""
    _, size, vt = np.linalg.svd(adjustment.refined.jacobian, full_matrices=True)
    whole = np.zeros(len(vt))
    whole[: len(size)] = size
    null = vt[whole <= 1.0 / UNKNOWN]
    network = adjustment.network
    names = [*(network.spots[k].name for k in network.free), *network.bodies]
    return tuple(lack for name in names for lack in _lack(network, name, null))


def _lack(network: Network, name: str, null: Floats) -> list[Lack]:
    block = null[:, network.columns(name)]
    if not len(null) or np.linalg.norm(block) < LOADED:
        return []
    _, size, vt = np.linalg.svd(block)
    missing = int(np.sum(size > LOADED))
    return [Lack(name, vt[:missing, :3], missing, _readings_of(network, name))] if missing else []


def _readings_of(network: Network, name: str) -> int:
    """How many readings touch a point or body."""
    own = {k for k, spot in enumerate(network.spots) if name in (spot.name, spot.body)}
    touching = ({k for row in one.rows for k in row.spots} for one in network.readings if one.role == "reading")
    return sum(not own.isdisjoint(spots) for spots in touching)
