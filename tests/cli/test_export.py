"""`packcheck export` writes whole files, and never over what it reads."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import trimesh

from tests.cli.running import run, two_boxes

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("suffix", [".glb", ".STL", ".ply", ".obj"])
def test_a_file_is_written_in_the_format_its_name_asks_for(suffix: str, tmp_path: Path) -> None:
    target = tmp_path / f"bay{suffix}"
    result = run("export", two_boxes(tmp_path, 5.0), "-o", target)
    assert result.exit_code == 0, result.output
    assert result.stdout == f"wrote 2 parts to {target}\n"
    mesh: Any = trimesh.load(target, force="mesh")
    assert len(mesh.faces) == 24


def test_findings_are_added_when_asked_for(tmp_path: Path) -> None:
    run("export", two_boxes(tmp_path, 5.0), "-o", tmp_path / "bay.glb", "--findings")
    scene: Any = trimesh.load(tmp_path / "bay.glb")
    assert "tight: left_box - right_box" in scene.geometry


@pytest.mark.parametrize("name", ["bay.step", "bay"])
def test_an_unknown_format_is_refused_before_any_work(name: str, tmp_path: Path) -> None:
    result = run("export", tmp_path / "nowhere.yaml", "-o", tmp_path / name)
    assert result.exit_code == 2
    assert "end its name in .glb, .stl, .ply or .obj" in result.stderr


def test_a_mesh_of_the_scene_is_never_written_over(tmp_path: Path) -> None:
    cube = tmp_path / "cube.stl"
    trimesh.creation.box().export(cube)
    before = cube.read_bytes()
    scene = tmp_path / "scene.yaml"
    scene.write_text("packcheck: 1\nparts:\n  cube: {mesh: {file: cube.stl, units: cm}}\n", encoding="utf-8")
    result = run("export", scene, "-o", cube)
    assert result.exit_code == 2
    assert "is left as it is" in result.stderr
    assert cube.read_bytes() == before


def test_a_broken_scene_leaves_the_file_that_was_there(tmp_path: Path) -> None:
    target = tmp_path / "bay.stl"
    target.write_text("kept", encoding="utf-8")
    scene = tmp_path / "scene.yaml"
    scene.write_text("packcheck: 1\nparts: {a: {box: [1, 2]}}\n", encoding="utf-8")
    assert run("export", scene, "-o", target).exit_code == 2
    assert target.read_text(encoding="utf-8") == "kept"


def test_a_scene_without_parts_has_nothing_to_write(tmp_path: Path) -> None:
    scene = tmp_path / "scene.yaml"
    scene.write_text("packcheck: 1\nparts: {}\n", encoding="utf-8")
    result = run("export", scene, "-o", tmp_path / "bay.stl")
    assert result.exit_code == 2
    assert "holds no part to write" in result.stderr


def test_a_layout_is_written_when_asked_for(tmp_path: Path) -> None:
    """Oracle: by head. The layout moves the second box 100 mm along x."""
    scene = two_boxes(tmp_path, 5.0)
    with scene.open("a", encoding="utf-8") as file:
        file.write("layouts: {apart: {parts: {right_box: {at: [100, 15, 0]}}}}\n")
    run("export", scene, "-o", tmp_path / "bay.stl", "--layout", "apart")
    mesh: Any = trimesh.load(tmp_path / "bay.stl")
    assert mesh.bounds[1, 0] == pytest.approx(105.0)
