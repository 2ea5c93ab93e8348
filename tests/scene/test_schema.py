"""The schema for editors agrees with what is read."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml

from packcheck.scene import scene_schema

HERE = Path(__file__).parent
SCHEMA = scene_schema()
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)


def told(text: str) -> list[str]:
    return [error.json_path for error in VALIDATOR.iter_errors(yaml.safe_load(text))]


def test_schema_is_one() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("path", sorted((HERE / "valid").rglob("*.yaml")), ids=lambda path: path.name)
def test_valid_scenes_please_the_schema(path: Path) -> None:
    assert told(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    "name",
    [
        "unknown_keys",
        "two_shapes",
        "sizes_missing",
        "wrong_forms",
        "unknown_units",
        "tolerances_of_a_wrong_form",
        "version_in_words",
        "rule_without_gap",
        "outline_is_closed_or_short",
        "values_left_empty",
        "turned_both_ways",
        "ends_half_said",
        "faces_beside_other_places",
        "survey_wrong_forms",
        "resting_astray",
        "copies_astray",
    ],
)
def test_scenes_wrong_in_form_displease_the_schema(name: str) -> None:
    assert told((HERE / "malformed" / f"{name}.yaml").read_text(encoding="utf-8"))


@pytest.mark.parametrize(
    ("text", "path"),
    [
        ("parts: {a: {boxx: [1, 1, 1]}}", "$.parts.a"),
        ("parts: {a: {box: [1, 1, 1], sphere: {diameter: 2}}}", "$.parts.a"),
        ("parts: {a: {solids: [{}]}}", "$.parts.a.solids[0]"),
        ("parts: {a: {box: [1, 1]}}", "$.parts.a.box"),
        ("parts: {a: {box: [1, 1, true]}}", "$.parts.a.box[2]"),
        ("parts: {a: {box: {from: [0, 0, 0], to: [0, 0, 9]}}}", "$.parts.a.box"),
        ("parts: {a: {box: [1, 1, 1], turn: {nose_up: [1]}}}", "$.parts.a.turn.nose_up"),
        ("parts: {a: {box: [1, 1, 1], turn: {nose_up: 1, nose_down: 1}}}", "$.parts.a.turn"),
        ("parts: {a: {box: [1, 1, 1], turn: [1, 1]}}", "$.parts.a.turn"),
        ("frames: {a: {turn: {nose: 1}}}", "$.frames.a.turn"),
        ("parts: {a: {box: [1, 1, 1], at: [0, 0, 0], faces: {front: 1}}}", "$.parts.a"),
        ("parts: {a: {box: [1, 1, 1], faces: {}}}", "$.parts.a.faces"),
        ("parts: {a: {box: [1, 1, 1], faces: {middle: 190}}}", "$.parts.a.faces.middle"),
        ("parts: {a: {box: [1, 1, 1], faces: {middle: [5 up, 6]}}}", "$.parts.a.faces.middle"),
        ("parts: {a: {box: [1, 1, 1], faces: {top: {below: b, by: [1]}}}}", "$.parts.a.faces.top"),
        ("parts: {a: {cylinder: {diameter: 5}}}", "$.parts.a.cylinder"),
        ("parts: {a: {cylinder: {diameter: 5, from: [0, 0, 0]}}}", "$.parts.a.cylinder"),
        ("parts: {a: {mesh: {file: a.stl}}}", "$.parts.a.mesh"),
        ("parts: {a: {box: null}}", "$.parts.a.box"),
        ("frames: {a: {datum: sometimes}}", "$.frames.a.datum"),
        ("known: taped", "$.known"),
        ("known: {default: taped}", "$.known"),
        ("clearances: {default: [1]}", "$.clearances.default"),
        ("clearances: {rules: [{between: [a, b], gap: {want: 3}}]}", "$.clearances.rules[0].gap"),
    ],
)
def test_schema_points_at_the_slip(text: str, path: str) -> None:
    assert path in told("packcheck: 1\n" + text)


def test_lengths_are_numbers_or_text() -> None:
    assert told("packcheck: 1\nparts: {a: {box: [1, 3/8 in, 2 * rise], wrap: 1 mm, tolerance: [1, 2 mm, x]}}") == []


@pytest.mark.parametrize("known", ["tape", "{default: tape, tape: 2 mm}", "{guess: 20}"])
def test_how_all_else_is_known_is_a_word_or_a_map(known: str) -> None:
    assert told(f"packcheck: 1\nknown: {known}\nparts: {{a: {{box: [1, 1, 1]}}}}") == []


def test_a_copy_drops_a_face_and_only_a_copy() -> None:
    copy = "parts: {a: {box: [1, 1, 1], faces: {front: 1}}, b: {like: a, faces: {front: null, middle: 3 aft}}}"
    assert told(f"packcheck: 1\n{copy}") == []
    assert told(f"packcheck: 1\n{copy}\nlayouts: {{l: {{parts: {{a: {{faces: {{front: null}}}}}}}}}}") == []
    assert told("packcheck: 1\nparts: {a: {box: [1, 1, 1], faces: {front: null, top: 3}}}") == [
        "$.parts.a.faces.front"
    ]
    assert told("packcheck: 1\nparts: {b: {like: a, faces: {front: [1]}}}") == ["$.parts.b.faces.front"]


def test_keys_carry_descriptions_for_hovers() -> None:
    part = SCHEMA["$defs"]["Part"]["properties"]
    assert "suggested move" in part["fixed"]["description"]
    assert "60 aft" in SCHEMA["$defs"]["Faces"]["properties"]["front"]["description"]
    assert "lifted" in SCHEMA["$defs"]["TurnWords"]["properties"]["nose_up"]["description"]
    assert "in place of at" in SCHEMA["$defs"]["Tube"]["properties"]["from"]["description"]
    assert "bounding" in str(SCHEMA) or "box" in part["box"]["description"] or part["box"]["description"]


def _nulls(node: Any) -> list[Any]:
    if isinstance(node, dict):
        here = [node] if node.get("type") == "null" or node.get("default", 0) is None else []
        return here + [found for below in node.values() for found in _nulls(below)]
    return [found for below in node for found in _nulls(below)] if isinstance(node, list) else []


def test_no_key_is_offered_as_null() -> None:
    assert _nulls(SCHEMA) == []
