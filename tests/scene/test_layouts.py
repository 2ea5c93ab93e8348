"""Layouts: maps merge, lists replace, null deletes; what is wrong with one is told in its own lines."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import packcheck
from packcheck.errors import Fault, SceneError
from packcheck.scene import load_scene
from packcheck.scene.build import Written
from packcheck.scene.model.scene import Box, Scene
from tests.cli.running import run
from tests.scene.writing import faults_of, write

BASE = """\
packcheck: 1
params: {lift: 5 mm}
frames:
  bulkhead: {at: [0, 0, 0]}
parts:
  pump: {kind: fuel, in: bulkhead, at: [60, 0, lift], box: [50, 50, 90], note: as bought}
  bracket: {in: bulkhead, at: [0, 0, 0], box: [30, 50, 300], bolted_to: [pump]}
  tank: {at: [400, 0, 0], box: [100, 100, 100]}
clearances:
  use: none
  rules:
    - {between: [pump, tank], gap: 30}
    - {between: [bracket, tank], gap: 20}
layouts:
"""


def scene(folder: Path, layouts: str, layout: str | None) -> Scene:
    return load_scene(write(folder, BASE + layouts), layout)


def faults(folder: Path, layouts: str, layout: str | None = None) -> tuple[Fault, ...]:
    with pytest.raises(SceneError) as caught:
        scene(folder, layouts, layout)
    return caught.value.faults


def places(found: tuple[Fault, ...]) -> list[tuple[int, int]]:
    return [(fault.mark.line, fault.mark.column) for fault in found if fault.mark]


def test_maps_merge_and_lists_replace(tmp_path: Path) -> None:
    text = "  low: {parts: {pump: {at: [60, 0, -80], kind: [fuel, electrical]}}}\n"
    made = scene(tmp_path, text, "low")
    pump = made.parts["pump"]
    assert (pump.at, pump.kinds, pump.note, pump.parent) == (
        (60, 0, -80),
        ("fuel", "electrical"),
        "as bought",
        "bulkhead",
    )
    assert (made.layout, made.layouts) == ("low", ("low",))


def test_the_scene_as_written_is_untouched_by_its_layouts(tmp_path: Path) -> None:
    made = scene(tmp_path, "  low: {parts: {pump: {at: [60, 0, -80]}}}\n", None)
    assert (made.parts["pump"].at, made.layout) == ((60, 0, 5), None)


def test_null_deletes_a_key_and_a_part_and_a_rule_goes_with_its_part(tmp_path: Path) -> None:
    text = "  bare: {parts: {bracket: {bolted_to: null}, pump: null}}\n"
    made = scene(tmp_path, text, "bare")
    assert list(made.parts) == ["bracket", "tank"]
    assert made.parts["bracket"].bolted_to == ()
    assert [rule.between for rule in made.clearances.rules] == [("bracket", "tank")]


def test_params_frames_rules_and_new_parts(tmp_path: Path) -> None:
    text = """\
  high:
    params: {lift: 40 mm}
    frames: {bulkhead: {at: [10, 0, 0]}, rail: {at: [0, 390, 0]}}
    parts: {pot: {in: rail, box: [10, 20, 30]}}
    clearances: {default: 7, rules: []}
"""
    made = scene(tmp_path, text, "high")
    assert made.parts["pump"].at == (60, 0, 40)
    assert (made.frames["bulkhead"].at, made.frames["rail"].at) == ((10, 0, 0), (0, 390, 0))
    assert made.parts["pot"].solids[0].shape == Box((10, 20, 30))
    assert (made.clearances.default, made.clearances.rules) == (7, ())


def test_a_layout_builds_on_another(tmp_path: Path) -> None:
    text = """\
  lower: {from: low, parts: {pump: {at: [60, 0, -90]}}}
  low: {parts: {pump: {at: [60, 0, -80], wrap: 2}}}
"""
    pump = scene(tmp_path, text, "lower").parts["pump"]
    assert (pump.at, pump.wrap) == ((60, 0, -90), 2)


def test_what_one_layout_removes_the_next_may_put_back(tmp_path: Path) -> None:
    text = """\
  bare: {parts: {tank: null}}
  other: {from: bare, parts: {tank: {at: [300, 0, 0], box: [60, 60, 60]}}}
