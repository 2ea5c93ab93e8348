"""Where the time of a check goes: each stage in turn, in a process that has imported nothing yet.

    python -m tests.benchmarks.stages SCENE

prints a line "seconds stage" each.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from time import perf_counter
from typing import TypeVar

__all__ = ["stages"]

Answer = TypeVar("Answer")


def stages(scene: Path) -> list[tuple[str, float]]:
    """Each stage of a check and its seconds, mesh cache as the environment says."""
    command = [sys.executable, "-m", "tests.benchmarks.stages", str(scene)]
    said = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    lines = [line.split(maxsplit=1) for line in said.splitlines()]
    return [(stage, float(seconds)) for seconds, stage in lines]


def main() -> None:
    path = sys.argv[1]
    _stage("import", _imported)
    from packcheck.assembly.assembly import assemble
    from packcheck.moves import with_moves
    from packcheck.proximity import Session
    from packcheck.report.text.as_text import as_text
    from packcheck.scene import load_scene
    from packcheck.studies import gaps

    scene = _stage("load_scene", lambda: load_scene(path))
    assembly = _stage("assemble", lambda: assemble(scene))
    session = Session()
    report = _stage("gaps", lambda: gaps.run(assembly, session))
    _stage("moves", lambda: with_moves(assembly, session, report.findings))
    _stage("text", lambda: as_text(report))


def _imported() -> None:
    import packcheck.bay
    import packcheck.cli.commands.check
    import packcheck.report.text.as_text  # noqa: F401


def _stage(name: str, run: Callable[[], Answer]) -> Answer:
    start = perf_counter()
    answer = run()
    sys.stdout.write(f"{perf_counter() - start} {name}\n")
    return answer


if __name__ == "__main__":
    main()
