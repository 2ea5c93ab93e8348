"""Joints written into the scene, and joints that a layout has taken apart."""

from __future__ import annotations

from pathlib import Path

import pytest

from packcheck.bay import load
from packcheck.errors import SceneError
from packcheck.findings import Verdict
from packcheck.joining import likely_joints, planned_joints

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


def test_a_layout_that_takes_a_joint_apart_says_so(scene: Path) -> None:
    (lost,) = (f for f in load(scene, layout="lifted").check(moves=False).findings if f.word == "not seated")
    assert lost.subjects == ("rail", "pump")
    assert lost.note == "as written the two touch: layout lifted moves pump"
    as_written = load(scene).check(moves=False).findings
    assert not [f for f in as_written if f.word == "not seated"]
