"""Copies mean the same as the parts written out by hand."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from packcheck.scene.model.scene import Part, Scene
from tests.scene.writing import scene_of


def bare(scene: Scene) -> dict[str, Part]:
    """The parts without where they were written, and without their row."""
    return {
        name: replace(
            part,
            mark=None,
            family="",
            solids=tuple(replace(solid, mark=None) for solid in part.solids),
            faces=tuple(replace(face, mark=None) for face in part.faces),
        )
        for name, part in scene.parts.items()
    }


def assert_same(folder: Path, short: str, long: str) -> None:
    """Oracle: the parts written out by hand."""
    made, meant = scene_of(folder, short), scene_of(folder, long)
    assert bare(made) == bare(meant)
    rules = [[replace(rule, mark=None) for rule in scene.clearances.rules] for scene in (made, meant)]
    assert rules[0] == rules[1]


def test_a_part_like_another_takes_what_it_lacks(tmp_path: Path) -> None:
    assert_same(
        tmp_path,
        "parts:\n"
        "  clip: {template: true, kind: structure, wrap: 1, cylinder: {diameter: 12, length: 20}, note: steel}\n"
        "  a: {like: clip, at: [1, 2, 3]}\n"
        "  b: {like: a, at: [4, 5, 6], cylinder: {length: 30}, wrap: 2}\n"
        "  c: {like: b, sphere: {diameter: 5}, faces: {left: 5}}\n"
        "  d: {like: c, turn: [0, 0, 9], faces: {top: 3}}\n"
        "  e: {like: a, capsule: {diameter: 4, from: [0, 0, 0], to: [9, 0, 0]}}\n",
        "parts:\n"
        "  a: {kind: structure, wrap: 1, cylinder: {diameter: 12, length: 20}, at: [1, 2, 3]}\n"
        "  b: {kind: structure, wrap: 2, cylinder: {diameter: 12, length: 30}, at: [4, 5, 6]}\n"
        "  c: {kind: structure, wrap: 2, sphere: {diameter: 5}, faces: {left: 5}}\n"
        "  d: {kind: structure, wrap: 2, sphere: {diameter: 5}, turn: [0, 0, 9], faces: {left: 5, top: 3}}\n"
        "  e: {kind: structure, wrap: 1, capsule: {diameter: 4, from: [0, 0, 0], to: [9, 0, 0]}}\n",
    )


def test_a_face_of_its_own_takes_the_place_of_the_opposite_one(tmp_path: Path) -> None:
    assert_same(
        tmp_path,
        "parts:\n"
        "  a: {box: [40, 20, 10], faces: {front: 210 aft, left: 5 left, bottom: 3}}\n"
        "  b: {like: a, faces: {rear: 530 aft}}\n"
        "  c: {like: b, faces: {left: null, top: 9 up}}\n"
        "  d: {box: [faces, 20, 10], faces: {front: 210 aft, rear: 250 aft, bottom: 3}}\n"
        "  e: {like: d, faces: {rear: 270 aft}}\n",
        "parts:\n"
        "  a: {box: [40, 20, 10], faces: {front: 210 aft, left: 5 left, bottom: 3}}\n"
        "  b: {box: [40, 20, 10], faces: {left: 5 left, bottom: 3, rear: 530 aft}}\n"
        "  c: {box: [40, 20, 10], faces: {rear: 530 aft, top: 9 up}}\n"
        "  d: {box: [40, 20, 10], faces: {front: 210 aft, rear: 250 aft, bottom: 3}}\n"
        "  e: {box: [60, 20, 10], faces: {front: 210 aft, bottom: 3, rear: 270 aft}}\n",
    )


def test_a_middle_and_the_faces_of_its_axis_take_each_others_place(tmp_path: Path) -> None:
    assert_same(
        tmp_path,
        "parts:\n"
        "  a: {box: [40, 20, 10], faces: {middle: [190 aft, 30 up], left: 5 left}}\n"
        "  b: {like: a, faces: {front: 210 aft}}\n"
        "  c: {like: a, faces: {bottom: 3, rear: 530 aft}}\n"
        "  d: {like: a, faces: {middle: 40 right}}\n"
        "  e: {like: a, faces: {middle: [7 fore, 9 down]}}\n"
        "  f: {like: a, faces: {middle: null, top: 9 up}}\n"
        "  g: {box: [faces, 20, 10], faces: {middle: 190 aft, front: 150 aft}}\n"
        "  h: {like: g, faces: {front: 160 aft}}\n",
        "parts:\n"
        "  a: {box: [40, 20, 10], faces: {middle: [190 aft, 30 up], left: 5 left}}\n"
        "  b: {box: [40, 20, 10], faces: {middle: 30 up, left: 5 left, front: 210 aft}}\n"
        "  c: {box: [40, 20, 10], faces: {left: 5 left, bottom: 3, rear: 530 aft}}\n"
        "  d: {box: [40, 20, 10], faces: {middle: [190 aft, 30 up, 40 right]}}\n"
        "  e: {box: [40, 20, 10], faces: {left: 5 left, middle: [7 fore, 9 down]}}\n"
        "  f: {box: [40, 20, 10], faces: {left: 5 left, top: 9 up}}\n"
        "  g: {box: [80, 20, 10], faces: {middle: 190 aft, front: 150 aft}}\n"
        "  h: {box: [60, 20, 10], faces: {middle: 190 aft, front: 160 aft}}\n",
    )


def test_a_row_is_its_members_one_step_apart(tmp_path: Path) -> None:
    assert_same(
        tmp_path,
        "frames: {head: {at: [0, 0, 300]}}\n"
        "parts:\n"
        "  runner: {in: head, at: [10, 0, 5 up], box: [4, 5, 6], repeat: {count: 3, step: [95 aft, 1 left, 0]}}\n"
        "  stay: {repeat: {count: 2, step: [0, 0, 7]}, cylinder: {diameter: 4, from: [1, 2, 3], to: [5, 6, 8]}}\n",
        "frames: {head: {at: [0, 0, 300]}}\n"
        "parts:\n"
        "  runner.1: {in: head, at: [10, 0, 5], box: [4, 5, 6]}\n"
        "  runner.2: {in: head, at: [105, -1, 5], box: [4, 5, 6]}\n"
        "  runner.3: {in: head, at: [200, -2, 5], box: [4, 5, 6]}\n"
        "  stay.1: {cylinder: {diameter: 4, from: [1, 2, 3], to: [5, 6, 8]}}\n"
        "  stay.2: {cylinder: {diameter: 4, from: [1, 2, 10], to: [5, 6, 15]}}\n",
    )


def test_what_names_a_row_means_its_member_or_all_of_it(tmp_path: Path) -> None:
    box = "box: [4, 5, 6]"
    assert_same(
        tmp_path,
        "parts:\n"
        f"  runner: {{at: [0, 0, 0], {box}, repeat: {{count: 2, step: [9, 0, 0]}}}}\n"
        f"  clip: {{in: runner, at: [0, 0, 8], {box}, bolted_to: [runner, plate]}}\n"
        f"  seal: {{at: [0, 0, 3], {box}, bolted_to: runner, repeat: {{count: 2, step: [9, 0, 0]}}}}\n"
        f"  plate: {{at: [0, 0, 0], {box}, bolted_to: runner}}\n"
        f"  shim: {{in: runner.2, at: [0, 0, 0], {box}}}\n"
        f"  lid: {{{box}, faces: {{bottom: {{above: runner}}}}}}\n"
        "clearances:\n"
        "  rules:\n"
        "    - {between: [runner, plate], gap: 3, lower: true, why: cast}\n"
        "    - {between: [runner, runner], gap: 4}\n"
        "    - {between: [clip, runner], gap: 5}\n"
        "    - {between: [hot, plate], gap: 6}\n",
        "parts:\n"
        f"  runner.1: {{at: [0, 0, 0], {box}}}\n"
        f"  runner.2: {{at: [9, 0, 0], {box}}}\n"
        f"  clip.1: {{in: runner.1, at: [0, 0, 8], {box}, bolted_to: [runner.1, plate]}}\n"
        f"  clip.2: {{in: runner.2, at: [0, 0, 8], {box}, bolted_to: [runner.2, plate]}}\n"
        f"  seal.1: {{at: [0, 0, 3], {box}, bolted_to: runner.1}}\n"
        f"  seal.2: {{at: [9, 0, 3], {box}, bolted_to: runner.2}}\n"
        f"  plate: {{at: [0, 0, 0], {box}, bolted_to: [runner.1, runner.2]}}\n"
        f"  shim: {{in: runner.2, at: [0, 0, 0], {box}}}\n"
        f"  lid: {{{box}, faces: {{bottom: {{above: [runner.1, runner.2]}}}}}}\n"
        "clearances:\n"
        "  rules:\n"
        "    - {between: [runner.1, plate], gap: 3, lower: true, why: cast}\n"
        "    - {between: [runner.2, plate], gap: 3, lower: true, why: cast}\n"
        "    - {between: [runner.1, runner.2], gap: 4}\n"
        "    - {between: [clip.1, runner.1], gap: 5}\n"
        "    - {between: [clip.1, runner.2], gap: 5}\n"
        "    - {between: [clip.2, runner.1], gap: 5}\n"
        "    - {between: [clip.2, runner.2], gap: 5}\n"
        "    - {between: [hot, plate], gap: 6}\n",
    )


def test_a_mirror_image_hangs_on_the_images_of_what_carries_the_part(tmp_path: Path) -> None:
    scene = scene_of(
        tmp_path,
        "frames: {bulkhead: {at: [1, 0, 0]}, middle: {at: [0, 4, 0], centreline: true}}\n"
        "parts:\n"
        "  rail_l: {in: bulkhead, at: [0, -300, 0], box: [9, 4, 4], repeat: {count: 2, step: [9, 0, 0]}}\n"
        "  rail_r: {mirror_of: rail_l}\n"
        "  cup_l: {in: rail_l, at: [0, 0, 4], kind: oil, box: [1, 1, 1], bolted_to: [rail_l, beam], note: left,\n"
        "          goes_into: beam_l}\n"
        "  cup_r: {mirror_of: {part: cup_l, across: bulkhead}, kind: fuel}\n"
        "  beam: {at: [0, 0, 0], box: [5, 5, 5]}\n"
        "  beam_l: {at: [0, 9, 0], box: [5, 5, 5]}\n  beam_r: {mirror_of: beam_l}\n",
    )
    image = scene.parts["cup_r.2"]
    assert (image.parent, image.bolted_to, image.kinds, image.note) == (
        "rail_r.2",
        ("rail_r.2", "beam"),
        ("fuel",),
        "",
    )
    assert image.goes_into == ("beam_r",)
    assert image.mirror is not None and (image.mirror.of, image.mirror.across) == ("cup_l.2", "bulkhead")
    rail = scene.parts["rail_r.1"]
    assert rail.mirror is not None and (rail.mirror.of, rail.mirror.across) == ("rail_l.1", "middle")
    assert rail.parent == "bulkhead"


@pytest.mark.parametrize("count", [1, 200])
def test_a_row_may_have_one_member_or_two_hundred(tmp_path: Path, count: int) -> None:
    text = f"parts: {{it: {{at: [0, 0, 0], box: [1, 1, 1], repeat: {{count: {count}, step: [2, 0, 0]}}}}}}"
    parts = scene_of(tmp_path, text).parts
    assert list(parts) == [f"it.{k}" for k in range(1, count + 1)]
    assert {part.family for part in parts.values()} == {"it"}
    assert parts[f"it.{count}"].at == (2.0 * (count - 1), 0.0, 0.0)
