"""The command line as a whole: help, hints, errors, start-up."""

from __future__ import annotations

import subprocess
import sys

import click
import pytest

from packcheck.cli.main import COMMANDS, cli
from packcheck.errors import Fault, SceneError, SourceMark
from packcheck.version import __version__
from tests.cli.running import own_process, run

HEAVY = ("numpy", "trimesh", "scipy", "pydantic", "fcl", "yaml", "rich", "simpleeval")


def test_help_lists_every_command() -> None:
    result = run("--help")
    assert result.exit_code == 0
    assert all(f"  {name} " in result.stdout for name in COMMANDS)


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_explains_itself(command: str) -> None:
    result = run(command, "--help")
    assert result.exit_code == 0
    assert result.stdout.startswith(f"Usage: packcheck {command}")


@pytest.mark.parametrize("command", [None, *COMMANDS])
def test_help_imports_nothing_heavy(command: str | None) -> None:
    """Oracle: the interpreter's own list of loaded modules."""
    args = [command, "--help"] if command else ["--help"]
    script = f"""
import sys
from packcheck.cli.main import cli
try:
    cli.main(args={args!r}, prog_name="packcheck")
except SystemExit:
    pass
print(sorted(set({HEAVY!r}) & set(sys.modules)), file=sys.stderr)
"""
    ran = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert ran.stderr.strip() == "[]"


def test_the_version_is_told() -> None:
    result = run("--version")
    assert (result.exit_code, result.stdout) == (0, f"packcheck {__version__}\n")


def test_it_runs_as_a_module() -> None:
    ran = own_process("--version")
    assert (ran.returncode, ran.stdout) == (0, f"packcheck {__version__}\n")


@pytest.mark.parametrize(
    ("wrong", "hint"),
    [("chekc", "did you mean 'check'?"), ("rule", "did you mean 'rules'?"), ("zzz", f"are {', '.join(COMMANDS)}")],
)
def test_an_unknown_command_gets_a_hint(wrong: str, hint: str) -> None:
    result = run(wrong)
    assert result.exit_code == 2
    assert f"there is no command '{wrong}'" in result.stderr
    assert hint in result.stderr


@pytest.mark.parametrize(
    "args", [["--nonsense"], ["check"], ["check", "a.yaml", "--nonsense"], ["check", "a", "b"]]
)
def test_a_usage_mistake_is_exit_code_two(args: list[str]) -> None:
    result = run(*args)
    assert result.exit_code == 2
    assert "Usage: packcheck" in result.stderr
    assert result.stdout == ""


def test_all_faults_are_told_then_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    faults = [
        Fault(SourceMark("a.yaml", 3, 5), "first is wrong", "it cannot be", "leave it out"),
        Fault(None, "second \x1b[2J is wrong"),
    ]
    result = _failing(SceneError(faults), monkeypatch)
    assert result.exit_code == 2
    assert result.stderr.splitlines() == [
        "a.yaml:3:5: first is wrong",
        "  why: it cannot be",
        "  mend: leave it out",
        r"second \x1b[2J is wrong",
        "2 faults",
    ]
    assert result.stdout == ""


def test_an_unexpected_error_is_one_line_and_says_how_to_see_more(monkeypatch: pytest.MonkeyPatch) -> None:
    result = _failing(RuntimeError("pump is None\nand more"), monkeypatch)
    assert result.exit_code == 2
    assert "internal error: RuntimeError: pump is None: please report it, with the scene" in result.stderr
    assert "PACKCHECK_DEBUG=1" in result.stderr
    assert "Traceback" not in result.stderr


def test_an_unexpected_error_shows_where_it_happened_when_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PACKCHECK_DEBUG", "1")
    result = _failing(RuntimeError("pump is None"), monkeypatch)
    assert isinstance(result.exception, RuntimeError)


@pytest.mark.parametrize("error", [KeyboardInterrupt(), click.Abort()])
def test_being_stopped_is_not_a_verdict(error: BaseException, monkeypatch: pytest.MonkeyPatch) -> None:
    result = _failing(error, monkeypatch)
    assert result.exit_code == 130
    assert result.stderr.strip() == "stopped"


def _failing(error: BaseException, monkeypatch: pytest.MonkeyPatch) -> click.testing.Result:
    """The result of a command that raises `error`."""

    @click.command("check")
    def command() -> None:
        raise error

    monkeypatch.setattr(type(cli), "get_command", lambda *_: command)
    return run("check")
