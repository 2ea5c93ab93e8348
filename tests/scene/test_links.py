"""Names that lead where they may, and those that do not."""

from __future__ import annotations

from pathlib import Path

import pytest

from packcheck.data import KINDS
from tests.scene.writing import faults_of, scene_of, whats

TWO_PARTS = "parts: {pump: {box: [1, 1, 1]}, pan: {box: [1, 1, 1]}}\n"


def rules(*lines: str) -> str:
    return TWO_PARTS + "clearances:\n  rules:\n" + "".join(f"    - {{{line}}}\n" for line in lines)


@pytest.mark.parametrize("kind", KINDS)
def test_every_packaged_kind_is_known(tmp_path: Path, kind: str) -> None:
    assert scene_of(tmp_path, f"parts: {{it: {{kind: {kind}, box: [1, 1, 1]}}}}").parts["it"].kinds == (kind,)


def test_kind_that_a_rule_names_is_known(tmp_path: Path) -> None:
    part = "parts: {it: {kind: [snow_kit, hot], box: [1, 1, 1]}}"
    text = part + "\nclearances: {rules: [{between: [snow_kit, hot], gap: 1}]}"
    assert scene_of(tmp_path, text).parts["it"].kinds == ("snow_kit", "hot")


def test_part_named_like_a_kind_is_told_once_whatever_is_of_that_kind(tmp_path: Path) -> None:
    text = "parts:\n  engine: {kind: engine, box: [1, 1, 1]}\n  sump: {kind: [engine, hot], box: [1, 1, 1]}\n"
    assert whats(tmp_path, text) == ["part 'engine': the name is that of a kind"]


def test_unknown_kind_says_what_kinds_are_for(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, "parts: {it: {kind: fule, box: [1, 1, 1]}}")
    assert (fault.why, fault.mend) == ("the kind decides which clearance rules apply", "did you mean 'fuel'?")


def test_kind_misspelt_in_part_and_rule_alike_is_one_the_user_made(tmp_path: Path) -> None:
    text = "parts: {it: {kind: fule, box: [1, 1, 1]}}\nclearances: {rules: [{between: [fule, hot], gap: 1}]}"
    assert scene_of(tmp_path, text).clearances.rules[0].between == ("fule", "hot")


def test_rule_may_name_parts_kinds_and_the_star(tmp_path: Path) -> None:
    scene = scene_of(
        tmp_path,
        rules("between: [pump, '*'], gap: 1", "between: [hose, hose], gap: 2", "between: ['*', '*'], gap: 3"),
    )
    assert [rule.between for rule in scene.clearances.rules] == [("pump", "*"), ("hose", "hose"), ("*", "*")]


@pytest.mark.parametrize(
    ("line", "what"),
    [
        ("between: [pmp, pan], gap: 1", "between 'pmp' is not known, needs a part, a kind or *"),
        ("between: [car, pan], gap: 1", "between 'car' is the car"),
        ("between: [pan, pan], gap: 1", "names one part twice"),
        ("between: [pan, hot], gap: 1, lower: true, why: x", "lower goes with hot, needs two parts"),
        ("between: [pan, '*'], gap: 1, lower: true, why: x", "lower goes with *, needs two parts"),
        ("between: [pan, pump], gap: 1, lower: true", "lower needs why"),
        ("between: [pan, pump], gap: 1, lower: true, why: ''", "lower needs why"),
        ("between: [pan, pump], gap: -1", "gap is -1 mm, needs 0 mm or more"),
        ("between: [pan, pump], gap: {must: 5, want: 4}", "gap.want is 4 mm, needs at least must, 5 mm"),
        ("between: [pan, pump], gap: {must: 5, wont: 4}", "gap has the unknown key 'wont'"),
        ("between: [pan, pump], gap: 1, moving: -1", "moving is -1 mm"),
        ("between: [pan, pump], gap: 1, lower: yes", "lower is 'yes'"),
    ],
)
def test_rule_that_cannot_stand_is_refused(tmp_path: Path, line: str, what: str) -> None:
    (told,) = whats(tmp_path, rules(line))
    assert what in told


def test_lowered_rule_between_two_parts_with_a_reason_is_taken(tmp_path: Path) -> None:
    (rule,) = scene_of(
        tmp_path, rules("between: [pan, pump], gap: 3, lower: true, why: cast boss")
    ).clearances.rules
    assert (rule.lower, rule.why, rule.must, rule.want) == (True, "cast boss", 3.0, None)


