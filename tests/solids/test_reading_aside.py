"""Files are read by another process: its end is told with the name of the file, and the other files are read on."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from pathlib import Path
from subprocess import Popen
from typing import Any

import numpy as np
import pytest

from packcheck.errors import MeshError
from packcheck.scene.model.scene import Mesh
from packcheck.solids.formats import aside
from packcheck.solids.meshes import files as mesh_files
from packcheck.solids.meshes.files import read_mesh
from packcheck.solids.meshes.packing import packed
from packcheck.solids.meshes.reading import made
from tests.cli.running import run
from tests.solids.mesh_bytes import WRITERS, as_stl, box, spec_of, torus

BRITTLE = """
import ctypes, os
from packcheck.solids.meshes import reading as mesh_reading
def run(question):
    name = question[0].file.name
    if name.startswith("crash"):
        ctypes.string_at(0)
    if name.startswith("abort"):
        os.abort()
    if name.startswith("greed"):
        raise MemoryError
    if name.startswith("odd"):
        raise IndexError("index 9 is out of bounds")
    answer = mesh_reading.run(question)
    if name.startswith("nan"):
        answer["vertices"] = answer["vertices"] * float("nan")
    if name.startswith("stray"):
        answer["faces"] = answer["faces"] + 1000
    if name.startswith("lacking"):
        del answer["facts"]
    return answer
"""

ENDS = {
    "crash.stl": "crashed (signal 11)",
    "abort.stl": "crashed (signal 6)",
    "greed.stl": "takes more memory than it may",
    "odd.stl": "cannot be worked out (IndexError: index 9 is out of bounds)",
    "nan.stl": "what came back of it is no mesh",
    "stray.stl": "what came back of it is no mesh",
    "lacking.stl": "what came back of it is no mesh",
}


@pytest.fixture
def brittle(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Reading by a process that ends badly over files of certain names."""
    (tmp_path / "brittle.py").write_text(BRITTLE, encoding="utf-8")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    monkeypatch.setattr(mesh_files, "_READING", "brittle")
    idle: list[aside.Helper] = []
    monkeypatch.setattr(aside, "_idle", idle)
    yield
    for helper in idle:
        helper.close()


@pytest.mark.skipif(os.name != "posix", reason="signals are told otherwise on this system")
@pytest.mark.parametrize("name", ENDS)
@pytest.mark.usefixtures("brittle")
def test_a_bad_end_is_an_error_that_names_the_file(name: str, tmp_path: Path) -> None:
    spec = spec_of(tmp_path, name, as_stl(box()))
    with pytest.raises(MeshError) as caught:
        read_mesh(spec, use_cache=False)
    (fault,) = caught.value.faults
    assert fault.what.startswith(f'mesh file "{spec.file}" ')
    assert ENDS[name] in fault.what
    assert read_mesh(spec_of(tmp_path, "good.stl", as_stl(box())), use_cache=False).account.closed


@pytest.mark.skipif(os.name != "posix", reason="signals are told otherwise on this system")
@pytest.mark.usefixtures("brittle")
def test_a_scene_names_every_file_that_ended_its_reader(tmp_path: Path) -> None:
    """Oracle: by construction: of five files two crash and one is refused; these are named, with their lines."""
    parts = ""
    for line, name in enumerate(("a.stl", "crash.stl", "b.stl", "abort.stl", "page.stl"), 3):
        (tmp_path / name).write_bytes(b"<html>" if name == "page.stl" else as_stl(box((40, 40, 40 + line))))
        parts += f"  part_{line}: {{mesh: {{file: {name}, units: mm}}, at: [{100 * line}, 0, 0]}}\n"
    (tmp_path / "bay.yaml").write_text(f"packcheck: 1\nparts:\n{parts}", encoding="utf-8")
    result = run("check", tmp_path / "bay.yaml", "--no-cache")
    assert result.exit_code == 2
    told = result.stderr
    assert "bay.yaml:4:" in told and "crashed (signal 11)" in told
    assert "bay.yaml:6:" in told and "crashed (signal 6)" in told
    assert "bay.yaml:7:" in told and "holds a web page" in told
    assert "bay.yaml:3:" not in told


@pytest.mark.parametrize("said", [{}, {"thickness": 3.0, "side": "outer"}], ids=["as it is", "as a skin"])
@pytest.mark.parametrize("name", sorted(WRITERS))
def test_what_comes_back_is_what_was_made_there(name: str, said: dict[str, object], tmp_path: Path) -> None:
    """Oracle: the same work done in this process."""
    spec = spec_of(tmp_path, name, WRITERS[name](torus()), **said)
    here, there = packed(made(spec, spec.file.read_bytes())), packed(read_mesh(spec, use_cache=False))
    assert here.keys() == there.keys()
    assert all(np.array_equal(here[key], there[key]) for key in here.keys() - {"facts"})
    assert json.loads(here["facts"].tobytes()) == json.loads(there["facts"].tobytes())


def test_what_is_kept_needs_no_other_process(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PACKCHECK_CACHE", str(tmp_path / "kept"))
    spec = spec_of(tmp_path, "a.stl", as_stl(box()))
    first = read_mesh(spec)
    monkeypatch.setattr(mesh_files, "aside", None)
    assert read_mesh(spec).account == first.account


def test_forty_files_are_read_by_one_process(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Oracle: a count of processes started."""
    started = []

    class Counted(Popen[bytes]):
        def __init__(self, *args: Any, **kwargs: Any) -> None:
            started.append(args)
            super().__init__(*args, **kwargs)

    monkeypatch.setattr("subprocess.Popen", Counted)
    idle: list[aside.Helper] = []
    monkeypatch.setattr(aside, "_idle", idle)
    for k in range(40):
        read_mesh(spec_of(tmp_path, f"{k}.stl", as_stl(box((10 + k, 10, 10)))), use_cache=False)
    (helper,) = idle
    helper.close()
    assert len(started) == 1


def test_a_file_that_is_no_mesh_never_starts_a_process(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(mesh_files, "aside", None)
    (tmp_path / "empty.stl").touch()
    with pytest.raises(MeshError, match="is empty"):
        read_mesh(Mesh(tmp_path / "empty.stl", 1.0, "mm"), use_cache=False)
