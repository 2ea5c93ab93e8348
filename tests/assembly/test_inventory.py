"""Parts in words: a wrong sign must read wrong."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from packcheck.assembly.assembly import assemble
from packcheck.bay import load
from packcheck.drawing.inventory import inventory
from packcheck.scene.model.scene import Axes, Box, Cylinder, Frame, Part
from tests.bays import part, scene

BULKHEAD = {"bulkhead": Frame("bulkhead", at=(100.0, 0.0, 50.0))}


def told(*parts: Part, **facts: object) -> dict[str, dict[str, str]]:
    table = inventory(assemble(scene(*parts, **facts)))  # type: ignore[arg-type]
    return {str(row[0]): dict(zip(table.columns, map(str, row), strict=True)) for row in table.rows}


def test_faces_are_told_from_the_frame_the_part_hangs_on() -> None:
    """Oracle: by head. The box reaches from 160 aft, to 388 left, from 158 up; bulkhead at 100, 50."""
    pump = part("pump", Box((140.0, 78.0, 90.0)), parent="bulkhead", at=(130.0, -349.0, 153.0))
    place = told(pump, frames=BULKHEAD)["pump"]["place"]
    assert place == "front face 60 mm aft of bulkhead, left side 388 mm left, underside 108 mm up"


@pytest.mark.parametrize("frames", [{"bulkhead"}, set()])
def test_nothing_is_told_from_a_frame_one_cannot_tape_from(frames: set[str]) -> None:
    """Oracle: by head; the helper stands at 130, 50, and the front of the box 10 ahead of it."""
    helper = {"helper": Frame("helper", parent="bulkhead", at=(30.0, 0.0, 0.0), datum=False)}
    standing = {"bulkhead": replace(BULKHEAD["bulkhead"], datum="bulkhead" in frames)}
    fan = part("fan", Box((20.0, 10.0, 10.0)), parent="helper", at=(0.0, 0.0, 0.0))
    made = assemble(scene(fan, frames=standing | helper))
    assert set(made.datums.frames) == frames
    where = made.datums.place(np.array([130.0, 0.0, 50.0])).text
    if frames:
        assert where == "30 mm aft of bulkhead"
        assert told(fan, frames=standing | helper)["fan"]["place"].startswith("front face 20 mm aft of bulkhead")
    else:
        assert where == "130 mm aft of the car's zero, 50 mm up"
        assert told(fan, frames=standing | helper)["fan"]["place"].startswith("front face 120 mm aft of the car's")


@pytest.mark.parametrize(
    ("at", "said"),
    [
        ((130.0, 349.0, 153.0), "front face 60 mm aft of bulkhead, right side 388 mm right, underside 108 mm up"),
        (
            (-130.0, -349.0, 153.0),
            "front face 200 mm forward of bulkhead, left side 388 mm left, underside 108 mm up",
        ),
        ((130.0, -349.0, -153.0), "front face 60 mm aft of bulkhead, left side 388 mm left, underside 198 mm down"),
        ((70.0, 0.0, 45.0), "front face level with bulkhead, in the middle, underside level"),
    ],
)
def test_every_sign_reads_differently(at: tuple[float, float, float], said: str) -> None:
    """Oracle: by head."""
    pump = part("pump", Box((140.0, 78.0, 90.0)), parent="bulkhead", at=at)
    assert told(pump, frames=BULKHEAD)["pump"]["place"] == said


def test_other_axes_give_the_same_words() -> None:
    """Oracle: the same part with x forward and y left."""
    frames = {"bulkhead": Frame("bulkhead", at=(-100.0, 0.0, 50.0))}
    pump = part("pump", Box((140.0, 78.0, 90.0)), parent="bulkhead", at=(-130.0, 349.0, 153.0))
    place = told(pump, frames=frames, axes=Axes("fore", "left", "up"))["pump"]["place"]
    assert place == "front face 60 mm aft of bulkhead, left side 388 mm left, underside 108 mm up"


def test_a_part_on_a_part_is_told_from_the_frame_below_and_without_one_from_the_car() -> None:
    parts = [
        part("tray", Box((10.0, 10.0, 10.0)), parent="bulkhead", at=(5.0, 0.0, 5.0)),
        part("box", Box((10.0, 10.0, 10.0)), parent="tray", at=(0.0, 0.0, 10.0)),
        part("alone", Box((10.0, 10.0, 10.0)), at=(5.0, 0.0, 5.0)),
    ]
    found = told(*parts, frames=BULKHEAD)
    assert found["box"]["place"].startswith("front face level with bulkhead, in the middle, underside 10 mm up")
    assert found["alone"]["place"].startswith("front face level with the car's zero")


@pytest.mark.parametrize(
    ("word", "said"),
    [
        ("nose_up", "nose up 2.5 deg"),
        ("nose_down", "nose down 2.5 deg"),
        ("lean_left", "leans 2.5 deg left"),
        ("lean_right", "leans 2.5 deg right"),
        ("swing_left", "swung 2.5 deg left"),
        ("swing_right", "swung 2.5 deg right"),
    ],
)
@pytest.mark.parametrize("axes", ["{}", "{x: fore, y: left, z: up}", "{x: up, y: aft, z: right}"])
def test_turns_are_told_as_they_are_written(word: str, said: str, axes: str, tmp_path: Path) -> None:
    """Oracle: the words of the scene file, for any axes."""
    path = tmp_path / "bay.yaml"
    path.write_text(
        f"packcheck: 1\naxes: {axes}\nparts: {{a: {{box: [9, 9, 9], turn: {{{word}: 2.5}}}}}}\n", encoding="utf-8"
    )
    ((_, _, _, place, *_),) = inventory(load(path).assembly).rows
    assert str(place).split("; ")[-1] == said


def test_the_centreline_is_named_where_a_frame_says_that_it_stands_on_it() -> None:
    frames = {
        "bulkhead": Frame("bulkhead", at=(100.0, 0.0, 50.0), centreline=True),
        "rail": Frame("rail", at=(0, 90, 0)),
    }
    parts = [
        part(name, Box((10.0, 10.0, 10.0)), parent="bulkhead", at=(5, y, 5)) for name, y in (("a", 45), ("b", 0))
    ]
    found = told(*parts, part("c", Box((10.0, 10.0, 10.0)), parent="rail", at=(5, 45, 5)), frames=frames)
    assert "right side 50 mm right of centreline" in found["a"]["place"]
    assert "on the centreline" in found["b"]["place"]
    assert "right side 50 mm right, " in found["c"]["place"]


def test_a_part_placed_in_the_car_is_told_from_a_frame_at_its_zero() -> None:
    found = told(part("a", Box((10.0, 10.0, 10.0)), at=(15, 0, 5)), frames={"foot": Frame("foot")})
    assert found["a"]["place"].startswith("front face 10 mm aft of foot")


def test_size_knowledge_joints_and_stage_are_told() -> None:
    parts = [
        part("pump", Cylinder(52.0, 165.0), known="tape", tolerance=(3.0,) * 3, wrap=6.0),
        part("sling", Box((1.0, 2.0, 3.0)), stage="mockup", bolted_to=("pump",), tolerance=(1.0, 2.0, 0.5)),
        part("jar", Box((1.0, 2.0, 3.0)), fit="about", placed=False, tolerance_is_ball=False, parent="pump"),
    ]
    found = told(*parts)
    assert found["pump"]["size"] == "cylinder 52 mm across, 165 mm long; wrapped in 6 mm; takes up 64 x 64 x 177 mm"
    assert (found["pump"]["known"], found["pump"]["joints"]) == ("tape, within 3 mm", "sling")
    assert (found["sling"]["stage"], found["sling"]["joints"]) == ("mockup", "pump")
    assert found["jar"]["known"] == "a rough envelope"
    assert found["jar"]["place"].startswith("no place given, so it stands at the zero of pump; front face")


def test_a_tolerance_that_a_part_hangs_on_is_told_where_it_has_none() -> None:
    """Oracle: by hand: 6.35 mm is a quarter inch; the head stands in the block, and that in the frame."""
    frames = {"place": Frame("place", tolerance=(6.35,) * 3), "exact": Frame("exact")}
    cube = Box((9.0, 9.0, 9.0))
    block, head = part("block", cube, parent="place"), part("head", cube, parent="block")
    found = told(block, head, part("pin", cube, parent="exact"), frames=frames, units="in")
    assert [found[name]["known"] for name in ("block", "head", "pin")] == [
        *["place carries 1/4 in"] * 2,
        "taken at its word",
    ]


def test_inches_are_told_to_the_sixteenth() -> None:
    """Oracle: by head, 1 in = 25.4 mm."""
    found = told(part("box", Box((25.4, 50.8, 12.7)), at=(0.0, 254.0, 0.0)), units="in")["box"]
    assert (
        found["place"]
        == "front face 1/2 in forward of the car's zero, right side 11 in right, underside 1/4 in down"
    )
    assert found["size"] == "box 1 x 2 x 1/2 in; takes up 1 x 2 x 1/2 in"
