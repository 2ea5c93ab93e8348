"""The grammar of solids: numbers, defaults and anchors."""

from __future__ import annotations

from pathlib import Path

import pytest

from packcheck.scene.model import scene as model
from packcheck.scene.model.scene import Shape
from tests.scene.writing import faults_of, part_of, scene_of, shape_of, whats, write

MID = ("mid", "mid", "mid")


@pytest.mark.parametrize(
    ("text", "shape"),
    [
        ("box: [480, 1 in, 3/8 in]", model.Box((480.0, 25.4, 9.525))),
        ("cylinder: {diameter: 52, length: 16.5 cm}", model.Cylinder(52.0, 165.0, "z")),
        ("cylinder: {diameter: 52, length: 165, along: x}", model.Cylinder(52.0, 165.0, "x")),
        ("sphere: {diameter: 1 1/2 in}", model.Sphere(38.1)),
        ("capsule: {diameter: 80, length: 80}", model.Capsule(80.0, 80.0, "z")),
        ("cone: {bottom: 90, top: 0, length: 120}", model.Cone(90.0, 0.0, 120.0, "z")),
        ("cone: {bottom: 0, top: 9, length: 12, along: y}", model.Cone(0.0, 9.0, 12.0, "y")),
        ("tube: {outer: 40, inner: 36, length: 100}", model.Tube(40.0, 36.0, 100.0, "z")),
        (
            "pipe: {outside: 20, through: [[0, 0, 0], [1 in, 0, 0]]}",
            model.Pipe(20.0, ((0, 0, 0), (25.4, 0, 0)), 0.0),
        ),
        (
            "extrude: {outline: [[0, 0], [60, 0], [0, 1 in]], thickness: 3}",
            model.Extrude(((0.0, 0.0), (60.0, 0.0), (0.0, 25.4)), 3.0, "z"),
        ),
    ],
)
def test_shape_is_read_in_mm(tmp_path: Path, text: str, shape: Shape) -> None:
    """Oracle: by hand; 1 in = 25.4 mm, 3/8 in = 9.525 mm, 1 1/2 in = 38.1 mm."""
    assert shape_of(tmp_path, text) == shape


@pytest.mark.parametrize(
    ("text", "anchor"),
    [
        ("box: [1, 2, 3]", MID),
        ("sphere: {diameter: 3}", MID),
        ("tube: {outer: 40, inner: 36, length: 100}", MID),
        ("box: [1, 2, 3], anchor: [min, mid, max]", ("min", "mid", "max")),
        ("box: [1, 2, 3], anchor: origin", "origin"),
        ("pipe: {outside: 20, through: [[0, 0, 0], [9, 0, 0]]}", "origin"),
        ("extrude: {outline: [[0, 0], [60, 0], [0, 60]], thickness: 3}", "origin"),
        ("extrude: {outline: [[0, 0], [60, 0], [0, 60]], thickness: 3}, anchor: [mid, mid, mid]", MID),
    ],
)
def test_anchor_is_the_middle_unless_the_shape_has_a_zero_of_its_own(
    tmp_path: Path, text: str, anchor: object
) -> None:
    (solid,) = part_of(tmp_path, text).solids
    assert solid.anchor == anchor


def test_single_solid_leaves_placing_to_its_part(tmp_path: Path) -> None:
    part = part_of(tmp_path, "box: [1, 2, 3], at: [5, 6, 7], turn: [0, 90 deg, 0]")
    (solid,) = part.solids
    assert (part.at, part.turn) == ((5.0, 6.0, 7.0), (0.0, 90.0, 0.0))
    assert solid.at == solid.turn == (0.0, 0.0, 0.0)


def test_several_solids_are_placed_each_on_its_own(tmp_path: Path) -> None:
    part = part_of(
        tmp_path,
        "at: [1, 1, 1], anchor: origin, solids: ["
        "{sphere: {diameter: 4}, at: [9, 0, 0]}, {box: [1, 1, 1], turn: [0, 0, 45], anchor: [min, min, min]}]",
    )
    assert [solid.at for solid in part.solids] == [(9.0, 0.0, 0.0), (0.0, 0.0, 0.0)]
    assert [solid.turn for solid in part.solids] == [(0.0, 0.0, 0.0), (0.0, 0.0, 45.0)]
    assert [solid.anchor for solid in part.solids] == [MID, ("min", "min", "min")]


def test_mesh_is_found_from_the_file_that_names_it(tmp_path: Path) -> None:
    """Oracle: by hand; one file unit in cm is 10 mm, 3/16 in is 4.7625 mm."""
    write(tmp_path, "", "meshes/skin.stl")
    write(
        tmp_path,
        """\
        parts:
          skin: {mesh: {file: ../meshes/skin.stl, units: cm, thickness: 3/16 in, side: inner, scale: 2, mirror: y}}
        """,
        "shared/skin.yaml",
    )
    (solid,) = scene_of(tmp_path, "include: [shared/skin.yaml]").parts["skin"].solids
    mesh = solid.shape
    assert isinstance(mesh, model.Mesh)
    assert mesh.file.resolve() == (tmp_path / "meshes/skin.stl").resolve()
    assert (mesh.unit, mesh.unit_name) == (10.0, "cm")
    assert (mesh.thickness, mesh.side, mesh.scale, mesh.mirror) == (4.7625, "inner", 2.0, "y")


@pytest.mark.parametrize(("units", "mm"), [("mm", 1.0), ("cm", 10.0), ("m", 1000.0), ("in", 25.4)])
def test_mesh_unit_is_mm_per_file_unit(tmp_path: Path, units: str, mm: float) -> None:
    """Oracle: the definition of each unit."""
    write(tmp_path, "", "skin.stl")
    shape = shape_of(tmp_path, f"mesh: {{file: skin.stl, units: {units}}}")
    assert isinstance(shape, model.Mesh)
    assert shape.unit == mm
    assert (shape.thickness, shape.side, shape.scale, shape.mirror) == (None, None, 1.0, None)


