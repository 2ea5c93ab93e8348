"""What stands too far out is told once, and is read where it was meant."""

from __future__ import annotations

from pathlib import Path

import pytest

from packcheck.scene.document.indents import settle_indents
from packcheck.scene.text.nodes import MapNode, compose, plain
from tests.scene.writing import faults_of, scene_of, whats


def settled(text: str) -> tuple[object, list[str]]:
    """The tree that is left, and what is said."""
    root, _ = compose(text, "bay.yaml")
    assert isinstance(root, MapNode)
    faults = settle_indents(root)
    return plain(root), [fault.what for fault in faults]


@pytest.mark.parametrize("parts", ["", "parts:\n", "parts: {}\n"])
def test_part_in_the_first_column_is_read_under_parts(parts: str) -> None:
    tree, said = settled(f"{parts}pump:\n  kind: fuel\n  box: [1, 1, 1]\n")
    assert tree == {"parts": {"pump": {"kind": "fuel", "box": [1, 1, 1]}}}
    assert said == ["'pump' looks like a part, and stands outside parts"]


def test_frame_in_the_first_column_is_read_under_frames() -> None:
    tree, said = settled("bulkhead: {in: car, at: [0, 0, 0]}\n")
    assert tree == {"frames": {"bulkhead": {"in": "car", "at": [0, 0, 0]}}}
    assert said == ["'bulkhead' looks like a frame, and stands outside frames"]


@pytest.mark.parametrize("text", ["frame: {bulkhead: {at: [0, 0, 0]}}", "colour: red", "pump: {colour: red}"])
def test_what_looks_like_neither_is_left_to_the_grammar(text: str) -> None:
    _, said = settled(text)
    assert said == []


def test_part_in_the_first_column_and_its_own_faults_come_together(tmp_path: Path) -> None:
    first, second = faults_of(tmp_path, "parts: {}\npump:\n  box: [1, 1, 0]\n")
    assert first.mend == "indent it under parts:"
    assert second.what == "part 'pump': box item 3 is 0 mm, needs more than 0 mm"


@pytest.mark.parametrize(
    ("text", "mend"),
    [
        ("parts:\n  pump:\n    box: [1]\n  at: [0]\n", "indent it two blanks more"),
        ("parts:\n  pump:\n      box: [1]\n  at: [0]\n", "indent it four blanks more"),
        ("parts:\n  pump:\n        box: [1]\n  at: [0]\n", "indent it 6 blanks more"),
        ("parts:\n  pump:\n  box: [1]\n  at: [0]\n", "indent them two blanks more"),
        ("parts:\n  pump: {box: [1]}\n  at: [0]\n", "put it inside the braces of 'pump'"),
    ],
)
def test_keys_on_the_level_of_their_part_become_its_own(text: str, mend: str) -> None:
    root, _ = compose(text, "bay.yaml")
    assert isinstance(root, MapNode)
    (fault,) = settle_indents(root)
    assert fault.mend == mend
    assert plain(root) == {"parts": {"pump": {"box": [1], "at": [0]}}}


def test_shape_on_the_level_of_its_part_is_known_by_its_keys() -> None:
    tree, said = settled("parts:\n  pump:\n  cylinder: {diameter: 1, length: 2}\n")
    assert tree == {"parts": {"pump": {"cylinder": {"diameter": 1, "length": 2}}}}
    assert said == ["part 'cylinder' looks like a key of part 'pump'"]


def test_keys_without_the_name_of_their_part_are_told_once(tmp_path: Path) -> None:
    said = whats(tmp_path, "parts:\n  kind: fuel\n  box: [1, 1, 1]\n")
    assert said == ["'kind' looks like a key of a part, and stands where its name is needed"]


def test_parts_may_be_named_like_keys(tmp_path: Path) -> None:
    text = "parts:\n  pump: {box: [1, 1, 1]}\n  pipe: {box: [1, 1, 1]}\n  box:\n    sphere: {diameter: 2}\n"
    assert list(scene_of(tmp_path, text).parts) == ["pump", "pipe", "box"]


def test_slips_of_an_included_file_are_told_there(tmp_path: Path) -> None:
    (tmp_path / "more.yaml").write_text("parts:\n  pump:\n  box: [1, 1, 1]\n", encoding="utf-8")
    (fault,) = faults_of(tmp_path, "include: more.yaml\n")
    assert str(fault.mark).endswith("more.yaml:3:3")
