"""Running the command line in a test, in this process or in one of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from click.testing import CliRunner, Result

from packcheck.cli.main import cli


def run(*args: str | Path) -> Result:
    """The result of `packcheck args` in this process; stdout and stderr are kept apart."""
    return CliRunner().invoke(cli, [str(arg) for arg in args], prog_name="packcheck")


def own_process(*args: str | Path, cwd: Path | None = None, **environment: str) -> subprocess.CompletedProcess[str]:
    """`packcheck args` in a process of its own."""
    command = [sys.executable, "-m", "packcheck", *map(str, args)]
    settings = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2]), **environment}
    return subprocess.run(command, capture_output=True, text=True, cwd=cwd, env=settings, timeout=240, check=False)


def two_boxes(folder: Path, gap: float, *, asked: str = "{must: 10, want: 20}", fit: str = "exact") -> Path:
    """A scene of two boxes with a gap of `gap` mm between them, held to `asked`."""
    scene = folder / "boxes.yaml"
    scene.write_text(
        f"""packcheck: 1
title: Two boxes
parts:
  left_box: {{box: [10, 10, 10], at: [0, 0, 0], fit: {fit}}}
  right_box: {{box: [10, 10, 10], at: [0, {10 + gap}, 0]}}
clearances:
  use: none
  rules:
    - {{between: [left_box, right_box], gap: {asked}, why: by hand}}
""",
        encoding="utf-8",
    )
    return scene
