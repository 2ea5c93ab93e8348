"""What a mirror image across the car adds where the part hangs on an engine, and the `across` that mends it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import packcheck
from packcheck import Bay
from packcheck.assembly.imaging import image_notes
from packcheck.report.as_json import as_json
from packcheck.report.as_page import as_page
from packcheck.report.text.as_text import as_text

HEADS = """packcheck: 1
frames:
  middle: {at: [0, 0, 0]MIDDLE}
  eng: {at: [300, SIDE, 300], ACCURACY}
parts:
  block: {kind: engine, in: eng, box: [400, 200, 200]}
  head_r: {kind: engine, in: eng, box: [400, 100, 100], at: [0, 155, 0], tolerance: 1}
  head_l: {mirror_of: IMAGE}
"""


def bay(
    folder: Path, *, y: str = "0", accuracy: str = "tolerance: 3", image: str = "head_r", middle: str = ""
) -> Bay:
    scene = folder / "scene.yaml"
    text = HEADS.replace("SIDE", y).replace("ACCURACY", accuracy).replace("IMAGE", image).replace("MIDDLE", middle)
    scene.write_text(text, encoding="utf-8")
    return packcheck.load(scene)


def test_what_it_adds_is_told_in_every_report_and_across_is_proposed(tmp_path: Path) -> None:
    """Oracle: closed form: the engine 3 mm to the left takes its part there, and the image 3 mm to the right: 6."""
    made = bay(tmp_path)
    said = (
        "head_l: it is the mirror image of head_r across the car, so what is not known of eng counts twice between "
        "the two, up to 6 mm in all. If it is the image across the middle of eng, write mirror_of: {part: head_r, "
        "across: eng}"
    )
    report = made.check()
    assert said in json.loads(as_json(report, version="1"))["notes"]
    for text in (as_text(report), as_page(report, made.model(report), version="1")):
        assert said in " ".join(text.split())


def test_what_is_proposed_leaves_it_out(tmp_path: Path) -> None:
    """Oracle: by head: own tolerances alone count against the block then, 1 mm, and 6 mm more before."""
    before, after = bay(tmp_path), bay(tmp_path, image="{part: head_r, across: eng}")
    assert before.assembly.doubt("block", "head_l").most > 6.0
    assert after.assembly.doubt("block", "head_l").most == pytest.approx(1.0)
    assert list(image_notes(after.assembly)) == []


@pytest.mark.parametrize(("facts", "said"), [
    ({"accuracy": "tolerance: [9, 2, 9]"}, "up to 4 mm in all"),
    ({"y": "12"}, "across: eng}; it then stands 24 mm from here"),
    ({"middle": ", centreline: true"}, "of head_r across middle, so what"),
    ({"accuracy": "uncertainty: {standard: 1}"}, "of eng counts twice"),
])  # fmt: skip
def test_how_much_and_where_from(tmp_path: Path, facts: dict[str, str], said: str) -> None:
    """Oracle: by head: only what goes left or right counts; a frame 12 mm to one side shows its image 24 mm on."""
    (note,) = image_notes(bay(tmp_path, **facts).assembly)
    assert said in note


@pytest.mark.parametrize("facts", [
    {"accuracy": "note: x"},  # all is known
    {"image": "{part: head_r, across: car}"},  # somebody said so
    {"y": "390"},  # a rail with its like on the other side, no engine
    {"image": "head_r, at: [0, -155, 0]"},  # it stands where the file says
])  # fmt: skip
def test_where_nothing_is_added_or_it_is_meant_nothing_is_said(tmp_path: Path, facts: dict[str, str]) -> None:
    assert list(image_notes(bay(tmp_path, **facts).assembly)) == []
