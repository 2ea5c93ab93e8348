"""What a solid looks like: triangles of its outside, coarse enough to draw and hand on. Nothing is measured on it.

A core without a ball is its own outside. A ball round a point is a sphere, along a line a tube with round ends,
round a convex core the hull of all its corners' balls. Any other wrapped core is shifted along its mitres, so that
its flat faces stand right and its corners stay sharp.
"""

from __future__ import annotations

import numpy as np

from packcheck.arrays import Faces, Floats, Points, Vector
from packcheck.solids.core.solid import Solid
from packcheck.solids.lathe import band_faces
from packcheck.solids.meshes.sheets import mitres_of

__all__ = ["outside", "rod"]

SIDES = 32
"""Of a tube or ball: 0.5 mm off the true face at 100 mm radius."""

SHARP = 0.94
"""Cosine of a corner beyond which a tube's rings would pinch, so that a ball is put there."""


def outside(solid: Solid) -> tuple[Points, Faces]:
    """Vertices (n, 3) mm, own frame, and faces (m, 3) of what can be seen of a solid."""
    seen = solid.draft or solid
    if not seen.radius:
        return seen.vertices, seen.faces
    if seen.closed and seen.convex:
        return _hull(seen.vertices, seen.radius)
    if seen.closed:
        return seen.vertices + seen.radius * mitres_of(seen.vertices, seen.faces)[0], seen.faces
    if len(seen.vertices) == 1:
        return _ball(seen.vertices[0], seen.radius)
    if _is_line(seen):
        return rod(seen.vertices, seen.radius)
    return seen.vertices, seen.faces


def _is_line(solid: Solid) -> bool:
    return bool((solid.faces[:, 1] == solid.faces[:, 2]).all())


def _hull(corners: Points, radius: float) -> tuple[Points, Faces]:
    from scipy.spatial import ConvexHull

    ball = _ball(np.zeros(3), radius)[0]
    points = (corners[:, None] + ball[None]).reshape(-1, 3)
    hull = ConvexHull(points)
    faces = hull.simplices.astype(np.int64)
    a, b, c = points[faces].transpose(1, 0, 2)
    inward = np.einsum("ij,ij->i", np.cross(b - a, c - a), hull.equations[:, :3]) < 0
    faces[inward] = faces[inward][:, ::-1]
    used, packed = np.unique(faces, return_inverse=True)
    return points[used], packed.reshape(-1, 3)


def _ball(centre: Vector, radius: float) -> tuple[Points, Faces]:
    """A sphere of rings, like a globe."""
    rings = radius * _latitudes()
    centres = centre + np.outer(rings[:, 1], [0.0, 0.0, 1.0])
    return _lofted(centres, np.tile(np.eye(3), (len(rings), 1, 1)), rings[:, 0])


def _latitudes() -> Points:
    """Radius and height (k, 2) of the rings of a unit ball from pole to pole."""
    angles = np.linspace(-np.pi / 2, np.pi / 2, SIDES // 2 + 1)
    radii = np.cos(angles)
    radii[[0, -1]] = 0.0
    return np.column_stack([radii, np.sin(angles)])


def rod(line: Points, radius: float) -> tuple[Points, Faces]:
    """A ball of `radius` mm swept along a polyline (n, 3) of at least two points, each different from the last.

    Rings are carried along it; a half globe stands at each end, a globe at sharp corners.
    """
    steps = np.diff(line, axis=0)
    ways = steps / np.linalg.norm(steps, axis=1, keepdims=True)
    turns = np.einsum("ij,ij->i", ways[:-1], ways[1:])
    tangents = np.vstack([ways[:1], ways[:-1] + ways[1:], ways[-1:]])
    tangents[1:-1][turns < -0.999] = ways[:-1][turns < -0.999]
    frames = _carried_frames(tangents / np.linalg.norm(tangents, axis=1, keepdims=True))
    half = SIDES // 4
    globe = radius * _latitudes()
    head, tail = globe[:half], globe[half + 1 :]
    centres = np.vstack([line[0] + head[:, 1:] * ways[0], line, line[-1] + tail[:, 1:] * ways[-1]])
    spread = np.concatenate([head[:, 0], np.full(len(line), radius), tail[:, 0]])
    turned = np.concatenate([np.repeat(frames[:1], half, 0), frames, np.repeat(frames[-1:], half, 0)])
    pieces = [_lofted(centres, turned, spread)]
    pieces += [_ball(corner, radius) for corner in line[1:-1][turns < SHARP]]
    return _joined(pieces)


def _carried_frames(tangents: Points) -> Points:
    """Frames (n, 3, 3), columns two across and one along, that twist as little as they can."""
    across = np.eye(3)[np.argmin(np.abs(tangents[0]))]
    frames = []
    for along in tangents:
        across = across - along * float(across @ along)
        across = across / np.linalg.norm(across)
        frames.append(np.column_stack([across, np.cross(along, across), along]))
    return np.array(frames)


def _lofted(centres: Points, frames: Points, radii: Floats) -> tuple[Points, Faces]:
    """Rings about `centres` joined in order, outward side out; a ring of no radius is one point."""
    angles = np.arange(SIDES) * (2 * np.pi / SIDES)
    circle = np.column_stack([np.cos(angles), np.sin(angles), np.zeros(SIDES)])
    rings = centres[:, None] + radii[:, None, None] * np.einsum("nij,kj->nki", frames, circle)
    counts = np.where(radii > 0, SIDES, 1)
    starts = np.concatenate([[0], np.cumsum(counts)])
    bands = [
        band_faces(int(starts[k]), int(counts[k]), int(starts[k + 1]), int(counts[k + 1]), SIDES)
        for k in range(len(centres) - 1)
    ]
    return np.vstack([ring[:count] for ring, count in zip(rings, counts, strict=True)]), np.vstack(bands)


def _joined(pieces: list[tuple[Points, Faces]]) -> tuple[Points, Faces]:
    starts = np.cumsum([0, *(len(vertices) for vertices, _ in pieces)])
    faces = [faces + start for (_, faces), start in zip(pieces, starts, strict=False)]
    return np.vstack([vertices for vertices, _ in pieces]), np.vstack(faces)
