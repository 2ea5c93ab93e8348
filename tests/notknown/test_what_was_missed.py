"""Smallest scenes in which what is not known was once put together wrongly: what is said now is what can happen.

Each scene's truth is a closed form of its own, worked out in the docstring: the same scene with one displacement
that the file allows really drawn.
"""

from __future__ import annotations

from math import cos, sin
from pathlib import Path

import numpy as np
import pytest

import packcheck
from packcheck.bay import Bay
from packcheck.findings import Finding, Verdict
from packcheck.places.asked import Asked
from packcheck.scene.build import Written
from packcheck.sizing.growth import Varied
from packcheck.sizing.sizes import size_of
from packcheck.studies.leeway import leeways

HEAD = "packcheck: 1\nlist_within: 10 m\n"


def bay(folder: Path, text: str) -> Bay:
    file = folder / "bay.yaml"
    file.write_text(HEAD + text, encoding="utf-8")
    return packcheck.load(file)


def finding(folder: Path, text: str, study: str = "gaps", subjects: tuple[str, str] | None = None) -> Finding:
    report = bay(folder, text).check(moves=False)
    (found,) = (f for f in report.findings if f.study == study and subjects in (None, f.subjects))
    return found


def test_a_carrier_of_both_does_not_cancel_where_the_hinge_stands_in_the_car(tmp_path: Path) -> None:
    """Oracle: closed form. Turned by 180 degrees about the car's zero, `a` comes 10 short of `b`; its corners a
    little nearer on the way, 9.5. With f 5 mm off along x both are off, the line is not: 10 nearer, an overlap."""
    found = finding(
        tmp_path,
        "clearances: {use: none, default: 5 mm}\nframes: {f: {at: [0, 0, 0], tolerance: 5}}\nparts:\n"
        "  a: {in: f, at: [100, 0, 0], box: [20, 20, 20]}\n  b: {in: f, at: [-130, 0, 0], box: [20, 20, 20]}\n"
        "motions: {m: {carries: [a], hinge: {through: [0, 0, 0], axis: z, from: 0, to: 180}}}\n",
        "moving",
    )
    assert found.verdict is Verdict.UNSURE
    assert found.low is not None
    assert -0.8 < found.low < -0.35
    assert found.contributors[0].name == "f"
    assert found.contributors[0].takes == pytest.approx(10, abs=0.05)


def test_what_rests_goes_up_and_down_with_its_rail(tmp_path: Path) -> None:
    """Oracle: by head: a rail 4 mm higher or lower takes the pump along, 2 to 10 mm from the lid."""
    found = finding(
        tmp_path,
        "clearances: {use: none, default: 5 mm}\nparts:\n"
        "  rail: {at: [0, 0, 0], box: [200, 40, 40], tolerance: 4 mm}\n"
        "  pump: {box: [50, 50, 50], faces: {front: 0, bottom: {above: rail}}, bolted_to: [rail]}\n"
        "  lid: {box: [300, 300, 2], faces: {bottom: 76 up}}\n",
        subjects=("pump", "lid"),
    )
    assert (found.low, found.high) == pytest.approx((2.0, 10.0), abs=1e-3)
    assert found.verdict is Verdict.UNSURE


def test_a_box_of_errors_is_turned_back_with_the_lid(tmp_path: Path) -> None:
    """Oracle: by head: drawn at -90 degrees, 5 mm off along x is 5 mm off in height once it is shut: 0 to 10."""
    found = finding(
        tmp_path,
        "clearances: {use: none, default: 4 mm}\nparts:\n"
        "  lid: {at: [0, 0, 100], box: [4, 100, 200], tolerance: [5, 0, 0]}\n"
        "  b: {at: [100, 0, -12], box: [20, 20, 10]}\nmotions:\n  m: {carries: [lid], during: service, "
        "hinge: {through: [0, 0, 0], axis: y, from: -90, to: 0, placed_at: -90}}\n",
    )
    assert (found.low, found.high) == pytest.approx((0.0, 10.0), abs=0.01)


def test_the_frame_of_a_hinge_counts_at_rest_where_the_lid_was_drawn_open(tmp_path: Path) -> None:
    """Oracle: closed form: a line off by up to 1.2 shuts the lid up to 2 sin(45) 1.2 = 1.70 off."""
    found = finding(
        tmp_path,
        "clearances: {use: none, default: 4 mm}\nframes: {h: {at: [0, 0, 0], tolerance: 1.2}}\nparts:\n"
        "  lid: {at: [0, 0, 100], box: [4, 100, 200]}\n  b: {at: [100, 0, -12], box: [20, 20, 10]}\n"
        "motions:\n  m: {carries: [lid], in: h, during: service, "
        "hinge: {through: [0, 0, 0], axis: y, from: -90, to: 0, placed_at: -90}}\n",
    )
    assert found.low is not None
    assert 5 - 1.05 * 1.697 - 0.1 < found.low < 5 - 1.69
    assert found.verdict is Verdict.UNSURE


