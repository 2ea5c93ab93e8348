"""No command writes over what it was made from, or leaves half of a file: every option that takes a path.

Oracle: the files themselves, byte by byte, before and after.
"""

from __future__ import annotations

import ast
import os
import sys
import time
from collections.abc import Iterator, Mapping
from pathlib import Path

import click
import pytest

import packcheck
from packcheck import replacing
from packcheck.cli.main import COMMANDS, cli
from packcheck.cli.targets import OUTPUT, Target, TargetType, spared, unfit_on_windows
from packcheck.replacing import new_files, replace_files
from tests.cli.running import run
from tests.solids.mesh_bytes import as_stl, box

SCENE = """packcheck: 1
include: [shared.yaml]
parts_from: table.csv
params: {width: 40, depth: 30}
parts:
  pump: {box: [width, depth, 20], at: [0, 0, 0]}
  shell: {mesh: {file: part.stl, units: mm}, at: [0, 200, 0]}
motions:
  slide: {carries: [pump], travel: {by: z, from: 0, to: 5}}
survey:
  instruments: {tape: {accuracy: 1}}
  readings: sheet.csv
  points:
    a: {at: [0, 0, 0]}
    b: {at: [100, 0, 0]}
    c: {at: [0, 100, 0]}
    d: {near: [30, 30, 90]}
  observations:
    - {tape: [a, d]}
    - {tape: [b, d], reads: 117.9}
    - {tape: [c, d], reads: 117.9}
layouts:
  other: {parts: {shell: {mesh: {file: other.stl, units: mm}}}}
"""

ARGUMENTS: Mapping[str, tuple[str, ...]] = {
    "sweep": ("slide",),
    "leeway": ("pump",),
    "size": ("width", "depth", "--points", "2", "--to", "50"),
    "place": ("pump", "--within", "-30, -30, -10 to 30, 30, 10", "--cell", "20"),
}
"""What a command needs besides the scene."""

NO_SCENE = ("new", "blank", "schema", "look", "explain", "completion")
LATE = {("view", "--screenshot")}
"""Drawn first, since it is told by another process what the scene is made from; needs the extra."""


def bay(folder: Path) -> dict[str, bytes]:
    """A scene of every sort of source, and their bytes by name."""
    (folder / "scene.yaml").write_text(SCENE, encoding="utf-8")
    (folder / "shared.yaml").write_text("packcheck: 1\nframes: {f: {at: [0, 0, 0]}}\n", encoding="utf-8")
    (folder / "table.csv").write_text(
        "name,shape,length,width,height,right\nlid,box,20,20,2,400\n", encoding="utf-8"
    )
    (folder / "sheet.csv").write_text("what,reads\ntape a-d,99.5\n", encoding="utf-8")
    for name in ("part.stl", "other.stl"):
        (folder / name).write_bytes(as_stl(box()))
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def paths_of(name: str) -> Iterator[click.Parameter]:
    """The arguments and options of a command that name files to be written."""
    command = cli.get_command(click.Context(cli), name)
    assert command is not None
    yield from (param for param in command.params if isinstance(param.type, TargetType))


WRITING = [
    (name, param.opts[-1] if isinstance(param, click.Option) else "")
    for name in COMMANDS
    for param in paths_of(name)
]


def line(command: str, option: str, target: Path, folder: Path) -> list[str | Path]:
    """A command line that would write to `target`."""
    first = [] if command in NO_SCENE else [folder / "scene.yaml"]
    first = [folder / "part.stl"] if command == "look" else first
    rest = ARGUMENTS.get(command, ())
    place = [option, target] if option else [target]
    needs = ["-o", folder / "made.glb"] if command in ("export", "sweep", "report") and option != "--output" else []
    return [command, *first, *rest, *place, *needs]


def test_every_path_of_every_command_is_a_target_or_is_read() -> None:
    """A new option that writes must take the gate: none may take a plain path, unless it is one of those read."""
    read = {"scene", "file"}
    for name in COMMANDS:
        command = cli.get_command(click.Context(cli), name)
        assert command is not None
        for param in command.params:
            assert not isinstance(param.type, click.File)
            assert not isinstance(param.type, click.Path) or param.name in read, f"{name}: {param.name}"
    assert len(WRITING) >= 20


@pytest.mark.parametrize(("command", "option"), WRITING)
def test_no_source_is_written_over(command: str, option: str, tmp_path: Path) -> None:
    """Every sort of source as the target of every output: refused, and each source as it was."""
    before = bay(tmp_path)
    if (command, option) in LATE:
        pytest.importorskip("pyvista")
    names = ("scene.yaml",) if (command, option) in LATE else before
    for source in names:
        if command == "look" and source != "part.stl" and not source.endswith(".yaml"):
            continue  # neither read nor known to it: an ordinary file
        if command == "schema" and not source.endswith(".yaml"):
            continue
        result = run(*line(command, option, tmp_path / source, tmp_path))
        assert result.exit_code == 2, (source, result.output)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


