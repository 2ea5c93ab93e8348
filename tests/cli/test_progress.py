"""Bars: over everything that may take a second, never where a program reads what is printed."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

import packcheck.cli.main
from tests.cli.running import run, two_boxes

CLI = Path(packcheck.cli.main.__file__).parent
WORK = ("packcheck.load(", "packcheck.look(", ".bay()", "one_size(", "Watcher(", "Desk(")


@pytest.mark.parametrize("path", sorted(CLI.glob("*.py")), ids=lambda path: path.stem)
def test_every_command_that_reads_or_measures_has_a_bar(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    if "@click.command(" in text and any(work in text for work in WORK):
        assert "from packcheck.cli.progress import" in text


@pytest.fixture
def drawn(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What bars would be drawn on a terminal, without waiting for a second to pass."""
    told: list[str] = []

    @contextmanager
    def bar(what: str, *, quietly: bool = False) -> Iterator[Callable[[int, int], None]]:
        if not quietly:
            told.append(what)
        yield lambda *_: None

    monkeypatch.setattr("packcheck.cli.progress.steps", bar)
    return told


@pytest.mark.parametrize(
    "command",
    [
        ("check",),
        ("list",),
        ("rules",),
        ("weigh",),
        ("leeway", "left_box"),
        ("place", "left_box", "--within", "0, 60, 0 to 20, 80, 20"),
    ],
)
def test_with_json_no_bar_is_drawn(command: tuple[str, ...], drawn: list[str], tmp_path: Path) -> None:
    name, *rest = command
    scene = two_boxes(tmp_path, 5.0)
    run(name, scene, *rest)
    assert drawn
    drawn.clear()
    result = run(name, scene, *rest, "--json")
    assert result.stdout.startswith("{")
    assert drawn == []
