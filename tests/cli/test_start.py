"""Being stopped at any moment, and streams that take nothing: a word or silence, the right code, no litter."""

from __future__ import annotations

import os
import pty
import signal
import subprocess
import sys
import time
from pathlib import Path
from random import Random

import pytest

from packcheck.cli.start import Deaf, mend_streams
from tests.cli.running import two_boxes
from tests.solids.mesh_bytes import as_stl, torus

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="signals and devices of POSIX")

HOME = Path(__file__).parents[2]
SEEN = 0.12
"""s after which a process surely has come to the program; before, it is the interpreter that is stopped."""


def begun(*args: str | Path, temporary: Path, **streams: int) -> subprocess.Popen[str]:
    settings = {**os.environ, "PYTHONPATH": str(HOME), "TMPDIR": str(temporary), "PACKCHECK_CACHE": "off"}
    pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, **streams}
    command = [sys.executable, "-m", "packcheck", *map(str, args)]
    return subprocess.Popen(command, env=settings, text=True, start_new_session=True, **pipes)  # type: ignore[call-overload, no-any-return]


def slow_scene(folder: Path) -> Path:
    """A mesh that a helper reads, then two rings that search a way out of each other."""
    (folder / "ring.stl").write_bytes(as_stl(torus(60, 20, 100, 80)))
    scene = folder / "scene.yaml"
    parts = "\n".join(
        f"  r{k}: {{mesh: {{file: ring.stl, units: mm}}, at: [{15 * k}, {9 * k}, 7]}}" for k in range(8)
    )
    scene.write_text(f"packcheck: 1\nparts:\n{parts}\n", encoding="utf-8")
    return scene


def stopped_after(seconds: float, number: int, folder: Path) -> tuple[int, str, list[str]]:
    """Exit code, stderr and what is left in the temporary folder of a command stopped after a while."""
    temporary = folder / "temporary"
    temporary.mkdir(exist_ok=True)
    running = begun("check", folder / "scene.yaml", temporary=temporary)
    time.sleep(seconds)
    running.send_signal(number)
    try:
        _, told = running.communicate(timeout=20)
    finally:
        running.kill()
    return running.returncode, told, [path.name for path in temporary.iterdir()]


def check_stops(times: int, seed: int, folder: Path) -> None:
    slow_scene(folder)
    random = Random(seed)
    codes = {signal.SIGINT: 130, signal.SIGTERM: 143, signal.SIGHUP: 129}
    for _ in range(times):
        number = random.choice(list(codes))
        code, told, left = stopped_after(random.uniform(SEEN, 2.5), number, folder)
        assert "Traceback" not in told
        assert left == []
        assert code in (codes[number], 1), told  # or it was done before
        assert code == 1 or told.strip() == ("stopped" if number == signal.SIGINT else "")


def test_a_command_stops_at_any_moment(tmp_path: Path) -> None:
    """Oracle: codes of shells; the temporary folder, and what is printed."""
    check_stops(8, 1, tmp_path)


@pytest.mark.campaign
def test_a_command_stops_at_any_of_many_moments(tmp_path: Path) -> None:
    check_stops(100, 2, tmp_path)


def test_helpers_end_with_the_command(tmp_path: Path) -> None:
    """Killed outright, when nothing can be cleared away: the helper notices that nobody asks any more."""
    slow_scene(tmp_path)
    running = begun("check", tmp_path / "scene.yaml", temporary=tmp_path)
    time.sleep(1.0)
    running.kill()
    running.communicate()
    deadline = time.monotonic() + 15
    while time.monotonic() < deadline:
        try:
            os.killpg(running.pid, 0)
        except ProcessLookupError:
            return
        time.sleep(0.1)
    os.killpg(running.pid, signal.SIGKILL)
    pytest.fail("a helper outlived the command")


@pytest.mark.parametrize("args", [["--help"], ["explain", "rules"], ["schema"]])
def test_a_full_disk_behind_the_output_is_said(args: list[str], tmp_path: Path) -> None:
    if not Path("/dev/full").exists():
        pytest.skip("no such device")
    with Path("/dev/full").open("w") as full:
        running = begun(*args, temporary=tmp_path, stdout=full.fileno())
        _, told = running.communicate(timeout=60)
    assert told == "cannot print the result: No space left on device\n"
    assert running.returncode == 2


