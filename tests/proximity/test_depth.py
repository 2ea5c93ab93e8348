"""The distance of two convex cores by their supports, and the foot of the origin: closed forms."""

from __future__ import annotations

import numpy as np
import pytest

from packcheck.arrays import Points
from packcheck.frames import Pose
from packcheck.proximity.depth import _weights, convex_distance
from packcheck.tolerances import DEPTH_WIDTH


def ball(radius: float, normals: Points) -> Points:
    """Where a ball about zero reaches farthest."""
    return radius * normals


def test_the_distance_of_two_balls_is_closed_in() -> None:
    """Oracle: closed form: centres at (6, -9, 2) times 2 are 22 apart, and so are balls of 10 and 5 by 7."""
    a_from_b = Pose.of((12, -18, 4), (10, 20, 30))
    found = convex_distance(lambda n: ball(10, n), lambda n: ball(5, n), a_from_b)
    assert found.low <= 7 + 1e-9
    assert found.high >= 7 - 1e-9
    assert found.high - found.low <= DEPTH_WIDTH


def test_the_foot_of_the_origin_is_weighed() -> None:
    """Oracle: closed form: the foot is drawn as 0.2, 0.3 and 0.5 of the corners, and the plane shifted square."""
    corners = np.array([[40.0, 0.0, 0.0], [0.0, 70.0, 0.0], [-20.0, -30.0, 0.0]])
    weights = np.array([0.2, 0.3, 0.5])
    triangle = corners - weights @ corners + np.array([0.0, 0.0, 9.0])
    assert _weights(triangle) == pytest.approx(weights)
