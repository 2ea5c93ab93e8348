"""A mesh is understood once; what is kept is believed only when whole, and never stands in for another file."""

from __future__ import annotations

import logging
import os
import subprocess
import sys
import time
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest

from packcheck.scene.model.scene import Mesh
from packcheck.solids.meshes import cache as mesh_cache
from packcheck.solids.meshes.files import LoadedMesh, read_mesh
from tests.solids.mesh_bytes import as_glb, as_stl, ball, box, grid, spec_of, torus


@pytest.fixture
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty cache folder of its own."""
    folder = tmp_path / "kept"
    monkeypatch.setenv("PACKCHECK_CACHE", str(folder))
    return folder


def entries(folder: Path) -> list[Path]:
    return sorted(folder.iterdir()) if folder.exists() else []


def same(one: LoadedMesh, other: LoadedMesh) -> bool:
    first, second = one.solid, other.solid
    assert first.pieces is not None
    assert second.pieces is not None
    arrays = (
        np.array_equal(first.vertices, second.vertices)
        and np.array_equal(first.faces, second.faces)
        and np.array_equal(first.pieces, second.pieces)
    )
    flags = [(s.radius, s.error, s.closed, s.open_surface, s.convex) for s in (first, second)]
    return arrays and flags[0] == flags[1] and one.account == other.account


@pytest.mark.parametrize("said", [{}, {"thickness": 3.0, "side": "outer"}], ids=["as it is", "as a skin"])
@pytest.mark.parametrize(
    "body", [box(), torus(), grid(lambda x, y: np.stack([x, y, 0 * x], 1))], ids=["box", "ring", "plate"]
)
def test_second_reading_gives_the_same(body: object, said: dict[str, object], tmp_path: Path, kept: Path) -> None:
    spec = spec_of(tmp_path, "a.stl", as_stl(body), **said)  # type: ignore[arg-type]
    first = read_mesh(spec)
    assert [entry.suffix for entry in entries(kept)] == [".mesh"]
    assert same(read_mesh(spec), first)


def test_kept_arrays_are_read_only_and_convex_ones_have_their_support(tmp_path: Path, kept: Path) -> None:
    spec = spec_of(tmp_path, "a.stl", as_stl(box()))
    read_mesh(spec)
    assert entries(kept)
    solid = read_mesh(spec).solid
    assert not solid.vertices.flags.writeable
    assert solid.support is not None
    assert solid.support(np.array([[1.0, 1.0, 1.0]])).tolist() == [[5.0, 10.0, 15.0]]


@pytest.mark.parametrize("damage", ["cut short", "emptied", "noise", "another format", "one byte"])
def test_damaged_entry_is_ignored_and_written_again(damage: str, tmp_path: Path, kept: Path) -> None:
    spec = spec_of(tmp_path, "a.stl", as_stl(box()))
    first = read_mesh(spec)
    (entry,) = entries(kept)
    data = entry.read_bytes()
    middle = len(data) // 4
    entry.write_bytes({
        "cut short": data[: len(data) // 2],
        "emptied": b"",
        "noise": bytes(range(256)) * 4,
        "another format": b"PK\x05\x06" + bytes(18),
        "one byte": data[:middle] + bytes([data[middle] ^ 0xFF]) + data[middle + 1 :],
    }[damage])  # fmt: skip
    assert same(read_mesh(spec), first)
    assert entry.read_bytes() == data


def forged(entry: Path, arrays: dict[str, npt.NDArray[Any]], key: str = "") -> None:
    """An entry with other arrays, all the rest as it should be."""
    entry.unlink()
    mesh_cache._write(entry.parent, key or entry.stem, arrays)
    if key:
        (entry.parent / f"{key}.mesh").replace(entry)


def held_in(entry: Path) -> dict[str, npt.NDArray[Any]]:
    return mesh_cache._arrays(entry.read_bytes().split(b"\n", 1)[1])


def test_entry_whose_faces_point_nowhere_is_ignored(tmp_path: Path, kept: Path) -> None:
    spec = spec_of(tmp_path, "a.stl", as_stl(box()))
    first = read_mesh(spec)
    (entry,) = entries(kept)
    held = held_in(entry)
    forged(entry, held | {"faces": held["faces"] + 1000})
    assert same(read_mesh(spec), first)


@pytest.mark.parametrize(
    "facts", ["[" * 100_000, '{"solid": 5}', "null", '{"solid": {"radius": NaN}, "convex": 1}']
)
def test_entry_whose_facts_are_none_is_ignored(facts: str, tmp_path: Path, kept: Path) -> None:
    """Nested so deep that the reader of JSON gives up, and other shapes."""
    spec = spec_of(tmp_path, "a.stl", as_stl(box()))
    first = read_mesh(spec)
    (entry,) = entries(kept)
    forged(entry, held_in(entry) | {"facts": np.frombuffer(facts.encode(), np.uint8)})
    assert same(read_mesh(spec), first)


def test_entry_of_another_mesh_is_ignored(tmp_path: Path, kept: Path) -> None:
    """One that was stored under another key, and renamed."""
    spec = spec_of(tmp_path, "a.stl", as_stl(box()))
    first = read_mesh(spec)
    (entry,) = entries(kept)
    forged(entry, held_in(entry) | {"vertices": held_in(entry)["vertices"] * 2}, key="0" * 64)
    assert same(read_mesh(spec), first)


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root gives files away")
def test_entry_of_somebody_else_is_ignored(tmp_path: Path, kept: Path) -> None:
    """Whole, right by its key and its digest, but written by another user of a shared folder."""
    spec = spec_of(tmp_path, "a.stl", as_stl(box()))
    first = read_mesh(spec)
    (entry,) = entries(kept)
    forged(entry, held_in(entry) | {"vertices": held_in(entry)["vertices"] * 2})
    assert not same(read_mesh(spec), first)
    os.chown(entry, 12345, 12345)
    assert same(read_mesh(spec), first)


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="modes of POSIX")
def test_entry_that_others_may_write_is_ignored(tmp_path: Path, kept: Path) -> None:
    spec = spec_of(tmp_path, "a.stl", as_stl(box()))
    first = read_mesh(spec)
    (entry,) = entries(kept)
    forged(entry, held_in(entry) | {"vertices": held_in(entry)["vertices"] * 2})
    entry.chmod(0o666)
    assert same(read_mesh(spec), first)


def test_entry_that_would_unpack_to_much_is_ignored(
    tmp_path: Path, kept: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    spec = spec_of(tmp_path, "a.stl", as_stl(box()))
    first = read_mesh(spec)
    (entry,) = entries(kept)
    bomb = BytesIO()
    np.savez_compressed(bomb, **held_in(entry), more=np.zeros(3_000_000))  # type: ignore[arg-type]
    data = bomb.getvalue()
    entry.write_bytes(mesh_cache._head(entry.stem, data) + data)
    monkeypatch.setattr(mesh_cache, "_MOST", 1_000_000)
    assert len(data) < 1_000_000
    assert same(read_mesh(spec), first)


def flipped_entries_are_ignored(tmp_path: Path, kept: Path, seed: int, times: int) -> None:
    """Flip one bit, or set a few bytes, anywhere in an entry: the mesh comes out as if it were not there."""
    spec = spec_of(tmp_path, "a.stl", as_stl(box()))
    first = read_mesh(spec)
    (entry,) = entries(kept)
    data, random = entry.read_bytes(), Random(seed)
    for _ in range(times):
        changed = bytearray(data)
        for _ in range(random.choice([1, 1, 1, 4, 40])):
            changed[random.randrange(len(data))] ^= 1 << random.randrange(8)
        entry.write_bytes(bytes(changed))
        entry.chmod(0o600)
        if bytes(changed) != data:
            assert mesh_cache.load(entry.stem) is None
    entry.write_bytes(data)
    assert same(read_mesh(spec), first)


def test_flipped_entries_are_ignored(tmp_path: Path, kept: Path) -> None:
    """Oracle: the reading without the entry."""
    flipped_entries_are_ignored(tmp_path, kept, seed=1, times=300)


@pytest.mark.campaign
def test_many_flipped_entries_are_ignored(tmp_path: Path, kept: Path) -> None:
    flipped_entries_are_ignored(tmp_path, kept, seed=2, times=3000)


@pytest.mark.parametrize("setting", ["here", "./here", "~/here"])
def test_a_cache_from_wherever_one_is_is_none(
    setting: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setenv("PACKCHECK_CACHE", setting)
    monkeypatch.chdir(tmp_path)
    mesh_cache._say_once.cache_clear()
    with caplog.at_level(logging.INFO, "packcheck"):
        read_mesh(spec_of(tmp_path, "a.stl", as_stl(box())))
        read_mesh(spec_of(tmp_path, "b.stl", as_stl(ball(9, 4, 4))))
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.stl", "b.stl"]
    assert [record.getMessage().split(":")[0] for record in caplog.records] == ["meshes are not kept"]


def test_somebody_without_a_home_has_no_cache(monkeypatch: pytest.MonkeyPatch) -> None:
    """Oracle: a folder that begins with ~ is from wherever one is."""
    for name in ("HOME", "XDG_CACHE_HOME", "USERPROFILE", "LOCALAPPDATA", "PACKCHECK_CACHE"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(os.path, "expanduser", lambda path: path)
    assert mesh_cache.folder() is None


@pytest.mark.parametrize("change", [
    {"unit": 10.0, "unit_name": "cm"}, {"scale": 2.0}, {"mirror": "x"}, {"thickness": 1.0, "side": "outer"},
    {"thickness": 1.0, "side": "inner"},
])  # fmt: skip
def test_what_the_scene_says_is_part_of_the_key(change: dict[str, object], tmp_path: Path, kept: Path) -> None:
    spec = spec_of(tmp_path, "a.stl", as_stl(box()))
    plain = read_mesh(spec)
    other = read_mesh(replace(spec, **change))  # type: ignore[arg-type]
    assert not same(plain, other)
    assert len(entries(kept)) == 2


def test_changed_file_is_read_anew(tmp_path: Path, kept: Path) -> None:
    read_mesh(spec_of(tmp_path, "a.stl", as_stl(box())))
    changed = read_mesh(spec_of(tmp_path, "a.stl", as_stl(box((1000, 20, 30)))))
    assert changed.account.extents == (1000, 20, 30)
    assert len(entries(kept)) == 2


def test_copy_under_another_name_is_found_and_named_rightly(tmp_path: Path, kept: Path) -> None:
    read_mesh(spec_of(tmp_path, "a.stl", as_stl(box())))
    copy = read_mesh(spec_of(tmp_path, "b.stl", as_stl(box())))
    assert copy.account.file == "b.stl"
    assert len(entries(kept)) == 1


def test_reading_without_the_cache_leaves_it_alone(tmp_path: Path, kept: Path) -> None:
    read_mesh(spec_of(tmp_path, "a.stl", as_stl(box())), use_cache=False)
    assert not entries(kept)


@pytest.mark.parametrize("setting", ["", "off", " OFF "])
def test_cache_can_be_switched_off(setting: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PACKCHECK_CACHE", setting)
    monkeypatch.chdir(tmp_path)
    assert mesh_cache.folder() is None
    read_mesh(spec_of(tmp_path, "a.stl", as_stl(box())))
    assert [path.name for path in tmp_path.iterdir()] == ["a.stl"]


def test_cache_stands_in_the_users_cache_folder_by_default(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("PACKCHECK_CACHE", raising=False)
    folder = mesh_cache.folder()
    assert folder is not None
    assert "packcheck" in folder.parts


def test_cache_that_cannot_be_written_is_no_fault(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("not a folder")
    monkeypatch.setenv("PACKCHECK_CACHE", str(blocked))
    with caplog.at_level(logging.INFO, "packcheck"):
        assert read_mesh(spec_of(tmp_path, "a.stl", as_stl(box()))).account.closed
    assert "cannot be written to" in caplog.text


def test_oldest_entries_go_when_there_are_too_many(
    tmp_path: Path, kept: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for length in range(10, 16):
        read_mesh(spec_of(tmp_path, "a.stl", as_stl(box((length, 20, 30)))))
        for age, entry in enumerate(entries(kept)):
            os.utime(entry, (1000 + age, 1000 + age))
    size = entries(kept)[0].stat().st_size
    monkeypatch.setattr(mesh_cache, "_MOST", 3 * size + size // 2)
    newest = read_mesh(spec_of(tmp_path, "a.stl", as_stl(ball(50, 4, 4))))
    assert len(entries(kept)) < 6
    assert same(read_mesh(spec_of(tmp_path, "a.stl", as_stl(ball(50, 4, 4)))), newest)


@pytest.mark.parametrize(("name", "data"), [("a.stl", as_stl(torus())), ("a.glb", as_glb(torus()))])
def test_warm_reading_never_imports_the_mesh_library(name: str, data: bytes, tmp_path: Path, kept: Path) -> None:
    spec = spec_of(tmp_path, name, data)
    read_mesh(spec)
    assert entries(kept)
    program = (
        "import sys; from pathlib import Path; from packcheck.scene.model.scene import Mesh\n"
        "from packcheck.solids.meshes.files import read_mesh\n"
        f"assert read_mesh(Mesh(Path({str(spec.file)!r}), 1.0, 'mm')).account.closed\n"
        "print([name for name in ('trimesh', 'scipy', 'networkx', 'lxml') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_key_does_not_depend_on_where_the_file_stands() -> None:
    data = as_stl(box())
    keys = {mesh_cache.key_of(data, Mesh(Path(folder) / "a.stl", 1.0, "mm")) for folder in ("one", "two")}
    assert len(keys) == 1


def test_what_was_used_last_outlives_what_was_written_last(
    tmp_path: Path, kept: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Oracle: by construction: three entries of a size, room for two, the first written is the one read last."""
    specs = [spec_of(tmp_path, f"{k}.stl", as_stl(box((10 + k, 20, 30)))) for k in range(3)]
    read_mesh(specs[0])
    (first,) = entries(kept)
    os.utime(first, (1000, 1000))
    read_mesh(specs[1])
    (second,) = set(entries(kept)) - {first}
    os.utime(second, (2000, 2000))
    read_mesh(specs[0])
    monkeypatch.setattr(mesh_cache, "_MOST", 2 * first.stat().st_size + 100)
    read_mesh(specs[2])
    assert first.exists()
    assert not second.exists()