def test_parts_hang_on_parts_and_frames_in_any_order(tmp_path: Path) -> None:
    scene = scene_of(
        tmp_path, "parts: {a: {in: b, box: [1, 1, 1]}, b: {in: f, box: [1, 1, 1]}}\nframes: {f: {in: g}, g: {}}"
    )
    assert [scene.parts[name].parent for name in "ab"] == ["b", "f"]
    assert [scene.frames[name].parent for name in "fg"] == ["g", "car"]


def test_loop_is_told_once_however_many_hang_on_it(tmp_path: Path) -> None:
    told = whats(
        tmp_path,
        "frames: {a: {in: b}, b: {in: c}, c: {in: a}, d: {in: a}}\nparts: {p: {in: d, box: [1, 1, 1]}}",
    )
    assert told == ["frame 'a': in leads round in a loop: a -> b -> c -> a"]


def test_chain_of_fifty_is_allowed_and_of_fifty_one_is_not(tmp_path: Path) -> None:
    chain = "".join(f"  f{i}: {{in: {f'f{i - 1}' if i else 'car'}}}\n" for i in range(50))
    assert len(scene_of(tmp_path, "frames:\n" + chain).frames) == 50
    (what,) = whats(tmp_path, "frames:\n" + chain + "  f50: {in: f49}\n  f51: {in: f50}\n")
    assert what == "'f50' hangs more than 50 deep, one in another"


def test_bolted_to_takes_one_name_or_several(tmp_path: Path) -> None:
    text = "parts: {a: {box: [1, 1, 1], bolted_to: b}, b: {box: [1, 1, 1], bolted_to: [a, a]}}"
    scene = scene_of(tmp_path, text)
    assert (scene.parts["a"].bolted_to, scene.parts["b"].bolted_to) == (("b",), ("a",))


def test_goes_into_takes_one_name_or_several_and_shuts_out_a_joint_and_a_rule(tmp_path: Path) -> None:
    parts = "parts: {a: {box: [1, 1, 1], goes_into: b}, b: {box: [1, 1, 1], %s}}\n"
    assert scene_of(tmp_path, parts % "goes_into: [a, a]").parts["b"].goes_into == ("a",)
    assert whats(tmp_path, parts % "bolted_to: a") == [
        "part 'a': goes_into 'b', and the two are bolted_to each other as well"
    ]
    rule = "clearances: {rules: [{between: [b, a], gap: 3}]}\n"
    assert whats(tmp_path, parts % "fixed: true" + rule) == [
        "rule [b, a]: one goes_into the other, so nothing is asked"
    ]


def test_names_are_trimmed_and_may_be_numbers_or_hold_blanks(tmp_path: Path) -> None:
    text = (
        "parts: {' left rail ': {box: [1, 1, 1]}, 12: {in: left rail, box: [1, 1, 1]}, b: {in: 12, box: [1, 1, 1]}}"
    )
    scene = scene_of(tmp_path, text)
    assert {name: part.parent for name, part in scene.parts.items()} == {
        "left rail": "car",
        "12": "left rail",
        "b": "12",
    }


def test_eighty_characters_are_a_name_and_eighty_one_are_not(tmp_path: Path) -> None:
    assert scene_of(tmp_path, f"frames: {{{'n' * 80}: {{}}}}").frames
    (what,) = whats(tmp_path, f"frames: {{{'n' * 81}: {{}}}}")
    assert "81 characters" in what


@pytest.mark.parametrize("first", ["params: {x: 1}", "frames: {x: {}}"])
def test_one_name_for_two_things_names_both_places(tmp_path: Path, first: str) -> None:
    (fault,) = faults_of(tmp_path, f"{first}\nparts: {{x: {{box: [1, 1, 1]}}}}")
    assert fault.mark is not None
    assert fault.mark.line == 3
    assert "bay.yaml:2:" in fault.what


def test_name_on_two_lines_is_no_name(tmp_path: Path) -> None:
    told = whats(tmp_path, 'parts: {a: {in: "two\\nlines", box: [1, 1, 1]}, b: {in: [a], box: [1, 1, 1]}}')
    assert [what.split(", needs ")[1] for what in told] == ["a name on one line", "a frame or a part", "text"]
