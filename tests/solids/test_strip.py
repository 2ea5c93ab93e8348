"""Strips: the right metal in the right place, and the right length to cut."""

from __future__ import annotations

from math import acos, cos, dist, pi, radians, sin, tan
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packcheck.assembly.assembly import assemble
from packcheck.bay import Bay, load
from packcheck.frames import IDENTITY, Pose
from packcheck.proximity import Placed, Session
from packcheck.scene import load_scene
from packcheck.scene.model.scene import Extrude, Pipe, Sphere, Strip
from packcheck.solids.core.solid import Solid
from packcheck.solids.developed import developed
from packcheck.solids.primitives import build_shape
from packcheck.tolerances import FACET_ERROR
from tests.scene.writing import shape_of, whats, write

Y = (0.0, 1.0, 0.0)
ANGLE = Strip(30.0, 4.0, ((0.0, 0.0, 0.0), (100.0, 0.0, 0.0), (100.0, 0.0, 80.0)), Y, 12.0)


def volume(solid: Solid) -> float:
    a, b, c = (solid.vertices[solid.faces[:, k]] for k in range(3))
    return float(np.einsum("mi,mi->", a, np.cross(b, c))) / 6


def test_volume_of_a_bent_strip() -> None:
    """Oracle: closed form; two straights and a quarter of a ring: w t (legs + r pi / 2), Pappus."""
    (solid,) = build_shape(ANGLE)
    length = (100 - 12) + (80 - 12) + 12 * pi / 2
    assert volume(solid) == pytest.approx(30 * 4 * length, abs=30 * 20 * 2 * FACET_ERROR)


def test_volume_of_a_mitred_strip_is_that_of_its_middle_line() -> None:
    """Oracle: closed form; what a mitre takes inside it adds outside."""
    (solid,) = build_shape(Strip(30.0, 4.0, ANGLE.through, Y))
    assert volume(solid) == pytest.approx(30 * 4 * 180)
    assert solid.error == 0.0


def test_a_straight_strip_is_a_box() -> None:
    (solid,) = build_shape(Strip(30.0, 4.0, ((0, 0, 5), (60, 0, 5)), Y))
    assert solid.convex
    assert np.allclose([solid.vertices.min(axis=0), solid.vertices.max(axis=0)], [[0, -15, 3], [60, 15, 7]])


def distance_to_strip(point: np.ndarray[tuple[int, ...], np.dtype[np.float64]], way: int) -> float:
    """How far a point in the plane of ANGLE lies from its metal, mm; `way` 1: bent up, -1: down."""
    x, z = float(point[0]), float(point[2]) * way
    if x >= 88 and z <= 12:  # round the bend, whose middle is at (88, 12)
        return max(abs(float(np.hypot(x - 88, z - 12)) - 12) - 2, 0.0)
    foot = float(np.hypot(max(0 - x, x - 88, 0), max(abs(z) - 2, 0)))
    upright = float(np.hypot(max(abs(x - 100) - 2, 0), max(12 - z, z - 80, 0)))
    return min(foot, upright)


@settings(deadline=None, max_examples=150)
@given(x=st.floats(-40, 150), z=st.floats(-40, 120), way=st.sampled_from([1, -1]))
def test_every_point_of_a_bent_strip_is_where_it_should_be(x: float, z: float, way: int) -> None:
    """Oracle: closed form distances to two rectangles and a quarter of a ring."""
    through = tuple((a, b, c * way) for a, b, c in ANGLE.through)
    strip = Placed("strip", build_shape(Strip(30.0, 4.0, through, Y, 12.0)), IDENTITY)
    point = np.array([x, 3.0, z])
    expected = distance_to_strip(point, way)
    ball = Placed("ball", build_shape(Sphere(0.02)), Pose.of((x, 3.0, z)))
    gap = Session().gap(strip, ball)
    assert gap.low is not None and gap.high is not None
    if expected > 0.02:
        assert gap.low <= expected - 0.01 <= gap.high + 1e-9
        assert gap.high - gap.low <= 0.002
    else:
        assert gap.low <= 0.011