def test_what_a_run_that_was_cut_off_left_behind_goes_in_time(tmp_path: Path, kept: Path) -> None:
    kept.mkdir()
    for name, age in (("old.tmp", 7200), ("new.tmp", 10)):
        (kept / name).write_bytes(b"half")
        os.utime(kept / name, (time.time() - age, time.time() - age))
    read_mesh(spec_of(tmp_path, "a.stl", as_stl(box())))
    assert sorted(path.name for path in kept.glob("*.tmp")) == ["new.tmp"]


def test_runs_at_the_same_time_do_each_other_no_harm(tmp_path: Path, kept: Path) -> None:
    """Oracle: the same reading alone. Six processes read and write the same entries, half of them pruning."""
    file = spec_of(tmp_path, "ring.stl", as_stl(torus(60, 20, 60, 40))).file
    program = (
        "import sys; from pathlib import Path; from packcheck.scene.model.scene import Mesh\n"
        "from packcheck.solids.meshes import cache as mesh_cache\n"
        "from packcheck.solids.meshes.files import read_mesh\n"
        "mesh_cache._MOST = int(sys.argv[1])\n"
        "for k in range(12):\n"
        f"    loaded = read_mesh(Mesh(Path({str(file)!r}), 1.0, 'mm', scale=1.0 + k % 3))\n"
        "    assert loaded.account.closed and loaded.account.triangles == 4800\n"
        "    assert abs(loaded.account.extents[2] - 40.0 * (1 + k % 3)) < 1e-3\n"
    )
    most = ("1073741824", "200000") * 3
    running = [subprocess.Popen([sys.executable, "-c", program, each], stderr=subprocess.PIPE) for each in most]
    assert [(process.communicate()[1], process.returncode) for process in running] == [(b"", 0)] * 6
    assert not list(kept.glob("*.tmp"))
