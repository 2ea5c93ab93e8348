"""What `packcheck look` says of a file, against files whose every property is known."""

from __future__ import annotations

import json
import re
from pathlib import Path

import numpy as np
import pytest

import packcheck
from packcheck.errors import MeshError
from packcheck.scene import load_scene
from tests.cli.running import run
from tests.solids.mesh_bytes import as_3mf, as_glb, as_stl, box, grid, joined, turned


def written(folder: Path, name: str, data: bytes) -> Path:
    (folder / name).write_bytes(data)
    return folder / name


def test_a_drawing_in_mm_is_told_as_it_is(tmp_path: Path) -> None:
    """Oracle: by construction: a box of 400 x 200 x 100 whose middle is at (10, 0, 50)."""
    look = packcheck.look(written(tmp_path, "block.stl", as_stl(box((400, 200, 100), (10, 0, 50)))))
    assert (look.format, look.triangles, look.unit, look.declared) == ("binary STL", 12, "mm", "")
    assert (look.low, look.high) == ((-190, -100, 0), (210, 100, 100))
    assert look.closed
    assert (look.would, look.left) == ((), ())
    assert [(body.number, body.extents, body.closed) for body in look.bodies] == [(1, (400, 200, 100), True)]


@pytest.mark.parametrize(
    ("size", "likely", "unit"),
    [
        (0.4, ("m",), "m"),
        (16.0, ("in", "cm"), "in"),
        (400.0, ("mm",), "mm"),
        (1e6, (), "mm"),
        (2.0, ("m", "in", "cm"), "m"),
    ],
)
def test_likely_units_are_those_of_a_usual_size(
    size: float, likely: tuple[str, ...], unit: str, tmp_path: Path
) -> None:
    """Oracle: by hand: usual is a longest side of 20 mm to 3 m; 0.4 is 400 mm in metres and nothing else."""
    look = packcheck.look(written(tmp_path, "part.stl", as_stl(box((size, size / 2, size / 2)))))
    assert (look.likely, look.unit) == (likely, unit)


@pytest.mark.parametrize(
    ("name", "data", "declared"),
    [("a.glb", as_glb(box((0.4, 0.2, 0.1))), "m"), ("a.3mf", as_3mf(box((16, 8, 4)), "inch"), "in")],
)
def test_a_stated_unit_is_used(name: str, data: bytes, declared: str, tmp_path: Path) -> None:
    """Oracle: by hand: 0.4 m is 400 mm, 16 in is 406.4 mm."""
    look = packcheck.look(written(tmp_path, name, data))
    assert (look.declared, look.unit) == (declared, declared)
    assert np.ptp([look.low, look.high], axis=0)[0] == pytest.approx({"m": 400.0, "in": 406.4}[declared], rel=1e-6)


def test_faults_of_the_surface_are_told(tmp_path: Path) -> None:
    """Oracle: by construction: one face turned, one missing, one that stands twice."""
    vertices, faces = box((400, 200, 100))
    faces = faces.copy()
    faces[3] = faces[3, ::-1]
    spoilt = vertices, np.concatenate([faces[:-1], faces[:1]])
    look = packcheck.look(written(tmp_path, "a.stl", as_stl(spoilt)))
    assert not look.closed
    assert "turned 1 face to agree with the rest" in look.would
    assert "dropped 1 face that stood twice" in look.would
    assert "open border: 3 edges in 1 loop" in look.left


def test_inside_out_is_told(tmp_path: Path) -> None:
    look = packcheck.look(written(tmp_path, "a.stl", as_stl(turned(box((400, 200, 100))))))
    assert look.would == ("turned the whole surface outward",)


def test_bodies_are_listed_one_by_one(tmp_path: Path) -> None:
    sheet = grid(lambda x, y: np.stack([x + 500, y, 0 * x], 1))
    look = packcheck.look(written(tmp_path, "a.stl", as_stl(joined(box((400, 200, 100)), sheet))))
    assert [(body.extents, body.closed) for body in look.bodies] == [
        ((400, 200, 100), True),
        ((100, 100, 0), False),
    ]


@pytest.mark.parametrize(
    "name",
    [
        *("block.stl", "2nd block (copy).stl", "ünlü.stl", "---.stl", "engine.stl", "fuel.stl", "car.stl"),
        *("true.stl", "a: b #c.stl", "it's.stl", "{x}.stl", "UPPER.STL", "测试.stl", "line\u2028break.stl"),
    ],
)
def test_the_snippet_is_a_part_that_loads(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    look = packcheck.look(written(Path(), name, as_stl(box((400, 200, 100)))))
    (tmp_path / "bay.yaml").write_text(f"packcheck: 1\nparts:\n{look.snippet}\n", encoding="utf-8")
    (made,) = load_scene(tmp_path / "bay.yaml").parts.values()
    assert made.placed


def test_the_command_prints_text_and_json_of_the_same(tmp_path: Path) -> None:
    file = written(tmp_path, "block.stl", as_stl(box((400, 200, 100))))
    text = run("look", file)
    assert text.exit_code == 0
    assert "400 x 200 x 100 mm (15.748 x 7.874 x 3.937 in), read as mm" in text.output
    assert re.search(r"surface closed: a solid", text.output)
    known = json.loads(run("look", file, "--json").output)
    assert (known["file_format"], known["high"], known["closed"]) == ("binary STL", [200, 100, 50], True)
    read = json.loads(run("look", file, "--json", "--units", "in").output)
    assert read["high"] == [5080.0, 2540.0, 1270.0]


def test_a_name_is_pasted_as_it_is_written(tmp_path: Path) -> None:
    assert '"Bügel.stl"' in packcheck.look(written(tmp_path, "Bügel.stl", as_stl(box()))).snippet.replace(
        tmp_path.as_posix() + "/", ""
    )


MISNAMED = {
    "part": ("has no ending that says what it is", "rename it to end in .stl"),
    "part.stp": ("is named .stp but holds binary STL", "rename it to end in .stl"),
    "part.obj": ("is named .obj but holds binary STL", "rename it to end in .stl"),
    "part.igs": ("ends in .igs, which packcheck does not read", "rename it to end in .stl"),
}


@pytest.mark.parametrize("name", MISNAMED)
def test_a_file_under_a_wrong_name_is_told_what_it_is(name: str, tmp_path: Path) -> None:
    with pytest.raises(MeshError, match=MISNAMED[name][0]) as caught:
        packcheck.look(written(tmp_path, name, as_stl(box())))
    assert MISNAMED[name][1] in caught.value.faults[0].mend


def test_a_file_that_is_not_there_is_sought_from_the_folder_one_is_in(tmp_path: Path) -> None:
    with pytest.raises(MeshError, match="does not exist") as caught:
        packcheck.look(tmp_path / "none.stl")
    assert caught.value.faults[0].mend == "paths are relative to the folder you are in"
    with pytest.raises(MeshError, match="is not a file") as caught:
        packcheck.look(tmp_path)
    assert "not the folder" in caught.value.faults[0].mend


def test_a_broken_file_is_named_with_its_reason(tmp_path: Path) -> None:
    file = written(tmp_path, "page.stl", b"<html>not found</html>")
    result = run("look", file)
    assert result.exit_code == 2
    assert "holds a web page" in result.stderr
    with pytest.raises(MeshError, match="does not exist"):
        packcheck.look(tmp_path / "none.stl")
