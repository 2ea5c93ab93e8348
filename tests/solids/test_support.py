"""Support points of a polyhedron."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from packcheck.solids.core.support import polyhedron_support
from tests.solids.mesh_bytes import ball, box


@given(directions=st.lists(st.tuples(*[st.floats(-1, 1)] * 3), min_size=1, max_size=20))
def test_support_point_is_the_farthest_vertex(directions: list[tuple[float, float, float]]) -> None:
    """Oracle: brute force. No vertex lies farther along the direction, and the point is a vertex."""
    vertices = ball(50, 6, 8)[0]
    along = np.array(directions)
    points = polyhedron_support(vertices)(along)
    for direction, point in zip(along, points, strict=True):
        assert (vertices == point).all(axis=1).any()
        assert point @ direction >= (vertices @ direction).max() - 1e-12


def test_length_of_the_direction_does_not_matter() -> None:
    support = polyhedron_support(box()[0])
    assert support(np.array([[1e-9, 2e-9, -1e-9], [1e9, 2e9, -1e9]])).tolist() == [[5, 10, -15], [5, 10, -15]]


def test_support_keeps_its_own_copy() -> None:
    vertices = box()[0]
    support = polyhedron_support(vertices)
    vertices += 100
    assert support(np.array([[1.0, 1.0, 1.0]])).tolist() == [[5, 10, 15]]