@settings(deadline=None, max_examples=60)
@given(
    turns=st.lists(st.tuples(st.integers(-140, 140), st.integers(60, 200)), min_size=1, max_size=5),
    tilt=st.tuples(*[st.integers(-180, 180)] * 3),
    bend=st.integers(4, 8),
)
def test_the_length_of_a_bent_line_is_that_of_its_arcs(
    turns: list[tuple[int, int]], tilt: tuple[int, int, int], bend: int
) -> None:
    """Oracle: brute force; the arcs cut into a thousand chords each, summed up."""
    heading, points = 0.0, [(0.0, 0.0, 0.0), (150.0, 0.0, 0.0)]
    for turn, length in turns:
        heading += radians(turn)
        x, y, _ = points[-1]
        points.append((x + length * cos(heading), y + length * sin(heading), 0.0))
    pose = Pose.of((5, 6, 7), tilt)
    through = [pose.apply(np.array(point)) for point in points]
    total, here = 0.0, through[0]
    for before, corner, after in zip(through, through[1:], through[2:], strict=False):
        a, b = (corner - before) / dist(corner, before), (after - corner) / dist(after, corner)
        angle = acos(float(np.clip(a @ b, -1, 1)))
        start, end = corner - a * bend * tan(angle / 2), corner + b * bend * tan(angle / 2)
        total += dist(here, start)
        if angle > 1e-9:
            inward = (b - a * (a @ b)) / np.linalg.norm(b - a * (a @ b))
            arc = np.linspace(0, angle, 1001)[:, None]
            chords = start + bend * (np.sin(arc) * a + (1 - np.cos(arc)) * inward)
            total += float(np.linalg.norm(np.diff(chords, axis=0), axis=1).sum())
        here = end
    total += dist(here, through[-1])
    made = developed(Pipe(6.0, tuple(tuple(map(float, point)) for point in through), float(bend)))  # type: ignore[misc]
    assert made is not None
    assert made.length == pytest.approx(total, abs=1e-3)
    assert made.low == made.high == made.length


def test_a_strip_is_cut_along_its_neutral_line() -> None:
    """Oracle: Machinery's Handbook, bending sheet metal, from memory: a right angle takes 0.64 T + 1.57 R."""
    made = developed(ANGLE)
    assert made is not None
    straights = (100 - 12) + (80 - 12)
    assert made.length == pytest.approx(straights + 0.64 * 4 + 1.57 * 10, abs=0.05)
    assert made.high == pytest.approx(straights + 12 * pi / 2)
    assert made.low == pytest.approx(straights + (10 + 0.33 * 4) * pi / 2)
    assert made.bends == 1


def test_the_edge_of_a_plate() -> None:
    """Oracle: Pythagoras, 3, 4 and 5."""
    made = developed(Extrude(((0, 0), (30, 0), (0, 40)), 3.0))
    assert made is not None
    assert made.length == 120.0


def test_the_width_lies_square_to_the_bends_unless_said(tmp_path: Path) -> None:
    bent = "strip: {width: 20, thickness: 3, through: [[0, 0, 0], [50, 0, 0], [90, 30, 0]], bend: 6}"
    shape = shape_of(tmp_path, bent)
    assert isinstance(shape, Strip)
    assert np.allclose(np.abs(shape.flat), [0, 0, 1])
    for flat, axis in (("x", 0), ("left", 1), ("fore", 0), ("up", 2)):
        through = [[0, 0, 0], [0, 0, 0]]
        through[1][(axis + 1) % 3] = 50
        shape = shape_of(tmp_path, f"strip: {{width: 20, thickness: 3, through: {through}, flat: {flat}}}")
        assert isinstance(shape, Strip)
        assert shape.flat[axis] == 1.0


