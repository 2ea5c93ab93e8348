"""A way leads through a part when it goes in on one side and comes out on another."""

from __future__ import annotations

import numpy as np
import pytest

from packcheck.proximity.through import leads_through
from packcheck.scene.model.scene import Box, Tube
from tests.proximity.shapes import Triple, placed


@pytest.mark.parametrize(
    "start, shift, through",
    [
        ((0, 0, 50), (0, 0, -100), True),  # square through both faces, along the diagonal that the triangles share
        ((3, 1, 50), (0, 0, -100), True),
        ((0, 0, 0), (0, 0, -100), False),  # from inside
        ((0, 0, 50), (0, 0, -49), False),  # ends inside
        ((0, 0, 50), (0, 0, -40), False),  # ends before it
        ((60, 0, 50), (0, 0, -100), False),  # beside it
    ],
)
def test_a_plate(start: Triple, shift: Triple, through: bool) -> None:
    """Oracle: by construction: a plate 100 x 100 x 4 round the zero, also where it stands elsewhere and turned."""
    for at, turn in (((0, 0, 0), (0, 0, 0)), ((300, -40, 7), (30, 40, 50))):
        plate = placed(Box((100, 100, 4)), at, turn)
        begin, way = plate.pose.apply(np.array(start, dtype=float)), plate.pose.rotate(np.array(shift, dtype=float))
        assert leads_through(begin, way, plate) is through


def test_down_a_bore_leads_through_nothing() -> None:
    """Oracle: by construction."""
    ring = placed(Tube(60, 30, 20))
    assert not leads_through(np.array([0.0, 0, 50]), np.array([0.0, 0, -100]), ring)
    assert leads_through(np.array([22.0, 0, 50]), np.array([0.0, 0, -100]), ring)
    assert leads_through(np.array([-50.0, 1, 0]), np.array([100.0, 0, 0]), ring)
