"""Mesh files become solids of the right size and sense, and the account says what was done."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from packcheck.scene.model.scene import Mesh
from packcheck.solids.meshes.files import LoadedMesh, read_mesh
from tests.solids.measuring import area_of, volume_of, winding_at
from tests.solids.mesh_bytes import (
    WRITERS,
    Body,
    as_glb,
    as_obj,
    as_off,
    as_ply,
    as_stl,
    ball,
    box,
    glb_tree,
    joined,
    model_xml,
    packed_glb,
    spec_of,
    torus,
    turned,
    zipped,
)

L_OUTLINE = ((0, 0), (40, 0), (40, 20), (20, 20), (20, 30), (0, 30))  # area 40 * 20 + 20 * 10 = 1000


def read(folder: Path, name: str, data: bytes, **said: object) -> LoadedMesh:
    return read_mesh(spec_of(folder, name, data, **said), use_cache=False)


@pytest.mark.parametrize("name", WRITERS)
def test_box_reads_alike_in_every_format(name: str, tmp_path: Path) -> None:
    """Oracle: closed form. 10 x 20 x 30 mm, volume 6000 mm3, surface 2200 mm2."""
    loaded = read(tmp_path, name, WRITERS[name](box()))
    assert loaded.account.triangles == 12
    assert loaded.account.pieces == 1
    assert loaded.account.closed
    assert loaded.account.extents == (10.0, 20.0, 30.0)
    assert loaded.account.repaired == ()
    assert loaded.account.file == name
    assert volume_of(loaded.solid) == pytest.approx(6000)
    assert area_of(loaded.solid) == pytest.approx(2200)
    assert loaded.solid.convex
    assert len(loaded.solid.vertices) == 8


@pytest.mark.parametrize(("name", "format_name"), [
    ("binary.stl", "binary STL"), ("ascii.stl", "ASCII STL"), ("part.obj", "OBJ"), ("ascii.ply", "ASCII PLY"),
    ("little.ply", "binary PLY"), ("big.ply", "binary PLY"), ("part.off", "OFF"), ("part.glb", "GLB"),
    ("part.3mf", "3MF"),
])  # fmt: skip
def test_account_names_the_format_found(name: str, format_name: str, tmp_path: Path) -> None:
    assert read(tmp_path, name, WRITERS[name](box())).account.format == format_name


def test_torus_of_facets_has_the_volume_of_its_wedges(tmp_path: Path) -> None:
    """Oracle: closed form. n wedges swept straight between two copies of an m-gon of area A at radius R:
    volume n A R sin(2 pi / n), A = m r^2 sin(2 pi / m) / 2.
    """
    n, m, major, minor = 100, 50, 60.0, 20.0
    section = m / 2 * minor**2 * np.sin(2 * np.pi / m)
    expected = n * section * major * np.sin(2 * np.pi / n)
    loaded = read(tmp_path, "ring.ply", as_ply(torus(major, minor, n, m)))
    assert volume_of(loaded.solid) == pytest.approx(expected, rel=1e-12)
    assert not loaded.solid.convex


def test_icosphere_of_the_mesh_library_keeps_its_volume(tmp_path: Path) -> None:
    """Oracle: second method. The mesh library's own volume of its own sphere, float32 in the file."""
    trimesh = pytest.importorskip("trimesh")
    sphere = trimesh.creation.icosphere(subdivisions=3, radius=50.0)
    loaded = read(tmp_path, "ball.stl", sphere.export(file_type="stl"))
    assert volume_of(loaded.solid) == pytest.approx(float(sphere.volume), rel=1e-6)
    assert loaded.account.triangles == len(sphere.faces)


@pytest.mark.parametrize(("unit", "unit_name"), [(1.0, "mm"), (10.0, "cm"), (1000.0, "m"), (25.4, "in")])
def test_unit_of_the_scene_sets_the_size(unit: float, unit_name: str, tmp_path: Path) -> None:
    """Oracle: closed form. Extents are file numbers times mm per unit."""
    loaded = read(tmp_path, "a.stl", as_stl(box()), unit=unit, unit_name=unit_name)
    assert loaded.account.extents == pytest.approx((10 * unit, 20 * unit, 30 * unit))
    assert volume_of(loaded.solid) == pytest.approx(6000 * unit**3)