@pytest.mark.parametrize(
    ("keys", "what"),
    [
        ("through: [[0, 0, 0], [50, 0, 0]]", "strip runs straight, needs flat"),
        (
            "through: [[0, 0, 0], [50, 0, 0]], flat: x",
            "strip.through item 2 stands 50 mm off the plane square to x",
        ),
        (
            "through: [[0, 0, 0], [50, 0, 0], [50, 40, 0], [50, 40, 9]]",
            "strip.through item 4 stands 9 mm off the plane",
        ),
        ("through: [[0, 0, 0], [50, 0, 0]], flat: wide", "strip.flat is 'wide', needs x, y or z, or a direction"),
        ("through: [[0, 0, 0], [50, 0, 0], [50, 40, 0]], bend: 1", "strip.bend is 1 mm, needs at least 1.5 mm"),
        ("through: [[0, 0, 0], [5, 0, 0], [5, 40, 0]], bend: 8", "strip.through item 2 needs 8 mm of straight"),
        ("through: [[0, 0, 0]]", "strip.through lists 1, needs at least 2"),
    ],
)
def test_strips_that_cannot_be_bent(tmp_path: Path, keys: str, what: str) -> None:
    (told,) = whats(tmp_path, f"parts: {{it: {{strip: {{width: 20, thickness: 3, {keys}}}}}}}")
    assert told.startswith(f"part 'it': {what}")


def test_lengths_to_cut_are_in_the_report(tmp_path: Path) -> None:
    """Oracle: closed forms, as above; a row is one line with its count."""
    path = write(
        tmp_path,
        "packcheck: 1\n"
        "parts:\n"
        "  hanger:\n"
        "    strip: {width: 30, thickness: 4, bend: 12, through: [[0, 0, 0], [100, 0, 0], [100, 0, 80]]}\n"
        "    repeat: {count: 3, step: [0, 60, 0]}\n"
        "  gusset: {at: [0, 0, 300], extrude: {outline: [[0, 0], [30, 0], [0, 40]], thickness: 3}}\n"
        "  line: {pipe: {outside: 8, through: [[0, 0, 500], [100, 0, 500], [100, 90, 500]]}}\n"
        "  block: {at: [0, 0, 900], box: [9, 9, 9]}\n",
    )
    (table,) = (table for table in load(path).check().tables if table.id == "lengths")
    assert [row[:4] for row in table.rows] == [
        ("hanger", 3, "strip 30 x 4", 174.3),
        ("gusset", 1, "plate 3", 120.0),
        ("line", 1, "round 8", 190.0),
    ]
    assert table.rows[2][-1] == "centreline, corners mitred; as typed"
    (only,) = (table for table in load(path).check(["line"]).tables if table.id == "lengths")
    assert len(only.rows) == 1


def test_lengths_to_cut_in_an_inch_scene_are_in_inches(tmp_path: Path) -> None:
    """Oracle: by hand: 4 and 5 in mitred; 10.05 in to the next sixteenth and to both sides; 0.1 in is no 64th."""
    path = write(
        tmp_path,
        "packcheck: 1\nunits: in\n"
        "parts:\n"
        "  line: {pipe: {outside: 3/8 in, through: [[0, 0, 0], [4, 0, 0], [4, 5, 0]]}}\n"
        "  loop: {pipe: {outside: 0.1, through: [[0, 0, 9], [10.05, 0, 9]]}}\n",
    )
    (table,) = (table for table in load(path).check().tables if table.id == "lengths")
    assert table.columns[2:4] == ("stock, in", "cut, in")
    assert [row[2:6] for row in table.rows] == [
        ("round 3/8", "9", "9", "9"),
        ("round 0.100", "10 1/16", "10", "10 1/16"),
    ]


def test_a_strip_rests_and_is_mirrored_like_any_other_part(tmp_path: Path) -> None:
    """Oracle: by head; its underside is 2 below its line, its box 34 wide across the mirror."""
    path = write(
        tmp_path,
        "packcheck: 1\n"
        "parts:\n"
        "  plate: {at: [0, 40 left, 0], box: [300, 60, 10]}\n"
        "  foot: {strip: {width: 30, thickness: 4, bend: 12, through: [[0, 0, 0], [100, 0, 0], [100, 0, 80]]},\n"
        "    faces: {left: 60 left, front: 10 fore, bottom: {above: plate}}}\n"
        "  other: {mirror_of: foot}\n",
    )
    made = Bay(assemble(load_scene(path), use_cache=False)).assembly
    boxes = dict(zip(made.parts, made.boxes, strict=True))
    assert np.allclose(boxes["foot"], [[-10, -60, 5], [92, -30, 87]], atol=0.001)
    assert np.allclose(boxes["other"], [[-10, 30, 5], [92, 60, 87]], atol=0.001)
