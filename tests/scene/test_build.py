"""Whole scenes: the numbers, the marks, and every fault in one go."""

from __future__ import annotations

import pickle
from pathlib import Path

import pytest

from packcheck.errors import SceneError
from packcheck.scene import load_scene
from packcheck.scene.model import scene as model
from packcheck.scene.model.scene import Scene
from tests.scene.writing import part_of, scene_of, whats, write

VALID = Path(__file__).parent / "valid"


@pytest.fixture
def whole(monkeypatch: pytest.MonkeyPatch) -> Scene:
    monkeypatch.chdir(VALID)
    return load_scene("whole_grammar.yaml")


@pytest.fixture
def inches(monkeypatch: pytest.MonkeyPatch) -> Scene:
    monkeypatch.chdir(VALID)
    return load_scene("inches.yaml")


def test_header_is_kept(whole: Scene) -> None:
    assert (whole.title, whole.note, whole.units) == (
        "Hillclimb special, rear bay",
        "measured on the trestles",
        "mm",
    )
    assert whole.axes == model.Axes("aft", "right", "up")
    assert whole.list_within == 50.0


def test_everything_keeps_the_order_of_the_file(whole: Scene) -> None:
    assert list(whole.params) == ["plenum_height", "twice", "tilt", "shrink"]
    assert list(whole.frames) == ["bulkhead", "engine_frame", "rear_axle"]
    assert list(whole.parts)[:4] == ["block", "fuel_pump", "fuel_bracket", "rear_body"]


def test_part_is_read_with_its_place_kinds_and_mark(whole: Scene) -> None:
    """Oracle: by hand from the file; 2 x 150 + 80 = 380 mm."""
    block = whole.parts["block"]
    assert block.kinds == ("engine", "hot")
    assert (block.parent, block.turn, block.fixed, block.note) == (
        "engine_frame",
        (0.0, 0.0, -90.0),
        True,
        "with sump",
    )
    assert block.solids[0].shape == model.Box((480.0, 320.0, 380.0))
    assert block.solids[0].anchor == ("mid", "mid", "min")
    assert str(block.mark) == "whole_grammar.yaml:20:3"
    assert str(block.solids[0].mark) == "whole_grammar.yaml:26:5"


def test_wrap_fit_and_joints_are_read(whole: Scene) -> None:
    pump = whole.parts["fuel_pump"]
    assert (pump.wrap, pump.fit, pump.bolted_to) == (6.0, "encloses", ("fuel_bracket",))
    assert whole.parts["bottle"].fit == "about"
    assert whole.parts["bottle"].tolerance == (0.0, 0.0, 0.0)


@pytest.mark.parametrize(
    ("name", "tolerance", "ball"),
    [
        ("fuel_pump", (2.0, 2.0, 2.0), True),
        ("fuel_bracket", (1.0, 2.0, 0.5), False),
        ("block", (0.0, 0.0, 0.0), True),
    ],
)
def test_tolerance_says_whether_it_is_a_ball(
    whole: Scene, name: str, tolerance: tuple[float, float, float], ball: bool
) -> None:
    assert (whole.parts[name].tolerance, whole.parts[name].tolerance_is_ball) == (tolerance, ball)


def test_frames_are_read_with_tolerance_and_parent(whole: Scene) -> None:
    frame = whole.frames["engine_frame"]
    assert (frame.parent, frame.at, frame.turn) == ("bulkhead", (420.0, 0.0, 260.0), (0.0, 2.5, 0.0))
    assert (frame.tolerance, frame.tolerance_is_ball) == ((8.0, 8.0, 8.0), True)
    assert (whole.frames["rear_axle"].tolerance, whole.frames["rear_axle"].tolerance_is_ball) == (
        (1.0, 2.0, 3.0),
        False,
    )
    assert whole.frames["bulkhead"].note == "the painted face"
    assert str(frame.mark) == "whole_grammar.yaml:16:3"


def test_clearances_are_read_with_marks(whole: Scene) -> None:
    clearances = whole.clearances
    assert (clearances.default, clearances.use, clearances.seat) == (10.0, "common", 1.0)
    assert str(clearances.default_mark) == "whole_grammar.yaml:62:3"
    first = clearances.rules[0]
    assert (first.must, first.want, first.moving) == (50.0, 100.0, 40.0)
    assert (first.why, first.source) == ("radiant heat", "handbook, table 3")
    assert str(first.mark) == "whole_grammar.yaml:67:7"
    assert [(rule.must, rule.want, rule.moving, rule.lower) for rule in clearances.rules[1:]] == [
        (8.0, None, None, False),
        (3.0, None, None, True),
        (0.0, None, None, False),
    ]


