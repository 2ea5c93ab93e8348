"""Polygons are cut into triangles that cover them exactly, whatever their shape and first corner."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packcheck.arrays import Faces, Floats, Matrix3, Points
from packcheck.frames import turn_matrix
from packcheck.solids.formats.gate import RefusedError
from packcheck.solids.formats.polygons import MAX_CORNERS, _with_skipped_corners, triangles_of

SQUARE = ((0, 0), (10, 0), (10, 10), (0, 10))
NOTCHED = ((0, 0), (40, 0), (40, 20), (20, 20), (20, 30), (0, 30))
DART = ((0, 0), (10, 0), (3, 3), (0, 10))
COMB = (
    (0, 0),
    (70, 0),
    (70, 30),
    (60, 30),
    (60, 5),
    (40, 5),
    (40, 30),
    (30, 30),
    (30, 5),
    (10, 5),
    (10, 30),
    (0, 30),
)
KEYHOLE = ((0, 0), (30, 0), (30, 30), (0, 30), (0, 0), (10, 10), (10, 20), (20, 20), (20, 10), (10, 10))
IN_LINE = ((0, 0), (5, 0), (10, 0), (40, 0), (40, 20), (30, 20), (20, 20), (20, 25), (20, 30), (0, 30), (0, 1))


def cut(outline: tuple[tuple[float, float], ...], turn: Matrix3, first: int = 0) -> tuple[Points, Faces]:
    """The polygon beginning with corner `first`, in a plane turned by `turn`, and its triangles."""
    flat = np.roll(np.array(outline, dtype=float), -first, axis=0)
    points = np.column_stack([flat, np.zeros(len(flat))]) @ turn.T + [3.0, -7.0, 11.0]
    faces, _, remarks = triangles_of(points, np.arange(len(flat)), np.array([len(flat)]))
    assert remarks == ()
    return points, faces


def shoelace(outline: tuple[tuple[float, float], ...]) -> float:
    """Area by the shoelace formula."""
    return sum(a * d - b * c for (a, b), (c, d) in zip(outline, outline[1:] + outline[:1], strict=True)) / 2


def area_vectors(points: Points, faces: Faces) -> Floats:
    corners = points[faces]
    vectors: Floats = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]) / 2
    return vectors


def edges_used_once(faces: Faces) -> set[tuple[int, int]]:
    edges = {(a, b) for face in faces.tolist() for a, b in zip(face, face[1:] + face[:1], strict=True)}
    return {(a, b) for a, b in edges if (b, a) not in edges}


@pytest.mark.parametrize("turn", [(0, 0, 0), (90, 0, 0), (0, 90, 0), (180, 0, 0), (20, 35, 50)])
@pytest.mark.parametrize("first", range(4))
@pytest.mark.parametrize(
    "outline", [SQUARE, NOTCHED, DART, COMB, IN_LINE], ids=["square", "notch", "dart", "comb", "in line"]
)
def test_triangles_cover_the_polygon_and_nothing_else(
    outline: tuple[tuple[float, float], ...], first: int, turn: tuple[float, float, float]
) -> None:
    """Oracle: closed form. The areas of the triangles, all wound as the polygon, sum to its shoelace area; their
    outer edges are those of the polygon, corners in line included.
    """
    rotation = turn_matrix(turn)
    points, faces = cut(outline, rotation, first)
    normal = rotation @ np.array([0.0, 0.0, 1.0])
    areas = area_vectors(points, faces) @ normal
    assert (areas > -1e-9).all()
    assert areas.sum() == pytest.approx(shoelace(outline))
    assert np.linalg.norm(area_vectors(points, faces), axis=1).sum() == pytest.approx(shoelace(outline))
    assert edges_used_once(faces) == {(k, (k + 1) % len(outline)) for k in range(len(outline))}


@settings(max_examples=100, deadline=None)
@given(radii=st.lists(st.floats(1, 50), min_size=4, max_size=24), turn=st.tuples(*[st.floats(-180, 180)] * 3))
def test_any_star_shaped_polygon_is_covered(radii: list[float], turn: tuple[float, float, float]) -> None:
    """Oracle: closed form. The shoelace area."""
    angles = np.linspace(0, 2 * np.pi, len(radii), endpoint=False)
    outline = tuple(
        zip((np.array(radii) * np.cos(angles)).tolist(), (np.array(radii) * np.sin(angles)).tolist(), strict=True)
    )
    points, faces = cut(outline, turn_matrix(turn))
    areas = np.linalg.norm(area_vectors(points, faces), axis=1)
    assert areas.sum() == pytest.approx(shoelace(outline), rel=1e-6)
    assert edges_used_once(faces) == {(k, (k + 1) % len(radii)) for k in range(len(radii))}


def test_polygons_of_many_sizes_keep_their_corners() -> None:
    points = np.array([[0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0], [2, 0, 0], [2, 1, 0.0]])
    corners, counts = np.array([0, 1, 2, 3, 1, 4, 5, 0, 2, 3]), np.array([4, 3, 3])
    faces, _, _ = triangles_of(points, corners, counts)
    assert sorted(map(sorted, faces.tolist())) == [[0, 1, 2], [0, 2, 3], [0, 2, 3], [1, 4, 5]]


def test_bent_quad_is_cut_and_said() -> None:
    points = np.array([[0, 0, 0], [10, 0, 0], [10, 10, 2], [0, 10, 0.0]])
    faces, _, remarks = triangles_of(points, np.arange(4), np.array([4]))
    assert len(faces) == 2
    assert remarks == (
        "faces of more than three corners that are not flat, so that which way they bend is a guess: 1",
    )


def test_polygon_with_corners_in_one_place_is_cut_without_loss() -> None:
    """Oracle: closed form. A square of area 100 with one corner given twice."""
    points = np.array([[0, 0, 0], [10, 0, 0], [10, 0, 0], [10, 10, 0], [0, 10, 0.0]])
    faces, _, _ = triangles_of(points, np.arange(5), np.array([5]))
    assert np.linalg.norm(area_vectors(points, faces), axis=1).sum() == pytest.approx(100)


def test_polygon_that_is_a_line_gives_faces_without_area() -> None:
    points = np.array([[0, 0, 0], [1, 0, 0], [2, 0, 0], [3, 0, 0.0]])
    faces, _, _ = triangles_of(points, np.arange(4), np.array([4]))
    assert np.abs(area_vectors(points, faces)).max() == 0


@pytest.mark.parametrize(
    "outline",
    [
        ((0, 0), (10, 10), (10, 0), (0, 10)),
        ((0, 1), (2, 2), (0, 0), (1, 1)),
        ((0, 0), (10, 0), (0, 7), (10, 10), (4, -5)),
    ],
)
def test_polygon_that_crosses_itself_is_refused(outline: tuple[tuple[float, float], ...]) -> None:
    with pytest.raises(RefusedError, match="crosses or touches itself"):
        cut(outline, np.eye(3))


@pytest.mark.parametrize("count", [0, 1, 2, MAX_CORNERS + 1])
def test_polygon_of_too_few_or_too_many_corners_is_refused(count: int) -> None:
    points = np.zeros((max(count, 3), 3))
    with pytest.raises(RefusedError, match=rf"face 2 has {count}"):
        triangles_of(points, np.concatenate([[0, 1, 2], np.arange(count)]), np.array([3, count]))


def test_vertex_that_is_no_number_is_refused_before_any_cutting() -> None:
    points = np.array([[0, 0, 0], [1, 0, 0], [1, np.nan, 0], [0, 1, 0.0]])
    with pytest.raises(RefusedError, match="without finite"):
        triangles_of(points, np.arange(4), np.array([4]))


def test_hole_joined_to_the_outline_by_a_bridge_stays_open() -> None:
    """Oracle: closed form. A square of 30 with a hole of 10, both listed in one polygon: 900 - 100 = 800."""
    points, faces = cut(KEYHOLE, np.eye(3))
    assert np.linalg.norm(area_vectors(points, faces), axis=1).sum() == pytest.approx(800)


def test_corner_that_clipping_skips_is_put_back() -> None:
    """Oracle: by hand. A square 0 1 3 4 clipped without corner 2, which lies in line between 1 and 3."""
    whole = _with_skipped_corners(np.array([[0, 1, 3], [0, 3, 4]]), 5)
    assert sorted(map(sorted, whole.tolist())) == [[0, 1, 2], [0, 2, 3], [0, 3, 4]]
    assert edges_used_once(whole) == {(0, 1), (1, 2), (2, 3), (3, 4), (4, 0)}


def test_corners_that_clipping_skips_on_two_sides_are_put_back() -> None:
    """Oracle: by hand. A triangle 0 2 5 clipped without 1, 3 and 4."""
    whole = _with_skipped_corners(np.array([[0, 2, 5]]), 6)
    assert len(whole) == 4
    assert edges_used_once(whole) == {(k, (k + 1) % 6) for k in range(6)}
