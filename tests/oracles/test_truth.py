"""The truth of any pair: closed forms, and dense meshes whose own error is known."""

from __future__ import annotations

import numpy as np
import pytest

from tests.oracles.closed_forms import CASES, ClosedForm
from tests.oracles.cover import cells_of
from tests.oracles.meshes import angle_mesh, box_mesh, cup_mesh, lathe_mesh, ring_mesh, torus_mesh
from tests.oracles.polygons import convex_parts
from tests.oracles.shapes import (
    Box,
    Bracket,
    Capsule,
    Cone,
    Cylinder,
    Extrude,
    Pair,
    Pipe,
    Sphere,
    Thing,
    Tube,
    rotation_about,
    single,
)
from tests.oracles.truth import truth

TURNED = rotation_about((1, 2, -1), 40)


def true_gap(a: Thing, b: Thing) -> Bracket:
    return truth(Pair("", "", a, b))


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_bracket_holds_the_closed_form(case: ClosedForm) -> None:
    """Oracle: closed form, derived in `closed_forms`."""
    low, high = truth(case.pair)
    assert low - 1e-9 <= case.expected <= high + 1e-9
    if case.expected > 0 and "inside the bend" not in case.name:  # a whole arc is nearest there
        assert high - low <= 2e-5


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_exchanging_the_two_changes_nothing(case: ClosedForm) -> None:
    ours, theirs = true_gap(case.a, case.b), true_gap(case.b, case.a)
    assert max(ours.low, theirs.low) <= min(ours.high, theirs.high) + 1e-9


OBSTACLES = [
    single(Box((30, 20, 10)), (70, 35, 20), TURNED),
    single(Cylinder(12, 40), (60, -40, 15), TURNED),
    single(Cone(20, 4, 30), (-65, 20, -30), TURNED),
    single(Capsule(8, 50), (5, 4, 3), rotation_about((1, 1, 0), 20)),
    single(Box((20, 15, 50)), (3, -6, 12), rotation_about((0, 0, 1), 30)),
    single(Tube(20, 12, 30), (4, 2, 5), rotation_about((1, 0, 0), 15)),
    single(torus_mesh(240, 8), (0, 0, 10), TURNED),
    single(angle_mesh(30, 20, 4, 25), (-10, -70, 0), TURNED),
]


@pytest.mark.parametrize("other", OBSTACLES, ids=lambda thing: thing.kind)
def test_a_tube_agrees_with_its_dense_mesh(other: Thing) -> None:
    """Oracle: brute force over a mesh of n = 360 sides, nowhere farther than r (1 - cos(pi / n)) from the tube."""
    tube, steps = Tube(100, 80, 90), 360
    mesh = ring_mesh(tube.outer, tube.inner, tube.length, steps)
    chord = tube.outer / 2 * (1 - np.cos(np.pi / steps))
    true, faceted = true_gap(single(tube), other), true_gap(single(mesh), other)
    assert faceted.low - chord <= true.high and true.low <= faceted.high + chord
    assert true.low > 0 and true.width <= 2e-5


@pytest.mark.parametrize("other", OBSTACLES[:3] + OBSTACLES[6:], ids=lambda thing: thing.kind)
def test_a_bent_pipe_agrees_with_the_ball_swept_along_a_fine_polyline(other: Thing) -> None:
    """Oracle: second method. Capsules along n chords of the bend, within R (1 - cos(angle / 2n)) of the arc."""
    bend, radius, steps = 60.0, 8.0, 200
    pipe = Pipe(2 * radius, ((-90, 0, 0), (0, 0, 0), (0, 90, 0)), bend)
    angles = np.linspace(-np.pi / 2, 0, steps + 1)
    arc = np.column_stack([np.cos(angles), np.sin(angles), np.zeros(steps + 1)]) * bend + [-bend, bend, 0]
    points = np.vstack([[-90, 0, 0], arc, [0, 90, 0]])
    sagitta = bend * (1 - np.cos(np.pi / 4 / steps))
    true = true_gap(single(pipe), other)
    swept = true_gap(single(Pipe(2 * radius, tuple(map(tuple, points)))), other)
    assert true.low <= swept.high + sagitta and swept.low - sagitta <= true.high
    assert true.width <= 2e-5


