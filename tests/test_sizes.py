"""The largest size that fits, against closed forms; each answer is checked by setting the scene to it."""

from __future__ import annotations

import json
from pathlib import Path
from xml.etree import ElementTree

import pytest

from packcheck.assembly.assembly import assemble
from packcheck.bay import Bay
from packcheck.findings import Verdict
from packcheck.scene.build import Written
from packcheck.sizing.growth import Varied
from packcheck.sizing.sizes import Size, size_of
from tests.cli.running import run
from tests.scene.writing import write

ROOM = """\
packcheck: 1
params: {h: 100 mm, aside: 0 mm}
parts:
  box_under: {at: [aside, 0, 0], anchor: [mid, mid, min], box: [100, 80, h]}
  lid: {at: [0, 0, 260], box: [300, 300, 10]}
  wall: {at: [205, 0, 100], box: [10, 300, 300]}
clearances: {use: none, default: 15}
"""


def answered(folder: Path, text: str, param: str, begun: float, **asked: object) -> tuple[Size, Varied]:
    varied = Varied(Written(write(folder, text)), param)
    return size_of(varied, begun, **asked), varied  # type: ignore[arg-type]


def passes(varied: Varied, value: float) -> bool:
    params = {varied.param: f"{value} mm"}
    report = Bay(assemble(varied.written.scene(None, params))).check(moves=False)
    return report.verdict in (Verdict.PASS, Verdict.CLOSE)


def confirm(size: Size, varied: Varied, sign: float = 1.0) -> None:
    """The answer passes and 0.1 mm behind it does not; twelve values up to it pass."""
    assert size.value is not None
    assert not passes(varied, size.value + sign * 0.1)
    values = [size.begun + (size.value - size.begun) * k / 11 for k in range(12)]
    assert all(passes(varied, value) for value in values)


def test_how_tall_under_a_lid(tmp_path: Path) -> None:
    """Oracle: by head: the lid's underside at 255, 15 mm of air: 240."""
    size, varied = answered(tmp_path, ROOM, "h", 100.0, to=400.0)
    assert size.value == pytest.approx(240, abs=0.01)
    assert (size.stopped_by, size.unproven, len(size.stretches)) == ("box_under - lid", "", 1)
    confirm(size, varied)
    assert [value for value, _ in size.rounder] == [240, 239, 238, 235, 230]
    worst = size.rounder[1][1]
    assert worst is not None and worst.margin == pytest.approx(1)


def test_how_far_aside_against_a_wall(tmp_path: Path) -> None:
    """Oracle: by head: half of 100, and 15 mm of air, before a wall at 200: 135; the other way nothing stops it."""
    size, varied = answered(tmp_path, ROOM, "aside", 0.0, to=200.0)
    assert size.value == pytest.approx(135, abs=0.01)
    assert size.stopped_by == "box_under - wall"
    confirm(size, varied)
    free, _ = answered(tmp_path, ROOM, "aside", 0.0, least=True, to=-300.0)
    assert (free.value, free.stopped_by) == (-300, "")


TURNED = """\
packcheck: 1
params: {out: 0 mm}
frames: {f: {uncertainty: {turn_standard: [0, 0, 0.5]}}}
parts:
  it: {in: f, at: [out, 0, 0], box: [20, 20, 20]}
  rail: {at: [0, 27, 0], box: [2000, 10, 300]}
clearances: {use: none, default: 10}
"""


def test_what_is_likely_to_be_off_counts_and_grows_with_the_arm(tmp_path: Path) -> None:
    """Oracle: by hand: 2 mm are left beside a rail that runs along, and a frame turned by 0.5 degrees (standard) is
    off by 1.96 x 0.00873 mm for each mm from its zero: 2 mm at 117. The part's own size counts, too, at the most by
    17.3 mm, so it may stand 99 mm out at the least; and the check itself, at twelve values."""
    size, varied = answered(tmp_path, TURNED, "out", 0.0, to=300.0)
    assert size.value is not None and 99 < size.value < 117
    assert size.unproven == ""
    assert all(passes(varied, size.value * k / 11) for k in range(12))
    assert not passes(varied, 140)


def test_tolerances_count(tmp_path: Path) -> None:
    """Oracle: by head: 3 mm of tolerance leave 237 of 240."""
    size, varied = answered(tmp_path, ROOM.replace("  lid: {", "  lid: {tolerance: 3, "), "h", 100.0, to=400.0)
    assert size.value == pytest.approx(237, abs=0.01)
    confirm(size, varied)


