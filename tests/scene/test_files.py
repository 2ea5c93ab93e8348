"""Reading files: encodings, sizes, includes."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from packcheck.errors import Fault, SceneError
from packcheck.scene import load_scene
from tests.scene.writing import faults_of, scene_of, write

SMALL = "packcheck: 1\nparts: {block: {box: [1, 1, 1]}}\n"


def refused(path: Path, content: bytes) -> Fault:
    path.write_bytes(content)
    with pytest.raises(SceneError) as caught:
        load_scene(path)
    (fault,) = caught.value.faults
    return fault


def test_utf_8_mark_at_the_beginning_is_read_over(tmp_path: Path) -> None:
    path = tmp_path / "bay.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + SMALL.encode())
    assert list(load_scene(path).parts) == ["block"]


def test_windows_line_ends_are_read(tmp_path: Path) -> None:
    path = tmp_path / "bay.yaml"
    path.write_bytes(SMALL.replace("\n", "\r\n").encode())
    assert list(load_scene(path).parts) == ["block"]


@pytest.mark.parametrize(
    ("content", "what", "place"),
    [
        (SMALL.encode("utf-16"), "UTF-16", (0, 0)),
        (b"packcheck: 1\ntitle: K\xfchler\n", "0xfc is not UTF-8", (2, 9)),
        (b"packcheck: 1\ntitle: a\x00b\n", r"control character '\x00'", (2, 9)),
        (b"packcheck: 1\ntitle: \x1b[31m\n", r"control character '\x1b'", (2, 8)),
        (b"#" * 5_000_001, "larger than 5 MB", (0, 0)),
        (bytes(range(256)), "", None),
    ],
)
def test_what_is_not_plain_utf_8_is_refused(
    tmp_path: Path, content: bytes, what: str, place: tuple[int, int] | None
) -> None:
    fault = refused(tmp_path / "bay.yaml", content)
    assert what in fault.what
    assert fault.mark is not None
    assert place is None or (fault.mark.line, fault.mark.column) == place


@pytest.mark.parametrize(
    ("name", "what"), [("bay.yml", "does not exist"), ("folder", "is a folder"), ("x" * 300, "cannot be read")]
)
def test_path_that_is_no_file_is_refused(tmp_path: Path, name: str, what: str) -> None:
    (tmp_path / "folder").mkdir()
    with pytest.raises(SceneError, match=what):
        load_scene(tmp_path / name)


def test_missing_file_names_its_neighbour(tmp_path: Path) -> None:
    write(tmp_path, SMALL, "rear_bay.yaml")
    with pytest.raises(SceneError, match=r"did you mean 'rear_bay\.yaml'"):
        load_scene(tmp_path / "rear_bay.yml")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_named_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.yaml")
    with pytest.raises(SceneError, match="not a plain file"):
        load_scene(tmp_path / "pipe.yaml")


def test_marks_name_the_root_as_it_was_given_and_includes_from_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(tmp_path, "parts: {sump: {box: [1, 1, 1]}}\n", "shared/engine.yaml")
    write(tmp_path, SMALL + "include: [../shared/engine.yaml]\n", "scenes/bay.yaml")
    monkeypatch.chdir(tmp_path)
    scene = load_scene("./scenes/bay.yaml")
    marks = {name: str(part.mark) for name, part in scene.parts.items()}
    assert marks == {"block": "./scenes/bay.yaml:2:9", "sump": "shared/engine.yaml:1:9"}
    assert scene.path == "./scenes/bay.yaml"
    assert [path.name for path in scene.files] == ["bay.yaml", "engine.yaml"]


def test_file_reached_twice_is_read_once(tmp_path: Path) -> None:
    write(tmp_path, "frames: {datum: {}}\n", "datum.yaml")
    write(tmp_path, "include: [datum.yaml]\n", "left.yaml")
    write(tmp_path, "include: [./datum.yaml]\n", "right.yaml")
    scene = scene_of(tmp_path, "include: [left.yaml, right.yaml]")
    assert [path.name for path in scene.files] == ["bay.yaml", "left.yaml", "datum.yaml", "right.yaml"]
    assert list(scene.frames) == ["datum"]


def test_file_reached_through_a_link_is_the_same_file(tmp_path: Path) -> None:
    write(tmp_path, "frames: {datum: {}}\n", "datum.yaml")
    (tmp_path / "other.yaml").symlink_to("datum.yaml")
    assert len(scene_of(tmp_path, "include: [datum.yaml, other.yaml]").files) == 2


def test_file_that_includes_itself_is_a_loop(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, "include: [bay.yaml]")
    assert "loop" in fault.what


def test_loop_of_three_files_is_named_in_order(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    write(Path(), "include: [b.yaml]\n", "a.yaml")
    write(Path(), "include: [a.yaml]\n", "b.yaml")
    (fault,) = faults_of(Path(), "include: a.yaml")
    assert fault.what.endswith("a.yaml -> b.yaml -> a.yaml")
    assert str(fault.mark) == "b.yaml:1:11"


@pytest.mark.parametrize("name", ["no\\0thing.yaml", "y" * 300])
def test_include_with_an_impossible_name_is_a_fault(tmp_path: Path, name: str) -> None:
    (fault,) = faults_of(tmp_path, f'include: ["{name}"]')
    assert str(fault.mark).endswith("bay.yaml:2:11")


def test_too_many_files_are_refused(tmp_path: Path) -> None:
    for index in range(101):
        write(tmp_path, f"include: [f{index + 1}.yaml]\n", f"f{index}.yaml")
    (fault,) = faults_of(tmp_path, "include: [f0.yaml]")
    assert "more than 100 files" in fault.what


def test_names_in_an_unread_file_are_not_called_unknown(tmp_path: Path) -> None:
    faults = faults_of(tmp_path, "include: [gone.yaml]\nparts: {block: {in: stand, kind: odd, box: [1, 1, 0]}}")
    assert [fault.what.split()[-1] for fault in faults] == ["exist", "mm"]


def test_file_in_a_folder_that_is_not_there_is_missing(tmp_path: Path) -> None:
    with pytest.raises(SceneError, match="does not exist"):
        load_scene(tmp_path / "gone" / "bay.yaml")