@pytest.mark.parametrize("name", ["a.glb", "a.3mf"])
def test_unit_declared_by_the_file_is_not_used_but_said(name: str, tmp_path: Path) -> None:
    data = as_glb(box()) if name == "a.glb" else zipped({"3D/3dmodel.model": model_xml(box(), unit="inch")})
    declared = "m" if name == "a.glb" else "in"
    loaded = read(tmp_path, name, data)
    assert loaded.account.extents == (10.0, 20.0, 30.0)
    assert loaded.account.unrepaired == (f"file says {declared}, scene says mm",)


def test_unit_declared_by_the_file_and_agreeing_is_not_worth_a_word(tmp_path: Path) -> None:
    loaded = read(tmp_path, "a.glb", as_glb(box()), unit=1000.0, unit_name="m")
    assert loaded.account.unrepaired == ()


def test_scale_multiplies_the_unit(tmp_path: Path) -> None:
    loaded = read(tmp_path, "a.stl", as_stl(box()), unit=10.0, unit_name="cm", scale=0.5)
    assert loaded.account.extents == pytest.approx((50, 100, 150))


@pytest.mark.parametrize(("axis", "column"), [("x", 0), ("y", 1), ("z", 2)])
def test_mirror_changes_the_sign_of_one_axis_and_keeps_the_outside_out(
    axis: str, column: int, tmp_path: Path
) -> None:
    """Oracle: closed form. A box at (100, 200, 300) with one coordinate negated, volume still +6000."""
    centre = np.array([100.0, 200.0, 300.0])
    loaded = read(tmp_path, "a.obj", as_obj(box(at=centre.tolist())), mirror=axis)
    centre[column] *= -1
    assert loaded.solid.vertices.mean(axis=0) == pytest.approx(centre)
    assert volume_of(loaded.solid) == pytest.approx(6000)
    assert loaded.account.repaired == ()


@pytest.mark.parametrize(("size", "unit", "unit_name", "words"), [
    ((0.4, 0.2, 0.1), 1.0, "mm", "longest side 0.4 mm: metres read as mm?"),
    ((3.0, 2.0, 1.0), 1.0, "mm", "longest side 3 mm: metres read as mm?"),
    ((400.0, 20.0, 10.0), 1000.0, "m", "longest side 4e+05 mm: mm read as metres?"),
    ((1000.0, 20.0, 10.0), 25.4, "in", "longest side 2.54e+04 mm: mm read as inches?"),
    ((5.0, 5.0, 5.0), 1.0, "mm", ""),
    ((10_000.0, 5.0, 5.0), 1.0, "mm", ""),
])  # fmt: skip
def test_odd_size_asks_for_the_unit_that_would_fit(
    size: tuple[float, ...], unit: float, unit_name: str, words: str, tmp_path: Path
) -> None:
    loaded = read(tmp_path, "a.ply", as_ply(box(size)), unit=unit, unit_name=unit_name)
    assert loaded.account.odd_size == words


@pytest.mark.parametrize("first", range(6))
@pytest.mark.parametrize("write", [as_obj, as_ply, as_off], ids=["obj", "ply", "off"])
def test_concave_faces_are_covered_and_nothing_else(write: object, first: int, tmp_path: Path) -> None:
    """Oracle: closed form. An L of area 1000 drawn out by 1.5: volume 1500, surface 2 * 1000 + 140 * 1.5 = 2210,
    whichever corner its end faces begin with; the notch stays empty.
    """
    low = [(x, y, 0.0) for x, y in L_OUTLINE]
    high = [(x, y, 1.5) for x, y in L_OUTLINE]
    ends = [[(first - k) % 6 for k in range(6)], [6 + (first + k) % 6 for k in range(6)]]
    sides = [[k, (k + 1) % 6, 6 + (k + 1) % 6, 6 + k] for k in range(6)]
    assert callable(write)
    suffix = {as_obj: "obj", as_ply: "ply", as_off: "off"}[write]
    loaded = read(tmp_path, f"l.{suffix}", write((np.array(low + high), ends + sides)))
    assert loaded.account.closed
    assert loaded.account.repaired == loaded.account.unrepaired == ()
    assert volume_of(loaded.solid) == pytest.approx(1500)
    assert area_of(loaded.solid) == pytest.approx(2210)
    assert winding_at(np.array([30.0, 25.0, 0.75]), loaded.solid) == pytest.approx(0, abs=1e-9)