def test_a_likely_frame_moves_an_image_the_other_way(tmp_path: Path) -> None:
    """Oracle: closed form: f off by a standard 2 sideways moves part and image apart by a standard 4."""
    found = finding(
        tmp_path,
        "clearances: {use: none, default: 5 mm}\nframes: {f: {at: [0, 0, 0], uncertainty: {standard: 2 mm}}}\n"
        "parts:\n  a: {in: f, at: [0, 15, 0], box: [20, 20, 20]}\n  b: {mirror_of: a}\n",
    )
    assert found.standard_uncertainty == pytest.approx(4.0)
    assert found.chance == pytest.approx(0.1056, abs=1e-4)
    assert found.verdict is Verdict.UNSURE


def test_a_box_on_a_child_turns_as_its_parent_is_led(tmp_path: Path) -> None:
    """Oracle: by head: at 89 degrees the child's end, 110 out, lies 9 from the wall and 8 more may be lost; 5 are
    needed. Turned the other way nothing is met."""
    made = bay(
        tmp_path,
        "clearances: {use: none, default: 5 mm}\nparts:\n"
        "  p: {at: [0, 0, 0], cylinder: {diameter: 20, length: 10}}\n"
        "  c: {in: p, at: [0, 60, 0], box: [10, 100, 10], tolerance: [0, 8, 0]}\n"
        "  wall: {at: [-121, 0, 0], box: [2, 400, 400]}\n",
    )
    ways = {way.way: way.free for way in leeways(made.assembly, made.session, "p")}
    assert 60 < ways["turn + about its z"] < 89
    assert ways["turn - about its z"] == float("inf")


def test_the_nearest_points_may_move_to_another_side_of_a_bore(tmp_path: Path) -> None:
    """Oracle: closed form: off by a standard 2 both ways, a shaft is farther than 4.5 from the middle of its bore
    in exp(-4.5^2 / 8) = 8.0 % of all cases."""
    found = finding(
        tmp_path,
        "clearances: {use: none, default: 5.5 mm}\nparts:\n  shaft: {at: [0, 0, 0], "
        "cylinder: {diameter: 40, length: 400, along: x}, uncertainty: {standard: 2 mm}}\n"
        "  bore: {at: [0, 0, 0], tube: {outer: 80, inner: 60, length: 60, along: x}}\n",
    )
    assert found.verdict is Verdict.UNSURE
    assert found.chance is not None
    assert found.chance >= 0.0796


def test_the_nearest_points_may_move_to_another_corner(tmp_path: Path) -> None:
    """Oracle: Monte Carlo (10^6 draws of two tilts): a plate of 600 that leans by a standard 0.4 degrees about both
    axes has a corner less than 4 mm off in 8.4 % of all cases."""
    found = finding(
        tmp_path,
        "clearances: {use: none, default: 4 mm}\nparts:\n  lid: {at: [0, 0, 25], box: [600, 600, 10], "
        "uncertainty: {standard: 0.01 mm, turn_standard: [0.4, 0.4, 0]}}\n"
        "  box: {at: [0, 0, 0], box: [600, 600, 20]}\n",
    )
    assert found.verdict is Verdict.UNSURE
    assert found.chance is not None
    assert found.chance >= 0.084


PLACED_BY_A_LIST = (
    "clearances: {use: none, default: 0 mm}\nparams: {h: 0 mm}\nparts:\n"
    "  rail: {at: [0, 0, 0], box: [40, 40, 40]}\n"
    "  shelf: {at: [45, 0, h], anchor: [mid, mid, max], box: [30, 40, 10]}\n"
    "  pump: {box: [100, 30, 30], faces: {front: 50 fore, bottom: {above: [rail, shelf]}}}\n"
    "  lid: {at: [-35, 0, 90], box: [20, 400, 4]}\n"
)
ON_A_STEPPED_RAIL = (
    "clearances: {use: none, default: 5 mm}\nparams: {h: 0 mm}\nparts:\n"
    "  rail: {at: [h, 0, 0], solids: [{box: [100, 40, 40]}, {box: [40, 40, 80], at: [-80, 0, 0]}]}\n"
    "  pump: {box: [30, 30, 30], faces: {front: 15 fore, bottom: {above: rail}}, bolted_to: [rail]}\n"
    "  lid: {at: [0, 0, 72], box: [20, 20, 4]}\n"
)