def test_inch_scene_is_mm_inside(inches: Scene) -> None:
    """Oracle: by hand, 1 in = 25.4 mm: 14 3/8 in = 365.125, 1 1/2 in = 38.1, 3/8 in = 9.525, 1/8 in = 3.175."""
    tank = inches.parts["tank"]
    assert tank.at == (0.0, 365.125, 38.1)
    assert tank.solids[0].shape == model.Box((9.525, 12.0, pytest.approx(2.54)))  # type: ignore[arg-type]
    assert tank.tolerance == (3.175, 3.175, 3.175)
    assert inches.list_within == 50.8
    assert inches.clearances.default == 9.525


def test_params_in_inches_are_reckoned_in_mm(inches: Scene) -> None:
    """Oracle: by hand; max(365.125 / 2, 9.525) - 38.1 = 144.4625 mm; six plain units are 6 in = 152.4 mm."""
    assert inches.params["drop"] == pytest.approx(144.4625)
    assert inches.parts["stack"].at == pytest.approx((365.125, -144.4625, 152.4))


def test_included_files_are_read_in_their_own_units(inches: Scene) -> None:
    """Oracle: by hand; -1 m, 0.25 m, 0.5 m with 5 mm; 20 cm x 15 cm x 3 mm; 1 cm."""
    shelf = inches.frames["shelf"]
    assert (shelf.at, shelf.tolerance) == ((-1000.0, 250.0, 500.0), (5.0, 5.0, 5.0))
    assert inches.parts["tray"].solids[0].shape == model.Box((200.0, 150.0, 3.0))
    assert [rule.must for rule in inches.clearances.rules] == [10.0, 4.0]
    assert str(shelf.mark) == "shared/shelf.yaml:5:3"


def test_included_parts_come_after_those_of_the_root(inches: Scene) -> None:
    assert list(inches.parts) == ["tank", "stack", "washer", "plate", "tray", "skin"]


def test_root_names_files_in_the_order_of_reading(inches: Scene) -> None:
    assert [path.name for path in inches.files] == ["inches.yaml", "tray.yaml", "shelf.yaml", "tray_rules.yaml"]


