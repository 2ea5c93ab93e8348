"""Scenes that must be refused, each with every one of its faults at the right place."""

from __future__ import annotations

from pathlib import Path

import pytest

from packcheck.errors import SceneError
from packcheck.scene import load_scene

FOLDER = Path(__file__).parent / "malformed"


def expectations() -> dict[str, list[str]]:
    """`expected.txt`: a scene, then indented its faults as ``file:line:column: what is said``."""
    expected: dict[str, list[str]] = {}
    scene = ""
    for line in (FOLDER / "expected.txt").read_text(encoding="utf-8").splitlines():
        if line.startswith("  "):
            expected[scene].append(line.strip())
        elif line and not line.startswith("#"):
            scene = line
            expected[scene] = []
    return expected


EXPECTED = expectations()


@pytest.mark.parametrize("name", EXPECTED)
def test_malformed_scene_is_refused_with_every_fault_in_its_place(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(FOLDER)
    with pytest.raises(SceneError) as caught:
        load_scene(name)
    told = [str(fault) for fault in caught.value.faults]
    assert len(told) == len(EXPECTED[name]), "\n".join(told)
    assert [wanted for wanted, got in zip(EXPECTED[name], told, strict=True) if not got.startswith(wanted)] == []


def test_every_malformed_scene_has_its_expectation() -> None:
    assert {path.name for path in FOLDER.glob("*.yaml")} == EXPECTED.keys()
    assert len(EXPECTED) >= 40


@pytest.mark.parametrize("name", EXPECTED)
def test_no_fault_shows_the_inside_of_the_program(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(FOLDER)
    with pytest.raises(SceneError) as caught:
        load_scene(name)
    text = str(caught.value)
    assert not [
        word for word in ("Traceback", "pydantic", "Input should", "validation error", "Text(") if word in text
    ]