def test_a_diameter_and_a_param_that_rests_on_it(tmp_path: Path) -> None:
    """Oracle: by head: a pipe of diameter 2 d on the centreline, 60 mm from two walls, 10 of air: 2 d = 100."""
    text = """\
packcheck: 1
params: {d: 20 mm, twice: 2 * d + 0 mm}
parts:
  rod: {cylinder: {diameter: twice, length: 90}}
  left_wall: {at: [0, -65, 0], box: [200, 10, 200]}
  right_wall: {at: [0, 65, 0], box: [200, 10, 200]}
clearances: {use: none, default: 10}
"""
    size, varied = answered(tmp_path, text, "d", 20.0)
    assert size.value == pytest.approx(50, abs=0.01)
    assert size.unproven == ""
    confirm(size, varied)


def test_a_tongue_grows_in_its_groove_until_it_jams(tmp_path: Path) -> None:
    """Oracle: by head: a groove of 10; a wider tongue is freed by no seat, only by lifting it out, 12 mm."""
    text = """\
packcheck: 1
params: {wide: 9 mm}
parts:
  tongue: {box: [60, wide, 30], at: [0, 0, 5], bolted_to: rail}
  rail:
    solids:
      - {box: [60, 20, 10], at: [0, 0, -15]}
      - {box: [60, 5, 12], at: [0, 7.5, -4]}
      - {box: [60, 5, 12], at: [0, -7.5, -4]}
clearances: {use: none, default: 10}
"""
    size, varied = answered(tmp_path, text, "wide", 9.0)
    assert size.value is not None and size.value == pytest.approx(10, abs=0.01)
    assert size.stopped_by == "tongue - rail"
    assert passes(varied, size.value) and not passes(varied, 10.2)


SLIDE = """\
packcheck: 1
params: {x: 0 mm}
parts:
  slide: {at: [x, 0, 0], box: [20, 20, 20]}
  post: {at: [100, 0, 0], cylinder: {diameter: 10, length: 200}}
clearances: {use: none, default: 5}
"""


def test_two_stretches_report_the_first_and_say_so(tmp_path: Path) -> None:
    """Oracle: by head: past a post at 100 of radius 5, with 5 of air and half of 20: 80, and from 120."""
    size, varied = answered(tmp_path, SLIDE, "x", 0.0, to=200.0)
    assert size.value == pytest.approx(80, abs=0.01)
    (first, again) = size.stretches
    assert (first.start, again.end) == (0, 200)
    assert again.start == pytest.approx(120, abs=0.11)
    assert passes(varied, again.start)
    told = run("size", write(tmp_path, SLIDE), "x", "--to", "200")
    assert "Values that pass" in told.output and "The first is the answer" in told.output


def test_a_value_that_fails_as_it_stands_looks_back_first(tmp_path: Path) -> None:
    """Oracle: by head: standing inside the post's room, at 95, it passes back at 80, and on at 120."""
    size, _ = answered(tmp_path, SLIDE.replace("x: 0 mm", "x: 95 mm"), "x", 95.0, to=200.0)
    assert size.value == pytest.approx(80, abs=0.11)
    assert [round(one.start) for one in size.stretches][-1] == 120


def test_a_thin_fin_between_is_not_jumped_over(tmp_path: Path) -> None:
    """Oracle: by head: a fin of 0.4 mm at 100, nothing else."""
    text = SLIDE.replace("cylinder: {diameter: 10, length: 200}", "box: [0.4, 200, 200]").replace(
        "default: 5", "default: 0"
    )
    size, _ = answered(tmp_path, text, "x", 0.0, to=300.0)
    assert size.value == pytest.approx(100 - 0.2 - 10, abs=0.01)


def test_least(tmp_path: Path) -> None:
    """Oracle: by head: from 200 down, the post stops it at 120."""
    size, varied = answered(tmp_path, SLIDE.replace("x: 0 mm", "x: 200 mm"), "x", 200.0, least=True, to=0.0)
    assert size.value == pytest.approx(120, abs=0.01)
    confirm(size, varied, sign=-1.0)


@pytest.mark.parametrize(
    ("at", "why"),
    [
        ("['max(x, 0 mm)', 0, 0]", "it is used in parts.slide.at.1"),
        ("[x * x / 100 mm, 0, 0]", "it is used in parts.slide.at.1"),
    ],
)
def test_what_is_not_proven_is_said(tmp_path: Path, at: str, why: str) -> None:
    """Oracle: by head: the same 80 mm for max; x^2 / 100 reaches 80 at 89.4."""
    size, _ = answered(tmp_path, SLIDE.replace("[x, 0, 0]", at), "x", 0.0, to=95.0)
    assert size.unproven == why
    assert size.value == pytest.approx(80 if "max" in at else 89.44, abs=0.1)


