"""Room that must stay free: every room gets its answer, also where that is yes."""

from __future__ import annotations

from pathlib import Path

import pytest

from packcheck.bay import Bay, load
from packcheck.findings import Cell
from tests.scene.writing import write

FILTER = "filter: {box: [100, 100, 200], at: [0, 0, 0], needs: {bottom: 100 mm}}"
AIR = "air needed below filter"


def bay(folder: Path, *parts: str) -> Bay:
    lines = "\n".join(f"  {part}" for part in (FILTER, *parts))
    return load(write(folder, f"packcheck: 1\nparts:\n{lines}\n"), use_cache=False)


def rows(made: Bay, *only: str) -> list[tuple[Cell, ...]]:
    return [row for table in made.check(only, moves=False).tables if table.id == "rooms" for row in table.rows]


@pytest.mark.parametrize(
    ("hose", "said", "told"),
    [
        ("at: [0, 83, -150]", "free", 23.0),
        ("at: [0, 83, -150], tolerance: 3", "free", 20.0),
        ("at: [0, 50, -150]", "not free", None),
        ("at: [0, 61, -150], tolerance: 3", "undecided", None),
    ],
)
def test_a_room_says_whether_it_is_free_and_what_is_nearest(
    tmp_path: Path, hose: str, said: str, told: float | None
) -> None:
    """Oracle: by head; the air ends at 50, the hose is 20 wide about the place given."""
    made = bay(
        tmp_path, f"coolant_hose: {{box: [20, 20, 20], {hose}}}", "far: {box: [20, 20, 20], at: [0, 150, -150]}"
    )
    assert rows(made) == [(AIR, said, "coolant_hose", told)]


def test_a_part_brings_the_air_it_needs(tmp_path: Path) -> None:
    made = bay(
        tmp_path,
        "coolant_hose: {box: [20, 20, 20], at: [0, 50, -150]}",
        "hatch: {kind: access, box: [9, 9, 9], at: [900, 0, 0]}",
    )
    assert [row[0] for row in rows(made, "filter")] == [AIR]
    assert any(
        finding.subjects == (AIR, "coolant_hose") for finding in made.check(["filter"], moves=False).findings
    )
    assert rows(made)[1] == ("hatch", "free", "nothing within 300", None)
    assert rows(made, "coolant_hose") == []


@pytest.mark.parametrize(
    ("lid", "said", "told"),
    [
        ("at: [0, 0, -300]", "not free in motion", None),
        ("at: [0, 0, -304], tolerance: 3", "undecided in motion", None),
        ("at: [0, 0, -320]", "free", 17.5),
        ("at: [0, 0, -320], tolerance: 3", "free", 14.5),
    ],
)
def test_a_room_that_something_sweeps_is_not_free(tmp_path: Path, lid: str, said: str, told: float | None) -> None:
    """Oracle: by head; the air ends at -200; a lid of 5 mm below it lifts by 100 mm. At rest it is 97.5 mm away."""
    made = write(
        tmp_path,
        f"packcheck: 1\nparts:\n  {FILTER}\n  lid: {{box: [90, 90, 5], {lid}}}\n"
        "motions: {lifts: {carries: [lid], travel: {by: z, from: 0, to: 100}}}\n",
    )
    assert rows(load(made, use_cache=False)) == [(AIR, said, "lid, moved by lifts", told)]


def test_what_moves_away_from_a_room_is_nearest_at_rest(tmp_path: Path) -> None:
    """Oracle: by head; 20 mm below the air at rest."""
    made = write(
        tmp_path,
        f"packcheck: 1\nparts:\n  {FILTER}\n  lid: {{box: [90, 90, 10], at: [0, 0, -225]}}\n"
        "motions: {drops: {carries: [lid], travel: {by: z, from: -100, to: 0}}}\n",
    )
    ((room, said, nearest, told),) = rows(load(made, use_cache=False))
    assert (room, said, nearest, told) == (AIR, "free", "lid", 20.0)
