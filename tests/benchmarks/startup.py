"""How long the commands take, start-up included, and where the time of the demo check goes.

``python -m tests.benchmarks.startup`` prints the tables.
"""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory
from unittest.mock import patch

from tests.benchmarks import tables
from tests.benchmarks.commands import DEMO, commands, cost
from tests.benchmarks.stages import stages

__all__ = ["startup", "where_the_time_goes"]

TIMES = 5
COLUMNS = ("packcheck ...", "wall, s", "user CPU, s", "exit code")


def startup(times: int = TIMES, parts: int = 200) -> str:
    """The table of commands."""
    with commands(parts) as listed:
        costs = [(command.title, cost(command, times)) for command in listed]
    rows = [(title, one.wall, one.user, one.code) for title, one in costs]
    return tables.table(f"Start-up, best of {times}; cold: empty mesh cache", COLUMNS, rows)


def where_the_time_goes(scene: Path = DEMO, times: int = TIMES) -> str:
    """The table of the stages of one check, the quickest run of each of cold and warm."""
    with TemporaryDirectory() as folder:
        cold = min((_stages(scene, Path(folder, str(k))) for k in range(times)), key=_total)
        warm = min((_stages(scene, Path(folder, "0")) for _ in range(times)), key=_total)
    rows = [(stage, first, again) for (stage, first), (_, again) in zip(cold, warm, strict=True)]
    total = ("in all", _total(cold), _total(warm))
    title = f"Where the time of checking {scene.name} goes, best of {times}"
    return tables.table(title, ("stage", "cold, s", "warm, s"), [*rows, total])


def _stages(scene: Path, cache: Path) -> list[tuple[str, float]]:
    with patch.dict("os.environ", PACKCHECK_CACHE=str(cache)):
        return stages(scene)


def _total(run: list[tuple[str, float]]) -> float:
    return sum(seconds for _, seconds in run)


if __name__ == "__main__":
    tables.show(startup())
    tables.show(where_the_time_goes())
