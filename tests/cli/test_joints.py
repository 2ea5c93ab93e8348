"""`packcheck check --joints`: what is offered, what is asked, what is written."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from packcheck.cli import joints
from packcheck.cli.main import cli

from .running import run

BAY = """\
packcheck: 1
parts:
  bracket: {box: [10, 10, 10], at: [0, 0, 0]}   # folded
  rail: {box: [400, 20, 20], at: [0, 15, 0]}
  clip: {box: [4, 4, 4], at: [0, 27, 0]}
  far: {box: [4, 4, 4], at: [0, 0, 900]}
clearances: {use: none, default: 10}
"""
BRACKET = BAY.replace("at: [0, 0, 0]}", "at: [0, 0, 0], bolted_to: [rail]}")
BOTH = BRACKET.replace("[0, 27, 0]}", "[0, 27, 0], bolted_to: [rail]}")


@pytest.fixture
def scene(tmp_path: Path) -> Path:
    path = tmp_path / "bay.yaml"
    path.write_text(BAY, encoding="utf-8")
    return path


def asked(scene: Path, monkeypatch: pytest.MonkeyPatch, *answers: str) -> Result:
    """The command with someone there to ask."""
    monkeypatch.setattr(joints, "somebody_there", lambda: True)
    typed = "".join(f"{answer}\n" for answer in answers)
    return CliRunner().invoke(cli, ["check", "--joints", str(scene)], input=typed)


@pytest.mark.parametrize(
    ("choice", "after", "code"),
    [
        ("all", BOTH, 0),
        ("none", BAY, 1),
        ("bracket+rail", BRACKET, 1),
        ("rail+bracket", BRACKET, 1),
        ("rail+clip, bracket+rail", BOTH, 0),
    ],
)
def test_a_choice_given_beforehand_is_written_and_checked_again(
    scene: Path, choice: str, after: str, code: int
) -> None:
    result = run("check", scene, "--joints", choice)
    assert scene.read_text(encoding="utf-8") == after
    assert result.exit_code == code
    assert ("wrote" in result.stdout) == (after != BAY)


def test_the_change_is_shown_before_it_is_written(scene: Path) -> None:
    said = run("check", scene, "--joints", "bracket+rail").stdout
    assert "  line 3\n  -   bracket: {box: [10, 10, 10], at: [0, 0, 0]}   # folded\n" in said
    assert (
        "  +   bracket: {box: [10, 10, 10], at: [0, 0, 0], bolted_to: [rail]}   # folded\nwrote 1 joint\n" in said
    )


@pytest.mark.parametrize(
    ("answers", "after"),
    [
        (("all", "y"), BOTH),
        (("1-2", "y"), BOTH),
        (("1", "y"), BRACKET),
        (("1", "n"), BAY),
        (("",), BAY),
        (("three", "3", "0", "2-1", "1", "y"), BRACKET),
    ],
)  # fmt: skip
def test_somebody_at_the_terminal_is_asked(
    scene: Path, monkeypatch: pytest.MonkeyPatch, answers: tuple[str, ...], after: str
) -> None:
    result = asked(scene, monkeypatch, *answers)
    assert "  1  bracket - rail: gap 0.0 mm\n" in result.stdout
    assert "clip is small beside rail (1 to 2500)" in result.stdout
    assert scene.read_text(encoding="utf-8") == after
    assert ("nothing was written" in result.stdout) == (answers == ("1", "n"))


def test_with_nobody_there_it_lists_and_says_how_to_choose(scene: Path) -> None:
    result = run("check", scene, "--joints")
    assert result.exit_code == 1
    assert "bracket - rail" in result.stdout
    assert "choose with --joints all" in result.stderr
    assert scene.read_text(encoding="utf-8") == BAY


def test_without_likely_joints_it_says_so(scene: Path) -> None:
    scene.write_text(BOTH, encoding="utf-8")
    result = run("check", scene, "--joints", "all")
    assert result.stdout == "no pair looks like a joint that the file does not state\n"
    assert result.exit_code == 0


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--joints", "bracket+far"], "'bracket+far' is not one of the pairs that look like joints: "),
        (["--joints", "all", "--json"], "leave out what shapes the report"),
        (["--joints", "all", "--quiet"], "leave out what shapes the report"),
        (["--joints", "all", "--layout", "x"], "leave out --layout"),
    ],
)
def test_what_makes_no_sense_is_refused(scene: Path, options: list[str], said: str) -> None:
    result = run("check", scene, *options)
    assert result.exit_code == 2
    assert said in result.stderr
    assert scene.read_text(encoding="utf-8") == BAY


def test_the_report_lists_them_apart_and_counts_them_as_shortfalls(scene: Path) -> None:
    result = run("check", scene)
    assert result.stdout.startswith("2 shortfalls found in 6 pairs: 2 touching; 2 of them look like joints\n")
    assert (
        "They look like joints that the file does not state\ntouching: bracket - rail: gap 0.0 mm" in result.stdout
    )
    assert result.exit_code == 1
