"""The sketches in the manual are those that their script draws."""

from __future__ import annotations

import importlib.util
import xml.etree.ElementTree as ET
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).parents[2]
SCRIPTS = ROOT / "scenes" / "pictures"
MANUAL = ROOT / "packcheck" / "manual"
PICTURES = MANUAL / "pictures"


def script() -> ModuleType:
    spec = importlib.util.spec_from_file_location("draw_measuring", SCRIPTS / "draw_measuring.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_sketches_are_what_the_script_draws(tmp_path: Path) -> None:
    drawn = script()
    drawn.main(tmp_path)
    for name in drawn.PICTURES:
        assert (tmp_path / name).read_bytes() == (PICTURES / name).read_bytes()


@pytest.mark.parametrize("name", sorted(script().PICTURES))
def test_every_sketch_is_valid_and_shown_in_the_manual(name: str) -> None:
    assert ET.parse(PICTURES / name).getroot().tag.endswith("svg")
    assert f"(pictures/{name})" in (MANUAL / "measuring.md").read_text(encoding="utf-8")
