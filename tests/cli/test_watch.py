"""`packcheck watch` as it runs: a process, a file saved, the change told, ctrl-C."""

from __future__ import annotations

import os
import queue
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from packcheck.comparison import Change, Kind
from packcheck.errors import Fault, SourceMark
from packcheck.report.text.watched import MOST, change_lines, fault_lines, first_lines
from tests.cli.running import two_boxes
from tests.report.made import CLASH, finding, report

ROOT = Path(__file__).parents[2]

LISTENING = """
import signal

signal.signal(signal.SIGINT, signal.default_int_handler)  # tests run in the background are born deaf to ctrl-C

from packcheck.cli.main import main

main()
"""


class Watching:
    """A running `packcheck watch` and the lines it prints."""

    def __init__(self, process: subprocess.Popen[str]) -> None:
        self.process = process
        self._lines: queue.Queue[str] = queue.Queue()
        threading.Thread(target=self._read, daemon=True).start()

    def _read(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self._lines.put(line)

    def until(self, wanted: str) -> str:
        """Everything printed up to the line that holds `wanted`."""
        said = ""
        while wanted not in said:
            said += self._lines.get(timeout=60)
        return said


@contextmanager
def watching(*args: str | Path) -> Iterator[Watching]:
    command = [sys.executable, "-u", "-c", LISTENING, "watch", *map(str, args)]
    settings = {**os.environ, "PYTHONPATH": str(ROOT)}
    process = subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, env=settings, bufsize=1
    )
    try:
        yield Watching(process)
    finally:
        process.kill()
        process.wait()


def test_saves_are_told_as_they_happen_and_ctrl_c_ends_it(tmp_path: Path) -> None:
    scene = two_boxes(tmp_path, 5.0)
    with watching(scene) as running:
        first = running.until("watching 1 file")
        assert "1 shortfall found in 1 pair: 1 tight" in first
        text = scene.read_text(encoding="utf-8")
        scene.write_text(text.replace("[0, 15.0, 0]", "[0, 12.0, 0]"), encoding="utf-8")
        told = " ".join(running.until("clears every neighbour").split())
        assert "worse left_box - right_box: tight: gap 2.0 mm" in told
        assert "3.0 mm worse than before" in told
        scene.write_text(text.replace("parts:", "parts: ["), encoding="utf-8")
        assert "missing here" in " ".join(running.until("not checked; waiting for the next save").split())
        scene.write_text(text.replace("[0, 15.0, 0]", "[0, 40.0, 0]"), encoding="utf-8")
        assert "gone    left_box - right_box" in running.until("no shortfall found in 1 pair")
        running.process.send_signal(signal.SIGINT)
        assert "stopped" in running.until("stopped")
        assert running.process.wait(timeout=30) == 0


def text(lines: Iterator[object]) -> str:
    return "\n".join(str(getattr(line, "text", line)) for line in lines)


@pytest.mark.parametrize("width", [40, 100])
def test_lines_keep_to_their_width(width: int) -> None:
    change = Change(Kind.WORSE, "gaps", CLASH.subjects, CLASH, CLASH, -2.0)
    lines = [*first_lines(report(CLASH), width), *change_lines(report(CLASH), [change], 0.2, width)]
    assert all(len(line.text) <= width for line in lines)


def test_many_changes_are_counted_not_listed() -> None:
    many = [Change(Kind.APPEARS, "gaps", ("a", f"b{k}"), None, finding(3.0), None) for k in range(MOST + 5)]
    said = text(change_lines(report(finding(3.0)), many, 0.2, 100))
    assert "and 5 more, listed by packcheck check" in said


def test_nothing_changed_is_said() -> None:
    assert "no finding changed" in text(change_lines(report(), [], 0.2, 100))


def test_faults_are_told_with_their_mend() -> None:
    fault = Fault(SourceMark("bay.yaml", 3, 1), "no such key", "nobody would notice", "did you mean 'box'?")
    said = text(fault_lines([fault], 100))
    assert "bay.yaml:3:1: no such key" in said
    assert "mend: did you mean 'box'?" in said