@pytest.mark.parametrize(
    ("args", "code"), [(["--help"], 0), (["schema"], 0), (["check"], 1), (["check", "--json"], 1)]
)
def test_a_reader_who_went_away_changes_no_code(args: list[str], code: int, tmp_path: Path) -> None:
    read, write = os.pipe()
    os.close(read)
    scene = [two_boxes(tmp_path, 5)] if args[0] == "check" else []
    running = begun(*args, *scene, temporary=tmp_path, stdout=write)
    os.close(write)
    assert running.communicate(timeout=60)[1] == ""
    assert running.returncode == code


@pytest.mark.parametrize("closed", [">&-", "2>&-", "<&-", ">&- 2>&- <&-"])
def test_closed_streams_change_no_code(closed: str, tmp_path: Path) -> None:
    scene = two_boxes(tmp_path, 5)
    command = f"{sys.executable} -m packcheck check {scene} {closed}"
    settings = {**os.environ, "PYTHONPATH": str(HOME)}
    ran = subprocess.run(
        ["sh", "-c", command], env=settings, capture_output=True, text=True, check=False, timeout=60
    )
    assert (ran.returncode, ran.stderr) == (1, "")
    assert ran.stdout == "" or "2>&-" in closed or closed == "<&-"


@pytest.mark.parametrize("columns", ["0", "1", "-5", "x", "10000", ""])
def test_any_width_of_a_terminal_gets_the_report(columns: str, tmp_path: Path) -> None:
    parent, child = pty.openpty()
    settings = {**os.environ, "PYTHONPATH": str(HOME), "COLUMNS": columns, "TERM": "xterm"}
    command = [sys.executable, "-m", "packcheck", "check", str(two_boxes(tmp_path, 5))]
    running = subprocess.Popen(command, env=settings, stdout=child, stderr=child, stdin=child)
    os.close(child)
    shown = b""
    while True:
        try:
            more = os.read(parent, 65536)
        except OSError:
            break
        if not more:
            break
        shown += more
    os.close(parent)
    assert running.wait(60) == 1
    assert b"left_box - right_box" in shown


@pytest.mark.parametrize("args", [["check", "sc\udcffne.yaml"], ["check", "SCENE", "--part", "\udcff"], ["\udcff"]])
def test_bytes_that_are_no_text_are_told_as_such(args: list[str], tmp_path: Path) -> None:
    scene = two_boxes(tmp_path, 5)
    running = begun(*(scene if arg == "SCENE" else arg for arg in args), temporary=tmp_path)
    _, told = running.communicate(timeout=60)
    assert running.returncode == 2
    assert "\\udcff" in told
    assert "internal error" not in told


@pytest.mark.parametrize("encoding", ["cp1252", "cp850", "ascii", "utf-16"])
def test_any_console_gets_the_report(encoding: str, tmp_path: Path) -> None:
    """Consoles of Windows know few characters; what they do not know is escaped."""
    scene = two_boxes(tmp_path, 5)
    text = scene.read_text(encoding="utf-8").replace("Two boxes", "Zwei K\u00e4sten \u2192 \u4e09")
    scene.write_text(text, encoding="utf-8")
    settings = {**os.environ, "PYTHONPATH": str(HOME), "PYTHONIOENCODING": encoding}
    command = [sys.executable, "-m", "packcheck", "check", str(scene)]
    ran = subprocess.run(command, env=settings, capture_output=True, check=False, timeout=60)
    assert ran.returncode == 1
    assert ran.stderr == b""
    told = ran.stdout.decode(encoding)
    assert "left_box - right_box" in told
    assert "\u4e09" in told or "\\u4e09" in told


def test_a_stream_that_breaks_is_let_go() -> None:
    class Broken:
        encoding = "utf-8"

        def write(self, _: str) -> int:
            raise BrokenPipeError

        def flush(self) -> None:
            raise ValueError("I/O operation on closed file")

    deaf = Deaf(Broken())  # type: ignore[arg-type]
    assert deaf.write("abc") == 3
    deaf.flush()
    assert deaf.encoding == "utf-8"


def test_missing_streams_are_put_in_place(monkeypatch: pytest.MonkeyPatch) -> None:
    """As for a program without a console on Windows."""
    for name in ("stdin", "stdout", "stderr"):
        monkeypatch.setattr(sys, name, None)
    mend_streams()
    assert sys.stdout.write("x") == 1
    assert sys.stdin.read() == ""
