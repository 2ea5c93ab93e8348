"""Exported files say what they are meant to say, read back by a second reader."""

from __future__ import annotations

from io import BytesIO
from typing import Any

import numpy as np
import pytest
import trimesh

from packcheck.drawing.looks import exported_bay, up_from_car
from packcheck.findings import Finding
from packcheck.scene.model.scene import Axes, Box
from tests.bays import bay, part

NAME = "<script>alert(1)</script> Auspuff \u00fc"


def made(suffix: str, *findings: Finding, axes: Axes | None = None) -> bytes:
    """Two boxes: one at 100, 20, 300 of 40 by 30 by 20, one 200 further along x."""
    parts = (
        part(NAME, Box((40.0, 30.0, 20.0)), at=(100.0, 20.0, 300.0), kinds=("exhaust",)),
        part("tank", Box((10.0, 10.0, 10.0)), at=(300.0, 20.0, 300.0), kinds=("fuel",)),
    )
    return exported_bay(bay(*parts, axes=axes or Axes()).assembly, suffix, findings)


def read(suffix: str, data: bytes) -> Any:
    return trimesh.load(BytesIO(data), file_type=suffix[1:], process=False)


def test_glb_nodes_carry_the_names_of_the_parts() -> None:
    """Oracle: the library's own reader; names are JSON text, whatever is in them."""
    assert set(read(".glb", made(".glb")).graph.nodes_geometry) == {NAME, "tank"}


def test_glb_is_in_metres_with_y_up_and_the_front_towards_z() -> None:
    """Oracle: the glTF 2.0 specification, 3.4: metres, +Y up, front of an asset +Z (from memory).

    Axes aft, right, up: (100, 20, 300) mm is 0.1 m aft, 0.02 right, 0.3 up: x = -0.02, y = 0.3, z = -0.1.
    """
    scene = read(".glb", made(".glb"))
    centre = scene.geometry[NAME].bounds.mean(axis=0)
    assert centre == pytest.approx([-0.02, 0.3, -0.1], abs=1e-7)


def test_no_choice_of_axes_mirrors_the_car() -> None:
    """Oracle: a turn has determinant 1."""
    for axes in (Axes(), Axes("fore", "left", "up"), Axes("right", "fore", "up"), Axes("up", "left", "aft")):
        assert np.linalg.det(up_from_car(axes)) == pytest.approx(1.0)


@pytest.mark.parametrize("suffix", [".stl", ".ply", ".obj"])
def test_other_formats_hold_every_triangle_in_mm_where_it_stands(suffix: str) -> None:
    """Oracle: closed form. The boxes reach from 80, 5, 290 to 305, 35, 310."""
    mesh = read(suffix, made(suffix))
    assert len(mesh.faces) == 24
    assert mesh.bounds == pytest.approx(np.array([[80.0, 5.0, 290.0], [305.0, 35.0, 310.0]]), abs=1e-4)


def test_obj_names_its_objects() -> None:
    text = made(".obj").decode()
    assert f"o {NAME}\n" in text
    assert "o tank\n" in text


def test_ply_carries_the_colours_of_the_kinds() -> None:
    colours = {tuple(int(x) for x in colour[:3]) for colour in read(".ply", made(".ply")).visual.vertex_colors}
    assert colours == {(193, 172, 158), (202, 193, 168)}


def test_a_finding_becomes_a_rod_between_its_witness_points() -> None:
    """Oracle: closed form. From 120 to 295 along x at 20, 300, with a ball of 1 mm at each end."""
    points = np.array([[120.0, 20.0, 300.0], [295.0, 20.0, 300.0]])
    finding = Finding("gaps", (NAME, "tank"), "clear", points=points)
    scene = read(".glb", made(".glb", finding, finding))
    names = [name for name in scene.graph.nodes_geometry if name.startswith("clear: ")]
    assert len(names) == 2
    low, high = scene.geometry[names[0]].bounds * 1000
    assert (low[2], high[2]) == pytest.approx((-296.0, -119.0), abs=1e-3)


def test_touching_parts_have_a_rod_too() -> None:
    points = np.array([[120.0, 20.0, 300.0], [120.0, 20.0, 300.0]])
    scene = read(".glb", made(".glb", Finding("gaps", (NAME, "tank"), "touching", points=points)))
    assert len(scene.geometry) == 3


@pytest.mark.parametrize("suffix", [".glb", ".stl", ".ply", ".obj"])
def test_same_bay_same_bytes(suffix: str) -> None:
    assert made(suffix) == made(suffix)


@pytest.mark.parametrize("suffix", [".glb", ".stl", ".ply", ".obj"])
def test_every_export_says_who_wrote_it_and_no_address(suffix: str) -> None:
    """Oracle: the formats: `asset.generator` of GLB, a comment of PLY and OBJ, the free head of 80 bytes of STL."""
    written = made(suffix)
    head = written[:600]
    assert b"packcheck" in head
    assert b"http" not in written
    assert b"trimesh" not in written
    if suffix == ".stl":
        assert written[:5] != b"solid"
        assert len(written) == 84 + 50 * int.from_bytes(written[80:84], "little")