def test_a_rule_that_rests_on_the_param(tmp_path: Path) -> None:
    """Oracle: by head: 85 mm from face to face less 5 of radius: the rule may ask for 85."""
    text = SLIDE.replace("default: 5", "default: x").replace("at: [x, 0, 0]", "at: [0, 0, 0]")
    size, _ = answered(tmp_path, text, "x", 0.0, to=100.0)
    assert size.value == pytest.approx(85, abs=0.1)
    assert size.unproven == "it is used in clearances.default"


def test_a_measure_stops_it(tmp_path: Path) -> None:
    """Oracle: by head: the slide may stand 30 mm from the car's zero, no more."""
    text = SLIDE + "measures: {reach: {distance: {from: slide, to: car}, most: 30}}\n"
    size, varied = answered(tmp_path, text, "x", 0.0, to=200.0)
    assert size.value == pytest.approx(30, abs=0.01)
    assert size.stopped_by == "reach"
    confirm(size, varied)


def test_a_scene_that_does_not_load_ends_the_way(tmp_path: Path) -> None:
    size, _ = answered(tmp_path, ROOM, "h", 100.0, least=True, to=-50.0)
    assert size.value is not None and size.value < 10
    assert "at " in size.refused


def test_what_falls_short_anyway_is_counted_and_left_alone(tmp_path: Path) -> None:
    text = ROOM.replace(
        "parts:\n",
        "parts:\n  loose: {at: [900, 0, 0], box: [9, 9, 9]}\n  near: {at: [910, 0, 0], box: [9, 9, 9]}\n",
    )
    size, _ = answered(tmp_path, text, "h", 100.0, to=400.0)
    assert size.value == pytest.approx(240, abs=0.01)
    assert size.beside == 1


def test_a_joint_that_comes_undone_stops_it(tmp_path: Path) -> None:
    """Oracle: by head: joined parts may stand 0.5 mm apart."""
    text = ROOM.replace(
        "box: [100, 80, h]}",
        "box: [100, 80, 100]}\n  cap: {at: [0, 0, h + 4.5 mm], box: [50, 50, 9], bolted_to: [box_under]}",
    )
    size, varied = answered(tmp_path, text, "h", 100.0, to=130.0)
    assert size.value == pytest.approx(100.5, abs=0.01)
    confirm(size, varied)


def test_two_params_draw_their_frontier(tmp_path: Path) -> None:
    """Oracle: by head: two boxes one on the other under a lid at 200: h + k + 20 <= 200."""
    text = """\
packcheck: 1
params: {h: 40 mm, k: 40 mm}
parts:
  low_box: {at: [0, 0, 0], anchor: [mid, mid, min], box: [90, 90, h]}
  high_box: {at: [0, 0, h + 10 mm], anchor: [mid, mid, min], box: [90, 90, k]}
  lid: {at: [0, 0, 205], box: [300, 300, 10]}
clearances: {use: none, default: 10}
"""
    path, plot = write(tmp_path, text), tmp_path / "plot.svg"
    told = run("size", path, "h", "k", "--to", "100", "--points", "4", "--json", "--plot", plot)
    (table,) = json.loads(told.output)["tables"]
    assert [(row[0], round(row[1], 1)) for row in table["rows"]] == [(40, 140), (60, 120), (80, 100), (100, 80)]
    drawn = ElementTree.fromstring(plot.read_text(encoding="utf-8"))
    assert len([mark for mark in drawn.iter() if mark.tag.endswith("rect")]) == 1 + 4


def test_a_frontier_says_where_values_pass_again(tmp_path: Path) -> None:
    """Oracle: by head: 20 wide beside a post of 10 at 100 with 10 of air: up to 75 before it, from 125 behind it
    as far as was looked, three times 60; the height changes nothing of that."""
    text = """\
packcheck: 1
params: {h: 10 mm, aside: 60 mm}
parts:
  it: {at: [aside, 0, 0], anchor: [mid, mid, min], box: [20, 20, h]}
  post: {at: [100, 0, 0], box: [10, 300, 300]}
  wall: {at: [325, 0, 0], box: [10, 300, 300]}
clearances: {use: none, default: 10}
"""
    told = run("size", write(tmp_path, text), "h", "aside", "--to", "20", "--points", "2", "--json")
    (table,) = json.loads(told.output)["tables"]
    assert [(round(row[1], 1), row[4]) for row in table["rows"]] == [(75, "125.0 to 180.0")] * 2


@pytest.mark.parametrize(
    ("words", "what"),
    [
        (["hh"], "there is no param 'hh' in this scene"),
        (["h", "--to", "3 parsec"], "--to '3 parsec'"),
        (["h", "--plot", "x.svg"], "name a second one"),
    ],
)
def test_what_cannot_be_asked_is_told(tmp_path: Path, words: list[str], what: str) -> None:
    told = run("size", write(tmp_path, ROOM), *words)
    assert told.exit_code == 2 and what in told.output
