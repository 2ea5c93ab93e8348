"""What a part sweeps when it spins, against closed forms and sampling."""

from __future__ import annotations

from itertools import pairwise
from math import hypot, pi, sqrt
from pathlib import Path

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from packcheck.arrays import Floats, frozen, frozen_faces
from packcheck.frames import IDENTITY, Pose
from packcheck.scene.model.scene import Box, Capsule, Cylinder, Mesh, Shape, Sphere, Tube
from packcheck.solids.core.solid import Solid
from packcheck.solids.meshes.files import read_mesh
from packcheck.solids.primitives import build_shape
from packcheck.solids.revolved import FINE, Profile, Reach, profile_of, reach_of, revolved
from tests.assembly.moving_shapes import a_convex_shape, a_tube, points_of, unit

MESHES = Path(__file__).parents[2] / "meshes_demo"
ZERO, Z = np.zeros(3), np.array([0.0, 0.0, 1.0])


def reach(profile: Profile, heights: Floats) -> Floats:
    """How far out the profile reaches at heights, by straight lines; both sides of a jump counted."""
    found = np.full(len(heights), -np.inf)
    for run in profile.runs:
        for (a, at_a), (b, at_b) in pairwise(run):
            within = (heights >= a - 1e-9) & (heights <= b + 1e-9)
            share = np.clip((heights - a) / (b - a), 0, 1) if b > a else np.zeros(len(heights))
            line = np.maximum(at_a, at_b) if b == a else at_a + share * (at_b - at_a)
            found = np.where(within, np.maximum(found, line), found)
    return found


def size(shape: Shape, pose: Pose = IDENTITY) -> Reach:
    return reach_of(build_shape(shape), pose, ZERO, Z)


def volume(profile: Profile, point: Floats = ZERO, axis: Floats = Z) -> float:
    """Of the triangles drawn, which must be closed and wound outward."""
    vertices, faces = revolved(profile, point, axis)
    mesh = trimesh.Trimesh(vertices, faces, process=True)
    assert mesh.is_watertight
    return float(mesh.volume)


def test_a_box_spun_about_its_middle_is_a_disc() -> None:
    """Oracle: closed form. Its corners are hypot(40, 300) / 2 out; the disc is 30 thick."""
    profile = profile_of(build_shape(Box((40, 300, 30))), IDENTITY, ZERO, Z)
    assert size(Box((40, 300, 30))) == Reach(hypot(40, 300) / 2, 0.0, -15.0, 15.0, 0.0)
    assert profile.hole == 0
    assert volume(profile) == pytest.approx(pi * (40**2 + 300**2) / 4 * 30, rel=1e-3)


def test_a_slanted_rod_sweeps_a_hyperboloid() -> None:
    """Oracle: closed form. A line 30 mm from the axis that leans by one in two: out = sqrt(30^2 + (z / 2)^2)."""
    rod = Solid(frozen([[30, -50, -100], [30, 50, 100]]), frozen_faces([[0, 1, 1]]), closed=False)
    profile = profile_of([rod], IDENTITY, ZERO, Z)
    heights = np.linspace(-100, 100, 501)
    true = np.sqrt(30**2 + (heights / 2) ** 2)
    found = reach(profile, heights)
    assert np.all(found >= true - 1e-9)
    assert np.all(found <= true + FINE)
    assert reach_of([rod], IDENTITY, ZERO, Z).farthest == pytest.approx(sqrt(30**2 + 50**2))
    assert profile.hole == pytest.approx(30)


def test_a_cylinder_about_its_own_axis_sweeps_itself() -> None:
    """Oracle: closed form, to the error of its facets and of those of what is drawn (0.06 % of area)."""
    profile = profile_of(build_shape(Cylinder(120, 38)), IDENTITY, ZERO, Z)
    assert size(Cylinder(120, 38)).farthest == pytest.approx(60, abs=0.0005)
    assert np.allclose(profile.runs[0][:, 1], 60, atol=0.001)
    assert volume(profile) == pytest.approx(pi * 60**2 * 38, rel=1e-3)


def test_a_tube_about_its_own_axis_keeps_its_bore() -> None:
    """Oracle: closed form."""
    profile = profile_of(build_shape(Tube(100, 60, 20)), IDENTITY, ZERO, Z)
    assert profile.hole == pytest.approx(30, abs=0.001)
    assert volume(profile) == pytest.approx(pi * (50**2 - 30**2) * 20, rel=2e-3)


