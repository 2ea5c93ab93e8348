r"""Solids of revolution: cylinder, cone and tube, as facets that stay within a stated error of the true face.

The facets' corners stand a little outside the true circle and their middles as much inside it:

        corner   r (1 + q)            q = (1 - cos(pi/n)) / (1 + cos(pi/n))
      __-----__
     /  true r  \\   <- middle of a facet: r (1 - q)

so that with `n` facets the error is r q either way, for outer faces and for bores.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import acos, ceil, cos, pi

import numpy as np

from packcheck.arrays import Faces, Points, frozen, frozen_faces
from packcheck.solids.core.axes import turned_along
from packcheck.solids.core.solid import Solid, Support
from packcheck.tolerances import DRAFT_ERROR, FACET_ERROR

__all__ = ["band_faces", "disc_faces", "facet_count", "facet_overshoot", "frustum", "tube"]

MIN_FACETS = 8


def facet_count(radius: float, error: float) -> int:
    """How many facets keep a circle of `radius` mm within `error` mm of its chords, either way."""
    ratio = error / radius
    if ratio >= 1:
        return MIN_FACETS
    return max(MIN_FACETS, ceil(pi / acos((1 - ratio) / (1 + ratio))))


def frustum(
    bottom: float, top: float, length: float, along: str, *, facets: int | None = None, error: float = FACET_ERROR
) -> Solid:
    """A cylinder or truncated cone about its middle; `bottom` and `top` are diameters, mm; one may be zero.

    `facets` forces the number of sides (tests do); otherwise it follows from `error`, mm.
    """
    draft = None if facets or error >= DRAFT_ERROR else frustum(bottom, top, length, along, error=DRAFT_ERROR)
    radii = (bottom / 2, top / 2)
    count = facets or facet_count(max(radii), error)
    half = length / 2
    low, high = _ring(radii[0], -half, count), _ring(radii[1], half, count)
    start = len(low)
    faces = [band_faces(0, len(low), start, len(high), count)]
    if len(low) > 1:
        faces.append(disc_faces(0, count)[:, ::-1])
    if len(high) > 1:
        faces.append(disc_faces(start, count))
    vertices = np.vstack([low, high])
    support = _profile_support([(radii[0], -half), (radii[1], half)])
    solid = _solid(vertices, np.vstack(faces), max(radii), count, support)
    return replace(turned_along(solid, along), draft=draft)


def tube(
    outer: float, inner: float, length: float, along: str, *, facets: int | None = None, error: float = FACET_ERROR
) -> Solid:
    """A pipe cut square with a through bore, about its middle; `outer` and `inner` are diameters, mm."""
    draft = None if facets or error >= DRAFT_ERROR else tube(outer, inner, length, along, error=DRAFT_ERROR)
    count = facets or facet_count(outer / 2, error)
    half = length / 2
    corners = [(outer / 2, -half), (outer / 2, half), (inner / 2, half), (inner / 2, -half)]
    vertices = np.vstack([_ring(radius, z, count) for radius, z in corners])
    starts = [k * count for k in range(4)]
    faces = [band_faces(a, count, b, count, count) for a, b in zip(starts, starts[1:] + starts[:1], strict=True)]
    solid = _solid(vertices, np.vstack(faces), outer / 2, count, None)
    return replace(turned_along(solid, along), draft=draft)


def _solid(vertices: Points, faces: Faces, radius: float, count: int, support: Support | None) -> Solid:
    return Solid(
        frozen(vertices),
        frozen_faces(faces),
        error=radius * facet_overshoot(count),
        support=support,
        pieces=frozen(vertices[:1]),
    )


def facet_overshoot(count: int) -> float:
    """How far the corners of `count` facets stand out of a circle, as a share of its radius."""
    c = cos(pi / count)
    return (1 - c) / (1 + c)


def _ring(radius: float, z: float, count: int) -> Points:
    """Corners (count, 3) of one circle, or the single point (1, 3) of a cone's tip."""
    if radius == 0.0:
        return np.array([[0.0, 0.0, z]])
    angles = np.arange(count) * (2 * pi / count)
    reach = radius * (1 + facet_overshoot(count))
    return np.column_stack([reach * np.cos(angles), reach * np.sin(angles), np.full(count, z)])


def band_faces(low: int, low_count: int, high: int, high_count: int, count: int) -> Faces:
    """Triangles between two rings (either may be a single tip), facing away from the axis for low under high."""
    here = np.arange(count)
    after = (here + 1) % count
    a, b = low + here % low_count, low + after % low_count
    c, d = high + here % high_count, high + after % high_count
    triangles = []
    if low_count > 1:
        triangles.append(np.column_stack([a, b, d]))
    if high_count > 1:
        triangles.append(np.column_stack([a, d, c]))
    return np.vstack(triangles)


def disc_faces(start: int, count: int) -> Faces:
    """A disc cut in parallel strips: a fan would make every triangle meet at one corner, and ties are slow."""
    steps = np.arange(count - 2)
    low = (steps + 1) // 2
    high = count - 1 - steps // 2
    third = np.where(steps % 2 == 0, low + 1, high - 1)
    return start + np.column_stack([low, third, high])


_SQUARE = 1e-100  # of a unit direction; less across the axis is none, and dividing by it would overflow


def _profile_support(profile: Sequence[tuple[float, float]]) -> Support:
    """Support points of the solid that a convex profile of (radius, z) corners sweeps about z."""
    corners = np.asarray(profile)

    def support(directions: Points) -> Points:
        across = np.hypot(directions[:, 0], directions[:, 1])
        heights = across[:, None] * corners[:, 0] + directions[:, 2:3] * corners[:, 1]
        best = corners[np.argmax(heights, axis=1)]
        turned = across > _SQUARE
        scale = np.divide(best[:, 0], across, out=np.zeros_like(across), where=turned)
        x = np.where(turned, directions[:, 0] * scale, best[:, 0])
        return np.column_stack([x, directions[:, 1] * scale, best[:, 1]])

    return support