@pytest.mark.parametrize(
    ("text", "to", "largest"), [(PLACED_BY_A_LIST, 80.0, 58.0), (ON_A_STEPPED_RAIL, 60.0, 45.0)]
)
def test_what_rests_is_followed_as_a_size_grows(tmp_path: Path, text: str, to: float, largest: float) -> None:
    """Oracle: by head: the pump is lifted by the shelf once that is higher than the rail, up to the lid at 88 - 30;
    by the step of the rail once that comes under it."""
    file = tmp_path / "bay.yaml"
    file.write_text(HEAD + text, encoding="utf-8")
    found = size_of(Varied(Written(str(file)), "h"), 0.0, to=to)
    assert found.value is not None
    assert found.value <= largest + 0.2
    assert found.unproven


@pytest.mark.parametrize(
    ("part", "within", "turns", "text"),
    [
        (
            "pump",
            "-10, 230, -10 to 10, 260, 10",
            "now",
            "clearances: {use: none, default: 5 mm}\nparts:\n  pump: {at: [0, 200, 0], box: [20, 20, 20]}\n"
            "  pump_r: {mirror_of: pump}\n  wall: {at: [0, 170, 0], box: [100, 10, 100]}\n"
            "  post: {at: [0, -240, 0], box: [100, 20, 100]}\n",
        ),
        (
            "coil",
            "-5, -300, -5 to 5, -296, 5",
            "swing_left 90",
            "clearances: {use: none, default: 5 mm}\nparts:\n"
            "  coil: {at: [0, 0, 0], box: [40, 40, 40], needs: {left: 60 mm}}\n"
            "  wall: {at: [0, -340, 0], box: [600, 20, 600]}\n",
        ),
        (
            "p",
            "28, 26, -2 to 32, 31, 2",
            "now",
            "clearances: {use: none, default: 4 mm}\nparts:\n"
            "  p: {at: [0, 150, 0], box: [20, 20, 20]}\n"
            "  a: {in: p, at: [0, -100, 0], sphere: {diameter: 4}}\n"
            "  b: {at: [100, 0, 0], sphere: {diameter: 10}}\n"
            "motions:\n  m: {carries: [a, b], path: [{at: [0, 0, 0]}, {at: [0, 0, 0], turn: [0, 0, 90]}]}\n",
        ),
    ],
    ids=["its image", "its air, read anew", "a path about what it carries"],
)
def test_no_place_is_offered_where_what_follows_the_part_is_short(
    tmp_path: Path, part: str, within: str, turns: str, text: str
) -> None:
    """Oracle: by head: the image stands in the post, the air is on the other side once turned, the path about the
    ball that goes along leads the other ball into the part."""
    bay(tmp_path, text)
    asked = Asked(str(tmp_path / "bay.yaml"), part, within=within, turns=turns, cell="5 mm")
    assert not asked.answer().spots


def test_a_drawn_turn_takes_what_stands_off_round_with_it(tmp_path: Path) -> None:
    """Oracle: closed form: 100 mm off the zero of a frame that is turned by a tenth of a radian about z."""
    path = tmp_path / "scene.yaml"
    path.write_text(
        "packcheck: 1\nframes: {f: {at: [0, 0, 5], uncertainty: {standard: 1, turn_standard: [1, 1, 1]}}}\n"
        "parts: {p: {in: f, at: [100, 0, 0], box: [9, 9, 9]}}\n",
        encoding="utf-8",
    )
    account = packcheck.load(path).assembly.account
    draw = np.zeros(len(account.sources.likely.covariance))
    draw[account.sources.likely.columns["f"] + 5] = 0.1
    assert account.pose_drawn("p", draw).translation == pytest.approx([100 * cos(0.1), 100 * sin(0.1), 5])


def test_what_takes_most_off_a_gap_is_named_first(tmp_path: Path) -> None:
    """Oracle: by hand: 1 of a, 3 of b, 2 of the frame that b stands in."""
    path = tmp_path / "scene.yaml"
    path.write_text(
        "packcheck: 1\nframes: {f: {tolerance: 2}}\nparts:\n  a: {box: [9, 9, 9], tolerance: 1}\n"
        "  b: {in: f, at: [20, 0, 0], box: [9, 9, 9], tolerance: 3}\n",
        encoding="utf-8",
    )
    (found,) = packcheck.load(path).check(moves=False).findings
    assert [(one.name, one.takes) for one in found.contributors] == [("b", 3), ("f", 2), ("a", 1)]
