"""What is mended, what is left, and that neither happens in silence."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packcheck.solids.core.mend import merged
from packcheck.solids.meshes.clean import Surface, understood
from packcheck.solids.meshes.files import LoadedMesh, read_mesh
from tests.solids.measuring import volume_of, winding_at
from tests.solids.mesh_bytes import Body, as_obj, as_ply, as_stl, ball, box, grid, joined, spec_of, torus, turned

CENTRE = np.zeros(3)
CUBE, INNER = box((100, 100, 100)), box((40, 40, 40))


def read(folder: Path, body: Body) -> LoadedMesh:
    return read_mesh(spec_of(folder, "a.ply", as_ply(body)), use_cache=False)


def understand(body: Body) -> Surface:
    surface = understood(merged(*body, soup=False))
    assert surface is not None
    return surface


def apart(body: Body) -> Body:
    """Every triangle with corners of its own."""
    vertices, faces = body
    return vertices[faces].reshape(-1, 3), np.arange(faces.size).reshape(-1, 3)


def without(body: Body, *which: int) -> Body:
    return body[0], np.delete(body[1], which, axis=0)


def with_flipped(body: Body, *which: int) -> Body:
    faces = body[1].copy()
    faces[list(which)] = faces[list(which), ::-1]
    return body[0], faces


def test_duplicate_vertices_are_merged_and_counted(tmp_path: Path) -> None:
    """Oracle: closed form. 36 corners of 12 triangles stand in 8 places: 28 too many."""
    loaded = read(tmp_path, apart(box()))
    assert loaded.account.closed
    assert loaded.account.repaired == ("merged 28 duplicate vertices",)


def test_merging_the_corners_of_an_stl_is_no_repair(tmp_path: Path) -> None:
    loaded = read_mesh(spec_of(tmp_path, "a.stl", as_stl(box())), use_cache=False)
    assert loaded.account.repaired == ()


def test_negative_zero_is_zero(tmp_path: Path) -> None:
    vertices, faces = apart(box(at=(5, 10, 15)))
    vertices[::2][vertices[::2] == 0.0] = -0.0
    assert read(tmp_path, (vertices, faces)).account.closed


def test_one_missing_face_leaves_an_open_surface(tmp_path: Path) -> None:
    loaded = read(tmp_path, without(CUBE, 3))
    assert not loaded.account.closed
    assert not loaded.solid.closed
    assert loaded.solid.open_surface
    assert loaded.account.unrepaired == ("open border: 3 edges in 1 loop",)


def test_two_holes_are_two_loops(tmp_path: Path) -> None:
    loaded = read(tmp_path, without(CUBE, 0, 1, 2, 3))
    assert loaded.account.unrepaired == ("open border: 8 edges in 2 loops",)


def test_one_flipped_face_is_turned_to_agree(tmp_path: Path) -> None:
    loaded = read(tmp_path, with_flipped(CUBE, 5))
    assert loaded.account.repaired == ("turned 1 face to agree with the rest",)
    assert volume_of(loaded.solid) == pytest.approx(1e6)


def test_inside_out_body_is_turned(tmp_path: Path) -> None:
    loaded = read(tmp_path, turned(CUBE))
    assert loaded.account.repaired == ("turned the whole surface outward",)
    assert volume_of(loaded.solid) == pytest.approx(1e6)


def test_cavity_stays_a_cavity(tmp_path: Path) -> None:
    """Oracle: closed form. 100^3 - 40^3 = 936 000 mm3; the middle is empty."""
    loaded = read(tmp_path, joined(CUBE, turned(INNER)))
    assert loaded.account.closed
    assert loaded.account.repaired == loaded.account.unrepaired == ()
    assert volume_of(loaded.solid) == pytest.approx(936_000)
    assert winding_at(CENTRE, loaded.solid) == pytest.approx(0, abs=1e-9)


def test_hollow_body_drawn_inside_out_is_turned_as_one(tmp_path: Path) -> None:
    """Oracle: closed form, as for the cavity: turning all keeps the hollow hollow."""
    loaded = read(tmp_path, turned(joined(CUBE, turned(INNER))))
    assert loaded.account.repaired == ("turned the whole surface outward",)
    assert volume_of(loaded.solid) == pytest.approx(936_000)
    assert winding_at(CENTRE, loaded.solid) == pytest.approx(0, abs=1e-9)


def test_body_within_a_cavity_stays_solid(tmp_path: Path) -> None:
    """Oracle: closed form. 100^3 - 40^3 + 10^3."""
    loaded = read(tmp_path, joined(CUBE, turned(INNER), box((10, 10, 10))))
    assert loaded.account.repaired == loaded.account.unrepaired == ()
    assert volume_of(loaded.solid) == pytest.approx(937_000)
    assert winding_at(CENTRE, loaded.solid) == pytest.approx(1)


def test_inside_out_body_within_a_cavity_is_turned_alone(tmp_path: Path) -> None:
    loaded = read(tmp_path, joined(CUBE, turned(INNER), turned(box((10, 10, 10)))))
    assert loaded.account.repaired == ("turned piece 3 outward",)
    assert volume_of(loaded.solid) == pytest.approx(937_000)


def test_solid_drawn_within_a_solid_stays_solid_and_is_said(tmp_path: Path) -> None:
    """The safe reading: what is in there counts as inside, never as clear."""
    loaded = read(tmp_path, joined(CUBE, INNER))
    assert loaded.account.unrepaired == ("piece 2 lies inside another and wound as solid, not as cavity",)
    assert winding_at(CENTRE, loaded.solid) == pytest.approx(2)


def test_one_of_two_bodies_inside_out_is_turned_alone(tmp_path: Path) -> None:
    loaded = read(tmp_path, joined(box(), turned(box(at=(100, 0, 0)))))
    assert loaded.account.repaired == ("turned piece 2 outward",)
    assert volume_of(loaded.solid) == pytest.approx(12_000)


def test_inward_piece_that_sticks_out_is_no_cavity(tmp_path: Path) -> None:
    loaded = read(tmp_path, joined(CUBE, turned(box((40, 40, 40), at=(50, 0, 0)))))
    assert loaded.account.repaired == ("turned piece 2 outward",)


def test_overlapping_bodies_are_two_closed_pieces(tmp_path: Path) -> None:
    loaded = read(tmp_path, joined(CUBE, box((100, 100, 100), at=(50, 20, 10))))
    assert loaded.account.closed
    assert loaded.account.pieces == 2
    assert loaded.account.repaired == loaded.account.unrepaired == ()


def test_boxes_that_touch_along_an_edge_are_two_closed_pieces(tmp_path: Path) -> None:
    loaded = read(tmp_path, joined(box((10, 10, 10)), box((10, 10, 10), at=(10, 10, 0))))
    assert loaded.account.closed
    assert loaded.account.pieces == 2
    assert volume_of(loaded.solid) == pytest.approx(2000)


def test_boxes_that_share_a_wall_are_closed(tmp_path: Path) -> None:
    loaded = read(tmp_path, joined(box((10, 10, 10)), box((10, 10, 10), at=(10, 0, 0))))
    assert loaded.account.closed
    assert volume_of(loaded.solid) == pytest.approx(2000)


def test_faces_that_stand_twice_wind_twice_and_are_said(tmp_path: Path) -> None:
    loaded = read(tmp_path, joined(CUBE, CUBE))
    assert loaded.account.closed
    assert "12 faces stand twice" in loaded.account.unrepaired
    assert winding_at(CENTRE, loaded.solid) == pytest.approx(2)


def test_one_face_that_stands_twice_is_dropped_once(tmp_path: Path) -> None:
    vertices, faces = CUBE
    loaded = read(tmp_path, (vertices, np.vstack([faces, faces[:1]])))
    assert loaded.account.closed
    assert loaded.account.repaired == ("dropped 1 face that stood twice",)


def test_sheet_drawn_from_both_sides_is_an_open_surface(tmp_path: Path) -> None:
    """It encloses nothing: as a closed body its winding number would vanish on both sides."""
    sheet = grid(lambda x, y: np.stack([x, y, 0.01 * x * y], axis=1), 5, 5)
    loaded = read(tmp_path, joined(sheet, turned(sheet)))
    assert loaded.account.triangles == 50
    assert loaded.solid.open_surface
    assert "dropped 50 faces lying back to back on others" in loaded.account.repaired


def test_faces_without_area_are_dropped_and_said(tmp_path: Path) -> None:
    vertices, faces = box()
    vertices = np.vstack([vertices, [[100, 0, 0], [101, 0, 0], [102, 0, 0]]])
    loaded = read(tmp_path, (vertices, np.vstack([faces, [[0, 0, 1]], [[8, 9, 10]]])))
    assert loaded.account.closed
    assert loaded.account.triangles == 12
    assert loaded.account.extents == (10, 20, 30)
    assert loaded.account.repaired == ("dropped 1 face without area", "dropped 1 face without area")


def test_face_without_area_that_closes_a_seam_stays(tmp_path: Path) -> None:
    """A side of a tetrahedron split at the middle of one edge; the thin face there closes the surface."""
    corners = np.array([[0, 0, 0], [10, 0, 0], [0, 10, 0], [0, 0, 10], [5, 0, 0.0]])
    faces = np.array([[0, 2, 4], [4, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3], [0, 4, 1]])
    loaded = read(tmp_path, (corners, faces))
    assert loaded.account.closed
    assert volume_of(loaded.solid) == pytest.approx(1000 / 6)


def test_noise_of_a_tenth_of_a_micron_in_every_corner_is_joined(tmp_path: Path) -> None:
    """Every corner of every triangle moved by up to 0.0001 mm; the join is counted as an error of the solid."""
    random = np.random.default_rng(7)
    vertices, faces = apart(torus(sides=40, rounds=20))
    vertices = vertices + random.uniform(-1e-4, 1e-4, vertices.shape)
    loaded = read(tmp_path, (vertices, faces))
    assert loaded.account.closed
    assert "joined" in loaded.account.repaired[0]
    assert 1e-5 < loaded.solid.error < 2e-3


def test_crack_of_a_hundredth_of_a_mm_is_not_joined(tmp_path: Path) -> None:
    vertices, faces = apart(box())
    vertices[0] += 0.01
    loaded = read(tmp_path, (vertices, faces))
    assert not loaded.account.closed
    assert loaded.solid.error == 0.0


def test_strip_with_one_side_is_left_and_said(tmp_path: Path) -> None:
    turns = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    rim = []
    for reach in (-10, 10):
        out = 50 + reach * np.cos(turns / 2)
        rim.append(np.stack([np.cos(turns) * out, np.sin(turns) * out, reach * np.sin(turns / 2)], axis=1))
    faces = [f for k in range(23) for f in ((k, k + 1, k + 24), (k + 1, k + 25, k + 24))]
    faces += [(23, 24, 47), (24, 0, 47)]
    loaded = read(tmp_path, (np.vstack(rim), np.array(faces)))
    assert not loaded.account.closed
    assert any("a surface with one side" in words for words in loaded.account.unrepaired)


def test_three_faces_on_an_edge_are_said(tmp_path: Path) -> None:
    vertices = np.array([[0, 0, 0], [0, 0, 10], [10, 0, 0], [0, 10, 0], [-10, -10, 0.0]])
    loaded = read(tmp_path, (vertices, np.array([[0, 1, 2], [0, 1, 3], [0, 1, 4]])))
    assert "edges shared by more than two faces: 1" in loaded.account.unrepaired


def test_closed_body_beside_a_stray_face_is_not_called_closed(tmp_path: Path) -> None:
    vertices, faces = box()
    stray = np.array([[100, 0, 0], [110, 0, 0], [100, 10, 0.0]])
    loaded = read(tmp_path, (np.vstack([vertices, stray]), np.vstack([faces, [[8, 9, 10]]])))
    assert not loaded.account.closed
    assert "open pieces: 1 of 2" in loaded.account.unrepaired


def test_box_a_thousandth_of_a_mm_in_size_is_still_a_box(tmp_path: Path) -> None:
    loaded = read(tmp_path, box((1e-3, 1e-3, 1e-3)))
    assert loaded.account.closed
    assert volume_of(loaded.solid) == pytest.approx(1e-9)


def test_box_a_million_away_is_still_a_box(tmp_path: Path) -> None:
    loaded = read(tmp_path, box(at=(1e6, 1e6, 1e6)))
    assert loaded.account.closed
    assert volume_of(loaded.solid) == pytest.approx(6000)


def test_hundreds_of_inverted_pieces_are_all_turned(tmp_path: Path) -> None:
    many = joined(*(turned(box((1, 1, 1), at=(3 * i, 3 * j, 0))) for i in range(20) for j in range(20)))
    loaded = read(tmp_path, many)
    assert loaded.account.pieces == 400
    assert volume_of(loaded.solid) == pytest.approx(400)


@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_any_flips_and_any_order_of_faces_come_out_the_same(data: st.DataObject) -> None:
    """Oracle: closed form. Whatever is flipped, the surface of a ball is closed and turned outward again."""
    vertices, faces = ball(50, 6, 8)
    order = data.draw(st.permutations(range(len(faces))))
    flips = data.draw(st.lists(st.sampled_from(range(len(faces))), max_size=len(faces)))
    flipped = with_flipped((vertices, faces), *set(flips))[1][list(order)]
    surface = understand((vertices, flipped))
    corners = surface.vertices[surface.faces]
    whole = np.linalg.det(vertices[faces]).sum() / 6
    assert surface.is_closed
    assert np.linalg.det(corners).sum() / 6 == pytest.approx(whole)


def test_material_file_named_in_an_obj_is_never_opened(tmp_path: Path) -> None:
    trap = tmp_path / "trap.mtl"
    trap.mkdir()  # opening it would fail
    loaded = read_mesh(spec_of(tmp_path, "a.obj", b"mtllib trap.mtl\n" + as_obj(box())), use_cache=False)
    assert loaded.account.closed