def test_smallest_scene_takes_the_defaults(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(VALID)
    scene = load_scene("smallest.yaml")
    assert (scene.units, scene.axes, scene.list_within) == ("mm", model.Axes(), None)
    assert scene.clearances == model.Clearances()
    part = scene.parts["block"]
    assert (part.parent, part.at, part.kinds, part.fit) == ("car", (0.0, 0.0, 0.0), (), "exact")


def test_scene_without_parts_is_a_scene(tmp_path: Path) -> None:
    assert scene_of(tmp_path, "").parts == {}


def test_scene_can_be_sent_to_another_process(whole: Scene) -> None:
    assert pickle.loads(pickle.dumps(whole)) == whole


def test_same_file_gives_the_same_scene(whole: Scene) -> None:
    assert load_scene("whole_grammar.yaml") == whole


@pytest.mark.parametrize(
    "axes",
    [
        "{x: aft, y: right, z: up}",
        "{x: fore, y: left, z: up}",
        "{x: right, y: fore, z: up}",
        "{x: up, y: aft, z: right}",
        "{x: aft, y: left, z: down}",
        "{x: left, y: aft, z: up}",
        "{}",
    ],
)
def test_right_handed_axes_are_taken(tmp_path: Path, axes: str) -> None:
    """Oracle: right-hand rule by hand; aft x right = up, and each exchange or reversal changes the hand."""
    assert scene_of(tmp_path, f"axes: {axes}").axes.z in ("up", "right", "down")


@pytest.mark.parametrize(
    ("axes", "mend"),
    [
        ("{x: fore, y: right, z: up}", "y: left"),
        ("{x: aft, y: left}", "y: right"),
        ("{x: right, y: aft, z: up}", "x: left"),
        ("{x: aft, y: right, z: down}", "y: left"),
    ],
)
def test_left_handed_axes_are_told_which_to_turn_round(tmp_path: Path, axes: str, mend: str) -> None:
    with pytest.raises(SceneError, match="left-handed") as caught:
        scene_of(tmp_path, f"axes: {axes}")
    assert caught.value.faults[0].mend.endswith(mend)


def test_faults_of_every_sort_come_together_in_file_order(tmp_path: Path) -> None:
    told = whats(
        tmp_path,
        """\
        parms: {}
        params: {a: 5 lbs}
        frames: {f: {in: nowhere}}
        parts:
          p: {box: [1, -1, 1], kind: fule}
          p: {box: [1, 1, 1]}
          q: {}
        clearances:
          rules:
            - {between: [p, r], gap: -1}
        """,
    )
    keys = ["parms", "lbs", "nowhere", "box item 2", "fule", "twice", "no shape", "'r'", "gap is"]
    assert [key for key, what in zip(keys, told, strict=True) if key not in what] == []


def test_faults_beyond_five_hundred_are_counted_as_more(tmp_path: Path) -> None:
    told = whats(tmp_path, "parts:\n" + "".join(f"  p{i}: {{in: q, box: [0, 0, 0]}}\n" for i in range(300)))
    assert len(told) == 501
    assert told[-1].startswith("and more faults")


def test_newer_format_is_the_only_thing_said(tmp_path: Path) -> None:
    (what,) = whats(tmp_path, "packcheck: 3\nflux: 1\nparts: 5\n", head="")
    assert "newer scene format, this program reads 1" in what


@pytest.mark.parametrize("value", ["1", "1.0"])
def test_version_one_is_read(tmp_path: Path, value: str) -> None:
    assert scene_of(tmp_path, "", head=f"packcheck: {value}\n").parts == {}


def test_included_file_of_a_newer_format_is_refused(tmp_path: Path) -> None:
    write(tmp_path, "packcheck: 2\n", "new.yaml")
    (what,) = whats(tmp_path, "include: [new.yaml]")
    assert "newer" in what


def test_included_file_needs_no_version(tmp_path: Path) -> None:
    write(tmp_path, "frames: {datum: {}}\n", "datum.yaml")
    assert list(scene_of(tmp_path, "include: [datum.yaml]").frames) == ["datum"]


def test_included_file_with_its_axes_stated_alike_is_read(tmp_path: Path) -> None:
    write(tmp_path, "axes: {x: fore, y: left, z: up}\nframes: {datum: {}}\n", "datum.yaml")
    assert scene_of(tmp_path, "axes: {x: fore, y: left}\ninclude: [datum.yaml]").frames


def test_rules_of_all_files_stand_one_behind_the_other(tmp_path: Path) -> None:
    write(tmp_path, "clearances: {rules: [{between: [fuel, hot], gap: 2}]}\n", "more.yaml")
    text = "include: [more.yaml]\nclearances: {rules: [{between: [fuel, hot], gap: 1}]}"
    assert [rule.must for rule in scene_of(tmp_path, text).clearances.rules] == [1.0, 2.0]


def test_rules_of_an_included_file_stand_without_any_in_the_root(tmp_path: Path) -> None:
    write(tmp_path, "clearances: {rules: [{between: [fuel, hot], gap: 2}]}\n", "more.yaml")
    assert len(scene_of(tmp_path, "include: [more.yaml]").clearances.rules) == 1


def test_kinds_written_twice_count_once(tmp_path: Path) -> None:
    assert part_of(tmp_path, "kind: [fuel, fuel, hot], box: [1, 1, 1]").kinds == ("fuel", "hot")


@pytest.mark.parametrize("empty", ["parts:", "frames:", "clearances: {rules: }", "include: []"])
def test_section_with_nothing_in_it_is_empty(tmp_path: Path, empty: str) -> None:
    assert scene_of(tmp_path, empty).parts == {}


def test_what_is_quoted_from_the_file_does_not_flood_the_message(tmp_path: Path) -> None:
    texts = {"in": "n" * 5000, "kind": "k" * 5000, "bolted_to": "b" * 5000}
    told = whats(tmp_path, "parts: {a: {" + ", ".join(f"{key}: {text}" for key, text in texts.items()) + "}}")
    assert max(map(len, told)) < 1000
    told = whats(tmp_path, "clearances: {rules: [{between: [" + "ghost, " * 3000 + "], gap: 1}]}")
    assert max(map(len, told)) < 1000


def test_key_of_a_paragraph_is_refused_once(tmp_path: Path) -> None:
    assert whats(tmp_path, f"parts: {{{'n' * 201}: {{box: [0, 0, 0]}}}}") == [
        "a key has 201 characters, needs at most 200"
    ]


def test_text_may_span_lines_but_not_steer_a_terminal(tmp_path: Path) -> None:
    assert scene_of(tmp_path, "note: |\n  one\n  two\n").note == "one\ntwo"
    assert whats(tmp_path, 'title: "a\\eb"') == [r"title holds the control character '\x1b'"]
