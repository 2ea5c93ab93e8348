"""The packaged table says what its sources say, and covers every kind."""

from __future__ import annotations

from importlib.resources import files
from typing import Any

import pytest
import yaml

from packcheck.clearance.rows import PUBLISHED_NOTE, WHEN, Row, packaged
from packcheck.clearance.rules import RuleBook
from packcheck.data import KINDS, RESERVED
from packcheck.findings import Limit
from tests.assembly.scenes import part, scene

RAW: list[dict[str, Any]] = yaml.safe_load((files("packcheck.data") / "common.yaml").read_text("utf-8"))["rules"]


ROAD = "C-24.2, r. 32, art. 92"
BOATS = "Boat Safety Scheme 2002 Standards, part 3.4"
HARNESS = "a harness maker's design notes, as quoted"

ART_92 = {
    "fuel system": (50, ["fuel"]),
    "brake system": (50, ["brake"]),
    "electric wire": (50, ["loom"]),
    "combustible part": (
        50,
        ["hose", "coolant", "air", "rotating", "steering", "suspension", "wheel", "restraint"],
    ),
    "pressurised natural gas and propane lines": (150, ["gas"]),
}
"""Quebec, Regulation respecting safety standards for road vehicles, C-24.2, r. 32, art. 92: least distance, mm,
from a part of the exhaust, and the kinds that are, or are made of, what it names."""

PART_3_4 = {"fuel pipes": ("fuel-loom", 30), "gas pipes": ("gas-loom", 30)}
"""Boat Safety Scheme 2002 Standards, part 3.4: cables at least 30 mm from fuel and gas pipes unless in conduit."""

QUOTED = {
    "shield-loom": {"want": (50, "shield")},
    "rotating-loom": {"must": (50, "rotating part")},
    "suspension-loom": {"want": (25, "moving part")},
    "loom-engine": {"want": (25, "moving part"), "moving": (7, "motion envelope")},
    "loom": {"must": (6, "smooth part"), "want": (10, "sharp part"), "moving": (7, "motion envelope")},
}
"""A harness maker's design notes, quoted by others: mm, and what for."""

COMMON_MUST = {
    "exhaust-electrical": 50,
    "exhaust-battery": 50,
    "exhaust-clutch": 50,
    "exhaust-oil": 50,
    "exhaust-body": 25,
    "exhaust-structure": 8,
    "shield": 5,
    "exhaust-shield": 5,
    "shield-fuel": 12.7,
    "shield-gas": 12.7,
    "shield-loom": 10,
    "hot-fuel": 25,
    "hot-gas": 75,
    "hot-brake": 25,
    "hot-clutch": 25,
    "hot-electrical": 25,
    "hot-loom": 25,
    "hot-battery": 25,
    "hot-hose": 25,
    "hot-oil": 25,
    "hot-restraint": 25,
    "hot-air": 12,
    "hot-body": 12,
    "engine-structure": 15,
    "engine-body": 12,
    "rotating": 8,
    "rotating-one-part": 6,
    "rotating-hose": 25,
    "rotating-fuel": 25,
    "rotating-gas": 25,
    "rotating-brake": 25,
    "rotating-clutch": 25,
    "steering": 12,
    "suspension": 12,
    "suspension-hose": 15,
    "suspension-loom": 15,
    "wheel": 15,
    "wheel-fuel": 25,
    "wheel-gas": 25,
    "fuel-electrical": 30,
    "gas-electrical": 30,
    "fuel-battery": 50,
    "gas-battery": 50,
    "fuel-body": 12.7,
    "gas-body": 12.7,
    "battery-structure": 12,
    "battery-body": 12,
    "loom-engine": 10,
    "hand": 0,
}
"""Common practice, mm: figures of no text, or read across, lowered or halved from one, which the row then says."""

HALVED = {
    "exhaust-structure": 4,
    "shield": 2.5,
    "exhaust-shield": 2.5,
    "rotating": 4,
    "rotating-one-part": 3,
    "rotating-hose": 12.5,
    "steering": 6,
    "suspension": 6,
    "suspension-hose": 7.5,
    "wheel": 7.5,
}
"""Common practice about touching: half of what must be at rest, mm, in motion. No other row is halved."""

