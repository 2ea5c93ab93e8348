"""Measurements as markdown tables that say when and on what they were taken, and the clocks for them."""

from __future__ import annotations

import os
import platform
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from importlib.metadata import version
from time import perf_counter, process_time
from typing import TypeVar

__all__ = ["Taken", "best_of", "show", "table", "timed"]

Answer = TypeVar("Answer")


def table(title: str, columns: Sequence[str], rows: Sequence[Sequence[str | float]], note: str = "") -> str:
    """A markdown table under its title, the date and the machine; numbers to three figures, `note` below."""
    lines = [
        f"**{title}** ({_when_and_where()})",
        "",
        _row(columns),
        _row(["---", *["---:"] * (len(columns) - 1)]),
        *(_row([_cell(cell) for cell in row]) for row in rows),
    ]
    return "\n".join([*lines, *(["", note] if note else [])]) + "\n"


@dataclass(frozen=True, slots=True)
class Taken:
    """Seconds of wall time, and of processor time: the second hardly feels what else the machine does."""

    wall: float
    cpu: float

    def __add__(self, other: Taken) -> Taken:
        return Taken(self.wall + other.wall, self.cpu + other.cpu)


def timed(run: Callable[[], Answer]) -> tuple[Taken, Answer]:
    """How long `run` takes, and what it answers."""
    wall, cpu = perf_counter(), process_time()
    answer = run()
    return Taken(perf_counter() - wall, process_time() - cpu), answer


def best_of(times: int, run: Callable[[], object]) -> Taken:
    """The quickest of several runs: what else the machine does only ever adds to them."""
    return min((timed(run)[0] for _ in range(times)), key=lambda taken: taken.cpu)


def show(text: str) -> None:
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


def _when_and_where() -> str:
    engines = ", ".join(f"{name} {version(name)}" for name in ("numpy", "python-fcl", "trimesh"))
    load = f"load {os.getloadavg()[0]:.1f}, " if hasattr(os, "getloadavg") else ""
    today = datetime.now(UTC).date().isoformat()
    return f"{today}, {os.cpu_count()} cores, {load}Python {platform.python_version()}, {engines}"


def _row(cells: Sequence[str]) -> str:
    return f"| {' | '.join(cells)} |"


def _cell(cell: str | float) -> str:
    if isinstance(cell, str):
        return cell
    if isinstance(cell, int) or cell >= 1000:
        return f"{cell:.0f}"
    return f"{cell:.3g}"
