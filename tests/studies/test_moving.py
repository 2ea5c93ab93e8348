"""What the study of motions reports: limits, settings in words and data, parts of the way, what is not searched."""

from __future__ import annotations

import re
from math import cos, radians, sin
from pathlib import Path

import pytest

import packcheck
from packcheck import Bay, Finding, Verdict
from packcheck.report.as_json import as_dict
from packcheck.studies import moving


def bay(tmp_path: Path, text: str) -> Bay:
    scene = tmp_path / "scene.yaml"
    scene.write_text(f"packcheck: 1\n{text}", encoding="utf-8")
    return packcheck.load(scene)


def looked(bay_: Bay) -> list[Finding]:
    return list(moving.run(bay_.assembly, bay_.session).findings)


LID = """
parts:
  lid: {box: [400, 300, 4], at: [200, 0, 100], KEYS}
  pump: {sphere: {diameter: 40}, at: [PUMP], MORE}
clearances: {use: none, rules: [{between: [lid, pump], gap: 20, moving: MOVING}]}
motions:
  lid_opens: {carries: lid, hinge: {through: [0, 0, 100], axis: y, from: 0, to: -60}, during: service}
"""


def lid(
    tmp_path: Path, pump: str, moving_: str = "5", keys: str = "kind: body", more: str = "kind: coolant"
) -> Bay:
    text = LID.replace("PUMP", pump).replace("MOVING", moving_).replace("KEYS", keys).replace("MORE", more)
    return bay(tmp_path, text)


def test_a_part_in_the_way_of_a_lid_clashes_on_a_part_of_its_way(tmp_path: Path) -> None:
    """Oracle: closed form. The pump's middle is 250 mm from the hinge, 30 degrees up: the lid, 2 mm thick to each
    side, is nearer than 20 while 250 |sin(30 - t)| < 22, within asin(22 / 250) = 5.05 degrees of 30."""
    pump = "216.5063509, 0, 225"
    (finding,) = looked(lid(tmp_path, pump))
    assert (finding.word, finding.verdict) == ("clash", Verdict.FAIL)
    assert finding.value == pytest.approx(-22, abs=0.05)
    assert finding.low is not None and finding.high is not None
    assert finding.low <= -22 <= finding.high
    assert finding.high - finding.low <= 0.051
    assert finding.pose["lid_opens"] == pytest.approx(-30, abs=0.2)
    told = re.fullmatch(r"lid -30\.0 deg open; clashes from (.+) to (.+) deg of lid_opens", finding.when)
    assert told is not None
    start, end = float(told[1]), float(told[2])
    assert start <= -30 - 5.0485 and end >= -30 + 5.0485  # never less than all of it
    assert (start, end) == pytest.approx((-35.05, -24.95), abs=0.25)


def test_the_limit_is_what_the_rule_asks_in_motion(tmp_path: Path) -> None:
    """Oracle: closed form. 28 mm under the shut lid: 28 - 2 - 20 = 6 mm. Tight at rest, and enough in motion."""
    assert lid(tmp_path, "200, 0, 72").check(moves=False).counts[Verdict.FAIL] == 1
    assert looked(lid(tmp_path, "200, 0, 72")) == []
    (tight,) = looked(lid(tmp_path, "200, 0, 72", moving_="8"))
    assert (tight.word, tight.verdict, tight.limit.must) == ("tight", Verdict.FAIL, 8)
    assert tight.value == pytest.approx(6, abs=0.05)
    assert "lid shut; falls short from" in tight.when


def test_tolerances_widen_the_interval_on_both_sides(tmp_path: Path) -> None:
    """Oracle: closed form. 6 mm and 2 mm either way: from 4 to 8, against 5 undecided."""
    (finding,) = looked(lid(tmp_path, "200, 0, 72", more="tolerance: 2"))
    assert finding.verdict is Verdict.UNSURE
    assert finding.word == "may be tight"
    assert (finding.low, finding.high) == pytest.approx((4, 8), abs=0.051)


