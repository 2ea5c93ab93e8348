"""The table of limits for people."""

from __future__ import annotations

from packcheck.findings import Table
from packcheck.report.text.rules_text import rules_text

COLUMNS = (
    "part",
    "other part",
    "must, mm",
    "want, mm",
    "moving, mm",
    "rule between",
    "why",
    "source",
    "want source",
    "moving rule",
    "moving source",
    "written at",
)
HEAT = (
    50.0,
    100.0,
    50.0,
    "exhaust - fuel",
    "radiant heat",
    "a road text",
    "a guess",
    "hot - fuel",
    "a text",
    "",
    "",
)
DEFAULT = (10.0, None, 5.0, "* - *", "", "scene default", "", "* - *", "half of it", "bay.yaml:4:1", "")
JOINT = (None, None, None, "pump - rail", "joined on purpose", "this scene", "", "", "", "", "")
TABLE = Table(
    "rules",
    "Which limit applies to which parts",
    (*COLUMNS, "lowered"),
    (
        ("pump", "rail", *JOINT),
        ("pump", "header", *DEFAULT),
        ("tank", "header", *HEAT),
        ("tank", "muffler", *HEAT),
        ("rail", "header", *DEFAULT),
    ),
)


def test_each_rule_is_told_once_strictest_first_with_its_pairs() -> None:
    lines = rules_text(TABLE).splitlines()
    at = lines.index("must 50 mm, want 100 mm, moving 50 mm: exhaust - fuel (2 pairs)")
    assert lines[at + 1 : at + 6] == [
        "  why     radiant heat",
        "  source  a road text",
        "  want    a guess",
        "  moving  hot - fuel: a text",
        "  pairs   tank with header, muffler",
    ]
    assert (
        at < lines.index("must 10 mm, moving 5 mm: * - * (2 pairs)") < lines.index("joined: pump - rail (1 pair)")
    )


def test_where_the_figure_in_motion_comes_from_is_told_where_it_is_another_place() -> None:
    lines = rules_text(TABLE).splitlines()
    at = lines.index("must 10 mm, moving 5 mm: * - * (2 pairs)")
    assert lines[at + 1 : at + 3] == ["  source  scene default", "  moving  half of it"]


def test_the_place_of_a_scene_rule_is_given() -> None:
    assert "  asked   bay.yaml:4:1" in rules_text(TABLE)


def test_an_inch_scene_is_told_in_inches() -> None:
    assert "must 0.394 in (10 mm), moving 0.197 in (5 mm): * - *" in rules_text(TABLE, "in")


def test_many_partners_are_counted() -> None:
    crowd = Table("rules", "Limits", TABLE.columns, tuple(("rail", f"part_{at}", *DEFAULT) for at in range(15)))
    assert "part_11 and 3 more" in rules_text(crowd, width=1000)
