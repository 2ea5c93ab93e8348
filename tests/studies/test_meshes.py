"""The account of geometry files, and sizes that look like a unit slip."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import trimesh

from packcheck.assembly.assembly import assemble
from packcheck.bay import Bay
from packcheck.errors import SceneError
from packcheck.findings import Verdict
from packcheck.scene.model.scene import Box, Mesh, Part, Scene, SolidSpec
from tests.bays import part, scene


def mesh_part(name: str, file: Path, **facts: object) -> Part:
    shape = replace(Mesh(file, 1.0, "mm"), **facts)  # type: ignore[arg-type]
    return Part(name, (SolidSpec(shape, "origin"),))


def with_block(path: Path, extents: tuple[float, float, float]) -> Path:
    trimesh.creation.box(extents).export(path)
    return path


def check(made: Scene) -> Bay:
    return Bay(assemble(made, use_cache=False))


@pytest.mark.parametrize("size", [0.4, 400_000.0])
def test_a_size_that_looks_like_a_unit_slip_is_unsure(tmp_path: Path, size: float) -> None:
    """Oracle: the issue's examples: an engine 0.4 mm or 400 m long."""
    block = with_block(tmp_path / "block.stl", (size, size / 2, size / 2))
    report = check(scene(mesh_part("block_1", block), part("far", Box((1, 1, 1)), at=(0, 0, 1e6)))).check()
    (finding,) = (f for f in report.findings if f.study == "meshes")
    assert (finding.word, finding.verdict) == ("odd size", Verdict.UNSURE)
    assert finding.value == pytest.approx(size, rel=1e-6)


def test_a_believable_mesh_draws_no_finding_and_one_row(tmp_path: Path) -> None:
    block = with_block(tmp_path / "block.stl", (400, 200, 300))
    report = check(scene(mesh_part("block_1", block))).check()
    (table,) = report.tables
    assert table.rows[0][:5] == ("block_1", "block.stl", "solid", 1, 12)
    assert not [f for f in report.findings if f.study == "meshes"]


def test_an_open_mesh_without_thickness_is_unsure_and_what_it_winds_round_too(tmp_path: Path) -> None:
    """Oracle: by construction: a box without its lid, a cube inside it and one far from its walls outside."""
    shell = trimesh.creation.box((200, 200, 200))
    shell.update_faces(shell.face_normals[:, 2] < 0.5)
    shell.export(tmp_path / "tray.ply")
    inside = part("inside", Box((10, 10, 10)), at=(0, 0, -60))
    report = check(scene(mesh_part("tray", tmp_path / "tray.ply"), inside)).check()
    words = {f.subjects: (f.word, f.verdict) for f in report.findings}
    assert words["tray",] == ("open surface", Verdict.UNSURE)
    assert words["tray", "inside"][1] is Verdict.UNSURE


def test_a_sheet_has_its_thickness_on_the_side_that_was_said(tmp_path: Path) -> None:
    """Oracle: closed form. A panel modelled on its upper face, 3 mm thick downward, cubes 20 above and below."""
    grid = np.array([[x, y, 0.0] for x in (-100, 100) for y in (-100, 100)])
    trimesh.Trimesh(grid, [[0, 2, 1], [1, 2, 3]], process=False).export(tmp_path / "panel.ply")
    panel = mesh_part("panel", tmp_path / "panel.ply", thickness=3.0, side="outer")
    cubes = [part("above", Box((10, 10, 10)), at=(0, 0, 25)), part("below", Box((10, 10, 10)), at=(0, 0, -25))]
    made = check(replace(scene(panel, *cubes), list_within=60.0))
    gaps = {f.subjects[1]: f.value for f in made.check().findings if f.subjects[0] == "panel"}
    assert gaps == {"above": pytest.approx(20.0, abs=1e-6), "below": pytest.approx(17.0, abs=1e-6)}


def test_every_broken_file_is_an_error_that_names_it(tmp_path: Path) -> None:
    for name in ("one.stl", "two.stl"):
        (tmp_path / name).write_bytes(b"<html>not found</html>")
    made = scene(mesh_part("a", tmp_path / "one.stl"), mesh_part("b", tmp_path / "two.stl"))
    with pytest.raises(SceneError, match=r"one\.stl[\s\S]*two\.stl"):
        assemble(made, use_cache=False)
