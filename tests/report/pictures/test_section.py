"""Cutting surfaces with a plane, against closed forms and a second library."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
import trimesh

from packcheck.arrays import Points, Vector
from packcheck.report.pictures.section import cut
from packcheck.scene.model.scene import Box, Tube
from packcheck.solids.primitives import build_shape


def area(loop: Points, normal: Vector) -> float:
    """Signed area of a flat loop, positive when it runs left about `normal`."""
    return float(np.cross(loop, np.roll(loop, -1, axis=0)).sum(axis=0) @ normal) / 2


Z = np.array([0.0, 0.0, 1.0])


@pytest.mark.parametrize("height", [0.0, 4.9, -5.0 + 1e-7])
def test_a_box_is_cut_to_its_rectangle(height: float) -> None:
    """Oracle: closed form, 40 by 30 at any height within it."""
    (box,) = build_shape(Box((40.0, 30.0, 10.0)))
    loops, lines = cut(box.vertices, box.faces, np.array([0.0, 0.0, height]), Z)
    assert not lines
    assert [area(loop, Z) for loop in loops] == [pytest.approx(1200.0)]


def test_the_bore_of_a_tube_runs_the_other_way_round() -> None:
    """Oracle: closed form, pi r^2 of the outer circle, minus pi r^2 of the bore."""
    (tube,) = build_shape(Tube(60.0, 40.0, 100.0))
    loops, _ = cut(tube.vertices, tube.faces, np.zeros(3), Z)
    outer, bore = sorted((area(loop, Z) for loop in loops), reverse=True)
    assert [outer, bore] == pytest.approx([pi * 900, -pi * 400], rel=1e-3)


@pytest.mark.parametrize("seed", range(6))
def test_a_skew_cut_of_a_ring_is_as_long_as_a_second_library_finds(seed: int) -> None:
    """Oracle: trimesh's own section of the same torus by the same plane: the length of all its lines."""
    rng = np.random.default_rng(seed)
    ring = trimesh.creation.torus(major_radius=50, minor_radius=12)
    normal = rng.normal(size=3)
    normal /= np.linalg.norm(normal)
    middle = rng.uniform(-10, 10, 3)
    loops, lines = cut(np.array(ring.vertices), np.array(ring.faces), middle, normal)
    section = ring.section(plane_origin=middle, plane_normal=normal)
    assert section is not None
    assert not lines
    lengths = [np.linalg.norm(loop - np.roll(loop, -1, axis=0), axis=1).sum() for loop in loops]
    assert sum(lengths) == pytest.approx(section.length, rel=1e-6)
    assert sum(area(loop, normal) for loop in loops) > 0


def test_a_plane_that_only_touches_leaves_nothing_of_substance() -> None:
    """Oracle: closed form. The top of the box lies in the plane: what is left is its rim, or nothing."""
    (box,) = build_shape(Box((40.0, 30.0, 10.0)))
    assert cut(box.vertices, box.faces, np.array([0.0, 0.0, 6.0]), Z) == ([], [])
    loops, lines = cut(box.vertices, box.faces, np.array([0.0, 0.0, 5.0]), Z)
    assert len(loops) <= 1
    assert not lines


def test_an_open_surface_is_cut_to_a_line() -> None:
    corners = np.array([[0.0, 0, -1], [10, 0, -1], [0, 0, 1], [10, 0, 1]])
    loops, lines = cut(corners, np.array([[0, 1, 2], [1, 3, 2]]), np.zeros(3), Z)
    assert not loops
    assert len(lines) == 1
    assert sorted(lines[0][:, 0].tolist())[0::2] == [0.0, 10.0]
