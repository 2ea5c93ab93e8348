"""Work done aside: whatever becomes of the helper, who asked gets an answer or a reason, and the next is served."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from packcheck.solids.formats import aside
from packcheck.solids.formats.aside import Helper
from packcheck.solids.formats.gate import RefusedError

WORK = """
import ctypes, os, sys, time
import numpy as np
from pathlib import Path
from tempfile import gettempdir
from packcheck.solids.formats.gate import RefusedError
def run(what):
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
    if what == "leave":
        sys.exit("no more")
    if what == "refuse":
        raise RefusedError("is not what it seems", why="for a reason", mend="another one")
    if what == "chatter":
        print("x" * 1_000_000)
        os.write(1, b"y" * 1_000_000)
        os.write(2, b"z" * 1_000_000)
    if what == "objects":
        return {"held": np.array([{"a": 1}], dtype=object)}
    if what == "litter":
        Path(gettempdir(), "left").write_text("behind")
    return {"twice": np.array([6, 8]), "process": np.array(os.getpid())}
"""

POSIX = pytest.mark.skipif(os.name != "posix", reason="signals are told otherwise on this system")


@pytest.fixture
def helper(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Helper]:
    (tmp_path / "odd_work.py").write_text(WORK, encoding="utf-8")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    made = Helper()
    yield made
    made.close()


def ask(helper: Helper, what: str, seconds: float = 60.0) -> dict[str, np.ndarray]:
    return helper.ask("odd_work", what, seconds=seconds)


@pytest.mark.parametrize("what", ["work", "chatter"])
def test_the_answer_comes_back(what: str, helper: Helper) -> None:
    assert ask(helper, what)["twice"].tolist() == [6, 8]


def test_one_helper_serves_again_and_again(helper: Helper) -> None:
    first = ask(helper, "work")["process"]
    with pytest.raises(RefusedError, match="is not what it seems"):
        ask(helper, "refuse")
    assert ask(helper, "chatter")["process"] == ask(helper, "work")["process"] == first


@POSIX
@pytest.mark.parametrize(
    ("what", "words"),
    [
        ("crash", rf"crashed \(signal {int(signal.SIGSEGV)}\)"),
        ("abort", rf"crashed \(signal {int(signal.SIGABRT)}\)"),
        ("raise", "cannot be worked out .KeyError: 'nothing of the kind'"),
        ("quit", "ended with 0"),
        ("leave", "ended with 1"),
        ("objects", "the answer is no plain arrays"),
    ],
)
def test_every_end_of_the_helper_is_a_reason_and_the_next_one_is_served(
    what: str, words: str, helper: Helper
) -> None:
    before = ask(helper, "work")["process"]
    with pytest.raises(RefusedError, match=words) as caught:
        ask(helper, what)
    assert caught.value.mend
    assert what == "objects" or ask(helper, "work")["process"] != before


@POSIX
def test_a_helper_that_was_ended_meanwhile_is_replaced(helper: Helper) -> None:
    before = int(ask(helper, "work")["process"])
    os.kill(before, signal.SIGKILL)
    time.sleep(0.2)
    assert int(ask(helper, "work")["process"]) != before


@POSIX
def test_one_that_the_system_ends_while_it_works_is_said_to_lack_memory() -> None:
    """Oracle: the kernel: what runs out of memory is ended by signal 9, and so is this one."""
    assert "want of memory" in aside._ending(-signal.SIGKILL)


def test_a_refusal_keeps_its_reason_and_its_mend(helper: Helper) -> None:
    with pytest.raises(RefusedError) as caught:
        ask(helper, "refuse")
    assert (caught.value.why, caught.value.mend) == ("for a reason", "another one")


def test_a_helper_that_hangs_is_stopped(helper: Helper) -> None:
    ask(helper, "work")
    began = time.monotonic()
    with pytest.raises(RefusedError, match="takes over 2 s"):
        ask(helper, "hang", seconds=2.0)
    assert time.monotonic() - began < 20
    assert ask(helper, "work")["twice"].tolist() == [6, 8]


@pytest.mark.skipif(sys.platform != "linux", reason="this system keeps no limit of memory")
def test_a_helper_that_takes_too_much_is_stopped(helper: Helper) -> None:
    with pytest.raises(RefusedError, match="takes more memory than it may"):
        ask(helper, "greed")
    assert ask(helper, "work")["twice"].tolist() == [6, 8]


def test_nothing_is_left_behind(helper: Helper, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    litter = tmp_path / "litter"
    litter.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(litter))
    ask(helper, "litter")
    assert [path.name for path in litter.rglob("*") if path.is_file()] == ["left"]
    with pytest.raises(RefusedError):
        ask(helper, "quit")
    assert list(litter.iterdir()) == []


@pytest.mark.usefixtures("helper")
def test_a_helper_ends_with_the_process_that_asked(tmp_path: Path) -> None:
    program = "from packcheck.solids.formats.aside import aside; print(aside('odd_work', 'work')['process'])"
    path = os.pathsep.join([str(tmp_path), *sys.path])
    env = {**os.environ, "PYTHONPATH": path}
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True, env=env)
    if os.name == "posix":
        with pytest.raises(ProcessLookupError):
            os.kill(int(done.stdout), 0)
    assert done.stderr == ""


def test_a_module_in_the_folder_of_the_user_is_not_taken_for_a_library(
    helper: Helper, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Oracle: by construction: were the current folder searched first, numpy would be this file, and end it all."""
    here = tmp_path / "here"
    here.mkdir()
    (here / "numpy.py").write_text("raise SystemExit(3)")
    monkeypatch.chdir(here)
    assert ask(helper, "work")["twice"].tolist() == [6, 8]
