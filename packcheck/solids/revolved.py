r"""What a part sweeps when it spins: how far out it reaches at each height along the axis.

    out                    A straight edge of the part gets (x, y) across the axis in proportion to the height, so
     |      ___----*       that its distance from the axis is the length of something linear, which is convex. So is
     |  *---    edge       the farthest of all edges between two heights at which corners lie: straight lines from
     |  |                  one of its values to the next lie outside it, never inside. A slanted rod spun is a
     +--+----------+-- z   hyperboloid, and gets as many lines as keep within `FINE` of it.

A ball swept over the core is a disc swept over the profile, since the nearest point of what turns about an axis
lies in the half plane of the point that asks. The disc is taken as a polygon round it. So the profile is never
inside of what is swept, and no farther outside than its `deviation`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from packcheck.arrays import Faces, Floats, Point, Points, Vector, flat_cross
from packcheck.frames import Pose
from packcheck.solids.core.solid import Solid
from packcheck.solids.lathe import band_faces

__all__ = ["FINE", "Profile", "Reach", "profile_of", "reach_of", "revolved"]

FINE: Final = 0.05
"""mm. Straight lines stay within this of the curves they are put for."""

MANY: Final = 200
"""Corners of a profile that are all kept."""

CORNERS: Final = 48
"""Corners of the polygon put round a disc: 0.2 % of its radius outside it."""

ROUND: Final = 128
"""Facets of what is drawn, all the way round; their middles touch the true circle."""

SAME: Final = 1e-7
"""mm. Heights nearer than this are one."""


@dataclass(frozen=True, slots=True)
class Reach:
    """How large what spins is, mm: nothing of it farther out than `farthest`, nor nearer to the axis than `hole`.

    It lies between the heights `low` and `high` along the axis. All of them are true to within `error`.
    """

    farthest: float
    hole: float
    low: float
    high: float
    error: float


@dataclass(frozen=True, slots=True, eq=False)
class Profile:
    """What spins: `runs` of (k, 2) heights along the axis, never falling, and how far out it reaches there, mm.

    It reaches nowhere farther out than they say, and no less than `deviation` mm less; nothing of it is nearer to
    the axis than `hole` mm.
    """

    runs: tuple[Floats, ...]
    hole: float
    deviation: float


def reach_of(solids: Sequence[Solid], pose: Pose, point: Point, axis: Vector) -> Reach:
    """How large solids at `pose` are when they spin about the line through `point` (3,) along the unit `axis` (3,).

    Heights count from `point`; car frame.
    """
    reaches = [_reach(solid, pose, point, _square_to(axis)) for solid in solids]
    return Reach(
        max(one.farthest for one in reaches),
        min(one.hole for one in reaches),
        min(one.low for one in reaches),
        max(one.high for one in reaches),
        max(one.error for one in reaches),
    )


def _square_to(axis: Vector) -> Floats:
    """Three unit vectors as rows, square to each other and right-handed, the last of them `axis`."""
    across = np.linalg.svd(axis[None])[2][1:]
    turned = across if np.cross(across[0], across[1]) @ axis > 0 else across[::-1]
    return np.vstack([turned, axis])


def _reach(solid: Solid, pose: Pose, point: Point, to_axis: Floats) -> Reach:
    used = (pose.apply(solid.vertices[np.unique(solid.faces)]) - point) @ to_axis.T
    farthest = float(np.linalg.norm(used[:, :2], axis=1).max()) + solid.radius
    hole = max(0.0, _hole(solid, pose, point, to_axis[:2]) - solid.radius)
    low, high = float(used[:, 2].min()) - solid.radius, float(used[:, 2].max()) + solid.radius
    return Reach(farthest, hole, low, high, solid.error)


def profile_of(solids: Sequence[Solid], pose: Pose, point: Point, axis: Vector) -> Profile:
    """The profile of solids at `pose` about the line through `point` (3,) along the unit vector `axis`, car frame.

    Heights count from `point`.
    """
    to_axis = _square_to(axis)
    edges, rounding = [], 0.0
    for solid in solids:
        vertices = (pose.apply(solid.vertices) - point) @ to_axis.T
        own = vertices[_edges(solid.faces)]
        if solid.radius > 0:
            own = _flat([_thinned(_rolled(run, solid.radius)) for run in _envelope(own)[0]])
            rounding = max(rounding, solid.radius * (1 / np.cos(np.pi / CORNERS) - 1) + 2 * FINE)
        edges.append(own)
    runs, off = _envelope(np.concatenate(edges))
    reach = reach_of(solids, pose, point, axis)
    return Profile(tuple(map(_thinned, runs)), reach.hole, off + rounding + 2 * FINE + reach.error)


def _edges(faces: Faces) -> Faces:
    """Every edge once, (e, 2); of a point that is all there is, an edge of nothing."""
    pairs = np.vstack([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    return np.unique(np.sort(pairs, axis=1), axis=0)


def _flat(runs: Sequence[Floats]) -> Points:
    """Profiles as edges (e, 2, 3) in one half plane."""
    flat = [np.column_stack([run[:, 1], np.zeros(len(run)), run[:, 0]]) for run in runs]
    return np.concatenate([np.stack([at[:-1], at[1:]], axis=1) for at in flat])


def _envelope(edges: Points) -> tuple[list[Floats], float]:
    """How far out edges (e, 2, 3), spun about z, reach: runs of (k, 2); and how far outside these may lie."""
    heights = np.round(edges[..., 2] / SAME) * SAME
    low, high = heights.min(axis=1), heights.max(axis=1)
    knots, place = np.unique(heights, return_inverse=True)
    corners = np.zeros(len(knots))
    np.maximum.at(corners, place.ravel(), np.linalg.norm(edges[..., :2], axis=2).ravel())
    curves = [_over(edges[(low <= start) & (high >= end)], start, end) for start, end in pairwise(knots.tolist())]
    runs: list[Floats] = []
    run: list[tuple[float, float]] = []
    for height, corner, (after, _) in zip(knots.tolist(), corners.tolist(), [*curves, ([], 0.0)], strict=True):
        beside = [at for _, at in [*run[-1:], *after[:1]]]
        if corner > max(beside, default=-np.inf) + SAME:
            run.append((height, corner))
        run += after[1:] if run and after and abs(run[-1][1] - after[0][1]) <= SAME else after
        if not after:
            runs.append(np.array(run))
            run = []
    return runs, max((off for _, off in curves), default=0.0)


def _over(edges: Points, start: float, end: float) -> tuple[list[tuple[float, float]], float]:
    """The farthest of edges that all span from `start` to `end`: convex, so halved until its chords lie close.

    With how far they lie outside of it, at the most; nothing where there is no edge.
    """
    if not len(edges):
        return [], 0.0

    def reach(height: float) -> float:
        rise = edges[:, 1, 2] - edges[:, 0, 2]
        share = np.clip((height - edges[:, 0, 2]) / rise, 0.0, 1.0)
        at = edges[:, 0, :2] + share[:, None] * (edges[:, 1, :2] - edges[:, 0, :2])
        return float(np.sqrt(np.einsum("ij,ij->i", at, at).max()))

    told = [(start, reach(start))]
    waiting = [(end, reach(end))]
    worst = 0.0
    while waiting:
        (a, at_a), (b, at_b) = told[-1], waiting[-1]
        middle = (a + b) / 2
        at_middle = reach(middle)
        off = at_a + at_b - 2 * at_middle  # twice as far as the chord lies outside in the middle: the most anywhere
        if off > FINE and b - a > SAME:
            waiting.append((middle, at_middle))
        else:
            worst = max(worst, off)
            told.append(waiting.pop())
    return told, worst


def _rolled(run: Floats, radius: float) -> Floats:
    """A profile grown by a ball: a polygon round its disc, laid at every corner and drawn along every line."""
    turns = np.arange(CORNERS // 2 + 1) * (2 * np.pi / CORNERS)
    rim = radius / np.cos(np.pi / CORNERS) * np.column_stack([-np.cos(turns), np.sin(turns)])
    heights = np.unique((run[:, None, 0] + rim[None, :, 0]).ravel())
    reach = np.full(len(heights), -np.inf)
    for height, out in run:
        reach = np.maximum(reach, out + _inside(heights - height, rim))
    for piece in np.split(run, np.flatnonzero(np.diff(run[:, 0]) <= 0) + 1):
        for along, out in rim if len(piece) > 1 else ():
            reach = np.maximum(reach, out + _inside(heights - along, piece))
    return np.column_stack([heights, reach])


def _inside(at: Floats, line: Floats) -> Floats:
    """The values of a broken line (k, 2), rising in its first column, and none outside of it."""
    near = np.clip(at, line[0, 0], line[-1, 0])
    return np.where(np.abs(near - at) <= SAME, np.interp(near, line[:, 0], line[:, 1]), -np.inf)


def _thinned(run: Floats) -> Floats:
    """A run of many corners with fewer, raised so that it lies nowhere inside and at most twice `FINE` outside."""
    if len(run) <= MANY:
        return run
    kept = np.zeros(len(run), dtype=bool)
    ends = [0, *(np.flatnonzero(np.diff(run[:, 0]) <= SAME) + 1).tolist(), len(run)]
    waiting = [(start, end - 1) for start, end in pairwise(ends)]
    while waiting:
        start, end = waiting.pop()
        kept[[start, end]] = True
        if end - start < 2:
            continue
        line = np.interp(run[start : end + 1, 0], run[[start, end], 0], run[[start, end], 1])
        off = np.abs(run[start : end + 1, 1] - line)
        worst = start + int(np.argmax(off))
        if off.max() > FINE:
            waiting += [(start, worst), (worst, end)]
    return run[kept] + [0.0, FINE]


def _hole(solid: Solid, pose: Pose, point: Point, across: Floats) -> float:
    """How near the core comes to the axis, mm: the least distance of its triangles, seen along the axis."""
    flat = (pose.apply(solid.vertices) - point) @ across.T
    corners = flat[solid.faces]
    sides = np.stack([corners, np.roll(corners, -1, axis=1)], axis=2).reshape(-1, 2, 2)
    way = sides[:, 1] - sides[:, 0]
    square = np.einsum("ij,ij->i", way, way)
    share = np.where(square > 0, -np.einsum("ij,ij->i", sides[:, 0], way) / np.where(square > 0, square, 1), 0.0)
    near = sides[:, 0] + np.clip(share, 0, 1)[:, None] * way
    least = float(np.sqrt(np.einsum("ij,ij->i", near, near).min()))
    turning = flat_cross(corners, np.roll(corners, -1, axis=1))
    pierced = np.all(turning > 0, axis=1) | np.all(turning < 0, axis=1)
    return 0.0 if pierced.any() else least


def revolved(profile: Profile, point: Point, axis: Vector) -> tuple[Points, Faces]:
    """The profile spun about its line as triangles: vertices (n, 3), car frame; faces (m, 3), wound outward.

    Between `hole` and the profile it is taken as filled.
    """
    turns = np.arange(ROUND) * (2 * np.pi / ROUND)
    circle = np.column_stack([np.cos(turns), np.sin(turns)]) @ _square_to(axis)[:2]
    vertices: list[Points] = []
    faces: list[Faces] = []
    count = 0
    for run in profile.runs:
        bore = [(run[-1, 0], profile.hole), (run[0, 0], profile.hole)]
        loop = [*((height, out / np.cos(np.pi / ROUND)) for height, out in run), *bore]
        rings = [point + height * axis + (out * circle if out > 0 else np.zeros((1, 3))) for height, out in loop]
        starts = count + np.cumsum([0, *(len(ring) for ring in rings)])
        for k, ring in enumerate(rings):
            after = (k + 1) % len(rings)
            if len(ring) > 1 or len(rings[after]) > 1:
                faces.append(band_faces(starts[k], len(ring), starts[after], len(rings[after]), ROUND))
        vertices += rings
        count = int(starts[-1])
    return np.vstack(vertices), np.vstack(faces)
