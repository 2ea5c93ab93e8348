"""Parts from a table mean the same as the parts written in a scene."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from packcheck.cli.commands.blank import sheet
from packcheck.errors import SceneError
from packcheck.scene import load_scene
from packcheck.scene.document.tables import COLUMNS
from packcheck.scene.editing import Mm, Put, planned, written_parts
from packcheck.scene.model.scene import Part
from tests.scene.seats import AXES, head
from tests.scene.writing import faults_of, scene_of, write


def bare(parts: dict[str, Part]) -> dict[str, Part]:
    return {
        name: replace(
            part,
            mark=None,
            solids=tuple(replace(solid, mark=None) for solid in part.solids),
            faces=tuple(replace(face, mark=None) for face in part.faces),
        )
        for name, part in parts.items()
    }


def table(folder: Path, text: str, *, head: str = "packcheck: 1\n", name: str = "parts.csv") -> dict[str, Part]:
    write(folder, text, name)
    return bare(dict(scene_of(folder, f"parts_from: {name}\n", head=head).parts))


def told(folder: Path, text: str, *, scene: str = "parts_from: parts.csv\n") -> list[str]:
    """Every fault with line and column, without the folder."""
    write(folder, text, "parts.csv")
    said = [str(fault).splitlines()[0].replace(f"{folder}/", "") for fault in faults_of(folder, scene)]
    return sorted(said, key=lambda line: [int(part) for part in line.split(":")[1:3]])


def test_a_middle_on_one_axis_or_several_and_a_size_from_it(tmp_path: Path) -> None:
    """Oracle: the parts written out in a scene."""
    made = table(
        tmp_path,
        "name,shape,length,width,height,diameter,middle,front,bottom\n"
        "pump,box,40,78,90,,190 up / 5 left,60 aft,\n"
        "tank,box,,78,90,,300 aft,250 aft,0\n",
    )
    meant = scene_of(
        tmp_path,
        "parts:\n"
        "  pump: {box: [40, 78, 90], faces: {front: 60 aft, middle: [190 up, 5 left]}}\n"
        "  tank: {box: [faces, 78, 90], faces: {front: 250 aft, bottom: 0, middle: 300 aft}}\n",
    )
    assert made == bare(dict(meant.parts))


def test_a_table_is_the_parts_it_lists(tmp_path: Path) -> None:
    """Oracle: the parts written out in a scene."""
    made = table(
        tmp_path,
        "Name;Kind;shape;length;width;height;diameter;bore;bottom diameter;top diameter;lies;front;rear;left;"
        "bottom;top;nose up;lean_left;in;tolerance;wrap;fixed;bolted to;note\n"
        "pump;fuel;box;;78;3 1/2 in;;;;;;60 aft;200 aft;310 left;118 up;;;;shelf;2;1 mm;yes;;by the rail, left\n"
        "# not this one;;\n"
        ";;;\n"
        "can;oil / hot;;;;;76;;;;;;;5;90;185 up;;;;;;;pump / rail;12\n"
        "pipe;;tube;100;;;40;36;;;aft;;;;0;;;;;;;no;;\n"
        "cone;;Cone;30;;;;;40;0;left;;;;0;;;3;;;;;;\n"
        "ball;;sphere;;;;9;;;;;;;;1;;2.5;;;;;;;\n"
        "cap;;capsule;90;;;20;;;;y;;;;1;;;;;;;;;\n",
        head="packcheck: 1\nframes: {shelf: {at: [0, 0, 0]}}\nparts: {rail: {at: [0, 0, 0], box: [9, 9, 9]}}\n",
    )
    meant = scene_of(
        tmp_path,
        "frames: {shelf: {at: [0, 0, 0]}}\n"
        "parts:\n"
        "  rail: {at: [0, 0, 0], box: [9, 9, 9]}\n"
        "  pump: {kind: fuel, in: shelf, box: [faces, 78, 3 1/2 in], tolerance: 2, wrap: 1 mm,\n"
        "    fixed: true, faces: {front: 60 aft, rear: 200 aft, left: 310 left, bottom: 118 up},\n"
        "    note: 'by the rail, left'}\n"
        "  can: {kind: [oil, hot], cylinder: {diameter: 76, length: faces}, bolted_to: [pump, rail], note: '12',\n"
        "    faces: {left: 5, bottom: 90, top: 185 up}}\n"
        "  pipe: {tube: {outer: 40, inner: 36, length: 100, along: x}, faces: {bottom: 0}}\n"
        "  cone: {cone: {bottom: 40, top: 0, length: 30, along: y}, faces: {bottom: 0}, turn: {lean_left: 3}}\n"
        "  ball: {sphere: {diameter: 9}, faces: {bottom: 1}, turn: {nose_up: 2.5}}\n"
        "  cap: {capsule: {diameter: 20, length: 90, along: y}, faces: {bottom: 1}}\n",
    )
    assert made == bare(dict(meant.parts))


@pytest.mark.parametrize("ways", AXES, ids=" ".join)
def test_length_runs_fore_and_aft_whatever_the_axes(tmp_path: Path, ways: tuple[str, ...]) -> None:
    """Oracle: by hand; 3 long, 4 wide, 5 high."""
    made = table(tmp_path, "name,length,width,height,bottom\nit,3,4,5,0\n", head=head(ways))
    sizes = {"aft": 3.0, "fore": 3.0, "left": 4.0, "right": 4.0, "up": 5.0, "down": 5.0}
    (spec,) = made["it"].solids
    assert getattr(spec.shape, "size", None) == tuple(sizes[way] for way in ways)


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_units_are_those_of_the_scene_and_quotes_may_hold_separators(tmp_path: Path, separator: str) -> None:
    """Oracle: by hand."""
    text = separator.join(["name", "length", "width", "height", "note"]) + "\r\n"
    text += separator.join(["it", "1", '"2"', "3 mm", f'"a ""b"" {separator} c"']) + "\r\n"
    made = table(tmp_path, text, head="packcheck: 1\nunits: in\n")["it"]
    assert getattr(made.solids[0].shape, "size", None) == pytest.approx((25.4, 50.8, 3.0))
    assert made.note == f'a "b" {separator.strip()} c' if separator != "\t" else True


def test_tables_stand_beside_parts_copies_and_layouts(tmp_path: Path) -> None:
    write(tmp_path, "name,length,width,height,left\nrail_l,9,4,4,300 left\n", "rails.csv")
    write(tmp_path, "name,like,bottom\nother,post,5\n", "more.csv")
    path = write(
        tmp_path,
        "packcheck: 1\n"
        "parts_from: [rails.csv, more.csv]\n"
        "parts: {rail_r: {mirror_of: rail_l}, post: {template: true, box: [1, 2, 3]}}\n"
        "layouts: {low: {parts: {other: {faces: {bottom: 2}}}}}\n",
    )
    scene = load_scene(path)
    assert list(scene.parts) == ["rail_r", "rail_l", "other"]
    assert [file.name for file in scene.files] == ["bay.yaml", "rails.csv", "more.csv"]
    assert load_scene(path, "low").parts["other"].faces[0].at == 2.0


def test_every_mistake_has_its_line_and_column(tmp_path: Path) -> None:
    faults = told(
        tmp_path,
        "name,kind,shape,length,width,height,diameter,front,fornt,kind,bottom,lies\n"
        "a,fule,box,1,2,3,,60 left,,,,\n"
        "b,,box,1,2,,,,,,,\n"
        ",fuel,box,1,2,3,,,,,,\n"
        "a,,box,1,2,3,,,,,,\n"
        "c,,ball,,,,9,,,,,\n"
        "d,,cylinder,9,4,,5,,,,,\n"
        "e,,box,1,2,3,,,,,-5 up,\n"
        "f,,cylinder,9,,,-5,,,,,sideways\n"
        "g,,box,1,2,3,,,,,5,,7\n"
        'h,,box,"1,2,3\n',
        scene="parts_from: parts.csv\nparts: {e: {at: [0, 0, 0], box: [1, 1, 1]}}\n",
    )
    assert faults == [
        "parts.csv:1:52: the column 'fornt' is not known",
        "parts.csv:1:58: the column 'kind' is there twice",
        "parts.csv:2:3: part 'a': kind 'fule' is not known",
        "parts.csv:2:22: part 'a': faces.front '60 left' says 'left' along x, needs aft, rearward, fore or forward",
        "parts.csv:3:1: part 'b': height is empty, needs a size, or both bottom and top",
        "parts.csv:4:1: the line has no name, needs one",
        "parts.csv:5:1: part 'a': the name is taken in line 2",
        "parts.csv:6:4: part 'c': shape is 'ball', needs cylinder, capsule, tube, cone, sphere or box",
        "parts.csv:7:15: part 'd': width is given, but a cylinder has none",
        "parts.csv:8:1: part 'e': the name is taken by a part at bay.yaml:3:9",
        "parts.csv:9:17: part 'f': cylinder.diameter is -5 mm, needs more than 0 mm",
        "parts.csv:9:24: part 'f': cylinder.along is 'sideways', needs x, y or z",
        "parts.csv:10:21: the line has 13 cells, needs at most 12, one for each column",
        "parts.csv:11:1: part 'h': width is empty, needs a size, or both left and right",
        "parts.csv:11:1: part 'h': height is empty, needs a size, or both bottom and top",
        "parts.csv:11:9: a quote is opened and not closed in its line",
        "parts.csv:11:10: part 'h': box item 1 '1,2,3' has a decimal comma",
    ]


@pytest.mark.parametrize(
    ("name", "text", "what"),
    [
        ("lost.csv", None, "table 'lost.csv' does not exist"),
        ("parts.txt", "name\n", "parts_from 'parts.txt' is no table, needs a file that ends in .csv or .tsv"),
        ("empty.csv", "# nothing\n", "the table is empty, needs a line of column names"),
        ("nameless.csv", "kind,shape\nfuel,box\n", "the table has no column name, needs one"),
        ("sheet.csv", "name,kind\n\xff".encode("latin-1").decode("latin-1"), "part 'ÿ' has no shape"),
    ],
)
def test_tables_that_are_none(tmp_path: Path, name: str, text: str | None, what: str) -> None:
    if text is not None:
        write(tmp_path, text, name)
    faults = [fault.what.replace(f"{tmp_path}/", "") for fault in faults_of(tmp_path, f"parts_from: {name}\n")]
    assert any(fault.startswith(what) for fault in faults), faults


def test_the_blank_sheet_is_an_empty_table(tmp_path: Path) -> None:
    assert table(tmp_path, sheet()) == {}
    columns = next(line for line in sheet().splitlines() if line.startswith("name,")).split(",")
    assert set(columns) <= set(COLUMNS)


def test_the_example_of_the_blank_sheet_is_a_part(tmp_path: Path) -> None:
    """Oracle: by head from the sheet; 206 less 118 is 88 high."""
    example = next(line for line in sheet().splitlines() if "fuel_pump" in line).strip('"').removeprefix("# ")
    columns = next(line for line in sheet().splitlines() if line.startswith("name,"))
    pump = table(tmp_path, f"{columns}\n{example}\n")["fuel_pump"]
    assert getattr(pump.solids[0].shape, "size", None) == (140.0, 78.0, 88.0)
    assert pump.note == "left side of the rail"


def test_a_part_of_a_table_is_not_edited_in_place(tmp_path: Path) -> None:
    """A change to it must not end up as YAML in the table."""
    content = "name,length,width,height,left\nit,9,4,4,300 left\n"
    write(tmp_path, content, "parts.csv")
    scene = load_scene(write(tmp_path, "packcheck: 1\nparts_from: parts.csv\nparts: {other: {box: [1, 1, 1]}}\n"))
    assert set(written_parts(scene)) == {"other"}
    with pytest.raises(SceneError):
        planned(scene, [Put(("parts", "it", "wrap"), Mm(3))])
    assert (tmp_path / "parts.csv").read_text(encoding="utf-8") == content


SLIP = "name,shape,length,diameter,lies,front,left\npump,cylinder,4 3/4%s,%s,aft,5 1/2%s aft,15 1/4%s left\n"


@pytest.mark.parametrize("unit", [" in", '"'])
def test_a_fraction_without_a_unit_is_refused_in_a_table_of_mm(tmp_path: Path, unit: str) -> None:
    """2 7/8 would be a pump 2.9 mm across."""
    (said,) = told(tmp_path, SLIP % (unit, "2 7/8", unit, unit))
    assert said.startswith("parts.csv:2:")
    assert "'2 7/8' is a fraction without a unit in a file with units: mm" in said


def test_fractions_and_inch_marks_are_inches_in_a_scene_of_inches(tmp_path: Path) -> None:
    """Oracle: the same table with its units."""
    inches = "packcheck: 1\nunits: in\n"
    meant = table(tmp_path, SLIP % (" in", "2 7/8 in", " in", " in"), head=inches)
    assert table(tmp_path, SLIP % ('"', "2 7/8", '"', ""), head=inches) == meant