def test_an_envelope_leaves_the_upper_end_open(tmp_path: Path) -> None:
    (finding,) = looked(lid(tmp_path, "200, 0, 90", more="fit: encloses"))
    assert finding.high is None
    assert finding.word == "may clash"
    assert finding.envelope


PIPES = """
clearances: {use: none, default: 5 mm}
parts:
  pipes: {pipe: {outside: 40, bend: 60, through: [[0, 150, 0], [0, 210, 0], [-130, 210, 0], [-130, -90, 0]]}}
  tube: {pipe: {outside: 30, bend: 50, through: [[-300, 0, 0], [300, 0, 0], [300, 0, 200]]}}
motions: {lifts: {carries: pipes, travel: {by: z, from: -5, to: 0}}}
"""


def test_a_piece_that_only_encloses_its_true_end_takes_no_bound_from_the_others(tmp_path: Path) -> None:
    """Oracle: closed form. The legs of two bent pipes cross: they overlap by their radii, 35 mm, whatever becomes
    of the end of another piece, which is drawn round where there is no room for a flat one."""
    made = bay(tmp_path, PIPES)
    assert any(solid.encloses for solid in made.assembly.parts["pipes"].solids)
    (finding,) = looked(made)
    assert finding.verdict is Verdict.FAIL and finding.word == "clash"
    assert finding.high is not None
    assert -35 <= finding.high <= -30 + 0.01


def test_joined_parts_are_counted_and_not_searched(tmp_path: Path) -> None:
    found = lid(tmp_path, "200, 0, 90", keys="bolted_to: [pump]")
    report = moving.run(found.assembly, found.session)
    assert report.findings == ()
    (row,) = report.tables[0].rows
    assert row[report.tables[0].columns.index("joined, skipped")] == 1


def test_what_stays_far_apart_is_not_searched(tmp_path: Path) -> None:
    found = lid(tmp_path, "200, 0, -400")
    report = moving.run(found.assembly, found.session)
    assert report.findings == ()
    assert report.tables[0].rows[0][5:7] == (0, 1)


def test_a_scene_without_motions_has_no_table_of_them(tmp_path: Path) -> None:
    found = bay(tmp_path, "parts: {a: {box: [1, 1, 1]}, b: {box: [1, 1, 1], at: [9, 0, 0]}}\n")
    report = moving.run(found.assembly, found.session)
    assert (report.findings, report.tables) == ((), ())


ROCK = """
frames: {mounts: {at: [0, 0, 0]}}
parts:
  block: {in: mounts, box: [100, 100, 100], at: [0, 0, 50]}
  wall: {box: [10, 400, 400], at: [70, 0, 0]}
clearances: {use: none, rules: [{between: [block, wall], gap: 12, moving: 10}]}
motions:
  engine_rock: {carries: mounts, rock: {turn: {y: [-3, 3]}, shift: {x: [-2, 1], z: [-6, 4]}}}
"""


def test_a_rock_is_told_by_turns_and_shifts_in_words_and_as_data(tmp_path: Path) -> None:
    """Oracle: closed form. The upper edge, (50, 100), turned by 3 degrees about y and shifted by 1 mm, comes to
    x = 50 cos 3 + 100 sin 3 + 1; the wall's face stands at 65."""
    report = bay(tmp_path, ROCK).check(moves=False)
    (finding,) = (f for f in report.findings if f.study == "moving")
    least = 65 - 50 * 0.99862953475 - 100 * 0.05233595624 - 1
    assert finding.value == pytest.approx(least, abs=0.05)
    assert finding.low is not None and finding.low <= least
    assert finding.when.startswith("mounts rocked +3.0 deg about y, ")
    (told,) = (f for f in as_dict(report, version="0")["findings"] if f["study"] == "moving")
    assert told["pose"]["engine_rock"]["turn"] == [0.0, 3.0, 0.0]
    assert told["pose"]["engine_rock"]["shift"][:2] == [1.0, 0.0]