def test_objects_and_groups_of_an_obj_are_counted_as_pieces(tmp_path: Path) -> None:
    first, second = as_obj(box(), "o one\n"), as_obj(box(at=(100, 0, 0)), "o two\ng a b\nusemtl red\n")
    corners = re.compile(rb"(?<= )\d+(?=[ \n])")
    faces = second.index(b"f ")
    later = corners.sub(lambda found: b"%d/7/7" % (int(found[0]) + 8), second[faces:])
    loaded = read(tmp_path, "a.obj", b"mtllib ../../etc/secret.mtl\n" + first + second[:faces] + later)
    assert loaded.account.pieces == 2
    assert volume_of(loaded.solid) == pytest.approx(12000)


def test_obj_faces_may_count_back_from_the_vertices_so_far(tmp_path: Path) -> None:
    lines = as_obj(box()).decode().replace("f 1 4 2", "f -8 -5 -7").splitlines()
    two = "\n".join([*lines, *as_obj(box(at=(50, 0, 0))).decode().splitlines()[:8], "f -8 -5 -7"])
    loaded = read(tmp_path, "a.obj", two.encode())
    assert loaded.account.triangles == 13
    assert loaded.account.pieces == 2
    assert loaded.solid.vertices.max(axis=0)[0] == 55.0


def test_solids_of_an_ascii_stl_are_counted_as_pieces_whatever_their_names(tmp_path: Path) -> None:
    from tests.solids.mesh_bytes import as_ascii_stl

    data = as_ascii_stl(box(), "vertex of facet 7") + as_ascii_stl(box(at=(50, 0, 0)), "loop endloop")
    loaded = read(tmp_path, "a.stl", data.replace(b"\n", b"\r\n"))
    assert loaded.account.pieces == 2
    assert volume_of(loaded.solid) == pytest.approx(12000)


def test_binary_stl_whose_header_begins_like_text_is_binary(tmp_path: Path) -> None:
    loaded = read(tmp_path, "a.stl", as_stl(box(), b"solid part"))
    assert loaded.account.format == "binary STL"


def test_glb_bodies_stand_where_their_nodes_put_them(tmp_path: Path) -> None:
    """Oracle: closed form. A cube of 10: shifted, turned by 90 degrees about z under a shift, and mirrored."""
    half = float(np.sqrt(0.5))
    nodes: list[dict[str, Any]] = [
        {"children": [1, 2, 3], "translation": [0, 0, 5]},
        {"mesh": 0, "translation": [100, 0, 0]},
        {"mesh": 0, "rotation": [0, 0, half, half], "translation": [0, 200, 0]},
        {"mesh": 0, "scale": [-1, 1, 1], "translation": [0, 0, 300], "camera": 0},
    ]
    loaded = read(tmp_path, "a.glb", as_glb(box((10, 10, 10), at=(20, 0, 0)), nodes), unit=1000, unit_name="m")
    centres = np.sort(loaded.solid.vertices.reshape(3, 8, 3).mean(axis=1) / 1000, axis=0)
    assert loaded.account.pieces == 3
    assert loaded.account.repaired == ()
    assert centres == pytest.approx(np.sort([[120, 0, 5], [0, 220, 5], [-20, 0, 305]], axis=0), abs=1e-4)
    assert volume_of(loaded.solid) == pytest.approx(3e12, rel=1e-6)


def test_glb_chain_of_hundreds_of_nodes_is_read_at_once(tmp_path: Path) -> None:
    """Oracle: closed form. 501 steps of 30 mm carry the last of 501 boxes 15 030 mm out."""
    nodes = [{"children": [k + 1], "mesh": 0, "translation": [30, 0, 0]} for k in range(500)]
    loaded = read(tmp_path, "a.glb", as_glb(box(), [*nodes, {"mesh": 0, "translation": [30, 0, 0]}]))
    assert loaded.account.pieces == 501
    assert loaded.solid.vertices[:, 0].max() == pytest.approx(15_035)


def test_glb_matrix_is_read_by_columns(tmp_path: Path) -> None:
    """Oracle: closed form. A quarter turn about z, then a shift by (0, 0, 7)."""
    matrix = [0, 1, 0, 0, -1, 0, 0, 0, 0, 0, 1, 0, 0, 0, 7, 1]
    loaded = read(tmp_path, "a.glb", as_glb(box(at=(20, 0, 0)), [{"mesh": 0, "matrix": matrix}]))
    assert loaded.solid.vertices.mean(axis=0) == pytest.approx([0, 20, 7])


def test_glb_mesh_that_no_node_shows_is_not_there(tmp_path: Path) -> None:
    tree, binary = glb_tree(box(), [{"mesh": 0}, {"mesh": 0, "translation": [50, 0, 0]}])
    assert read(tmp_path, "a.glb", packed_glb(tree, binary)).account.pieces == 1


