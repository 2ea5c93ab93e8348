"""Arrangements side by side: exactly the changes that were made, and the better one first."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from packcheck.bay import Bay
from packcheck.comparison import Alternative, Kind, compared
from packcheck.findings import Finding, Limit, Report
from packcheck.report.compared import comparison_text
from packcheck.scene.model.scene import Box
from tests.bays import bay, part
from tests.cli.running import run
from tests.scene.writing import write

CUBE = Box((10, 10, 10))


def three(first: float, second: float, **facts: object) -> Bay:
    """Three cubes in a row with two gaps, all held to 10 mm."""
    made = [
        part("a", CUBE),
        part("b", CUBE, at=(10 + first, 0, 0)),
        part("c", CUBE, at=(20 + first + second, 0, 0)),
    ]
    return bay(*made, **facts)


def changes(before: Bay, after: Bay) -> list[tuple[str, tuple[str, ...], float | None]]:
    found = compared([before.alternative("before"), after.alternative("after")]).changes["after"]
    return [
        (change.kind.value, change.subjects, None if change.by is None else round(change.by, 6)) for change in found
    ]


def test_a_hand_made_pair_gives_exactly_its_changes() -> None:
    """Oracle: by head: gaps of 4 and 12 mm become 7 and 9 against 10."""
    assert changes(three(4, 12), three(7, 9)) == [("appears", ("b", "c"), -3.0), ("better", ("a", "b"), 3.0)]


def test_a_shortfall_that_goes_vanishes_and_one_that_grows_is_worse() -> None:
    """Oracle: by head: 4 becomes 300; 8 becomes 5."""
    assert changes(three(4, 8), three(300, 5)) == [("vanishes", ("a", "b"), 296.0), ("worse", ("b", "c"), -3.0)]


def test_a_part_that_is_gone_takes_its_findings_along() -> None:
    after = bay(part("a", CUBE), part("b", CUBE, at=(14, 0, 0)))
    assert changes(three(4, 8), after) == [("vanishes", ("b", "c"), None)]


def test_nothing_changed_is_nothing() -> None:
    assert changes(three(4, 12), three(4, 12)) == []
    assert changes(three(4, 12), three(4.04, 11.96)) == []  # under a printed tenth


def test_the_better_worst_margin_comes_first_with_its_reason() -> None:
    """Oracle: by head: 4 mm of 10 is 6 short, 7 is 3 short, 11 is enough."""
    bays = {"tight": three(4, 12), "less": three(7, 12), "clear": three(11, 12)}
    ranking = compared([made.alternative(name) for name, made in bays.items()]).ranking
    assert [rank.name for rank in ranking] == ["clear", "less", "tight"]
    assert ranking[0].reason == (
        "every gap is larger than all that is asked of it; nothing falls short, as described in this file"
    )
    assert ranking[2].reason == "a - b decides: tight, 6.0 mm short of its limit; 1 fall short"


def alternative(name: str, *findings: Finding) -> Alternative:
    return Alternative(name, Report("bay.yaml", findings=findings), lambda _: None)


SHORT = Finding("gaps", ("a", "b"), "tight", 1.0, low=1.0, high=1.0, limit=Limit(must=10))
UNKNOWN = replace(SHORT, low=None, high=None, word="not checked", skipped="broken")
ENOUGH = replace(SHORT, value=12.0, low=12.0, high=12.0, word="clear")
MAYBE = replace(SHORT, value=12.0, low=None, high=12.0, word="may clash")


@pytest.mark.parametrize("unknown", [UNKNOWN, MAYBE])
def test_what_is_not_known_has_no_place_between_what_passes_and_what_does_not(unknown: Finding) -> None:
    """It is not worse than a shortfall that is proven, and not better than anything either."""
    ranking = compared(
        [alternative("unknown", unknown), alternative("short", SHORT), alternative("enough", ENOUGH)]
    ).ranking
    assert [(rank.name, rank.place) for rank in ranking] == [("enough", 1), ("unknown", None), ("short", 2)]
    assert ranking[1].reason.startswith(f"no place, since how far a - b ({unknown.word}) falls short is not known")


def test_what_is_not_known_beside_a_shortfall_leaves_its_order() -> None:
    """Short of 9 mm surely, and something unknown besides: not better than 6 short, whatever the other comes to."""
    less = replace(SHORT, value=4.0, low=4.0, high=4.0)
    both = alternative("both", SHORT, replace(UNKNOWN, subjects=("b", "c")))
    ranking = compared([both, alternative("less", less)]).ranking
    assert [(rank.name, rank.place) for rank in ranking] == [("less", 1), ("both", None)]
    assert "; else a - b decides: tight, 9.0 mm short of its limit; 1 fall short" in ranking[1].reason


def test_nothing_checked_has_no_place() -> None:
    ranking = compared([alternative("empty"), alternative("enough", ENOUGH)]).ranking
    assert [(rank.name, rank.place) for rank in ranking] == [("enough", 1), ("empty", None)]
    assert ranking[1].reason == "nothing was checked, which is not a pass, so it has no place"


def test_a_clash_of_unknown_depth_stands_behind_what_is_known_and_counts_by_what_is_proven() -> None:
    """Oracle: by head: 3 mm deep at the least, of 10: 13 short or more; 20 short is known, and so before it."""
    deep = replace(SHORT, value=-3.0, low=None, high=-3.0, word="clash")
    deeper = replace(deep, high=-4.0)
    known = replace(SHORT, value=-10.0, low=-10.0, high=-10.0, word="clash")
    named = {"deeper": deeper, "deep": deep, "known": known, "short": SHORT}
    ranking = compared([alternative(name, finding) for name, finding in named.items()]).ranking
    assert [(rank.name, rank.place) for rank in ranking] == [("short", 1), ("known", 2), ("deep", 3), ("deeper", 4)]
    assert ranking[2].reason.startswith("a - b decides: clash, 13.0 mm short of its limit or more")


DEEP = replace(SHORT, value=-5.0, low=None, high=-3.0, word="clash")
"""Overlaps by 3 mm at the least: short of 10 by 13 or more, nobody knows by how much."""


@pytest.mark.parametrize(("before", "after", "kind"), [
    (DEEP, replace(DEEP, value=-7.0, high=-4.0), Kind.OTHERWISE),  # 13 short or more, 14 short or more
    (DEEP, MAYBE, Kind.OTHERWISE),  # no low end either
    (DEEP, SHORT, Kind.BETTER),  # 9 short
    (SHORT, DEEP, Kind.WORSE),
    (DEEP, replace(SHORT, value=-9.0, low=-9.0, high=-9.0, word="clash"), Kind.OTHERWISE),  # 19 short
    (DEEP, replace(SHORT, value=11.0, low=9.0, high=13.0, word="may be tight"), Kind.BETTER),  # up to 1 short
    (DEEP, UNKNOWN, Kind.OTHERWISE),
    (DEEP, DEEP, None),
    (UNKNOWN, UNKNOWN, None),
])  # fmt: skip
def test_what_has_no_margin_is_told_to_differ_as_far_as_it_is_proven(
    before: Finding, after: Finding, kind: Kind | None
) -> None:
    """Oracle: by head: whether all that one margin may be lies on one side of all that the other may be."""
    told = compared([alternative("before", before), alternative("after", after)])
    assert [change.kind for change in told.changes["after"]] == [kind] * (kind is not None)


def test_clashes_of_unknown_depth_that_differ_are_not_left_out_as_alike() -> None:
    told = compared([alternative("before", DEEP), alternative("after", replace(DEEP, value=-7.0, high=-4.0))])
    assert [rank.reason for rank in told.ranking] == [
        f"a - b decides: clash, {short} mm short of its limit or more; 1 fall short" for short in ("13.0", "14.0")
    ]
    assert "Differs, which is worse is not known: 1" in comparison_text(told)
    assert "nothing changes" not in comparison_text(told)


def test_two_movements_of_one_pair_are_two_findings() -> None:
    """What moves tells findings of one pair apart; the pose itself may differ."""

    def swing(angle: float, low: float, motion: str) -> Finding:
        made = Finding("motions", ("a", "b"), "tight", low, low=low, high=low, limit=Limit(must=10))
        return replace(made, pose={motion: angle})

    before = alternative("before", swing(10, 3, "lid"), swing(5, 6, "rock"))
    after = alternative("after", swing(12, 4, "lid"), swing(6, 5, "rock"))
    found = compared([before, after]).changes["after"]
    assert [(change.kind, change.by) for change in found] == [(Kind.WORSE, -1.0), (Kind.BETTER, 1.0)]


SCENE = """\
packcheck: 1
title: Two cubes
parts:
  a: {box: [10, 10, 10], mass: 2 kg}
  b: {box: [10, 10, 10], at: [14, 0, 0], mass: 2 kg}