STATED_MOVING = {
    "engine-structure": 10,
    "engine-body": 8,
    "rotating-brake": 25,
    "rotating-clutch": 25,
    "suspension-loom": 7.5,
    "loom-engine": 7,
    "loom": 7,
}


def row(name: str) -> Row:
    """The packaged row of that name."""
    return next(row for row in packaged()[0] if row.id == name)


def asked(a: str, b: str) -> Limit:
    """What is asked between a part of kind `a` and one of kind `b`, both on the car."""
    return RuleBook.of(scene(part("one", a), part("other", b))).limit("one", "other").limit


@pytest.mark.parametrize(
    ("named", "kind"), [(named, kind) for named, (_, kinds) in ART_92.items() for kind in kinds]
)
def test_exhaust_stays_as_far_as_the_road_text_says(named: str, kind: str) -> None:
    """Oracle: Quebec, Regulation respecting safety standards for road vehicles, C-24.2, r. 32, art. 92 (seen)."""
    found = row(f"exhaust-{kind}")
    assert found.must == ART_92[named][0]
    assert f"{ROAD}: {found.must:g} mm to " in found.source
    assert named in found.source
    assert found.source.endswith(PUBLISHED_NOTE)


@pytest.mark.parametrize("pipes", PART_3_4)
def test_wires_stay_thirty_from_fuel_and_gas(pipes: str) -> None:
    """Oracle: Boat Safety Scheme 2002 Standards, part 3.4 (seen): cables at least 30 mm from fuel and gas pipes."""
    name, figure = PART_3_4[pipes]
    assert row(name).must == figure
    assert f"{BOATS}: cables 30 mm from {pipes}" in row(name).source
    assert row(name).source.endswith(PUBLISHED_NOTE)


def test_wires_better_stay_a_hundred_and_twenty_five_from_exhaust() -> None:
    """Oracle: Boat Safety Scheme 2002 Standards, part 3.4 (seen): at least 75, ideally 125 mm, from heat."""
    assert row("exhaust-loom").want == 125
    assert "ideally 125 mm from heat sources (75 mm at least, in boats)" in row("exhaust-loom").want_source
    assert row("exhaust-loom").want_source.endswith(PUBLISHED_NOTE)


@pytest.mark.parametrize("name", QUOTED)
def test_what_a_harness_maker_is_quoted_with_is_second_hand(name: str) -> None:
    """Oracle: a harness maker's design notes, second-hand: over 25 mm to a moving part and 7 mm from its motion
    envelope, 50 mm to a rotating one, 6 mm to a smooth part, 10 mm to a sharp one."""
    found = row(name)
    told = {
        "must": (found.must, found.source),
        "want": (found.want, found.want_source),
        "moving": (found.remains, found.remains_source),
    }
    for figure, (value, named) in QUOTED[name].items():
        assert told[figure][0] == value
        assert told[figure][1].startswith(f"second-hand: {HARNESS}: ")
        assert named in told[figure][1]
        assert f"{value} mm" in told[figure][1]


@pytest.mark.parametrize("name", COMMON_MUST)
def test_common_practice_is_called_that(name: str) -> None:
    assert row(name).must == COMMON_MUST[name]
    assert row(name).source.startswith("common practice")
    assert PUBLISHED_NOTE not in row(name).source


def test_a_panel_is_lowered_from_what_burns_and_better_keeps_it() -> None:
    """Oracle: art. 92 as above, 50 mm to what burns; Formula SAE Rules 2026, T.1.6.3 b (seen): 25 mm of air."""
    found = row("exhaust-body")
    assert (found.must, found.want) == (25, 50)
    assert "lowered from the published 50 mm to a combustible part" in found.source
    assert "because most panels are metal" in found.source
    assert f"{ROAD}: 50 mm to a combustible part" in found.want_source


def test_a_shield_has_rows_of_its_own_and_takes_nothing_off_others() -> None:
    """Oracle: by head: nearer to an exhaust than a panel, and what it guards keeps its own distance from that."""
    assert asked("exhaust", "shield") == Limit(5.0, 15.0)
    assert asked("exhaust", "body") == Limit(25.0, 50.0)
    assert asked("shield", "oil") == Limit(5.0, 10.0)
    assert asked("exhaust", "oil") == Limit(50.0, 75.0)


