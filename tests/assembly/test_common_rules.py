"""The packaged table says what its sources say, and covers every kind."""

from __future__ import annotations

from importlib.resources import files
from typing import Any

import pytest
import yaml

from packcheck.assembly.rows import PUBLISHED_NOTE, WHEN, Row, packaged
from packcheck.assembly.rules import RuleBook
from packcheck.data import KINDS, RESERVED
from packcheck.findings import Limit
from tests.assembly.scenes import part, scene

RAW: list[dict[str, Any]] = yaml.safe_load((files("packcheck.data") / "common.yaml").read_text("utf-8"))["rules"]


def row(name: str) -> Row:
    """The packaged row of that name."""
    return next(row for row in packaged()[0] if row.id == name)


def asked(a: str, b: str) -> Limit:
    """What is asked between a part of kind `a` and one of kind `b`, both on the car."""
    return RuleBook.of(scene(part("one", a), part("other", b))).limit("one", "other").limit


@pytest.mark.parametrize("kind", ["fuel", "brake", "loom", "electrical"])
def test_exhaust_stays_fifty_from_fuel_brakes_and_wires(kind: str) -> None:
    """Oracle: Quebec, Regulation respecting safety standards for road vehicles, C-24.2, r. 32, art. 92: no part of
    the exhaust within 50 mm of a combustible part, an electric wire, the fuel system or the brake system."""
    assert row(f"exhaust-{kind}").must == 50
    assert "C-24.2, r. 32, art. 92" in row(f"exhaust-{kind}").source


@pytest.mark.parametrize("kind", ["loom", "electrical"])
def test_wires_better_stay_a_hundred_and_twenty_five_from_exhaust(kind: str) -> None:
    """Oracle: Boat Safety Scheme 2002 Standards, part 3.4: cables at least 75 mm, ideally 125 mm, from heat."""
    assert row(f"exhaust-{kind}").want == 125


@pytest.mark.parametrize("kind", ["loom", "electrical"])
def test_wires_stay_thirty_from_fuel(kind: str) -> None:
    """Oracle: Boat Safety Scheme 2002 Standards, part 3.4: cables at least 30 mm from fuel pipes."""
    assert row(f"fuel-{kind}").must == 30


def test_exhaust_stays_twenty_five_from_a_panel() -> None:
    """Oracle: Formula SAE Rules 2024, T.1.6.3 b: an air gap of at least 25 mm between heat source and panel."""
    assert row("exhaust-body").must == 25


def test_fuel_stays_half_an_inch_from_a_panel() -> None:
    """Oracle: 14 CFR 27.1185(c): at least one-half inch of clear airspace between tank and firewall or shroud."""
    assert row("fuel-body").must == 0.5 * 25.4


def test_every_published_row_carries_the_note_and_has_a_test_here() -> None:
    published = {entry["id"] for entry in RAW if entry["standing"] == "published"}
    tested = {"exhaust-fuel", "exhaust-brake", "exhaust-loom", "exhaust-electrical", "fuel-loom"}
    assert published == tested | {"fuel-electrical", "exhaust-body", "fuel-body"}
    assert all(PUBLISHED_NOTE in row(name).source for name in published)


@pytest.mark.parametrize("entry", RAW, ids=lambda entry: str(entry["id"]))
def test_every_row_is_whole(entry: dict[str, Any]) -> None:
    known = {"id", "between", "must", "want", "moving", "when", "why", "standing", "source", "want_source", "spare"}
    assert entry.keys() <= known
    assert set(entry["between"]) <= {*KINDS, "*"}
    assert set(entry.get("spare", ())) <= set(KINDS)
    assert entry.get("when", "always") in WHEN
    assert entry["standing"] in {"published", "second-hand", "common practice"}
    assert entry["why"]
    assert entry["source"]
    assert entry.get("want", entry["must"] + 1) > entry["must"]
    assert entry.get("moving", 0) <= entry["must"]


def test_row_names_are_unique() -> None:
    assert len({entry["id"] for entry in RAW}) == len(RAW)


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind not in RESERVED])
def test_every_kind_stands_in_some_row(kind: str) -> None:
    assert any(kind in entry["between"] for entry in RAW)


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind != "hand"])
def test_room_for_a_hand_asks_only_that_nothing_stands_in_it(kind: str) -> None:
    assert asked("hand", kind) == Limit(0.0)


@pytest.mark.parametrize(
    "kind", ["fuel", "brake", "clutch", "electrical", "loom", "battery", "hose", "oil", "air", "body"]
)
def test_hot_is_milder_than_exhaust_and_not_milder_than_nothing(kind: str) -> None:
    """Oracle: half the exhaust figure, less at most half a millimetre of rounding."""
    exhaust, hot = row(f"exhaust-{kind}").must, row(f"hot-{kind}").must
    assert hot == pytest.approx(exhaust / 2, abs=0.5)


def test_a_pulley_on_its_own_casting_may_run_closer() -> None:
    bay = RuleBook.of(scene(part("pulley", "rotating", on="block"), part("block"), part("rail")))
    assert bay.limit("pulley", "block").limit == Limit(6.0)
    assert bay.limit("pulley", "rail").limit == Limit(8.0, 15.0)