def test_a_rock_that_falls_short_says_within_which_share_of_its_ranges_it_does_not(tmp_path: Path) -> None:
    """Oracle: closed form, solved by halving. At a share s of all ranges the edge comes to 50 cos 3s + 100 sin 3s
    + s; 10 mm are left of 65 at about 80 %. Told to within a 32nd, and never more than is true."""
    report = bay(tmp_path, ROCK).check(moves=False)
    (finding,) = (f for f in report.findings if f.study == "moving")
    told = re.search(r"; the limit holds while engine_rock stays within (\d+) % of every range$", finding.when)
    assert told is not None
    low, high = 0.0, 1.0
    for _ in range(60):
        share = (low + high) / 2
        turned = radians(3 * share)
        keeps = 65 - 50 * cos(turned) - 100 * sin(turned) - share >= 10 - 0.005
        low, high = (share, high) if keeps else (low, share)
    assert 100 * (low - 1 / 32) - 1 <= int(told[1]) <= 100 * low


def test_the_table_says_what_a_motion_does(tmp_path: Path) -> None:
    """Oracle: closed form. The lid's free end, 400 mm from the hinge and 2 under or over it, rises by
    400 sin(60 deg) and a hair less: 345 or 346 mm."""
    found = lid(tmp_path, "200, 0, -400")
    (row,) = moving.run(found.assembly, found.session).tables[0].rows
    assert row[1] in (
        "at -60 deg the rear edge of lid rises 346 mm",
        "at -60 deg the rear edge of lid rises 345 mm",
    )


def test_only_the_named_parts_are_looked_at(tmp_path: Path) -> None:
    found = lid(tmp_path, "200, 0, 90")
    assert moving.run(found.assembly, found.session, ["pump"]).findings
    report = found.check(["pump"], moves=False)
    assert {f.subjects for f in report.findings if f.study == "moving"} == {("lid", "pump")}


LEVER = """
parts:
  box: {box: [40, 40, 40], fixed: true}
  pump: {box: [40, 40, 40], at: [44, 0, 0]}
  lever: {sphere: {diameter: 10}, in: pump, at: [0, 0, 100]}
  post: {box: [10, 60, 10], at: [POST, 0, 0], fixed: true}
clearances: {use: none, default: 10}
motions: {turns: {carries: lever, in: pump, hinge: {through: [0, 0, 0], axis: y, from: 0, to: 90}}}
"""


@pytest.mark.parametrize(
    ("post", "told"),
    [("175", "clears every neighbour, in motion too"), ("163", "clears every neighbour at rest, but")],
)
def test_a_lever_on_the_part_that_is_moved_turns_where_it_has_got_to(post: str, told: str, tmp_path: Path) -> None:
    """Oracle: by hand. The pump needs 6 mm more to the rear, so that its lever turns down to x = 155 in place of
    149, and must stay 5 mm off the post: 160 of 170, and not of 158; of where it was, either would do."""
    report = bay(tmp_path, LEVER.replace("POST", post)).check()
    (finding,) = (f for f in report.findings if f.study == "gaps" and f.verdict is Verdict.FAIL)
    assert finding.move is not None and finding.move.by[0] == 6
    assert told in finding.move.text


TRAY = """
parts:
  box: {box: [40, 40, 40], at: [0, 0, 0], fixed: true}
  pump: {box: [40, 40, 40], at: [44, 0, 0]}
  flap: {box: [2, 60, 60], at: [LID, 0, 0], fixed: true}
clearances: {use: none, default: 10}
motions: {flaps: {carries: flap, travel: {by: x, from: -20, to: 0}}}
"""


@pytest.mark.parametrize(
    ("flap", "told"),
    [("200", "clears every neighbour, in motion too"), ("86", "clears every neighbour at rest, but")],
)
def test_a_suggested_move_is_looked_at_in_motion(flap: str, told: str, tmp_path: Path) -> None:
    """Oracle: by hand. The pump needs 6 mm more to the rear, up to x = 70; the flap comes to x = 65 where it stands
    86 off, and stays far away where it stands 200 off."""
    report = bay(tmp_path, TRAY.replace("LID", flap)).check()
    (finding,) = (f for f in report.findings if f.study == "gaps" and f.verdict is Verdict.FAIL)
    assert finding.move is not None
    assert told in finding.move.text
