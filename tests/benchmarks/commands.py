"""The commands that start-up times and memory are measured of."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from shutil import rmtree
from tempfile import TemporaryDirectory

from tests.benchmarks.bays import write_bay

__all__ = ["DEMO", "Command", "Cost", "commands", "cost"]

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "scenes" / "hillclimb_rear_bay.yaml"
FIRST_STEPS = ROOT / "scenes" / "first_steps.yaml"
PATIENCE = 20.0  # s
SCAN_PARTS, SCAN = 100, 1_000_000  # triangles


@dataclass(frozen=True, slots=True)
class Cost:
    """Wall and user CPU seconds, peak memory in MiB, exit code."""

    wall: float
    user: float
    peak: float
    code: int


@dataclass(frozen=True, slots=True)
class Command:
    """Arguments of packcheck. `cold`: with an empty mesh cache, and the meshes read anew."""

    title: str
    arguments: tuple[str, ...]
    cold: bool = False


@contextmanager
def commands(parts: int = 200, triangles: int = 10_000) -> Iterator[tuple[Command, ...]]:
    """The commands; the generated bay among them is gone afterwards."""
    with TemporaryDirectory() as folder:
        bay = str(write_bay(_made(folder, "bay"), parts, triangles))
        scan = str(write_bay(_made(folder, "scan"), SCAN_PARTS, 1_000, scan=SCAN))
        demo = ("check", str(DEMO))
        yield (
            Command("--help", ("--help",)),
            Command("--version", ("--version",)),
            Command("check first_steps", ("check", str(FIRST_STEPS))),
            Command("check demo, warm", demo),
            Command("check demo, cold", demo, cold=True),
            Command("check --no-moves demo, warm", (*demo, "--no-moves")),
            Command("check --no-moves demo, cold", (*demo, "--no-moves"), cold=True),
            Command(f"check {parts} parts, warm", ("check", bay)),
            Command(f"check --no-moves {parts} parts, warm", ("check", bay, "--no-moves")),
            Command(f"check --no-moves {parts} parts, cold", ("check", bay, "--no-moves"), cold=True),
            Command(f"check --no-moves {SCAN_PARTS} parts and a scan, warm", ("check", scan, "--no-moves")),
            Command(
                f"check --no-moves {SCAN_PARTS} parts and a scan, cold", ("check", scan, "--no-moves"), cold=True
            ),
        )


def _made(folder: str, name: str) -> Path:
    path = Path(folder, name)
    path.mkdir()
    return path


def cost(command: Command, times: int) -> Cost:
    """The quickest of several runs, fewer when they are slow, after one that is not counted."""
    with TemporaryDirectory() as cache:
        spent = _run(command, Path(cache)).wall
        runs = [_run(command, Path(cache))]
        while len(runs) < times and spent < PATIENCE:
            runs.append(_run(command, Path(cache)))
            spent += runs[-1].wall
    return min(runs, key=lambda run: run.wall)


def _run(command: Command, cache: Path) -> Cost:
    if command.cold:
        rmtree(cache, ignore_errors=True)
    return _measured([sys.executable, "-m", "packcheck", *command.arguments], PACKCHECK_CACHE=str(cache))


def _measured(arguments: list[str], **environment: str) -> Cost:
    settings: Mapping[str, str] = {**os.environ, "PYTHONPATH": str(ROOT), **environment}
    measure = [sys.executable, str(Path(__file__).with_name("measure.py")), *arguments]
    done = subprocess.run(measure, env=settings, capture_output=True, text=True, check=True)
    wall, user, peak, code = done.stdout.split()
    return Cost(float(wall), float(user), float(peak), int(code))
