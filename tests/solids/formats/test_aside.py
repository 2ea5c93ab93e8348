"""Work done aside: whatever becomes of the child, the parent gets an answer or a reason."""

from __future__ import annotations

import os
import signal
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import pytest

from packcheck.solids.formats.aside import aside
from packcheck.solids.formats.gate import RefusedError

WORK = """
import ctypes, os, signal, time
import numpy as np
from packcheck.solids.formats.gate import RefusedError
def run(given):
    what = given["what"].tobytes().decode()
    if what == "crash":
        ctypes.string_at(0)
    if what == "abort":
        os.abort()
    if what == "hang":
        time.sleep(60)
    if what == "greed":
        held = [np.empty(1 << 28) for _ in range(100)]
    if what == "raise":
        raise KeyError("nothing of the kind")
    if what == "quit":
        os._exit(0)
    if what == "refuse":
        raise RefusedError("is not what it seems", why="for a reason", mend="another one")
    if what == "chatter":
        print("x" * 1_000_000)
    return {"twice": given["number"] * 2}
"""


@pytest.fixture(autouse=True)
def work(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "odd_work.py").write_text(WORK, encoding="utf-8")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))


def ask(what: str, **limits: float) -> dict[str, np.ndarray]:
    given = {"what": np.frombuffer(what.encode(), dtype=np.uint8), "number": np.array([3, 4])}
    return aside("odd_work", given, **limits)  # type: ignore[arg-type]


@pytest.mark.parametrize("what", ["work", "chatter"])
def test_the_answer_comes_back(what: str) -> None:
    assert ask(what)["twice"].tolist() == [6, 8]


@pytest.mark.parametrize(
    ("what", "words"),
    [
        ("crash", rf"crashed \(signal {int(signal.SIGSEGV)}\)"),
        ("abort", rf"crashed \(signal {int(signal.SIGABRT)}\)"),
        ("raise", "failed .KeyError: 'nothing of the kind'"),
        ("quit", "ended with 0"),
        ("refuse", "is not what it seems"),
    ],
)
@pytest.mark.skipif(os.name != "posix", reason="signals are told otherwise on this system")
def test_every_end_of_the_child_is_a_reason(what: str, words: str) -> None:
    with pytest.raises(RefusedError, match=words):
        ask(what)


def test_a_refusal_keeps_its_reason_and_its_mend() -> None:
    with pytest.raises(RefusedError) as caught:
        ask("refuse")
    assert (caught.value.why, caught.value.mend) == ("for a reason", "another one")


def test_a_child_that_hangs_is_stopped() -> None:
    began = time.monotonic()
    with pytest.raises(RefusedError, match="takes over 3 s"):
        ask("hang", seconds=3.0)
    assert time.monotonic() - began < 20


@pytest.mark.skipif(sys.platform != "linux", reason="this system keeps no limit of memory")
def test_a_child_that_takes_too_much_is_stopped() -> None:
    with pytest.raises(RefusedError, match="took more memory than it may"):
        ask("greed", memory=4 << 30)


def test_nothing_is_left_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    before = sorted(tmp_path.iterdir())
    ask("work")
    with pytest.raises(RefusedError):
        ask("crash")
    assert [path for path in sorted(tmp_path.iterdir()) if path.name.startswith("packcheck")] == []
    assert before
