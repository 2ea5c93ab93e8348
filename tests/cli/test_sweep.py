"""`packcheck sweep` writes a picture of a motion, whole or not at all."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import trimesh

from tests.cli.running import run

SCENE = """packcheck: 1
parts:
  lid: {box: [400, 300, 4], at: [200, 0, 2]}
  lamp: {in: lid, box: [10, 10, 10]}
  post: {box: [10, 10, 10], at: [0, 0, -50]}
  block: {box: [10, 10, 10], at: [0, 0, -90]}
  fan: {box: [40, 300, 30], at: [0, 0, -300]}
  rim: {in: fan, at: [0, 200, 0], sphere: {diameter: 20}}
motions:
  opens: {carries: lid, hinge: {through: [0, 0, 0], axis: y, from: 0, to: -90}}
  spins: {carries: [rim], full_turn: {through: [0, 0, 0], axis: z}, together: false}
  rocks: {carries: block, rock: {turn: {x: [-3, 3]}, shift: {z: [-6, 4]}}}
"""


@pytest.fixture
def scene(tmp_path: Path) -> Path:
    path = tmp_path / "scene.yaml"
    path.write_text(SCENE, encoding="utf-8")
    return path


def names(path: Path) -> set[str]:
    return set(trimesh.load_scene(path).graph.nodes_geometry)


def test_copies_stand_along_the_way_beside_what_stays(scene: Path, tmp_path: Path) -> None:
    """Oracle: closed form. Open by 90 degrees the lid, 400 mm long and 4 thick, stands upright: GLB is in metres,
    y up, so that its first copy reaches up to 0.4 and is 0.004 thick lengthwise."""
    target = tmp_path / "opens.glb"
    result = run("sweep", scene, "opens", "-o", target, "--copies", "3")
    assert result.exit_code == 0
    assert "a picture, not the proof" in result.output
    copies = {f"{part} {count}" for part in ("lid", "lamp") for count in (1, 2, 3)}
    assert names(target) == {*copies, "post", "block", "fan", "rim"}
    upright = trimesh.load_scene(target).geometry["lid 1"].bounds
    assert np.asarray(upright)[:, 1] == pytest.approx([0.0, 0.4], abs=1e-6)
    assert float(np.ptp(np.asarray(upright)[:, 2])) == pytest.approx(0.004, abs=1e-6)


def test_a_rock_is_shown_at_every_end_and_may_be_shown_alone(scene: Path, tmp_path: Path) -> None:
    target = tmp_path / "rocks.glb"
    run("sweep", scene, "rocks", "-o", target, "--alone")
    assert names(target) == {f"block {count}" for count in (1, 2, 3, 4)}


def test_of_a_full_turn_all_that_is_swept_is_there_as_one_closed_solid(scene: Path, tmp_path: Path) -> None:
    """Oracle: closed form. A ball of 20 across, 200 mm out: a ring 420 across round a hole of 380, 20 thick."""
    target = tmp_path / "spins.glb"
    said = run("sweep", scene, "spins", "-o", target, "--alone").output
    assert "sweeping a ring of diameter 420 mm with a hole of 380 mm, 20 mm thick" in said
    swept = trimesh.load_scene(target).geometry["rim swept"]
    low, high = np.asarray(swept.bounds) * 1000
    assert high - low == pytest.approx([420, 20, 420], abs=0.6)
    assert np.all(high - low >= np.array([420, 20, 420]) - 1e-3)
    assert swept.is_watertight


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["open", "-o", "a.glb"], "did you mean 'opens'?"),
        (["opens", "-o", "a.stl"], "needs to end in .glb"),
        (["opens", "-o", "a.glb", "--copies", "1"], "--copies"),
    ],
)
def test_what_cannot_be_written_is_refused_and_leaves_nothing(
    words: list[str], told: str, scene: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    result = run("sweep", scene, *words)
    assert result.exit_code == 2
    assert told in result.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["scene.yaml"]
