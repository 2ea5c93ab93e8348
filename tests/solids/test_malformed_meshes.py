"""Broken and hostile mesh files are refused in words, never with a traceback and never as an empty part."""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest

from packcheck.errors import MeshError
from packcheck.scene.model.scene import Mesh
from packcheck.solids.meshes.files import read_mesh
from tests.solids.malformed_meshes import MALFORMED
from tests.solids.mesh_bytes import as_stl, box, spec_of


@pytest.mark.parametrize("case", MALFORMED)
def test_malformed_file_is_refused_with_its_name_and_reason(case: str, tmp_path: Path) -> None:
    """Oracle: the list itself; each file was broken in one known way."""
    name, data, words = MALFORMED[case]
    with pytest.raises(MeshError, match=re.escape(words)) as caught:
        read_mesh(spec_of(tmp_path, name, data), use_cache=False)
    (fault,) = caught.value.faults
    assert fault.mark is None
    assert fault.what.startswith(f'mesh file "{tmp_path / name}" ')


def test_missing_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(MeshError, match="does not exist"):
        read_mesh(Mesh(tmp_path / "none.stl", 1.0, "mm"), use_cache=False)


def test_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / "part.stl").mkdir()
    with pytest.raises(MeshError, match="is not a file"):
        read_mesh(Mesh(tmp_path / "part.stl", 1.0, "mm"), use_cache=False)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_pipe_is_refused_without_waiting_for_it(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "part.stl")
    with pytest.raises(MeshError, match="is not a file"):
        read_mesh(Mesh(tmp_path / "part.stl", 1.0, "mm"), use_cache=False)


def test_file_over_the_size_cap_is_refused_unread(tmp_path: Path) -> None:
    file = tmp_path / "part.stl"
    with file.open("wb") as stream:
        stream.truncate((1 << 30) + 1)  # a hole: takes no room on disk
    with pytest.raises(MeshError, match="1024 MiB"):
        read_mesh(Mesh(file, 1.0, "mm"), use_cache=False)


def test_mesh_far_from_its_origin_is_refused(tmp_path: Path) -> None:
    data = as_stl(box(at=(2e7, 0, 0)))
    with pytest.raises(MeshError, match=r"reaches 2e\+04 km from its origin"):
        read_mesh(spec_of(tmp_path, "a.stl", data, unit=1000.0, unit_name="m"), use_cache=False)
