"""Distance of two convex cores by conic programming, with a certificate for both ends.

minimise w  subject to  ||x - y|| <= w,  x in core A,  y in core B

The points the solver returns are put back into the cores, so their distance is an upper bound; any direction n
gives the lower bound ``n.(b - a) - h_A(n) - h_B(-n)`` (Boyd & Vandenberghe, Convex Optimization, 2004, section
8.2, distance between sets and its dual), and the solver's own dual is the best such direction it knows.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import clarabel
import numpy as np
from scipy import sparse

from tests.oracles.bodies import Body, Frustum, PointHull, Wedge, shifted
from tests.oracles.shapes import Array

__all__ = ["Closest", "closest", "separation_along"]


@dataclass(frozen=True, slots=True, eq=False)
class Closest:
    """Feasible core points `x` on A and `y` on B, and the best separating direction found, from A to B."""

    x: Array
    y: Array
    low: float

    @property
    def high(self) -> float:
        return float(np.linalg.norm(self.y - self.x))


@dataclass(frozen=True, slots=True, eq=False)
class _Block:
    """A core in the solver's terms: a point is `matrix @ u + offset`; `rows @ u + slack = limits`."""

    matrix: Array
    offset: Array
    rows: Array
    limits: Array
    cones: list[object]


def separation_along(a: Body, b: Body, directions: Array) -> Array:
    """Gap (k,) between the supporting planes of both cores across unit `directions` (k, 3), from A to B."""
    gap: Array = np.einsum("ij,ij->i", directions, b.support(-directions) - a.support(directions))
    return gap


def closest(a: Body, b: Body) -> Closest:
    """The nearest core points of two bodies, and a certified lower bound of their distance, mm."""
    centre = (a.middle + b.middle) / 2
    scale = max(a.reach, b.reach, float(np.linalg.norm(a.middle - b.middle)), 1e-9)
    blocks = [_block(shifted(body, -centre), 1 / scale) for body in (a, b)]
    u, dual = _solve(*blocks)
    size = blocks[0].rows.shape[1]
    x = _inside(a, u[:size], scale)
    y = _inside(b, u[size:], scale)
    candidates = [v / np.linalg.norm(v) for v in (y - x, dual, -dual) if np.linalg.norm(v) > 1e-12]
    low = float(separation_along(a, b, np.array(candidates)).max()) if candidates else -np.inf
    return Closest(x, y, low)


def _block(body: Body, shrink: float) -> _Block:
    match body:
        case PointHull():
            return _hull_block(body, shrink)
        case Frustum():
            return _frustum_block(body, shrink)
        case Wedge():
            return _wedge_block(body, shrink)


def _hull_block(body: PointHull, shrink: float) -> _Block:
    count = len(body.points)
    rows = np.vstack([np.ones((1, count)), -np.eye(count)])
    cones = [clarabel.ZeroConeT(1), clarabel.NonnegativeConeT(count)]
    return _Block(body.points.T * shrink, np.zeros(3), rows, np.r_[1.0, np.zeros(count)], cones)


def _frustum_block(body: Frustum, shrink: float) -> _Block:
    """Own coordinates: across <= mean + slope * z, and -half <= z <= half."""
    mean = (body.bottom + body.top) / 2 * shrink
    half = body.half * shrink
    slope = (body.top - body.bottom) / (2 * body.half)
    rows = np.array([[0, 0, -slope], [-1, 0, 0], [0, -1, 0], [0, 0, 1], [0, 0, -1]])
    cones = [clarabel.SecondOrderConeT(3), clarabel.NonnegativeConeT(2)]
    return _Block(
        body.pose.rotation, body.pose.translation * shrink, rows, np.array([mean, 0, 0, half, half]), cones
    )


