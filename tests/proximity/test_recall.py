"""What is remembered of a pair never says more than brute force does, wherever the two go next."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packcheck.arrays import frozen, frozen_faces
from packcheck.frames import Pose
from packcheck.proximity import pairs
from packcheck.proximity.nearest import Looked, nearest_points
from packcheck.proximity.pairs import Body, Pair
from packcheck.solids.core.solid import Solid
from packcheck.solids.core.support import polyhedron_support
from tests.oracles.meshes import angle_mesh, ball_mesh, box_mesh, cup_mesh, ring_mesh, torus_mesh
from tests.oracles.shapes import Mesh
from tests.oracles.triangles import Soup, soup_distance, winding_number


def solid_of(mesh: Mesh, *, convex: bool = False, radius: float = 0.0) -> Solid:
    support = polyhedron_support(mesh.vertices) if convex else None
    vertices, faces = frozen(mesh.vertices), frozen_faces(mesh.faces)
    return Solid(vertices, faces, radius, support=support, pieces=vertices[:1])


SHAPES = [
    solid_of(torus_mesh(80, 14)),
    solid_of(cup_mesh(60, 50, 4)),
    solid_of(angle_mesh(60, 40, 5, 70), radius=3.0),
    solid_of(ring_mesh(90, 60, 20)),
    solid_of(box_mesh((40, 30, 20)), convex=True),
    solid_of(ball_mesh(30), convex=True, radius=2.0),
]


def true_gap(a: Solid, b: Solid, pose: Pose) -> float:
    """The distance by brute force, less the radii; -inf where surfaces cross or one holds the other."""
    mine, yours = Soup(a.vertices, a.faces), Soup(pose.apply(b.vertices), b.faces)
    inside = abs(winding_number(yours.vertices[0], mine)) > 0.5 or abs(winding_number(a.vertices[0], yours)) > 0.5
    apart = 0.0 if inside else soup_distance(mine, yours)
    return apart - a.radius - b.radius if apart > 0 else -np.inf


steps = st.tuples(*[st.floats(-1, 1)] * 6, st.sampled_from([0.02, 0.3, 3.0, 40.0]), st.booleans())


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(SHAPES), st.sampled_from(SHAPES), st.lists(steps, min_size=4, max_size=10), st.data())
def test_bounds_of_a_pair_led_about_hold_the_true_gap_everywhere(
    a: Solid, b: Solid, walk: list[tuple[float, ...]], data: st.DataObject
) -> None:
    """Oracle: brute force over all triangles, and winding numbers, in every single place."""
    pair, at, turn = Pair(Body(a), Body(b)), np.array([60.0, 10.0, 0.0]), np.zeros(3)
    for *step, scale, turns in walk:
        at = at + np.array(step[:3]) * scale
        turn = turn + np.array(step[3:]) * scale if turns else turn
        pose = Pose.of(at, turn)
        beyond = data.draw(st.sampled_from([0.5, 8.0, 30.0, np.inf]))
        below = data.draw(st.sampled_from([-np.inf, 2.0, 10.0]))
        true, found = true_gap(a, b, pose), pair.gap(pose, beyond, below)
        if found is None:
            assert true >= beyond - 1e-6
        else:
            assert found.low <= true + 1e-6 or found.low <= 0.0 >= true
            assert found.high >= true - 1e-6
            assert true < 0 or found.high < below or found.value == pytest.approx(true, abs=1e-6)


@pytest.mark.parametrize("beyond", [0.1, 0.5, 1.5])
def test_points_that_would_do_are_no_answer_beyond_what_is_asked(beyond: float) -> None:
    """Oracle: brute force: these two rings cross; that some patches are 1.6 mm apart says nothing nearer."""
    a = b = SHAPES[0]
    pose = Pose.of((60.0, 20.0, 0.0), (40.0, 0.0, 20.0))
    assert true_gap(a, b, pose) == -np.inf
    found = Pair(Body(a), Body(b)).gap(pose, beyond, 2.0)
    assert found is not None
    assert found.low <= 0.0


def test_a_pair_that_hulls_keep_apart_is_measured_once_and_then_only_looked_at(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Oracle: closed form. A box from -20 to 20 and a ring of half width 45, moved off along x from 9.5 apart."""
    looks = []

    def counted(*asked: Any) -> Looked:
        looks.append(asked)
        return nearest_points(*asked)

    monkeypatch.setattr(pairs, "nearest_points", counted)
    pair = Pair(Body(SHAPES[4]), Body(SHAPES[3]))
    found = [pair.gap(Pose.of((74.5 + k, 0, 0)), beyond=10.0) for k in range(100)]
    assert found[0] is not None and found[0].value == pytest.approx(9.5)
    assert all(later is None for later in found[1:])
    assert len(looks) == 1


def test_what_was_near_elsewhere_leads_to_the_same_nearest_points() -> None:
    """Oracle: brute force over all triangles."""
    a, b = Body(SHAPES[0]), Body(SHAPES[1])
    pose = Pose.of((50, 20, 30), (20, 40, 10))
    true = soup_distance(Soup(a.solid.vertices, a.solid.faces), Soup(pose.apply(b.solid.vertices), b.solid.faces))
    for at in ((50, 20, 31), (60, 20, 30), (-50, -20, -30), (0, 0, 0), (200, 0, 0)):
        for turn in ((20, 40, 10), (20, 41, 10), (90, 0, 180)):
            for beyond in (1.0, np.inf):
                front = nearest_points(a.patches, b.patches, Pose.of(at, turn), beyond).front
                found = nearest_points(a.patches, b.patches, pose, front=front).nearest
                assert found is not None
                assert found.distance == pytest.approx(true, abs=1e-9)


def test_what_lies_farther_off_than_asked_is_told_to_be_no_nearer_than_it_is() -> None:
    """Oracle: brute force over all triangles."""
    a, b = Body(SHAPES[0]), Body(SHAPES[1])
    for x in (60.0, 80.0, 100.0, 150.0):
        pose = Pose.of((x, 20, 30), (20, 40, 10))
        mine = Soup(a.solid.vertices, a.solid.faces)
        true = soup_distance(mine, Soup(pose.apply(b.solid.vertices), b.solid.faces))
        looked = nearest_points(a.patches, b.patches, pose, beyond=true / 2)
        assert looked.nearest is None
        assert true / 2 <= looked.low <= true + 1e-9