clearances: {use: none, default: 10}
layouts:
  aft: {parts: {b: {at: [22, 0, 0]}}}
  nearer: {parts: {b: {at: [12, 0, 0]}}}
"""


def test_the_command_in_text_json_and_csv(tmp_path: Path) -> None:
    """Oracle: by head: 4 mm becomes 12 and 2; half the mass moves 8 mm, so the centre moves 4."""
    path = write(tmp_path, SCENE)
    told = run("compare", path).output
    assert told.index("1. aft") < told.index("2. as written") < told.index("3. nearer")
    assert "+4.0, +0.0, +0.0 mm" in told
    made = json.loads(run("compare", path, "--json").output)
    assert [one["layout"] for one in made["layouts"]] == ["as written", "aft", "nearer"]
    assert made["changes"]["aft"][0]["change"] == "vanishes"
    assert made["changes"]["nearer"][0]["by"] == -2.0
    assert made["layouts"][1]["centre_of_gravity"] == [11.0, 0.0, 0.0]
    rows = list(csv.DictReader(io.StringIO(run("compare", path, "aft", "--csv").stdout)))
    assert [(row["layout"], row["change"], row["verdict_before"], row["by"]) for row in rows] == [
        ("aft", "vanishes", "fail", "8.000")
    ]


def test_two_files(tmp_path: Path) -> None:
    old, new = write(tmp_path, SCENE, "old.yaml"), write(tmp_path, SCENE.replace("[14,", "[13,"), "new.yaml")
    made = json.loads(run("compare", old, new, "--json").output)
    assert made["changes"][str(new)][0]["by"] == -1.0
    assert run("compare", old, old).exit_code == 2


@pytest.mark.parametrize(
    ("scene", "others", "what"),
    [
        (SCENE, ["aftt"], "did you mean 'aft'?"),
        (SCENE.split("layouts:")[0], [], "has no layouts to compare"),
    ],
)
def test_what_cannot_be_compared_is_told(tmp_path: Path, scene: str, others: list[str], what: str) -> None:
    told = run("compare", write(tmp_path, scene), *others)
    assert told.exit_code == 2 and what in told.output


def test_a_centre_of_gravity_is_that_of_the_parts_with_a_mass() -> None:
    made = bay(part("a", CUBE, mass=1.0), part("b", CUBE, at=(14, 0, 0))).alternative("it")
    assert made.unweighed == 1
    assert made.centre == pytest.approx(np.zeros(3))
