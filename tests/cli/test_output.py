"""Files written whole or not at all, and lines on a terminal."""

from __future__ import annotations

import io
import sys
from pathlib import Path

import click
import pytest

from packcheck.cli.output import emit_lines
from packcheck.cli.targets import NEW, OUTPUT, Target, spared
from packcheck.report.text.lines import Line, Style


def write_whole(path: Path, data: str) -> None:
    (place,) = spared((), Target(path))
    assert place is not None
    place.write(data)


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        return True


def test_a_file_is_replaced_in_one_step_and_keeps_its_permissions(tmp_path: Path) -> None:
    target = tmp_path / "report.txt"
    target.write_text("old", encoding="utf-8")
    target.chmod(0o640)
    write_whole(target, "Ø new\n")
    assert target.read_bytes() == "Ø new\n".encode()
    assert target.stat().st_mode & 0o777 == 0o640 or sys.platform == "win32"
    assert [path.name for path in tmp_path.iterdir()] == ["report.txt"]


def test_half_a_pair_is_written_as_its_escape(tmp_path: Path) -> None:
    """Names of files may hold bytes that are no UTF-8; Python gives them as halves of pairs."""
    target = tmp_path / "report.txt"
    write_whole(target, "half a pair: \ud800")
    assert target.read_text(encoding="utf-8") == "half a pair: \\ud800"


def test_what_exists_is_kept_when_replacing_is_not_allowed(tmp_path: Path) -> None:
    target = tmp_path / "scene.yaml"
    target.write_text("old", encoding="utf-8")
    with pytest.raises(click.ClickException, match="exists already"):
        NEW.convert(target, None, None)
    (place,) = spared((), Target(target, replace=False))
    assert place is not None
    with pytest.raises(click.ClickException, match="exists already"):
        place.write("new")
    assert target.read_text(encoding="utf-8") == "old"


def test_a_folder_that_is_not_there_is_said(tmp_path: Path) -> None:
    with pytest.raises(click.ClickException, match="cannot write"):
        OUTPUT.convert(tmp_path / "nowhere" / "report.txt", None, None)


@pytest.mark.skipif(sys.platform == "win32", reason="links need rights on Windows")
def test_a_link_still_points_where_it_did(tmp_path: Path) -> None:
    target, link = tmp_path / "report.txt", tmp_path / "latest.txt"
    target.write_text("old", encoding="utf-8")
    link.symlink_to(target)
    write_whole(link, "new")
    assert link.is_symlink()
    assert target.read_text(encoding="utf-8") == "new"


def test_a_source_is_known_by_another_name_too(tmp_path: Path) -> None:
    source = tmp_path / "scene.yaml"
    source.write_text("x", encoding="utf-8")
    with pytest.raises(click.ClickException, match="part of the scene"):
        spared([source], Target(tmp_path / "." / "scene.yaml"))


def test_a_terminal_gets_styles_and_a_width_it_can_hold(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = Terminal()
    monkeypatch.setattr(sys, "stdout", screen)
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.setenv("COLUMNS", "300")
    monkeypatch.delenv("NO_COLOR", raising=False)
    emit_lines(lambda width: [Line(f"[bold]{width} columns[/]", Style.SHORT), Line("plain")], 100)
    assert "\x1b[" in screen.getvalue()
    assert "[bold]120 columns[/]" in screen.getvalue()


def test_a_pipe_gets_the_words_alone(capsys: pytest.CaptureFixture[str]) -> None:
    emit_lines(lambda width: [Line(f"{width} columns", Style.SHORT)], 100)
    assert capsys.readouterr().out == "100 columns\n"


def test_a_terminal_without_colour_gets_none(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = Terminal()
    monkeypatch.setattr(sys, "stdout", screen)
    monkeypatch.setenv("TERM", "dumb")
    emit_lines(lambda _: [Line("tight", Style.SHORT)], 100)
    assert "tight" in screen.getvalue()
    assert "38;" not in screen.getvalue()
