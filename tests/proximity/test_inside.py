"""Winding numbers by patches agree with those by triangles, on which side of the threshold is what counts."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packcheck.proximity.inside import INSIDE, FarField
from packcheck.scene.model.scene import Cylinder, Tube
from packcheck.solids.core.winding import winding_numbers
from packcheck.solids.primitives import build_shape

TUBE = build_shape(Tube(200, 140, 90))[0]


@settings(max_examples=200, deadline=None)
@given(st.tuples(*[st.floats(-130, 130)] * 3))
def test_far_patches_never_put_a_point_on_the_wrong_side(point: tuple[float, float, float]) -> None:
    """Oracle: second method, every triangle counted."""
    exact = winding_numbers(np.array([point]), TUBE.vertices, TUBE.faces)[0]
    seen = FarField(TUBE).winding(np.array(point), INSIDE)
    assert (seen > INSIDE) == (exact > INSIDE)


@pytest.mark.parametrize(
    "point, inside",
    [((85, 0, 0), True), ((0, 0, 0), False), ((99, 0, 44), True), ((85, 0, 50), False)],
)
def test_inside_a_tube_wall(point: tuple[float, ...], inside: bool) -> None:
    """Oracle: closed form. Wall between radii 70 and 100, 45 up and down."""
    assert (FarField(TUBE).winding(np.array(point, dtype=float), INSIDE) > INSIDE) == inside


def test_overlapping_pieces_do_not_cancel() -> None:
    """Oracle: winding numbers add: where two closed pieces overlap the surface winds twice."""
    (rod,) = build_shape(Cylinder(40, 90, "x"))
    shifted = rod.vertices + np.array([10.0, 0, 0])
    vertices = np.vstack([rod.vertices, shifted])
    both = replace(rod, vertices=vertices, faces=np.vstack([rod.faces, rod.faces + len(shifted)]))
    assert FarField(both).winding(np.array([5.0, 1.0, 2.0]), INSIDE) == pytest.approx(2, abs=1e-6)
