"""Short scenes for tests: written to a file, loaded, their faults taken down."""

from __future__ import annotations

from pathlib import Path
from textwrap import dedent

import pytest

from packcheck.errors import Fault, SceneError
from packcheck.scene import load_scene
from packcheck.scene.model.scene import Part, Scene, Shape

__all__ = ["faults_of", "part_of", "scene_of", "shape_of", "whats", "write"]


def write(folder: Path, text: str, name: str = "bay.yaml") -> Path:
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(dedent(text), encoding="utf-8")
    return path


def scene_of(folder: Path, text: str, *, head: str = "packcheck: 1\n") -> Scene:
    """The scene that `text` makes, below the version line."""
    return load_scene(write(folder, head + dedent(text)))


def part_of(folder: Path, text: str, *, head: str = "") -> Part:
    """The part whose keys are `text`, one line of flow YAML."""
    return scene_of(folder, f"{head}parts: {{it: {{{text}}}}}").parts["it"]


def shape_of(folder: Path, text: str, *, head: str = "") -> Shape:
    """The one shape of that part."""
    (solid,) = part_of(folder, text, head=head).solids
    return solid.shape


def faults_of(folder: Path, text: str, *, head: str = "packcheck: 1\n") -> tuple[Fault, ...]:
    with pytest.raises(SceneError) as caught:
        load_scene(write(folder, head + dedent(text)))
    return caught.value.faults


def whats(folder: Path, text: str, *, head: str = "packcheck: 1\n") -> list[str]:
    """What each fault says, without place, why and mend."""
    return [fault.what for fault in faults_of(folder, text, head=head)]
