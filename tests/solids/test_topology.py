"""Edges, pieces and winding of small surfaces that can be counted by hand."""

from __future__ import annotations

import numpy as np
import pytest

from packcheck.solids.core.topology import components, edges_of, pieces_of, wound_alike
from tests.solids.mesh_bytes import Body, box, joined, torus


def pieces(body: Body) -> tuple[list[int], list[bool]]:
    piece, closed = pieces_of(body[1], edges_of(body[1]))
    return np.bincount(piece).tolist(), closed.tolist()


@pytest.mark.parametrize("body", [box(), torus(sides=8, rounds=5)], ids=["box", "ring"])
def test_closed_surface_has_three_edges_for_two_faces(body: Body) -> None:
    """Oracle: closed form. 2 E = 3 F, each edge used once each way."""
    edges = edges_of(body[1])
    assert 2 * len(edges.uses) == 3 * len(body[1])
    assert (edges.uses == 2).all()
    assert edges.balanced
    assert edges.unpaired == 0


def test_single_triangle_has_three_border_edges() -> None:
    edges = edges_of(np.array([[4, 1, 7]]))
    assert edges.ends.tolist() == [[1, 4], [1, 7], [4, 7]]
    assert edges.uses.tolist() == [1, 1, 1]
    assert edges.net.tolist() == [-1, 1, -1]


def test_no_faces_have_no_edges() -> None:
    assert len(edges_of(np.zeros((0, 3), dtype=np.int64)).uses) == 0


def test_components_are_numbered_by_their_first_member() -> None:
    assert components(6, np.array([[5, 1], [2, 4]])).tolist() == [0, 1, 2, 3, 2, 1]


def test_bodies_are_pieces_of_their_own() -> None:
    assert pieces(joined(box(), torus(sides=8, rounds=5))) == ([12, 80], [True, True])


def test_box_without_a_face_is_one_open_piece() -> None:
    vertices, faces = box()
    assert pieces((vertices, faces[1:])) == ([11], [False])


def test_four_faces_on_an_edge_do_not_tie_closed_bodies_together() -> None:
    """Two tetrahedra with a common edge 0-1."""
    one = np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]])
    other = np.array([[0, 4, 1], [0, 1, 5], [0, 5, 4], [1, 4, 5]])
    piece, closed = pieces_of(np.vstack([one, other]), edges_of(np.vstack([one, other])))
    assert piece.tolist() == [0] * 4 + [1] * 4
    assert closed.tolist() == [True, True]


def test_surface_listed_twice_is_one_closed_piece() -> None:
    faces = box()[1]
    piece, closed = pieces_of(np.vstack([faces, faces]), edges_of(np.vstack([faces, faces])))
    assert set(piece.tolist()) == {0}
    assert closed.tolist() == [True]


def test_smaller_party_is_turned() -> None:
    faces = box()[1]
    mixed = faces.copy()
    mixed[[2, 7, 9]] = mixed[[2, 7, 9], ::-1]
    alike, turned = wound_alike(mixed, edges_of(mixed))
    assert turned == 3
    assert edges_of(alike).balanced
    assert (np.sort(alike, axis=1) == np.sort(faces, axis=1)).all()


def test_with_parties_of_one_size_the_first_face_stays() -> None:
    faces = np.array([[0, 1, 2], [1, 2, 3]])
    alike, turned = wound_alike(faces, edges_of(faces))
    assert turned == 1
    assert alike.tolist() == [[0, 1, 2], [3, 2, 1]]
