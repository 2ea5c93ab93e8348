"""What each key may name: every sort of name is put under every key, and the table is the whole of the grammar.

Oracle: the table for what is allowed; the grammar's own types for which keys take names at all.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin

import pytest
from pydantic import BaseModel, Tag

import packcheck
from packcheck.errors import SceneError
from packcheck.scene import load_scene
from packcheck.scene.checks.reach import REACH, reach_at
from packcheck.scene.grammar.grammar import SceneFile
from packcheck.scene.quantities.slots import Name

NAME = get_args(Name)[1]
SURVEYED = ("points", "observations", "place", "rocks")
WHERE = {"rules": "clearances.rules", **{key: f"survey.{key}" for key in SURVEYED}}
LISTED = ("clearances.rules", "survey.observations", "checks")
NOT_OF_THE_SCENE = {"include", "parts_from", "parts.*.mesh.body", "parts.*.solids.mesh.body"}
"""Names of files, and of bodies in them."""


def slots(kind: Any, way: tuple[str, ...] = (), above: tuple[Any, ...] = (), extra: Any = ()) -> Iterator[str]:
    """Every way in the grammar to a slot that takes a name."""
    origin = get_origin(kind)
    if NAME in extra or any(isinstance(one, Tag) and one.tag == "by name" for one in extra):
        yield ".".join(way)
    elif origin is Annotated:
        yield from slots(get_args(kind)[0], way, above, kind.__metadata__)
    elif origin in (Union, UnionType, list, tuple):
        for one in get_args(kind):
            yield from slots(one, way, above)
    elif origin is dict:
        yield from slots(get_args(kind)[1], (*way, "*"), above)
    elif isinstance(kind, type) and issubclass(kind, BaseModel) and kind not in above:
        for name, field in kind.model_fields.items():
            yield from slots(field.annotation, (*way, field.alias or name), (*above, kind), tuple(field.metadata))


def table() -> Iterator[str]:
    for section, keys in REACH.items():
        place = WHERE.get(section, section)
        for key in keys:
            yield f"{place}.{key}" if place in LISTED else f"{place}.*.{key}"


def test_every_key_of_the_grammar_that_takes_a_name_is_in_the_table() -> None:
    in_grammar = set(slots(SceneFile)) - NOT_OF_THE_SCENE
    in_table = set(table()) - {"parts.*.mirror_of"}  # the short form of mirror_of.part
    assert in_table == in_grammar


SCENE = """packcheck: 1
params: {a_param: 5}
frames:
  a_frame: {{at: [0, 0, 900]}}
  s_frame: {{}}
{frames}
parts:
  a_part: {{kind: fuel, box: [9, 9, 9], at: [0, 0, 100]}}
  b_part: {{box: [9, 9, 9], at: [0, 90, 100]}}
  c_part: {{box: [9, 9, 9], at: [0, 180, 100]}}
  a_template: {{template: true, box: [9, 9, 9]}}
  a_row: {{box: [9, 9, 9], at: [0, 0, 500], repeat: {{count: 2, step: [0, 20, 0]}}}}
{parts}
motions:
  a_motion: {{carries: c_part, travel: {{by: z, from: 0, to: 1}}}}
{motions}
measures:
  a_measure: {{distance: {{from: b_part, to: c_part}}, most: 700}}
{measures}
clearances:
  rules:
    - {{between: [b_part, c_part], gap: 1}}
{rules}
survey:
  instruments: {{tape: {{accuracy: 1}}, a_tool: {{accuracy: 1}}}}
  points:
    a_point: {{at: [0, 0, 0]}}
    p2: {{at: [100, 0, 0]}}
    p3: {{at: [0, 100, 0]}}
{points}
  observations:
    - {{tape: [p2, p3], reads: 141.4}}
{observations}
{place}
{rocks}
checks:
  - {{between: [b_part, c_part], measured: 81, with: tape}}
{checks}
layouts:
  a_layout: {{}}
{layouts}
"""

SORTS = {
    "the car": "car",
    "frame": "a_frame",
    "part": "a_part",
    "repeated part": "a_row",
    "template": "a_template",
    "kind": "exhaust",
    "any part": "'*'",
    "point": "a_point",
    "instrument": "a_tool",
    "layout": "a_layout",
    "param": "a_param",
    "motion": "a_motion",
    "measure": "a_measure",
    "": "nobody",
}

NEW = "box: [9, 9, 9], at: [300, 300, 300]"
ITEMS: dict[str, dict[str, str]] = {
    "frames": {"in": "  x: {in: @}"},
    "parts": {
        "in": f"  x: {{{NEW}, in: @}}",
        "kind": f"  x: {{{NEW}, kind: @}}",
        "like": "  x: {like: @, at: [300, 300, 300]}",
        "mirror_of": "  x: {mirror_of: @}",
        "mirror_of.part": "  x: {mirror_of: {part: @}}",
        "mirror_of.across": "  x: {mirror_of: {part: b_part, across: @}}",
        "bolted_to": f"  x: {{{NEW}, bolted_to: @}}",
        "goes_into": f"  x: {{{NEW}, goes_into: @}}",
        "faces.bottom.above": "  x: {box: [9, 9, 9], faces: {bottom: {above: @}}}",
        "faces.left.right_of": "  x: {box: [9, 9, 9], faces: {left: {right_of: @}}}",
    },
    "motions": {
        "in": "  x: {carries: b_part, in: @, travel: {by: z, from: 0, to: 1}}",
        "carries": "  x: {carries: @, travel: {by: z, from: 0, to: 1}}",
    },
    "rules": {"between": "    - {between: [@, b_part], gap: 1}"},
    "measures": {
        "distance.from": "  x: {distance: {from: @, to: b_part}, most: 9999}",
        "distance.to.in": "  x: {distance: {from: b_part, to: {in: @, at: [1, 2, 3]}}, most: 9999}",
        "to_line.line.in": "  x: {to_line: {point: b_part, line: {in: @, along: x, length: 50}}, most: 9999}",
        "to_line.line.to": "  x: {to_line: {point: b_part, line: {in: c_part, to: @}}, most: 9999}",
        "to_plane.plane.in": "  x: {to_plane: {point: b_part, plane: {in: @, normal: z}}, most: 9999}",
        "height.above": "  x: {height: {of: b_part, above: @}, most: 9999}",
        "pulleys.a.in": "  x: {pulleys: {a: {in: @, along: x, length: 9}, b: {in: b_part, along: x}}, offset: 999}",
        "incline.to": "  x: {incline: {in: b_part, to: @}, most: 90}",
    },
    "points": {"in": "    x: {in: @, at: [1, 1, 1]}"},
    "observations": {
        "tape": "    - {tape: [@, p3], reads: 90}",
        "offset": "    - {offset: @, from: p2, reads: [1, 2, 3], accuracy: 99}",
        "axes": "    - {offset: p3, from: p2, axes: @, reads: [1, 2, 3], accuracy: 999}",
        "gap": "    - {gap: [@, b_part], reads: 81, accuracy: 999}",
        "of": "    - {lies_on: p3, face: top, of: @, accuracy: 999}",
        "with": "    - {tape: [p2, p3], reads: 141.4, with: @}",
        "plane": "    - {lies_on: p3, plane: [a_point, p2, @], accuracy: 999}",
    },
    "place": {
        "origin": "  place: {s_frame: {origin: @, toward: {aft: p2}, side: {left: p3}}}",
        "toward.*": "  place: {s_frame: {origin: p2, toward: {aft: @}, side: {left: p3}}}",
        "side.*": "  place: {s_frame: {origin: p2, toward: {aft: p3}, side: {left: @}}}",
        "plane": "  place: {s_frame: {plane: [@, p2, p3]}}",
        "axis": "  place: {s_frame: {axis: [@, p2], along: aft}}",
    },
    "rocks": {
        "axis": "  rocks: {r: {axis: [@, p2], point: p3, moves: 5, accuracy: 1}}",
        "point": "  rocks: {r: {axis: [a_point, p2], point: @, moves: 5, accuracy: 1}}",
    },
    "checks": {
        "between": "  - {between: [@, b_part], measured: 81, with: tape}",
        "with": "  - {between: [c_part, b_part], measured: 81, with: @}",
    },
    "layouts": {"from": "  x: {from: @}"},
}
"""One thing for each key, `@` for the name."""

CASES = [(section, key, sort) for section, keys in ITEMS.items() for key in keys for sort in SORTS]


def written(section: str, key: str, name: str) -> str:
    sections = dict.fromkeys(("frames", "parts", "motions", "measures", "rules", *WHERE, *REACH), "")
    text = SCENE.replace("{a_param: 5}", "{{a_param: 5}}")
    return text.format(**{**sections, section: ITEMS[section][key].replace("@", name)})


@pytest.mark.parametrize(("section", "key", "sort"), CASES)
def test_every_sort_of_name_under_every_key(section: str, key: str, sort: str, tmp_path: Path) -> None:
    """What the table allows loads and is checked; the rest is refused in its place. Never anything else."""
    asked = reach_at(section, tuple(key.split(".")))
    assert asked is not None
    scene = tmp_path / "scene.yaml"
    scene.write_text(written(section, key, SORTS[sort]), encoding="utf-8")
    line = scene.read_text(encoding="utf-8").split("\n").index(ITEMS[section][key].replace("@", SORTS[sort])) + 1
    allowed = sort in asked.sorts or (asked.rows and sort == "repeated part")
    try:
        if allowed:
            packcheck.load(scene, trust=False).check(moves=False)
        else:
            load_scene(scene)
    except SceneError as error:
        told = [fault for fault in error.faults if fault.mark and fault.mark.line == line]
        assert told, error
        if allowed:
            assert not any(f"needs {asked.needed}" in fault.what for fault in told), error
    else:
        assert allowed, f"{SORTS[sort]} was let in"
