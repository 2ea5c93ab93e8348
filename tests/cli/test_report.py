"""`packcheck report` writes one whole page and says what it comes to."""

from __future__ import annotations

import json
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from packcheck.cli.progress import steps, working
from tests.cli.running import own_process, run, two_boxes
from tests.scene.writing import write


def test_the_page_is_written_and_the_verdict_told(tmp_path: Path) -> None:
    target = tmp_path / "report.html"
    result = run("report", two_boxes(tmp_path, 5.0), "-o", target)
    assert result.exit_code == 1
    assert result.stdout == f"1 shortfall found in 1 pair: 1 tight\nwrote {target}\n"
    assert result.stderr == ""
    page = target.read_text(encoding="utf-8")
    assert page.startswith("<!doctype html>")
    assert page.rstrip().endswith("</html>")
    assert "left_box" in page


@pytest.mark.parametrize(("gap", "options", "code"), [(25.0, (), 0), (15.0, (), 0), (15.0, ("--strict",), 1)])
def test_exit_codes_are_those_of_check(gap: float, options: tuple[str, ...], code: int, tmp_path: Path) -> None:
    assert run("report", two_boxes(tmp_path, gap), "-o", tmp_path / "r.html", *options).exit_code == code


def test_a_scene_file_is_never_written_over(tmp_path: Path) -> None:
    scene = two_boxes(tmp_path, 5.0)
    before = scene.read_bytes()
    assert run("report", scene, "-o", scene).exit_code == 2
    assert scene.read_bytes() == before


def test_a_missing_folder_is_told_before_any_work(tmp_path: Path) -> None:
    result = run("report", tmp_path / "nowhere.yaml", "-o", tmp_path / "no" / "r.html")
    assert "there is no folder" in result.stderr


def test_in_a_pipe_nothing_of_progress_is_seen_or_loaded(tmp_path: Path) -> None:
    code = "import sys; from packcheck.cli.progress import steps\n"
    code += "with steps('x') as tell: tell(1, 2)\nassert 'rich' not in sys.modules"
    done = own_process("report", two_boxes(tmp_path, 5.0), "-o", tmp_path / "r.html")
    assert done.stderr == ""
    assert subprocess.run([sys.executable, "-c", code], check=False, capture_output=True).returncode == 0


def test_on_a_terminal_a_bar_shows_after_a_moment_and_goes_away(monkeypatch: pytest.MonkeyPatch) -> None:
    shown: list[str] = []
    started = threading.Event()

    def begin(_: object) -> None:
        shown.append("start")
        started.set()

    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True, raising=False)
    monkeypatch.setattr("packcheck.cli.progress.PATIENCE", 0.05)
    monkeypatch.setattr("rich.progress.Progress.start", begin)
    monkeypatch.setattr("rich.progress.Progress.stop", lambda _: shown.append("stop"))
    with steps("drawing") as tell:
        tell(0, 3)
        assert started.wait(20)
        tell(1, 3)
    assert shown == ["start", "stop"]


def test_work_done_in_a_moment_has_no_bar(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True, raising=False)
    monkeypatch.setattr("rich.progress.Progress.start", lambda _: pytest.fail("a bar was drawn"))
    with working("checking"):
        pass
    with working("checking", quietly=True):
        assert threading.active_count() >= 1


STAGED = """\
packcheck: 1
parts:
  a: {box: [10, 10, 10], mass: 2 kg}
  sling: {box: [10, 10, 10], at: [12, 0, 0], mass: 1 kg, stage: mockup}
clearances: {use: none, default: 10}
layouts: {off: {parts: {a: {at: [0, 0, 50]}}}}
"""


def test_a_stage_holds_for_the_page_the_comparison_and_the_weights(tmp_path: Path) -> None:
    """Oracle: by head: without the sling nothing is near, and 2 kg are left of 3."""
    scene, page = write(tmp_path, STAGED), tmp_path / "page.html"
    assert run("report", scene, "-o", page).exit_code == 1
    assert run("report", scene, "--stage", "final", "--compare", "-o", page).exit_code == 3
    assert "left out at the stage final: sling" in page.read_text("utf-8")
    layouts = json.loads(run("compare", scene, "--stage", "final", "--json").output)["layouts"]
    assert [(one["layout"], one["mass"], one["counts"]["fail"]) for one in layouts] == [
        ("as written", 2, 0),
        ("off", 2, 0),
    ]
    (_, sums, *_) = json.loads(run("weigh", scene, "--stage", "final", "--json").output)["tables"]
    assert dict(sums["rows"])["mass, kg"] == 2