@pytest.mark.parametrize(("command", "option"), [pair for pair in WRITING if pair not in LATE])
def test_what_cannot_be_written_is_refused_before_the_work(command: str, option: str, tmp_path: Path) -> None:
    bay(tmp_path)
    (tmp_path / "scene.yaml").write_text("no scene at all", encoding="utf-8")  # work would end in a fault
    (tmp_path / "folder.glb").mkdir()
    wrong = {"nowhere/a.glb": "no folder", "folder.glb": "folder", f"{'a' * 300}.glb": "long", "part.stl/a.glb": ""}
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe.glb")
        wrong["pipe.glb"] = "exists already" if command in ("new", "blank") else "no plain file"
    for name, why in wrong.items():
        result = run(*line(command, option, tmp_path / name, tmp_path))
        assert result.exit_code == 2, (name, result.output)
        assert "no scene" not in result.output
        assert why in result.output.lower() or "exists already" in result.output


@pytest.mark.parametrize("name", ["Scene.YAML", "link.yaml", "./scene.yaml", "again.txt"])
def test_a_source_is_known_by_every_name(name: str, tmp_path: Path) -> None:
    """By a link, a hard link, a way round; in capitals where the file system does not tell them apart."""
    before = bay(tmp_path)
    (tmp_path / "link.yaml").symlink_to(tmp_path / "scene.yaml")
    os.link(tmp_path / "scene.yaml", tmp_path / "again.txt")
    result = run("list", tmp_path / "scene.yaml", "-o", f"{tmp_path}/{name}")
    blind = (tmp_path / "Scene.YAML").exists() and not any(path.name == "Scene.YAML" for path in tmp_path.iterdir())
    if name == "Scene.YAML" and not blind:
        assert result.exit_code == 0
    else:
        assert result.exit_code == 2
    assert (tmp_path / "scene.yaml").read_bytes() == before["scene.yaml"]


def test_two_results_need_two_files(tmp_path: Path) -> None:
    bay(tmp_path)
    result = run("list", tmp_path / "scene.yaml", "--svg", tmp_path / "Out.svg", "-o", tmp_path / "out.svg")
    assert result.exit_code == 2
    assert "one file" in result.output


def test_a_derived_name_that_is_a_source_is_refused(tmp_path: Path) -> None:
    """The pictures of `place` are named after their heights."""
    bay(tmp_path)
    (tmp_path / "map-0.stl").write_bytes(b"part of another layout")
    (tmp_path / "scene.yaml").write_text(SCENE.replace("other.stl", "map-0.stl"), encoding="utf-8")
    more: list[str | Path] = ["--slices", tmp_path / "map.stl", "--heights", "0 up"]
    result = run("place", tmp_path / "scene.yaml", *ARGUMENTS["place"], *more)
    assert result.exit_code == 2, result.output
    assert (tmp_path / "map-0.stl").read_bytes() == b"part of another layout"


@pytest.mark.skipif(sys.platform == "win32", reason="no such device")
@pytest.mark.parametrize("device", ["/dev/null", "/dev/stdout"])
def test_an_open_stream_is_written_to(device: str, tmp_path: Path) -> None:
    bay(tmp_path)
    assert run("schema", "-o", device).exit_code == 0


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no such device")
def test_a_full_device_is_said() -> None:
    result = run("schema", "-o", "/dev/full")
    assert result.exit_code == 2
    assert "No space left" in result.output