def test_half_an_inch_from_a_panel_is_read_across() -> None:
    """Oracle: 14 CFR 27.1185(c) (seen): half an inch of clear airspace between a tank and a firewall or shroud."""
    assert row("fuel-body").must == 0.5 * 25.4
    assert "read across from a tank and a firewall or shroud" in row("fuel-body").source


def test_every_row_has_a_test_here() -> None:
    published = {f"exhaust-{kind}" for _, kinds in ART_92.values() for kind in kinds}
    published |= {name for name, _ in PART_3_4.values()}
    second_hand = {name for name, told in QUOTED.items() if "must" in told}
    assert {entry["id"] for entry in RAW if entry["standing"] == "published"} == published
    assert {entry["id"] for entry in RAW if entry["standing"] == "second-hand"} == second_hand
    assert {entry["id"] for entry in RAW} == published | second_hand | COMMON_MUST.keys()


@pytest.mark.parametrize("entry", RAW, ids=lambda entry: str(entry["id"]))
def test_moving_is_half_only_where_touching_is_all(entry: dict[str, Any]) -> None:
    """Oracle: heat, sparks and what a text says stay as far away in motion as at rest."""
    found = row(entry["id"])
    assert found.remains == {**HALVED, **STATED_MOVING}.get(entry["id"], found.must)
    if entry["id"] in HALVED:
        assert entry["about"] == "touching"
        assert found.remains_source == "common practice: half of what must be at rest"
    elif entry["id"] not in STATED_MOVING:
        assert found.remains_source == found.source


@pytest.mark.parametrize("entry", RAW, ids=lambda entry: str(entry["id"]))
def test_a_figure_under_what_must_be_at_rest_is_nobodys_published_one(entry: dict[str, Any]) -> None:
    found = row(entry["id"])
    if found.remains < found.must:
        assert PUBLISHED_NOTE not in found.remains_source
        assert entry["about"] == "touching"


@pytest.mark.parametrize("entry", RAW, ids=lambda entry: str(entry["id"]))
def test_every_row_is_whole(entry: dict[str, Any]) -> None:
    known = {"id", "between", "must", "want", "moving", "about", "when", "why", "spare"}
    for figure in ("", "want_", "moving_"):
        known |= {f"{figure}standing", f"{figure}source"}
        assert entry.get(f"{figure}standing", "common practice") in {"published", "second-hand", "common practice"}
        assert not figure or figure.strip("_") in entry or f"{figure}source" not in entry
    assert entry.keys() <= known
    assert set(entry["between"]) <= {*KINDS, "*"}
    assert set(entry.get("spare", ())) <= set(KINDS)
    assert entry.get("when", "always") in WHEN
    assert entry["about"] in {"touching", "heat", "sparks", "fuel", "room"}
    assert entry["why"]
    assert entry["source"]
    assert entry.get("want", entry["must"] + 1) > entry["must"]


def test_row_names_are_unique() -> None:
    assert len({entry["id"] for entry in RAW}) == len(RAW)


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind not in RESERVED])
def test_every_kind_stands_in_some_row(kind: str) -> None:
    assert any(kind in entry["between"] for entry in RAW)


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind != "hand"])
def test_room_for_a_hand_asks_only_that_nothing_stands_in_it(kind: str) -> None:
    assert asked("hand", kind) == Limit(0.0)


@pytest.mark.parametrize(
    "kind", ["fuel", "gas", "brake", "clutch", "electrical", "loom", "battery", "hose", "oil", "restraint", "body"]
)
def test_hot_is_milder_than_exhaust_and_not_milder_than_nothing(kind: str) -> None:
    """Oracle: half the exhaust figure, less at most half a millimetre of rounding."""
    exhaust, hot = row(f"exhaust-{kind}").must, row(f"hot-{kind}").must
    assert hot == pytest.approx(exhaust / 2, abs=0.5)


def test_a_pulley_on_its_own_casting_may_run_closer() -> None:
    bay = RuleBook.of(scene(part("pulley", "rotating", on="block"), part("block"), part("rail")))
    assert bay.limit("pulley", "block").limit == Limit(6.0)
    assert bay.limit("pulley", "rail").limit == Limit(8.0, 15.0)