def test_a_ball_beside_the_axis_sweeps_a_ring() -> None:
    """Oracle: closed form. A ball of radius 20, 50 mm out: 50 + sqrt(20^2 - z^2), and no nearer than 30."""
    profile = profile_of(build_shape(Sphere(40)), Pose.of((50, 0, 7), (0, 0, 0)), ZERO, Z)
    heights = np.linspace(-12.9, 26.9, 300)
    true = 50 + np.sqrt(20**2 - (heights - 7) ** 2)
    found = reach(profile, heights)
    assert np.all(found >= true - 1e-9)
    assert found[100:200] == pytest.approx(true[100:200], abs=profile.deviation)
    assert size(Sphere(40), Pose.of((50, 0, 7), (0, 0, 0))) == Reach(70, 30, -13, 27, 0)


def test_two_solids_apart_sweep_two_discs() -> None:
    """Oracle: closed form: 100 across and 10 thick, 60 across and 10 thick, 40 mm of nothing between them."""
    (thick,), (thin,) = build_shape(Cylinder(100, 10)), build_shape(Cylinder(60, 10))
    profile = profile_of([thick, thin.placed(Pose.of((0, 0, 50), (0, 0, 0)))], IDENTITY, ZERO, Z)
    assert len(profile.runs) == 2
    assert volume(profile) == pytest.approx(pi * 10 * (50**2 + 30**2), rel=1e-3)


def test_a_capsule_lying_across_the_axis_reaches_its_ends() -> None:
    """Oracle: closed form: half its overall length, and its own thickness."""
    found = size(Capsule(20, 200), Pose.of((0, 0, 0), (90, 0, 0)))
    assert (found.farthest, found.low, found.high) == pytest.approx((100, -10, 10), abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_no_point_of_a_part_spins_outside_of_its_profile(seed: int) -> None:
    """Oracle: brute force: random points of random parts about random lines; and some point does get as far out as
    the profile's own farthest, so that it is not merely large."""
    rng = np.random.default_rng(seed)
    shape = a_tube(rng) if rng.random() < 0.3 else a_convex_shape(rng)
    solids = build_shape(shape)
    pose = Pose.of(rng.uniform(-80, 80, 3), rng.uniform(-180, 180, 3))
    point, axis = rng.uniform(-50, 50, 3), unit(rng)
    profile = profile_of(solids, pose, point, axis)
    points = pose.apply(np.vstack([points_of(rng, solid, 4000) for solid in solids])) - point
    heights = points @ axis
    out = np.linalg.norm(points - heights[:, None] * axis, axis=1)
    assert np.all(reach(profile, heights) >= out - 1e-6)
    assert out.min() >= profile.hole - 1e-6
    found = reach_of(solids, pose, point, axis)
    assert out.max() <= found.farthest + found.error + 1e-6
    assert heights.min() >= found.low - found.error - 1e-6 and heights.max() <= found.high + found.error + 1e-6
    assert np.max([run[:, 1].max() for run in profile.runs]) <= found.farthest + profile.deviation + 1e-6


def test_the_profile_of_a_mesh_is_as_far_out_as_its_farthest_edges_and_no_farther() -> None:
    """Oracle: brute force: every edge of the mesh at 100 places; what they reach in each slice of the height and
    in those beside it. Wrapped in 6 mm everything is 6 mm farther out."""
    solid = read_mesh(Mesh(MESHES / "air_filter.ply", 1.0, "mm")).solid
    point = solid.vertices.mean(axis=0) + np.array([60.0, 0, 0])
    axis = np.array([0.6, 0.0, 0.8])
    corners = solid.vertices[solid.faces]
    starts, ends = corners.reshape(-1, 3), np.roll(corners, -1, axis=1).reshape(-1, 3)
    along = starts + np.linspace(0, 1, 100)[:, None, None] * (ends - starts) - point
    heights = (along @ axis).ravel()
    out = np.linalg.norm(along - (along @ axis)[..., None] * axis, axis=-1).ravel()
    steps = np.linspace(heights.min(), heights.max(), 201)
    bins = np.digitize(heights, steps[1:-1])
    top = np.array([out[bins == k].max() for k in range(200)])
    near = np.maximum(np.maximum(top[:-2], top[1:-1]), top[2:])
    middles = ((steps[:-1] + steps[1:]) / 2)[1:-1]
    pick = np.random.default_rng(1).integers(0, len(heights), 5000)
    for wrap in (0.0, 6.0):
        profile = profile_of([solid.wrapped(wrap)], IDENTITY, point, axis)
        assert np.all(reach(profile, heights[pick]) >= out[pick] + wrap - 1e-6)
        assert reach_of([solid.wrapped(wrap)], IDENTITY, point, axis).farthest == pytest.approx(out.max() + wrap)
        if not wrap:
            assert np.all(reach(profile, middles) <= near + profile.deviation + 1e-6)
