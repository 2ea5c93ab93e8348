"""`packcheck blank`: the sheet on the screen, or in a file that was not there."""

from __future__ import annotations

from pathlib import Path

from packcheck.cli.commands.blank import LINES, sheet
from tests.cli.running import run


def test_the_sheet_is_printed() -> None:
    done = run("blank")
    assert done.exit_code == 0
    assert done.output == sheet()
    assert len(sheet().splitlines()[-1]) == sheet().splitlines()[-LINES - 1].count(",")


def test_the_sheet_is_written_once(tmp_path: Path) -> None:
    file = tmp_path / "parts.csv"
    done = run("blank", "-o", str(file))
    assert done.output == f"wrote {file}; name it in your scene: parts_from: parts.csv\n"
    assert file.read_text(encoding="utf-8") == sheet()
    file.write_text("mine", encoding="utf-8")
    assert run("blank", "-o", str(file)).exit_code == 2
    assert file.read_text(encoding="utf-8") == "mine"
