"""`packcheck list`: text, JSON, CSV, and the drawing."""

from __future__ import annotations

import csv
import io
import json
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np
import pytest

from .running import run

BAY = """\
packcheck: 1
title: Two boxes
parts:
  left_box: {box: [100, 20, 30], at: [200, -50, 15], stage: mockup, known: tape}
  right_box: {box: [100, 20, 30], at: [0, 50, 100], bolted_to: left_box}
layouts:
  lower: {parts: {right_box: {at: [0, 50, 0]}}}
"""


@pytest.fixture
def scene(tmp_path: Path) -> Path:
    path = tmp_path / "bay.yaml"
    path.write_text(BAY, encoding="utf-8")
    return path


def test_the_list_reads_as_one_would_measure(scene: Path) -> None:
    """Oracle: by head."""
    said = run("list", scene).stdout
    assert said.startswith("Parts, as they stand in the car: 2 parts\n\nleft_box\n")
    assert "  place   front face 150 mm aft of the car's zero, left side 60 mm left, underside level\n" in said
    assert "  known   tape, within 3 mm\n  joints  right_box\n  stage   mockup\n" in said


def test_json_and_csv_hold_the_same_rows(scene: Path) -> None:
    table = json.loads(run("list", scene, "--json").stdout)
    rows = list(csv.reader(io.StringIO(run("list", scene, "--csv").stdout)))
    assert rows == [table["columns"], *table["rows"]]
    assert [row[0] for row in table["rows"]] == ["left_box", "right_box"]


def test_part_layout_and_stage_choose(scene: Path) -> None:
    assert "\nleft_box\n" not in run("list", scene, "--part", "right_box").stdout
    assert "underside 15 mm down" in run("list", scene, "--layout", "lower").stdout
    final = run("list", scene, "--stage", "final").stdout
    assert "1 part\n" in final
    assert "left out at the stage final: left_box" in final


def test_the_drawing_shows_left_at_the_bottom_from_above_and_at_the_left_from_behind(scene: Path) -> None:
    """Oracle: how drawings are laid out, front to the left: stated in the README."""
    target = scene.with_name("bay.svg")
    result = run("list", scene, "--svg", target)
    assert result.exit_code == 0
    assert f"wrote {target}" in result.stderr
    middles = {"left_box": [], "right_box": []}  # type: dict[str, list[tuple[float, float]]]
    for path in ET.parse(target).getroot().iter("{http://www.w3.org/2000/svg}path"):
        title = path.find("{http://www.w3.org/2000/svg}title")
        if title is not None:
            points = np.array([float(x) for x in re.findall(r"-?\d+\.\d", path.get("d", ""))]).reshape(-1, 2)
            middles[str(title.text)].append(tuple(points.mean(axis=0).tolist()))
    (above, side, rear), (above_right, side_right, rear_right) = middles["left_box"], middles["right_box"]
    assert above[1] > above_right[1] and above[0] > above_right[0]
    assert side[0] > side_right[0] and side[1] > side_right[1]
    assert rear[0] < rear_right[0] and rear[1] > rear_right[1]


def test_the_scene_is_never_written_over(scene: Path) -> None:
    for option in ("--svg", "-o"):
        assert run("list", scene, option, scene).exit_code == 2
    assert scene.read_text(encoding="utf-8") == BAY


def test_a_strange_part_is_refused_with_a_hint(scene: Path) -> None:
    result = run("list", scene, "--part", "left_bux")
    assert result.exit_code == 2
    assert "did you mean 'left_box'?" in result.stderr
