"""Laws that every gap obeys, whatever the shapes: witness law, swapping, moving together, scaling, shifting."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from packcheck.arrays import frozen
from packcheck.frames import Pose
from packcheck.proximity import Placed, Session
from packcheck.scene.model.scene import Box, Capsule, Cone, Cylinder, Extrude, Pipe, Shape, Sphere, Tube
from packcheck.solids.primitives import build_shape

sizes = st.integers(1, 120).map(float)
grid = st.integers(-20, 20).map(lambda k: 5.0 * k)
angles = st.sampled_from([0.0, 0.0, 0.0, 30.0, 45.0, 90.0, -12.5])
triples = st.tuples(grid, grid, grid)
turns = st.tuples(angles, angles, angles)

convex_shapes: st.SearchStrategy[Shape] = st.one_of(
    st.builds(Box, st.tuples(sizes, sizes, sizes)),
    st.builds(Sphere, sizes),
    st.builds(Cylinder, sizes, sizes, st.sampled_from("xyz")),
    st.builds(lambda d, more: Capsule(d, d + more), sizes, sizes),
    st.builds(Cone, sizes, sizes, sizes),
)
hollow_shapes: st.SearchStrategy[Shape] = st.one_of(
    st.builds(lambda inner, wall, length: Tube(inner + wall, inner, length), sizes, sizes, sizes),
    st.builds(lambda t: Extrude(((0, 0), (50, 0), (50, 10), (10, 10), (10, 50), (0, 50)), t), sizes),
    st.builds(lambda d: Pipe(d / 4, ((0, 0, 0), (100, 0, 0), (100, 100, 0)), 40), sizes),
)
shapes = st.one_of(convex_shapes, hollow_shapes)


def put(name: str, shape: Shape, at: tuple[float, ...], turn: tuple[float, ...]) -> Placed:
    return Placed(name, build_shape(shape), Pose.of(at, turn))


@settings(max_examples=150, deadline=None)
@given(shapes, shapes, triples, turns)
def test_witness_points_differ_by_the_gap_along_the_direction(
    a: Shape, b: Shape, at: tuple[float, ...], turn: tuple[float, ...]
) -> None:
    """Oracle: the law stated with Separation."""
    gap = Session().gap(put("a", a, (0, 0, 0), (0, 0, 0)), put("b", b, at, turn))
    if gap.points is not None and gap.direction is not None:
        assert np.linalg.norm(gap.direction) == 1 or abs(np.linalg.norm(gap.direction) - 1) < 1e-9
        assert np.allclose(gap.points[0] - gap.points[1], gap.value * gap.direction, atol=1e-6)
    assert gap.low is None or gap.low <= gap.value + 1e-9
    assert gap.high is None or gap.value <= gap.high + 1e-9


@settings(max_examples=80, deadline=None)
@given(shapes, shapes, triples, turns)
def test_swapping_only_flips_the_direction(
    a: Shape, b: Shape, at: tuple[float, ...], turn: tuple[float, ...]
) -> None:
    """Oracle: symmetry of distance."""
    first, second = put("a", a, (0, 0, 0), (0, 0, 0)), put("b", b, at, turn)
    forth, back = Session().gap(first, second), Session().gap(second, first)
    assert (forth.value, forth.low, forth.high) == (back.value, back.low, back.high)
    if forth.direction is not None and back.direction is not None:
        assert np.array_equal(forth.direction, -back.direction)


@settings(max_examples=80, deadline=None)
@given(shapes, shapes, triples, turns)
def test_renaming_the_parts_changes_nothing_that_is_exact(
    a: Shape, b: Shape, at: tuple[float, ...], turn: tuple[float, ...]
) -> None:
    """Oracle: symmetry of distance; names decide which part is asked first."""
    forth = Session().gap(put("a", a, (0, 0, 0), (0, 0, 0)), put("b", b, at, turn))
    back = Session().gap(put("z", a, (0, 0, 0), (0, 0, 0)), put("b", b, at, turn))
    if forth.value > 0.01:
        assert abs(forth.value - back.value) < 1e-6
    assert (forth.value >= -0.01) == (back.value >= -0.01) or abs(forth.value) < 0.02


@settings(max_examples=80, deadline=None)
@given(convex_shapes, convex_shapes, triples, turns, turns, triples)
def test_moving_both_together_changes_nothing(
    a: Shape,
    b: Shape,
    at: tuple[float, ...],
    turn: tuple[float, ...],
    both: tuple[float, ...],
    shift: tuple[float, ...],
) -> None:
    """Oracle: the gap depends on the relative pose only."""
    far = Pose.of(tuple(100 * x for x in shift), both)
    first, second = put("a", a, (0, 0, 0), (0, 0, 0)), put("b", b, at, turn)
    here = Session().gap(first, second)
    there = Session().gap(first.at(far @ first.pose), second.at(far @ second.pose))
    assert abs(here.value - there.value) < 1e-3


@settings(max_examples=80, deadline=None)
@given(convex_shapes, convex_shapes, triples, turns, st.floats(0.1, 40))
def test_moving_along_the_direction_adds_to_the_gap_of_convex_parts(
    a: Shape, b: Shape, at: tuple[float, ...], turn: tuple[float, ...], step: float
) -> None:
    """Oracle: for convex parts the supporting planes move apart by the step (apart), or the depth shrinks by it."""
    session = Session()
    first, second = put("a", a, (0, 0, 0), (0, 0, 0)), put("b", b, at, turn)
    gap = session.gap(first, second)
    assert gap.direction is not None
    if gap.value < 0:
        step = min(step, -gap.value)
    moved = session.gap(first.at(first.pose.shifted(frozen(gap.direction * step))), second)
    assert abs(moved.value - gap.value - step) < 0.002


@settings(max_examples=60, deadline=None)
@given(shapes, shapes, triples, turns)
def test_a_gap_is_no_larger_than_the_way_between_any_two_points_of_the_parts(
    a: Shape, b: Shape, at: tuple[float, ...], turn: tuple[float, ...]
) -> None:
    """Oracle: brute force over the corners of both cores."""
    first, second = put("a", a, (0, 0, 0), (0, 0, 0)), put("b", b, at, turn)
    gap = Session().gap(first, second)
    for one in first.solids:
        for other in second.solids:
            corners = second.pose.apply(other.vertices[:: max(1, len(other.vertices) // 50)])
            apart = np.linalg.norm(one.vertices[:: max(1, len(one.vertices) // 50), None] - corners[None], axis=2)
            grown = one.radius + other.radius + one.error + other.error
            assert gap.low is None or gap.low <= apart.min() - grown + 2 * (one.error + other.error) + 1e-9


def test_a_millimetre_scene_in_tenths_has_gaps_ten_times_smaller() -> None:
    """Oracle: similarity. Facets keep their error in mm, so exact shapes are used."""
    big = Session().gap(
        put("a", Box((50, 40, 30)), (0, 0, 0), (0, 0, 0)), put("b", Sphere(20), (60, 50, 10), (0, 0, 0))
    )
    small = Session().gap(put("a", Box((5, 4, 3)), (0, 0, 0), (0, 0, 0)), put("b", Sphere(2), (6, 5, 1), (0, 0, 0)))
    assert abs(big.value - 10 * small.value) < 1e-9
