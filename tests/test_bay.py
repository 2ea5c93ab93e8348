"""What the library's front door says beside the findings."""

from __future__ import annotations

from pathlib import Path

import packcheck

SCENE = """\
packcheck: 1
note: second try
frames:
  bulkhead: {at: [100, 0, 0], note: measured twice}
parts:
  pump: {box: [10, 10, 10], in: bulkhead}
  tank: {box: [10, 10, 10], at: [500, 0, 0], note: borrowed}
  cap: {box: [10, 10, 10], at: [500, 0, 90]}
"""


def test_part_without_a_place_is_noted_behind_what_the_file_notes(tmp_path: Path) -> None:
    path = tmp_path / "bay.yaml"
    path.write_text(SCENE, encoding="utf-8")
    assert packcheck.load(path).check(moves=False).notes == (
        "second try",
        "bulkhead: measured twice",
        "tank: borrowed",
        "pump: no `at` is given, so it stands at the zero of bulkhead",
    )
