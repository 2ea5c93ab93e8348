"""Joints written into the scene, and joints that a layout has taken apart."""

from __future__ import annotations

from pathlib import Path

import pytest

from packcheck.bay import load
from packcheck.errors import SceneError
from packcheck.findings import Verdict
from packcheck.joining import likely_joints, planned_joints
from tests.solids.mesh_bytes import as_obj, box

BAY = """\
packcheck: 1
include: [shared.yaml]
parts:
  # fabricated last winter
  bracket:
    box: [10, 10, 10]   # folded
    at: [0, 0, 0]
  rail: {box: [400, 20, 20], at: [0, 15, 0]}
  pump: {box: [30, 30, 30], at: [0, 0, 25], bolted_to: rail}
clearances: {use: none, default: 4}
layouts:
  lifted: {parts: {pump: {at: [0, 0, 80]}}}
"""
SHARED = """\
packcheck: 1
parts:
  clip: {box: [4, 4, 4], at: [0, 27, 0]}   # in a file of its own
"""


@pytest.fixture
def scene(tmp_path: Path) -> Path:
    (tmp_path / "shared.yaml").write_text(SHARED, encoding="utf-8")
    path = tmp_path / "bay.yaml"
    path.write_text(BAY, encoding="utf-8")
    return path


def test_the_smaller_part_gets_the_joint_in_its_own_file(scene: Path) -> None:
    bay = load(scene)
    likely = likely_joints(bay.check(moves=False).findings)
    assert {finding.subjects for finding in likely} == {("bracket", "rail"), ("rail", "clip")}
    planned_joints(bay.assembly, likely).write()
    text = scene.read_text(encoding="utf-8")
    assert "    box: [10, 10, 10]   # folded\n    at: [0, 0, 0]\n    bolted_to: [rail]\n" in text
    assert text.replace("    bolted_to: [rail]\n", "") == BAY
    shared = scene.with_name("shared.yaml").read_text(encoding="utf-8")
    assert shared == SHARED.replace("27, 0]}", "27, 0], bolted_to: [rail]}")
    assert not [f for f in load(scene).check(moves=False).findings if f.verdict is Verdict.FAIL]


def test_nothing_is_planned_on_a_file_that_changed(scene: Path) -> None:
    bay = load(scene)
    likely = likely_joints(bay.check(moves=False).findings)
    scene.write_text(BAY + "# later\n", encoding="utf-8")
    with pytest.raises(SceneError, match="changed since it was read"):
        planned_joints(bay.assembly, likely)


def test_the_files_of_a_layout_are_read_once(tmp_path: Path) -> None:
    """A file that is gone by then, or a mesh that is another, changes nothing in what was loaded."""
    mesh = tmp_path / "pump.obj"
    mesh.write_bytes(as_obj(box((30, 30, 30))))
    scene = tmp_path / "bay.yaml"
    body = "mesh: {file: pump.obj, units: mm}"
    text = BAY.replace("include: [shared.yaml]\n", "").replace("box: [30, 30, 30]", body)
    scene.write_text(text, encoding="utf-8")
    bay = load(scene, layout="lifted", use_cache=False)
    scene.unlink()
    mesh.write_bytes(as_obj(box((30, 30, 10))))
    (lost,) = (f for f in bay.check(moves=False).findings if f.word == "not seated")
    assert lost.note == "as written the two touch: layout lifted moves pump"


def test_a_layout_that_takes_a_joint_apart_says_so(scene: Path) -> None:
    (lost,) = (f for f in load(scene, layout="lifted").check(moves=False).findings if f.word == "not seated")
    assert lost.subjects == ("rail", "pump")
    assert lost.note == "as written the two touch: layout lifted moves pump"
    as_written = load(scene).check(moves=False).findings
    assert not [f for f in as_written if f.word == "not seated"]


ROWS = """\
packcheck: 1
parts:
  p_clip: {template: true, box: [4, 4, 4], bolted_to: [rail]}
  rail: {box: [400, 20, 20]}
  tray: {box: [40, 20, 2], at: [150, 0, 23]}
  clip: {like: p_clip, at: [150, 0, 12]}
  clip_b: {like: p_clip, at: [150, 0, 16]}
  stud: {box: [4, 4, 4], at: [-150, 0, 12], repeat: {count: 3, step: [40, 0, 0]}}
  nut: {box: [4, 4, 4], at: [-150, 0, 16], repeat: {count: 3, step: [40, 0, 0]}}
clearances: {use: none, default: 1}
"""


def stated(path: Path, *pairs: tuple[str, str]) -> str:
    """The file after these pairs were stated, its joints checked to be exactly those and what was there."""
    bay = load(path)
    by_pair = {finding.subjects: finding for finding in likely_joints(bay.check(moves=False).findings)}
    before = joints(path)
    planned_joints(bay.assembly, [by_pair[pair] for pair in pairs]).write()
    assert joints(path) == before | {frozenset(pair) for pair in pairs}
    return path.read_text(encoding="utf-8")


def joints(path: Path) -> set[frozenset[str]]:
    parts = load(path).assembly.scene.parts
    return {frozenset((name, other)) for name, part in parts.items() for other in part.bolted_to}


@pytest.fixture
def rows(tmp_path: Path) -> Path:
    path = tmp_path / "bay.yaml"
    path.write_text(ROWS.replace("bolted_to: [rail]", "bolted_to: []"), encoding="utf-8")
    return path


def test_a_row_bolted_to_one_part_is_named_as_a_row(rows: Path) -> None:
    text = stated(rows, *(("rail", f"stud.{k}") for k in (1, 2, 3)))
    assert "  rail: {box: [400, 20, 20], bolted_to: [stud]}\n" in text


def test_one_of_a_row_is_named_alone(rows: Path) -> None:
    assert "  rail: {box: [400, 20, 20], bolted_to: [stud.2]}\n" in stated(rows, ("rail", "stud.2"))


def test_two_rows_are_bolted_member_by_member(rows: Path) -> None:
    text = stated(rows, *((f"stud.{k}", f"nut.{k}") for k in (1, 2, 3)))
    assert (
        "  stud: {box: [4, 4, 4], at: [-150, 0, 12], repeat: {count: 3, step: [40, 0, 0]}, bolted_to: [nut]}"
        in text
    )


def test_some_of_two_rows_cannot_be_stated_and_nothing_is_written(rows: Path) -> None:
    before = rows.read_bytes()
    with pytest.raises(SceneError, match="cannot be stated without stating others"):
        stated(rows, ("stud.1", "nut.1"))
    assert rows.read_bytes() == before


def test_joints_taken_from_a_template_are_kept(tmp_path: Path) -> None:
    path = tmp_path / "bay.yaml"
    boss = ROWS.replace("clip_b: {like: p_clip, at: [150, 0, 16]}", "boss: {box: [6, 6, 6], at: [155, 0, 13]}")
    path.write_text(boss, encoding="utf-8")
    text = stated(path, ("clip", "boss"))
    assert "  clip: {like: p_clip, at: [150, 0, 12], bolted_to: [rail, boss]}\n" in text
