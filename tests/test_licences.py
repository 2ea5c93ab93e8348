"""What packcheck hands on under other people's terms is handed on with them."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

import packcheck
from packcheck.data import materials

ROOT = Path(__file__).parents[1]


def test_the_licence_of_the_bundled_script_is_among_the_licence_files_of_the_wheel() -> None:
    """Oracle: the packaging rules (PEP 639): `license-files` are paths from the project's own folder."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    texts = {name: (ROOT / name).read_text("utf-8") for name in project["license-files"]}
    assert "three.js authors" in texts["packcheck/report/page/built/three-LICENSE.txt"]
    assert "Permission is hereby granted" in texts["packcheck/report/page/built/three-LICENSE.txt"]
    assert "LICENSE" in texts


def test_what_the_extras_put_on_disk_is_named() -> None:
    told = " ".join((ROOT / "DEVELOPERS.md").read_text("utf-8").split())
    for word in ("igl/copyleft", "igl/triangle", "Open CASCADE", "LGPL 2.1", "three.js"):
        assert word in told


def test_densities_that_were_not_looked_up_say_so() -> None:
    """Oracle: by head, from the sources in the table."""
    rows = materials()
    assert rows["glass"].recalled == rows["rubber"].recalled == rows["titanium"].recalled == "from memory"
    assert rows["aluminium"].recalled == "from memory"  # the range was looked up, 2700 was not
    assert rows["steel"].recalled == rows["zinc"].recalled == "range from memory"
    assert all(("memory" in row.recalled) == ("from memory" in row.source) for row in rows.values())


@pytest.mark.parametrize("suffix", [".glb", ".stl", ".ply", ".obj"])
def test_an_export_names_packcheck_and_no_library_with_its_address(suffix: str) -> None:
    bay = packcheck.load(ROOT / "scenes" / "first_steps.yaml")
    head = bay.exported(suffix)
    assert b"packcheck" in head
    assert not re.search(rb"https?:|github|trimesh", head)