"""
    assert "tank" not in scene(tmp_path, text, "bare").parts
    assert scene(tmp_path, text, "other").parts["tank"].solids[0].shape == Box((60, 60, 60))


def test_lengths_of_a_layout_are_in_the_units_of_its_file(tmp_path: Path) -> None:
    write(tmp_path, "packcheck: 1\nunits: mm\nparts: {tank: {at: [400, 0, 0], box: [10, 10, 10]}}\n", "more.yaml")
    root = "packcheck: 1\nunits: in\ninclude: [more.yaml]\nlayouts: {far: {parts: {tank: {at: [20, 0, 0]}}}}\n"
    made = load_scene(write(tmp_path, root), "far")
    assert made.parts["tank"].at == pytest.approx((508, 0, 0))
    assert made.parts["tank"].solids[0].shape == Box((10, 10, 10))


def test_an_unknown_layout_is_named_with_its_nearest(tmp_path: Path) -> None:
    (fault,) = faults(tmp_path, "  pump_low: {}\n", "pump_lo")
    assert str(fault).endswith(
        "bay.yaml:14:1: there is no layout 'pump_lo' in this scene\n  mend: did you mean 'pump_low'?"
    )


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("  a: {parts: {pump: null}}\n", "needed by parts.bracket.bolted_to item 1 ("),
        ("  a: {frames: {bulkhead: null}}\n", "frame 'bulkhead', which is needed by parts.pump.in ("),
        ("  a: {params: {lift: null}}\n", "param 'lift', which is needed by parts.pump.at item 3 ("),
    ],
)
def test_removing_what_is_needed_is_told_where_it_is_removed_and_once(tmp_path: Path, text: str, what: str) -> None:
    found = faults(tmp_path, text, "a")
    told = [fault for fault in found if what in fault.what]
    assert len(told) == 1 and told[0].mark is not None and told[0].mark.line == 15
    assert list(found) == told


def test_a_loop_of_layouts_is_told_with_its_way(tmp_path: Path) -> None:
    text = "  a: {from: b}\n  b: {from: c}\n  c: {from: a}\n"
    (fault,) = faults(tmp_path, text)
    assert fault.what == "layout 'c': from leads round in a loop: a -> b -> c -> a"
    assert (fault.mark and fault.mark.line) == 17


def test_a_layout_on_itself_and_on_nothing(tmp_path: Path) -> None:
    found = faults(tmp_path, "  a: {from: a}\n  low: {}\n  b: {from: lw}\n")
    assert [fault.what for fault in found] == [
        "layout 'a': from leads round in a loop: a -> a",
        "layout 'b': from 'lw' is not known, needs a layout",
    ]
    assert found[1].mend == "did you mean 'low'?"


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("  a: {units: in}\n", "layout 'a': changes units, which holds for the whole scene"),
        ("  a: {part: {pump: {wrap: 2}}}\n", "layout 'a': has the unknown key 'part'"),
        ("  a: {parts: [pump]}\n", "layout 'a': parts is a list, needs a map of names and what changes"),
    ],
)
def test_the_form_of_a_layout_is_checked_whether_or_not_it_is_asked_for(
    tmp_path: Path, text: str, what: str
) -> None:
    (fault,) = faults(tmp_path, text)
    assert fault.what == what


def test_what_a_layout_writes_wrongly_is_told_in_its_own_line(tmp_path: Path) -> None:
    text = "  a:\n    parts:\n      pump: {at: [60, 0], wrapp: 3}\n      tnk: null\n"
    found = faults(tmp_path, text, "a")
    assert places(found) == [(17, 18), (17, 27), (18, 7)]
    assert found[2].what == "layout 'a': removes parts.tnk, which is not there"
    assert found[2].mend == "did you mean 'tank'?"


def test_two_shapes_are_told_unless_the_first_is_removed(tmp_path: Path) -> None:
    two = "  a: {parts: {tank: {sphere: {diameter: 90}}}}\n"
    (fault,) = faults(tmp_path, two, "a")
    assert "has box (line 8) and sphere (line 15), needs one shape" in fault.what
    one = "  a: {parts: {tank: {box: null, sphere: {diameter: 90}}}}\n"
    assert scene(tmp_path, one, "a").parts["tank"].solids[0].shape != Box((100, 100, 100))


def test_layouts_stand_in_the_root_file(tmp_path: Path) -> None:
    write(tmp_path, "packcheck: 1\nlayouts: {a: {}}\n", "more.yaml")
    (fault,) = faults_of(tmp_path, "include: [more.yaml]\nparts: {it: {box: [1, 1, 1]}}\n")
    assert fault.what == "layouts stands in an included file, needs to be in the root file"


def test_params_may_be_given_other_values(tmp_path: Path) -> None:
    written = Written(write(tmp_path, BASE + "  a: {params: {lift: 9 mm}}\n"))
    assert [written.scene("a").params["lift"], written.scene("a", {"lift": "12.5 mm"}).params["lift"]] == [9, 12.5]
    assert written.scene(params={"lift": "0.5 in"}).parts["pump"].at == pytest.approx((60, 0, 12.7))


def test_check_names_the_layout_in_text_and_json(tmp_path: Path) -> None:
    path = write(tmp_path, BASE + "  low: {parts: {tank: {at: [90, 0, 0]}}}\n")
    told = run("check", path, "--layout", "low", "--no-moves")
    assert "layout low" in told.output and "pump - tank" in told.output
    report = json.loads(run("check", path, "--layout", "low", "--no-moves", "--json").output)
    assert report["layout"] == "low"
    assert json.loads(run("check", path, "--no-moves", "--json").output)["layout"] is None
    assert packcheck.load(path, layout="low").check(moves=False).layout == "low"