def test_glb_without_scenes_shows_all_its_roots(tmp_path: Path) -> None:
    tree, binary = glb_tree(box(), [{"mesh": 0}, {"mesh": 0, "translation": [50, 0, 0]}])
    del tree["scene"], tree["scenes"]
    assert read(tmp_path, "a.glb", packed_glb(tree, binary)).account.pieces == 2


def test_glb_triangle_strip_is_read_as_its_triangles(tmp_path: Path) -> None:
    """Oracle: closed form. A strip of 4 corners is a square of 2 triangles, area 100."""
    square = np.array([[0, 0, 0], [10, 0, 0], [0, 10, 0], [10, 10, 0.0]])
    tree, binary = glb_tree((square, np.array([[0, 1, 2, 3]])))
    tree["meshes"][0]["primitives"][0]["mode"] = 5
    loaded = read(tmp_path, "a.glb", packed_glb(tree, binary))
    assert loaded.account.triangles == 2
    assert area_of(loaded.solid) == pytest.approx(100)


def test_glb_lines_and_points_beside_a_mesh_are_left_out_and_said(tmp_path: Path) -> None:
    tree, binary = glb_tree(box())
    tree["meshes"][0]["primitives"].append({"attributes": {"POSITION": 0}, "mode": 0})
    loaded = read(tmp_path, "a.glb", packed_glb(tree, binary))
    assert volume_of(loaded.solid) == pytest.approx(6000)
    assert "sets of points or lines left out: 1" in loaded.account.unrepaired


def test_3mf_items_and_components_stand_where_they_are_put(tmp_path: Path) -> None:
    """Oracle: closed form. Row vectors times a 4 x 3 matrix: a quarter turn about z takes (20, 0, 0) to (0, 20, 0),
    then the item shifts by (0, 0, 7); a mirrored copy keeps its outside out.
    """
    turn = "0 1 0 -1 0 0 0 0 1 0 0 0"
    mirrored = "-1 0 0 0 1 0 0 0 1 0 0 0"
    more = f'<object id="2"><components><component objectid="1" transform="{turn}"/></components></object>'
    build = f'<item objectid="2" transform="1 0 0 0 1 0 0 0 1 0 0 7"/><item objectid="1" transform="{mirrored}"/>'
    data = zipped({"3D/3dmodel.model": model_xml(box((10, 10, 10), at=(20, 0, 0)), more=more, build=build)})
    loaded = read(tmp_path, "a.3mf", data)
    centres = loaded.solid.vertices.reshape(2, 8, 3).mean(axis=1)
    assert centres == pytest.approx(np.array([[0, 20, 7], [-20, 0, 0]]), abs=1e-12)
    assert volume_of(loaded.solid) == pytest.approx(2000)
    assert loaded.account.repaired == ()


def test_3mf_parts_of_a_split_model_are_told_apart(tmp_path: Path) -> None:
    """Oracle: closed form. Two objects in one part file, each used once: 6000 + 1000 mm3, not twice both."""
    second = (
        model_xml(box((10, 10, 10))).split("<resources>")[1].split("</resources>")[0].replace('id="1"', 'id="2"')
    )
    parts = model_xml(box(), more=second, build="")
    components = "".join(
        f'<object id="{9 + k}"><components><component p:path="/3D/Objects/parts.model" objectid="{k}"/>'
        "</components></object>"
        for k in (1, 2)
    )
    main = model_xml(box(), more=components, build='<item objectid="10"/><item objectid="11"/>')
    data = zipped({"3D/3dmodel.model": main, "3D/Objects/parts.model": parts})
    assert volume_of(read(tmp_path, "a.3mf", data).solid) == pytest.approx(7000)


def test_plate_of_0_6_mm_keeps_its_thickness_and_is_convex(tmp_path: Path) -> None:
    loaded = read(tmp_path, "a.stl", as_stl(box((800, 600, 0.6))))
    assert loaded.account.closed
    assert volume_of(loaded.solid) == pytest.approx(800 * 600 * 0.6, rel=1e-6)


def test_support_of_a_convex_mesh_is_its_farthest_vertex(tmp_path: Path) -> None:
    """Oracle: closed form. For a box in direction (1, 2, -3) it is the corner (5, 10, -15)."""
    solid = read(tmp_path, "a.ply", as_ply(box())).solid
    assert solid.support is not None
    assert solid.support(np.array([[1.0, 2.0, -3.0]])).tolist() == [[5.0, 10.0, -15.0]]


