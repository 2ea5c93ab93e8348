"""A part put elsewhere in an assembly is as if the scene had it there; the map as blocks to be looked at."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import packcheck
from packcheck.arrays import frozen
from packcheck.bay import Bay
from packcheck.drawing.place_looks import blocks
from packcheck.findings import Finding
from packcheck.frames import Pose
from packcheck.places.layout import planned_layout
from packcheck.search import Grid
from packcheck.trial.elsewhere import put_elsewhere, stands_in

BAY = """packcheck: 1
frames:
  deck: {at: [100, 0, 0], turn: [0, 20, 0], tolerance: 2}
  pin: {in: pump, at: [0, 0, 40]}
parts:
  block: {box: [200, 200, 100], at: [0, 0, -120]}
  pump: {in: deck, box: [60, 40, 50], at: [0, 0, 60], turn: [0, 0, 10], tolerance: [1, 2, 3], bolted_to: [block]}
  rider: {in: pump, sphere: {diameter: 20}, at: [0, 0, 60]}
  lever: {in: pin, box: [80, 8, 8], at: [40, 0, 0]}
  wall: {box: [10, 400, 400], at: [220, 0, 0]}
clearances: {use: none, default: 10}
motions:
  throws: {carries: lever, in: pin, hinge: {through: [0, 0, 0], axis: z, from: -20, to: 30}, during: driving}
measures:
  reach: {distance: {from: pump.top, to: car}, most: 400}
"""


def alike(a: Finding, b: Finding) -> bool:
    def ends(one: Finding) -> list[float]:
        return [np.nan if end is None else end for end in (one.value, one.low, one.high)]

    same = (a.study, a.subjects, a.word, a.verdict) == (b.study, b.subjects, b.word, b.verdict)
    return same and bool(np.allclose(ends(a), ends(b), atol=0.06, equal_nan=True))


@pytest.mark.parametrize("shift", [(30.0, 0, 0), (0, -80, 45)])
def test_the_check_is_that_of_the_scene_written_so(tmp_path: Path, shift: tuple[float, ...]) -> None:
    """Oracle: the scene with the part written there, read anew. A searched motion may end within its 0.05 mm."""
    scene = tmp_path / "bay.yaml"
    scene.write_text(BAY, encoding="utf-8")
    bay = packcheck.load(scene)
    pose = Pose.of(shift, (0, 0, 25)) @ bay.assembly.poses["pump"]
    planned_layout(bay.assembly, bay.session, "pump", pose, "there").write()
    anew = packcheck.load(scene, layout="there")
    there = put_elsewhere(bay.assembly, "pump", pose)
    for name, stands in anew.assembly.poses.items():
        assert there.poses[name].translation == pytest.approx(stands.translation, abs=1e-3), name
        assert there.poses[name].rotation == pytest.approx(stands.rotation, abs=1e-6), name
    assert there.boxes == pytest.approx(anew.assembly.boxes, abs=1e-2)
    first = Bay(there).check(moves=False).findings
    second = anew.check(moves=False).findings
    assert len(first) == len(second) > 3
    for finding in first:
        assert any(alike(finding, other) for other in second), finding


def test_at_and_turn_are_told_from_a_pose(tmp_path: Path) -> None:
    """Oracle: by hand, the figures written in the file."""
    scene = tmp_path / "bay.yaml"
    scene.write_text(BAY, encoding="utf-8")
    assembly = packcheck.load(scene).assembly
    at, turn = stands_in(assembly, "pump", assembly.poses["pump"])
    assert at == pytest.approx((0, 0, 60)) and turn == pytest.approx((0, 0, 10))


def test_blocks_of_cells_enclose_their_volume() -> None:
    """Oracle: closed form. Signed volumes of tetrahedra add up to cells times their size."""
    rng = np.random.default_rng(4)
    cells = rng.uniform(size=(5, 6, 7)) < 0.5
    grid = Grid(frozen([10, 20, 30]), frozen([2, 3, 4]), np.array([5, 6, 7]))
    vertices, faces = blocks(grid, cells)
    a, b, c = np.moveaxis(vertices[faces], 1, 0)
    assert np.einsum("ij,ij->", a, np.cross(b, c)) / 6 == pytest.approx(cells.sum() * 24)
    assert vertices.min(axis=0).tolist() == pytest.approx([10, 20, 30])