@pytest.mark.parametrize("key", ["thickness: 2", "side: outer"])
def test_thickness_and_side_come_together(tmp_path: Path, key: str) -> None:
    write(tmp_path, "", "skin.stl")
    (what,) = whats(tmp_path, f"parts: {{skin: {{mesh: {{file: skin.stl, units: mm, {key}}}}}}}")
    assert "needs both or neither" in what


@pytest.mark.parametrize("file", ["'a\\b.stl'", '"a\\0b.stl"', f"{'x' * 300}.stl", "''", "5.5", "[a]", "skin.sty"])
def test_mesh_file_that_cannot_be_is_a_fault(tmp_path: Path, file: str) -> None:
    write(tmp_path, "", "skin.stl")
    (what,) = whats(tmp_path, f"parts: {{skin: {{mesh: {{file: {file}, units: mm}}}}}}")
    assert what.startswith("part 'skin': mesh.file")


@pytest.mark.parametrize(
    "value", ["0", "-1", "0.0009", "1 km", "true", "[1]", "{a: 1}", "0 mm", "-3/8 in", "1e-300"]
)
def test_size_that_is_none_is_a_fault(tmp_path: Path, value: str) -> None:
    (what,) = whats(tmp_path, f"parts: {{ball: {{sphere: {{diameter: {value}}}}}}}")
    assert what.startswith("part 'ball': sphere.diameter")


@pytest.mark.parametrize("scale", ["0", "-1", "1e7", "2 mm", "big"])
def test_scale_is_a_positive_plain_number(tmp_path: Path, scale: str) -> None:
    write(tmp_path, "", "skin.stl")
    (what,) = whats(tmp_path, f"parts: {{skin: {{mesh: {{file: skin.stl, units: mm, scale: {scale}}}}}}}")
    assert what.startswith("part 'skin': mesh.scale")


def test_smallest_size_is_taken(tmp_path: Path) -> None:
    assert shape_of(tmp_path, "sphere: {diameter: 0.001}") == model.Sphere(0.001)


def test_note_may_stand_in_every_map(tmp_path: Path) -> None:
    assert part_of(tmp_path, "sphere: {diameter: 3, note: round}, note: 5").note == "5"


def test_mesh_in_a_folder_that_is_not_there_says_where_paths_start(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, "parts: {skin: {mesh: {file: gone/skin.stl, units: mm}}}")
    assert fault.mend == "the path starts at the folder of this scene file"


def test_box_given_as_a_map_of_axes_is_told_what_it_takes(tmp_path: Path) -> None:
    assert whats(tmp_path, "parts: {a: {box: {x: 1, y: 2, z: 3}}}") == [
        "part 'a': box is a map, needs a list: [x, y, z]"
    ]


def test_every_wrong_word_of_an_anchor_is_told_in_its_place(tmp_path: Path) -> None:
    first, second = faults_of(tmp_path, "parts: {it: {box: [1, 1, 1], anchor: [min, bottom, middle]}}")
    assert first.what == "part 'it': anchor item 2 is 'bottom', needs min, mid or max"
    assert first.why == "min is the low end of its own box along that axis, max the high end"
    assert second.mend == "did you mean 'mid'?"


@pytest.mark.parametrize("anchor", ["origin", "[min, mid, max]"])
def test_anchor_is_one_word_or_three(tmp_path: Path, anchor: str) -> None:
    (solid,) = part_of(tmp_path, f"box: [1, 1, 1], anchor: {anchor}").solids
    assert solid.anchor == ("origin" if anchor == "origin" else ("min", "mid", "max"))


@pytest.mark.parametrize(("at", "mend"), [("[500, 0]", "one"), ("[500]", "ones")])
def test_missing_coordinate_is_asked_for(tmp_path: Path, at: str, mend: str) -> None:
    (fault,) = faults_of(tmp_path, f"parts: {{it: {{box: [1, 1, 1], at: {at}}}}}")
    assert fault.mend == f"write one for each of x, y, z; give the missing {mend}"


@pytest.mark.parametrize(
    ("units", "meant"), [("inches", "in"), ("millimeters", "mm"), ("Inch", "in"), ("MM", "mm")]
)
def test_units_in_full_name_ours(tmp_path: Path, units: str, meant: str) -> None:
    (fault,) = faults_of(tmp_path, f"units: {units}\n")
    assert fault.mend == f"did you mean {meant!r}?"


def test_path_that_double_quotes_spoilt_is_told_of_slashes(tmp_path: Path) -> None:
    r"""In double quotes \t is a tab."""
    (fault,) = faults_of(tmp_path, 'parts: {it: {mesh: {file: "C:\\tank.stl", units: mm}}}')
    assert fault.mend == "write folders with /"


@pytest.mark.parametrize(
    ("text", "placed"),
    [
        ("box: [1, 1, 1]", False),
        ("box: [1, 1, 1], turn: [0, 0, 90]", False),
        ("box: [1, 1, 1], at: [0, 0, 0]", True),
        ("pipe: {outside: 1, through: [[0, 0, 0], [9, 0, 0]]}", True),
        ("extrude: {outline: [[0, 0], [1, 0], [0, 1]], thickness: 1}", True),
        ("mesh: {file: bay.yaml, units: mm}", True),
        ("solids: [{box: [1, 1, 1]}]", True),
    ],
)
def test_part_is_placed_by_its_at_or_by_coordinates_of_its_solids(tmp_path: Path, text: str, placed: bool) -> None:
    assert part_of(tmp_path, text).placed is placed
