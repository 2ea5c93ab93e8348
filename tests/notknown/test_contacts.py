"""How far off a part comes to rest: closed forms of what sideways shifts do on slopes, steps and edges."""

from __future__ import annotations

from math import cos, pi, radians, tan
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
import pytest

import packcheck
from packcheck.notknown.account import Account
from packcheck.notknown.contacts import _eroded
from tests.worlds.asked import written

Tree: TypeAlias = dict[str, Any]

POLYGON = 1 / cos(pi / 8)
"""A disc of shifts is held by an octagon, whose corners reach so much farther."""

TOUCH = 0.01
"""mm; how near two contacts are told."""


def account_of(folder: Path, parts: Tree, frames: Tree | None = None) -> Account:
    tree = {"packcheck": 1, "parts": parts, **({"frames": frames} if frames else {})}
    (folder / "bay.yaml").write_text(written(tree), encoding="utf-8")
    return packcheck.load(folder / "bay.yaml").assembly.account


def on_a_slope(rail: Tree, pump: Tree | None = None) -> Tree:
    """A ball on a plate that leans by 30 degrees about y."""
    ball = {"sphere": {"diameter": 20}, "faces": {"front": "10 fore", "bottom": {"above": "rail"}}}
    plate = {"at": [0, 0, 0], "turn": [0, 30, 0], "box": [400, 400, 20]}
    return {"rail": {**plate, **rail}, "pump": {**ball, **(pump or {})}}


def residual(account: Account, part: str = "pump") -> float:
    return account.contact(part).residual


@pytest.mark.parametrize(
    ("rail", "pump", "sideways"),
    [
        ({"tolerance": [4, 0, 0]}, {}, 4.0),
        ({"tolerance": [0, 0, 4]}, {}, 4.0),  # up and down counts as if it were across
        ({"tolerance": 4}, {}, 4.0),
        ({}, {"tolerance": [4, 0, 0]}, 4.0),
        ({}, {"tolerance": [0, 0, 4]}, 0.0),  # along the way is taken back by the contact
        ({"tolerance": [3, 0, 0]}, {"tolerance": [2, 0, 0]}, 5.0),
        ({"tolerance": 1}, {"tolerance": 2}, 3.0),
    ],
)
def test_a_shift_across_a_slope_lifts_by_its_tangent(
    tmp_path: Path, rail: Tree, pump: Tree, sideways: float
) -> None:
    """Oracle: closed form: tan 30 of the shift, and no more than the octagon round it reaches farther."""
    found = residual(account_of(tmp_path, on_a_slope(rail, pump)))
    most = sideways * tan(radians(30))
    assert most - TOUCH <= found <= most * POLYGON + TOUCH


def test_a_level_rail_has_no_residual(tmp_path: Path) -> None:
    """Oracle: by head: as long as the box stays over the plate, shifts aside change nothing."""
    box = {"box": [50, 50, 50], "faces": {"front": "25 fore", "bottom": {"above": "rail"}}}
    made = account_of(tmp_path, {"rail": {"at": [0, 0, 0], "box": [200, 100, 40], "tolerance": 4}, "pump": box})
    assert residual(made) == 0.0


@pytest.mark.parametrize(("by", "lost"), [(20, False), (34, True)])
def test_a_part_that_may_miss_its_rail_rests_nowhere(tmp_path: Path, by: float, lost: bool) -> None:
    """Oracle: by head: 10 of one half and 20 of the other are 30: within that the two still meet."""
    box = {"box": [20, 20, 20], "faces": {"front": "10 fore", "bottom": {"above": "rail"}}}
    rail = {"at": [0, 0, 0], "box": [40, 200, 40], "tolerance": [by, 0, 0]}
    made = account_of(tmp_path, {"rail": rail, "pump": box})
    assert bool(made.contact("pump").lost) is lost
    assert np.isinf(made.total("pump")) == lost


def test_a_turn_of_the_rail_lifts_by_its_arm(tmp_path: Path) -> None:
    """Oracle: the terms of the proof: a rail that turns by w takes any place that may touch by w times how far that
    is from the middle of the contact: half a diagonal of 50 sqrt 2 across, at 3.55 standard ones."""
    box = {"box": [50, 50, 50], "faces": {"front": "25 fore", "bottom": {"above": "rail"}}}
    doubt = {"standard": 0, "turn_standard": [0, 0.1, 0]}
    rail = {"at": [0, 0, 0], "box": [200, 200, 40], "uncertainty": doubt}
    found = residual(account_of(tmp_path, {"rail": rail, "pump": box}))
    turn = 3.548462659201 * radians(0.1)
    reach = 25 * np.sqrt(2)
    assert turn * reach <= found <= turn * (reach + turn * 50)


def test_a_turn_of_a_slope_shifts_it_as_well(tmp_path: Path) -> None:
    """Oracle: the terms of the proof: the farthest move of any place that may touch counts in height, and again,
    by the tangent, as a shift across; the middle of the contact, 24 from the zero at the most, is shifted too."""
    doubt = {"standard": 0, "turn_standard": [0, 0.1, 0]}
    found = residual(account_of(tmp_path, on_a_slope({"uncertainty": doubt})))
    turn, reach, slope = 3.548462659201 * radians(0.1), 10 * np.sqrt(2), tan(radians(30))
    assert turn * reach * (1 + slope) - TOUCH / 10 <= found
    assert found <= turn * (reach + slope * POLYGON * (reach + 24) * 1.01) + TOUCH / 10


def test_another_that_comes_up_may_stop_the_part_first(tmp_path: Path) -> None:
    """Oracle: by head: a shelf 3 lower than the rail that may be 5 higher lifts the pump by 2."""
    pump = {"box": [100, 30, 30], "faces": {"front": "50 fore", "bottom": {"above": ["rail", "shelf"]}}}
    shelf = {"at": [45, 0, 17], "anchor": ["mid", "mid", "max"], "box": [30, 40, 10], "tolerance": [0, 0, 5]}
    made = account_of(tmp_path, {"rail": {"at": [0, 0, 0], "box": [40, 40, 40]}, "shelf": shelf, "pump": pump})
    assert residual(made) == pytest.approx(2.0, abs=TOUCH)


def test_a_box_is_shrunk_across_the_way_alone(tmp_path: Path) -> None:
    """Oracle: closed form: every side that is across comes in by 4; of one too thin nothing is left."""
    (solid,) = account_of(tmp_path, {"a": {"at": [0, 0, 0], "box": [100, 60, 20]}}).parts["a"].solids
    smaller = _eroded(solid, np.array([0.0, 0.0, 1.0]), 4.0)
    assert smaller is not None
    assert np.ptp(smaller.vertices, axis=0) == pytest.approx([92, 52, 20])
    assert _eroded(solid, np.array([0.0, 0.0, 1.0]), 31.0) is None