def dented(depth: float) -> Body:
    """A ball with one vertex pushed in."""
    vertices, faces = ball()
    vertices[100] *= 1 - depth / 50.0
    return vertices, faces


@pytest.mark.parametrize(("body", "convex"), [
    (ball(), True), (dented(5.0), False), (torus(), False), (joined(box(), box(at=(50, 0, 0))), False),
    (ball(50, 60, 60), False),
], ids=["ball", "dented ball", "ring", "two boxes", "more than 5000 faces"])  # fmt: skip
def test_convex_is_claimed_only_of_one_convex_piece(body: Body, convex: bool, tmp_path: Path) -> None:
    assert read(tmp_path, "a.ply", as_ply(body)).solid.convex is convex


def test_pieces_hold_one_vertex_of_every_piece(tmp_path: Path) -> None:
    loaded = read(tmp_path, "a.ply", as_ply(joined(box(), box(at=(50, 0, 0)), turned(box((2, 2, 2))))))
    assert loaded.solid.pieces is not None
    near = np.abs(loaded.solid.pieces).max(axis=1)
    assert loaded.account.pieces == len(loaded.solid.pieces) == 3
    assert near.tolist() == [15.0, 45.0, 1.0] or near.tolist() == [15.0, 55.0, 1.0]


def test_arrays_of_the_solid_are_read_only(tmp_path: Path) -> None:
    solid = read(tmp_path, "a.ply", as_ply(box())).solid
    assert solid.pieces is not None
    assert not any(array.flags.writeable for array in (solid.vertices, solid.faces, solid.pieces))


def test_upper_case_ending_is_the_same_format(tmp_path: Path) -> None:
    assert read(tmp_path, "PART.STL", as_stl(box())).account.closed


def shipped_with_pyvista(name: str) -> Path:
    import importlib.util

    found = importlib.util.find_spec("pyvista")
    if found is None or found.origin is None:
        pytest.skip("pyvista (extra `view`) ships the two meshes of this test and is not installed")
    return Path(found.origin).parent / "examples" / name


def test_nut_that_pyvista_ships_is_one_closed_solid() -> None:
    """Oracle: second method. The mesh library calls it watertight and gives its volume."""
    trimesh = pytest.importorskip("trimesh")
    file = shipped_with_pyvista("nut.ply")
    loaded = read_mesh(Mesh(file, 1.0, "mm"), use_cache=False)
    other = trimesh.load_mesh(file, process=False)
    assert loaded.account.closed is bool(other.is_watertight) is True
    assert loaded.account.triangles == len(other.faces)
    assert volume_of(loaded.solid) == pytest.approx(float(other.volume), rel=1e-9)


def test_airplane_that_pyvista_ships_is_an_open_surface() -> None:
    """Oracle: second method. The mesh library does not call it watertight; its extents are the same."""
    trimesh = pytest.importorskip("trimesh")
    file = shipped_with_pyvista("airplane.ply")
    loaded = read_mesh(Mesh(file, 1.0, "mm"), use_cache=False)
    other = trimesh.load_mesh(file, process=False)
    assert not other.is_watertight
    assert loaded.solid.open_surface
    assert not loaded.solid.closed
    assert loaded.account.extents == pytest.approx(other.extents)


def test_obj_words_may_be_parted_by_any_blanks(tmp_path: Path) -> None:
    spaced = as_obj(box()).replace(b" ", b" \t\x0c \x0b").replace(b"\n", b" # note\r\n")
    assert volume_of(read(tmp_path, "a.obj", spaced).solid) == pytest.approx(6000)


def test_obj_line_may_go_on_after_a_backslash(tmp_path: Path) -> None:
    assert read(tmp_path, "a.obj", as_obj(box()).replace(b"f 1 4 2", b"f 1 \\\n4 2")).account.triangles == 12


def test_obj_vertices_may_carry_weights_and_colours(tmp_path: Path) -> None:
    lines = as_obj(box()).decode().splitlines()
    extra = ["", " 1.0", " 0.5 0.5 0.5", " 0.1 0.2 0.3 1.0"]
    data = "\n".join(line + extra[k % 4] if line[0] == "v" else line for k, line in enumerate(lines))
    assert volume_of(read(tmp_path, "a.obj", data.encode()).solid) == pytest.approx(6000)
