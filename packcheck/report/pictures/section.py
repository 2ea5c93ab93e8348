"""Cutting surfaces with a plane: the outlines that the cut leaves."""

from __future__ import annotations

import numpy as np

from packcheck.arrays import Faces, Point, Points, Vector

__all__ = ["cut"]

OFF = 1e-9  # mm; a vertex on the plane is taken to lie this far above it, so that no cut runs along an edge


def cut(vertices: Points, faces: Faces, middle: Point, normal: Vector) -> tuple[list[Points], list[Points]]:
    """Where a plane cuts a surface: closed loops and open lines, each (k, 3) mm.

    Parameters
    ----------
    vertices, faces : (n, 3) mm, (m, 3)
    middle, normal : (3,), (3,)
        A point of the plane, and its unit normal.

    Returns
    -------
    loops, lines
        Loops of an outward wound surface have the material on their left, seen from where `normal` points; the cut
        of an open surface is a line.
    """
    heights = np.einsum("ij,j->i", vertices - middle, normal)
    heights[np.abs(heights) < OFF] = OFF
    above = heights[faces] > 0
    crossed = faces[above.any(axis=1) & ~above.all(axis=1)]
    onward: dict[tuple[int, int], tuple[int, int]] = {}
    for triangle in crossed.tolist():
        start, end = _ends(triangle, heights)
        onward.setdefault(start, end)
    return _chained(onward, vertices, heights)


def _ends(triangle: list[int], heights: Points) -> tuple[tuple[int, int], tuple[int, int]]:
    """The edges where a cut enters and leaves a triangle: up through one, down through another."""
    start = end = (0, 0)
    for i, j in zip(triangle, triangle[1:] + triangle[:1], strict=True):
        if heights[i] > 0 >= heights[j]:
            start = (min(i, j), max(i, j))
        elif heights[j] > 0 >= heights[i]:
            end = (min(i, j), max(i, j))
    return start, end


def _chained(
    onward: dict[tuple[int, int], tuple[int, int]], vertices: Points, heights: Points
) -> tuple[list[Points], list[Points]]:
    loops: list[Points] = []
    lines: list[Points] = []
    reached = set(onward.values())
    beginnings = [edge for edge in onward if edge not in reached]
    while onward:
        start = beginnings.pop() if beginnings else next(iter(onward))
        chain = [start]
        while chain[-1] in onward:
            chain.append(onward.pop(chain[-1]))
        closed = chain[-1] == start
        points = _crossing_points(chain[:-1] if closed else chain, vertices, heights)
        (loops if closed else lines).append(points)
    return loops, lines


def _crossing_points(edges: list[tuple[int, int]], vertices: Points, heights: Points) -> Points:
    a, b = np.array(edges).T
    share = (heights[a] / (heights[a] - heights[b]))[:, None]
    points: Points = vertices[a] + share * (vertices[b] - vertices[a])
    return points