def test_an_angle_section_extruded_agrees_with_its_mesh() -> None:
    """Oracle: brute force over the triangles of the same solid."""
    outline = ((0.0, 0.0), (30.0, 0.0), (30.0, 4.0), (4.0, 4.0), (4.0, 20.0), (0.0, 20.0))
    section, mesh = single(Extrude(outline, 25.0)), single(angle_mesh(30, 20, 4, 25))
    for other in (single(Box((6, 6, 6)), (15, 12, 12), TURNED), single(Sphere(9), (20, 15, 40))):
        assert true_gap(section, other).middle == pytest.approx(true_gap(mesh, other).middle, abs=1e-7)


@pytest.mark.parametrize(
    ("outer", "inner"),
    [
        (single(torus_mesh(120, 30)), single(Sphere(4), (60, 0, 0))),
        (single(cup_mesh(100, 80, 20)), single(box_mesh((4, 4, 4)), (0, 0, 10))),
        (single(Tube(100, 60, 90)), single(Cylinder(10, 20), (40, 0, 0))),
        (single(angle_mesh(100, 100, 30, 60)), single(Cone(6, 2, 9), (15, 60, 30))),
        (single(Box((100, 100, 100))), single(torus_mesh(30, 6))),
        (single(Cylinder(100, 100)), single(cup_mesh(30, 20, 3))),
    ],
    ids=[
        "ball in torus",
        "box in the floor of a cup",
        "rod in a wall",
        "cone in a leg",
        "torus in box",
        "cup in can",
    ],
)
def test_a_thing_inside_another_overlaps(outer: Thing, inner: Thing) -> None:
    """Oracle: closed form. The inner one touches no face of the outer; it overlaps all the same."""
    assert true_gap(outer, inner).high <= 1e-9
    assert true_gap(inner, outer).high <= 1e-9


def test_a_thing_in_a_hollow_is_clear() -> None:
    """Oracle: closed form. Ball of radius 4 on the floor side of a cup with floor 2 and inner radius 8."""
    cup = lathe_mesh("cup", [(0, 0), (10, 0), (10, 30), (8, 30), (8, 2), (0, 2)], steps=4)
    assert true_gap(single(cup), single(Sphere(8), (0, 0, 7))).middle == pytest.approx(1.0, abs=1e-9)


def test_an_overlap_is_no_deeper_than_the_way_out_along_an_axis() -> None:
    """Oracle: closed form. Lifting the rod 20 + 45 along z frees it of the tube."""
    gap = true_gap(single(Tube(100, 60, 90)), single(Cylinder(10, 40), (40, 0, 0)))
    assert -65 <= gap.low <= gap.high <= 1e-9


def test_cells_of_a_tube_hold_inner_within_outer() -> None:
    """Oracle: closed form. Support heights of each inner wedge never pass those of its outer wedge."""
    ways = np.random.default_rng(5).normal(size=(200, 3))
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    for cell in cells_of(single(Tube(50, 48, 20)).pieces[0], single(Tube(50, 48, 20)).pose):
        inner = cell.inner(cell.outer.middle)
        assert not np.any(np.sum((inner.support(ways) - cell.outer.support(ways)) * ways, axis=1) > 1e-9)


@pytest.mark.parametrize(
    ("outline", "parts"),
    [
        (((0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 3.0)), 1),
        (((0.0, 0.0), (0.0, 3.0), (4.0, 3.0), (4.0, 0.0)), 1),
        (((0.0, 0.0), (5.0, 0.0), (5.0, 1.0), (1.0, 1.0), (1.0, 5.0), (0.0, 5.0)), 4),
        (((0.0, 0.0), (6.0, 0.0), (6.0, 5.0), (4.0, 5.0), (4.0, 2.0), (2.0, 2.0), (2.0, 5.0), (0.0, 5.0)), 6),
    ],
    ids=["rectangle", "clockwise", "angle", "channel"],
)
def test_convex_parts_make_up_the_polygon(outline: tuple[tuple[float, float], ...], parts: int) -> None:
    """Oracle: closed form. n - 2 ears of a polygon that is not convex, and the areas add up (shoelace)."""
    found = convex_parts(outline)
    assert len(found) == parts
    assert sum(map(area, found)) == pytest.approx(abs(area(np.array(outline))))


def area(ring: np.ndarray) -> float:
    x, y = ring.T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2
