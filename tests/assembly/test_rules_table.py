"""The table of limits, pair by pair."""

from __future__ import annotations

from packcheck.clearance.rules import RuleBook
from packcheck.scene.model.scene import Clearances
from packcheck.studies.rules_table import rules_table
from tests.assembly.scenes import part, rule, scene

BAY = scene(
    part("pump", bolted_to=("bracket",)),
    part("bracket"),
    part("rail", "structure"),
    clearances=Clearances(default=10.0, rules=(rule("pump", "rail", 3, lower=True, line=31),)),
)
BOOK = RuleBook.of(BAY)


def cells(*only: str) -> list[dict[str, object]]:
    table = rules_table(BOOK, list(BAY.parts), only)
    return [dict(zip(table.columns, row, strict=True)) for row in table.rows]


def test_every_pair_has_a_row_in_scene_order() -> None:
    pairs = [(row["part"], row["other part"]) for row in cells()]
    assert pairs == [("pump", "bracket"), ("pump", "rail"), ("bracket", "rail")]


def test_only_pairs_with_a_named_part_are_kept() -> None:
    assert [(row["part"], row["other part"]) for row in cells("bracket")] == [
        ("pump", "bracket"),
        ("bracket", "rail"),
    ]


def test_a_joined_pair_has_no_limit_and_says_why() -> None:
    joined = cells()[0]
    assert joined["must, mm"] is None
    assert "bolted_to" in str(joined["why"])


def test_a_lowered_pair_says_from_what() -> None:
    lowered = cells()[1]
    assert lowered["must, mm"] == 3
    assert lowered["lowered"] == "lowered from 10 to 3, line 31"
    assert lowered["written at"] == "bay.yaml:31:5"


def test_a_pair_without_a_rule_names_the_default() -> None:
    plain = cells()[2]
    assert plain["must, mm"] == 10
    assert plain["source"] == "scene default"