@pytest.mark.parametrize("command", ["new", "blank"])
def test_a_new_file_is_whole_or_not_there(command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A disk that is full when the content is to be safe on it."""

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    place = [tmp_path / "made.yaml"] if command == "new" else ["-o", tmp_path / "made.csv"]
    result = run(command, *place)
    assert result.exit_code == 2
    assert "No space left" in result.output
    assert list(tmp_path.iterdir()) == []
    monkeypatch.undo()
    assert run(command, *place).exit_code == 0


def test_several_files_change_together_or_not_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The second rename fails: the first file holds again what it held."""
    one, two, new = (tmp_path / name for name in ("one", "two", "new"))
    one.write_bytes(b"one")
    two.write_bytes(b"two")
    real, calls = Path.replace, []

    def failing(self: Path, target: Path) -> Path:
        calls.append(target)
        if target == two:
            raise OSError(5, "Input/output error")
        return real(self, target)

    monkeypatch.setattr(Path, "replace", failing)
    with pytest.raises(OSError, match="Input/output"):
        replace_files({new: b"n", one: b"1", two: b"2"})
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {"one": b"one", "two": b"two"}


def test_new_files_are_all_new_or_none(tmp_path: Path) -> None:
    (tmp_path / "two").write_bytes(b"mine")
    with pytest.raises(FileExistsError):
        new_files({tmp_path / "one": b"1", tmp_path / "two": b"2"})
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {"two": b"mine"}


@pytest.mark.skipif(sys.platform == "win32", reason="modes and links of POSIX")
def test_mode_and_further_names_are_kept(tmp_path: Path) -> None:
    target, other = tmp_path / "a.txt", tmp_path / "b.txt"
    target.write_bytes(b"old")
    target.chmod(0o604)
    replace_files({target: b"new"})
    assert target.stat().st_mode & 0o777 == 0o604
    os.link(target, other)
    replace_files({target: b"newer and longer"})
    replace_files({target: b"short"})
    assert other.read_bytes() == b"short"
    assert target.samefile(other)


@pytest.mark.skipif(not hasattr(os, "chown") or os.geteuid() != 0, reason="only root gives files away")
def test_the_owner_is_kept(tmp_path: Path) -> None:
    target = tmp_path / "a.txt"
    target.write_bytes(b"old")
    os.chown(target, 12345, 23456)
    replace_files({target: b"new"})
    assert (target.stat().st_uid, target.stat().st_gid, target.read_bytes()) == (12345, 23456, b"new")


def test_where_the_owner_cannot_be_kept_the_file_is_written_in_place(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Somebody else's file in a shared folder: still theirs afterwards."""
    target = tmp_path / "a.txt"
    target.write_bytes(b"old")
    place = target.stat().st_ino
    monkeypatch.setattr(replacing, "_alike", lambda *_: False)
    replace_files({target: b"new"})
    assert (target.stat().st_ino, target.read_bytes()) == (place, b"new")
    assert [path.name for path in tmp_path.iterdir()] == ["a.txt"]


def test_content_is_on_the_disk_before_it_takes_its_place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    order: list[str] = []
    sync, move = os.fsync, Path.replace

    def syncing(handle: int) -> None:
        order.append("sync")
        sync(handle)

    def moving(self: Path, target: Path) -> Path:
        order.append("move")
        return move(self, target)

    monkeypatch.setattr(os, "fsync", syncing)
    monkeypatch.setattr(Path, "replace", moving)
    replace_files({tmp_path / "a": b"a", tmp_path / "b": b"b"})
    assert order[:4] == ["sync", "sync", "move", "move"]


WRITERS = {"write_text", "write_bytes", "mkstemp", "NamedTemporaryFile", "rename", "savez", "export"}
IN_MEMORY = {("solids/exports.py", "export"), ("solids/formats/aside.py", "savez")}
GATES = {"replacing.py", "cli/targets.py", "solids/meshes/cache.py"}


def writing_calls(path: Path) -> Iterator[str]:
    """Names of what a module calls to create or change a file."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute | ast.Name):
            called = node.func.attr if isinstance(node.func, ast.Attribute) else node.func.id
            said = [arg.value for arg in node.args if isinstance(arg, ast.Constant)]
            modes = [mode for mode in said if isinstance(mode, str) and set(mode) <= set("rwxab+")]
            if called in WRITERS or (called == "open" and any(set(mode) & set("wxa+") for mode in modes)):
                yield called


def test_nothing_else_of_the_package_writes_files() -> None:
    """The gate out, what lies below it, and the cache: no other module creates or changes a file."""
    package = Path(packcheck.__file__).parent
    found = {
        (path.relative_to(package).as_posix(), call)
        for path in package.rglob("*.py")
        for call in writing_calls(path)
    }
    assert {one for one in found if one[0] not in GATES} == IN_MEMORY


def test_the_gate_is_fast(tmp_path: Path) -> None:
    """A target is looked at in a moment, also beside thousands of sources."""
    sources = [tmp_path / f"{number}.stl" for number in range(3000)]
    began = time.process_time()
    (place,) = spared(sources, Target(tmp_path / "a.txt"))
    assert place is not None
    assert time.process_time() - began < 1


@pytest.mark.parametrize("name", ["CON", "nul.txt", "a:b", "a?.csv", "dot.", "blank ", "com1.json", "tab\t.txt"])
def test_names_that_windows_has_no_file_for(name: str) -> None:
    """Source: the naming rules of Windows files, as its documentation has them (from memory)."""
    assert unfit_on_windows(name)


@pytest.mark.parametrize("name", ["report.txt", "Bericht Ä.txt", "console.txt", "a.b.c", "nullable"])
def test_ordinary_names_are_fit_there(name: str) -> None:
    assert unfit_on_windows(name) == ""


def test_windows_names_are_refused_there(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("packcheck.cli.targets.sys.platform", "win32")
    with pytest.raises(click.ClickException, match="device"):
        OUTPUT.convert("nul.txt", None, None)


def test_a_scene_under_any_name_is_no_place_for_a_result(tmp_path: Path) -> None:
    scene = tmp_path / "bay.txt"
    scene.write_text("# mine\ntitle: x\npackcheck: 1\n", encoding="utf-8")
    result = run("schema", "-o", scene)
    assert result.exit_code == 2
    assert "scene file" in result.output
    assert scene.read_text(encoding="utf-8").startswith("# mine")