def _wedge_block(body: Wedge, shrink: float) -> _Block:
    """Own coordinates: on the disc, beyond the chord, between the side planes, between the flat ends."""
    side = np.tan(body.angle)
    flat = body.half == 0
    ends = [[0, 0, 1]] if flat else [[0, 0, 1], [0, 0, -1]]
    rows = np.array([[0, 0, 0], [-1, 0, 0], [0, -1, 0], [-1, 0, 0], [-side, 1, 0], [-side, -1, 0], *ends])
    limits = np.array([body.far, 0, 0, -body.near, 0, 0, *[body.half] * len(ends)]) * shrink
    last = clarabel.ZeroConeT(1) if flat else clarabel.NonnegativeConeT(2)
    cones = [clarabel.SecondOrderConeT(3), clarabel.NonnegativeConeT(3), last]
    return _Block(body.pose.rotation, body.pose.translation * shrink, rows, limits, cones)


def _solve(a: _Block, b: _Block) -> tuple[Array, Array]:
    """The solver's variables of both cores, and the dual of ``||x - y|| <= w``."""
    na, nb = a.rows.shape[1], b.rows.shape[1]
    distance = np.zeros((4, na + nb + 1))
    distance[0, -1] = -1
    distance[1:, :na], distance[1:, na:-1] = -a.matrix, b.matrix
    rows = np.vstack(
        [
            np.hstack([a.rows, np.zeros((len(a.rows), nb + 1))]),
            np.hstack([np.zeros((len(b.rows), na)), b.rows, np.zeros((len(b.rows), 1))]),
            distance,
        ]
    )
    limits = np.concatenate([a.limits, b.limits, [0.0], a.offset - b.offset])
    cones = [*a.cones, *b.cones, clarabel.SecondOrderConeT(4)]
    cost = np.zeros(na + nb + 1)
    cost[-1] = 1.0
    no_squares = _columns(np.zeros((len(cost), len(cost))))
    solution = clarabel.DefaultSolver(no_squares, cost, _columns(rows), limits, cones, _settings()).solve()
    return np.array(solution.x)[:-1], np.array(solution.z)[-3:]


def _columns(dense: Array) -> sparse.csc_matrix:
    """Compressed columns, built by hand: half the cost of asking scipy to look for the zeros."""
    column, row = np.nonzero(dense.T)
    starts = np.searchsorted(column, np.arange(dense.shape[1] + 1))
    return sparse.csc_matrix((dense[row, column], row, starts), shape=dense.shape)


@lru_cache
def _settings() -> clarabel.DefaultSettings:
    settings = clarabel.DefaultSettings()
    settings.verbose = False
    settings.max_threads = 1
    settings.tol_gap_abs = settings.tol_gap_rel = settings.tol_feas = 1e-13
    return settings


def _inside(body: Body, u: Array, scale: float) -> Array:
    """The solver's point, put back into the core where rounding left it just outside."""
    match body:
        case PointHull(points):
            weights = np.maximum(u, 0.0)
            point: Array = (weights / weights.sum()) @ points
            return point
        case Frustum():
            return body.pose.apply(_inside_frustum(body, u * scale))
        case Wedge():
            return body.pose.apply(_inside_wedge(body, u * scale))


def _inside_frustum(body: Frustum, own: Array) -> Array:
    z = np.clip(own[2], -body.half, body.half)
    allowed = (body.bottom + body.top) / 2 + (body.top - body.bottom) / (2 * body.half) * z
    across = float(np.hypot(own[0], own[1]))
    shrink = min(1.0, allowed / across) if across > 0 else 1.0
    return np.array([own[0] * shrink, own[1] * shrink, z])


def _inside_wedge(body: Wedge, own: Array) -> Array:
    """Drawn towards an inner point just as far as the worst broken condition asks for (all are convex)."""

    def broken(x: float, y: float) -> float:
        side = abs(y) * np.cos(body.angle) - x * np.sin(body.angle)
        return float(max(body.near - x, side, np.hypot(x, y) - body.far))

    inner = np.array([(body.near + body.far) / 2, 0.0])
    margin, fault = -broken(*inner), max(0.0, broken(*own[:2]))
    plan = inner + (own[:2] - inner) * (margin / (margin + fault))
    return np.array([*plan, np.clip(own[2], -body.half, body.half)])
