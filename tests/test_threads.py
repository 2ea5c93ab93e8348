"""One thread for our own numbers, and nothing of the host's settings changed for good."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from packcheck.threads import SETTINGS, one_thread, pin_process

HOST = """
import threadpoolctl, numpy as np
def threads(): return {one["num_threads"] for one in threadpoolctl.threadpool_info() if one["user_api"] == "blas"}
before = threads()
import packcheck, packcheck.studies.gaps as gaps
inside, plain = [], gaps.run
def run(*args): inside.append(threads()); return plain(*args)
gaps.run = run
packcheck.load("scenes/first_steps.yaml").check(moves=False)
print(before, inside[0], threads())
"""


def python(code: str, **settings: str) -> str:
    kept = {name: value for name, value in os.environ.items() if name not in SETTINGS}
    done = subprocess.run(
        [sys.executable, "-c", code],
        env={**kept, **settings},
        capture_output=True,
        text=True,
        timeout=100,
        check=True,
        cwd=Path(__file__).parents[1],
    )
    return done.stdout.strip()


def test_a_host_keeps_its_threads() -> None:
    """Oracle: what the library of linear algebra itself says, before, within and after."""
    if (os.cpu_count() or 1) < 2:
        pytest.skip("one processor has one thread")
    before, within, after = python(HOST, OPENBLAS_NUM_THREADS="2").split("} {")
    assert before.strip("{}") == after.strip("{}") == "2"
    assert within == "1"


def test_a_command_is_pinned_before_numpy_is_loaded() -> None:
    """Oracle: as above; numpy reads the settings when it is loaded."""
    code = """
import sys
from packcheck.cli import main
assert "numpy" not in sys.modules
sys.argv = ["packcheck", "--version"]
try: main.main()
except SystemExit: pass
import numpy, threadpoolctl
print([one["num_threads"] for one in threadpoolctl.threadpool_info()])
"""
    assert set(python(code).splitlines()[-1]) <= set("[1, ]")


def test_what_the_user_has_set_is_left() -> None:
    environment = {"OPENBLAS_NUM_THREADS": "4"}
    pin_process(environment)
    assert environment.pop("OPENBLAS_NUM_THREADS") == "4"
    assert set(environment.values()) == {"1"}


def test_a_pinned_process_loads_nothing_for_it(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in SETTINGS:
        monkeypatch.setenv(name, "1")
    monkeypatch.setitem(sys.modules, "threadpoolctl", None)  # importing it would fail
    with one_thread():
        pass
