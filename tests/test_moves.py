"""Suggested moves: carried out, they do what they say; where none is offered, the reason is true."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest

import packcheck
from packcheck.arrays import Vector
from packcheck.assembly.assembly import assemble
from packcheck.bay import Bay
from packcheck.findings import Finding, Verdict
from packcheck.moves import first_clear
from packcheck.scene.model.scene import Box, Clearances, Cylinder, Rule, Scene, Tube
from packcheck.tolerances import MOVE_REACH
from packcheck.trial.neighbours import Neighbours
from tests.bays import bay, part, random_crowd, ruled, scene

SHORT = (Verdict.FAIL, Verdict.UNSURE)


def carried_out(before: Scene, name: str, by: Vector) -> Scene:
    """The scene with one part (placed straight in the car) shifted."""
    moved = before.parts[name]
    x, y, z = np.asarray(moved.at) + by
    return replace(before, parts={**before.parts, name: replace(moved, at=(float(x), float(y), float(z)))})


def shortfalls(checked: Bay, *names: str) -> list[Finding]:
    return [finding for finding in checked.check(names, moves=False).findings if finding.verdict in SHORT]


def overlapping(findings: list[Finding]) -> set[str]:
    return {name for f in findings if f.value is not None and f.value < 0 for name in f.subjects}


@pytest.mark.parametrize("seed", [1, 2, 3, 4, 5, 6, 7, 9])
def test_carrying_out_a_move_leaves_its_part_short_of_nothing(seed: int) -> None:
    """Oracle: the whole check again, on the scene with the move made (no limit of the part is missed)."""
    crowd = random_crowd(seed, side=520)
    moved = [finding for finding in Bay(assemble(crowd)).check().findings if finding.move]
    assert moved
    for finding in moved:
        move = finding.move
        assert move is not None
        assert np.count_nonzero(move.by) <= 2
        left = shortfalls(Bay(assemble(carried_out(crowd, move.part, move.by))), move.part)
        assert not left, f"{move.text} left {[f.subjects for f in left]}"


WALLS = {
    "aft": (np.array([1.0, 0, 0]), (10.0, 700.0, 700.0)),
    "forward": (np.array([-1.0, 0, 0]), (10.0, 700.0, 700.0)),
    "right": (np.array([0, 1.0, 0]), (700.0, 10.0, 700.0)),
    "left": (np.array([0, -1.0, 0]), (700.0, 10.0, 700.0)),
    "up": (np.array([0, 0, 1.0]), (700.0, 700.0, 10.0)),
    "down": (np.array([0, 0, -1.0]), (700.0, 700.0, 10.0)),
}


def caged(*without: str) -> Finding:
    """A 40 mm cube 7 mm from six fixed walls (10 asked) that meet at the edges, less some: its worst finding."""
    walls = [
        part(f"{word}_wall", Box(size), at=tuple(32.0 * way), fixed=True)
        for word, (way, size) in WALLS.items()
        if word not in without
    ]
    report = bay(part("cube", Box((40, 40, 40))), *walls, clearances=CAGE).check()
    return next(f for f in report.findings if "cube" in f.subjects)


CAGE = Clearances(
    default=10.0,
    use="none",
    rules=tuple(
        Rule((f"{a}_wall", f"{b}_wall"), -1000.0, lower=True, why="one cage") for a, b in combinations(WALLS, 2)
    ),
)


def test_a_part_in_a_cage_has_no_move_and_every_wall_is_named() -> None:
    """Oracle: by construction: 7 mm of air all round, 10 asked, walls too thick to be stepped over."""
    finding = caged()
    assert finding.move is None
    for word in WALLS:
        assert f"{word} is blocked by" in finding.no_move or f"{word} is not far enough" in finding.no_move


@pytest.mark.parametrize("word", WALLS)
def test_a_part_in_a_cage_leaves_by_the_side_that_is_open(word: str) -> None:
    """Oracle: by construction, but the open side is where another wall's limit still reaches: out by 27 mm."""
    finding = caged(word, *({"aft", "forward", "left", "right", "up", "down"} - {word, *OPPOSITE[word]}))
    assert finding.move is not None
    way = WALLS[word][0]
    assert finding.move.by @ way == pytest.approx(3.0)
    assert np.linalg.norm(finding.move.by) == pytest.approx(3.0)


OPPOSITE = {
    "aft": ("forward",),
    "forward": ("aft",),
    "left": ("right",),
    "right": ("left",),
    "up": ("down",),
    "down": ("up",),
}


@pytest.mark.campaign
@pytest.mark.parametrize("seed", range(100, 110))
def test_the_reason_for_no_move_is_true_in_crowds(seed: int) -> None:
    """Oracle: the check itself, every 10 mm of the way: each place falls short, or lies behind something."""
    crowd = random_crowd(seed, count=30, side=250)
    without = [f for f in Bay(assemble(crowd)).check().findings if f.no_move.startswith("no straight move")]
    for finding in without[:3]:
        name = finding.subjects[0]
        at_first = overlapping(shortfalls(Bay(assemble(crowd)), name))
        for way in np.eye(3):
            passed: set[str] = set()
            for length in range(0, int(MOVE_REACH), 10):
                left = shortfalls(Bay(assemble(carried_out(crowd, name, way * length))), name)
                passed |= overlapping(left) - at_first
                assert left or passed, "a clear place, and nothing to pass through on the way"


def test_a_pin_in_a_hole_is_told_to_move_half_a_millimetre() -> None:
    """Oracle: closed form. Pin of radius 5 in a bore of radius 6, 0.5 off; 0.9 all round is left at 0.1 off."""
    pin = part("pin", Cylinder(10, 50), at=(0.5, 0, 0))
    ring = part("ring", Tube(60, 12, 20), fixed=True)
    report = bay(pin, ring, clearances=Clearances(default=0.9, use="none")).check(parts=["pin"])
    (finding,) = (f for f in report.findings if f.verdict is Verdict.FAIL)
    assert finding.value == pytest.approx(0.5, abs=0.001)
    assert finding.move is not None
    assert finding.move.by == pytest.approx([-0.5, 0, 0], abs=0.1)


def test_a_bolt_through_a_plate_gets_an_honest_answer() -> None:
    """Oracle: closed form. A bolt 50 long through a 6 mm plate must travel 25 + 3 + 10 to be 10 clear of it."""
    bolt = part("bolt", Cylinder(10, 50))
    plate = part("plate", Box((900, 900, 6)), fixed=True)
    (finding,) = bay(bolt, plate).check().findings
    assert finding.word == "clash"
    assert finding.move is not None and finding.move.part == "bolt"
    assert np.abs(finding.move.by) == pytest.approx([0, 0, 38])


def test_a_ring_on_a_long_rod_between_walls_has_no_move_and_says_why() -> None:
    """Oracle: by construction: the ring cannot leave sideways, and both ends are shut."""
    rod = part("rod", Cylinder(20, 900), fixed=True)
    ring = part("ring", Tube(60, 30, 20), at=(2, 0, 0))
    report = bay(rod, ring, clearances=ruled(default=10.0)).check()
    (finding,) = report.findings
    assert finding.move is None
    assert "no straight move of ring within 300 mm" in finding.no_move
    assert "is not far enough" in finding.no_move


def test_two_fixed_parts_are_said_to_be_fixed() -> None:
    (finding,) = (
        bay(part("a", Box((10, 10, 10)), fixed=True), part("b", Box((10, 10, 10)), fixed=True)).check().findings
    )
    assert finding.move is None
    assert finding.no_move == "both parts are fixed"


def test_what_hangs_on_a_part_goes_along_and_is_checked_too() -> None:
    """Oracle: closed form. The bracket on the pump meets the wall first, so the pump goes the other way."""
    pump = part("pump", Box((40, 40, 40)), at=(0, 0, 0))
    bracket = part("bracket", Box((10, 40, 10)), at=(40, 0, 0), parent="pump", bolted_to=("pump",))
    pipe = part("pipe", Box((30, 300, 300)), at=(-37, 0, 0), fixed=True)
    wall = part("wall", Box((10, 900, 900)), at=(60, 0, 0), fixed=True)
    report = bay(pump, bracket, pipe, wall).check()
    finding = next(f for f in report.findings if set(f.subjects) == {"pump", "pipe"})
    assert finding.value == pytest.approx(2.0)
    assert finding.move is not None and finding.move.carries == ("bracket",)
    assert finding.move.by[0] == 0  # aft is shut by the wall, forward by the pipe: it goes sideways


def test_a_part_bolted_to_a_fixed_one_slides_along_it() -> None:
    """Oracle: by construction: up and down undo the joint, forward does not."""
    pump = part("pump", Box((40, 40, 40)), bolted_to=("rail",))
    rail = part("rail", Box((90, 40, 10)), at=(0, 0, -25), fixed=True)
    hose = part("hose", Box((20, 20, 20)), at=(35, 0, 0), fixed=True)
    finding = next(f for f in bay(pump, rail, hose).check().findings if set(f.subjects) == {"pump", "hose"})
    assert finding.move is not None
    assert finding.move.by == pytest.approx([-5, 0, 0])
    assert finding.move.text == "move pump 5 mm forward (clears every neighbour)"


@pytest.mark.parametrize("fixed", [False, True])
def test_a_joint_that_a_move_would_undo_is_named_and_with_a_fixed_part_not_undone(fixed: bool) -> None:
    """Oracle: by construction: a wall 5 mm from the pump, 10 asked; the lug it is bolted to is on the same side."""
    pump = part("pump", Box((40, 40, 40)), bolted_to=("lug",))
    lug = part("lug", Box((10, 10, 10)), at=(25, 0, 0), fixed=fixed)
    wall = part("wall", Box((10, 900, 900)), at=(30, 0, 0), fixed=True)
    rules = ruled(Rule(("lug", "wall"), -1000.0, lower=True, why="one casting"))
    finding = next(f for f in bay(pump, lug, wall, clearances=rules).check().findings if "pump" in f.subjects)
    if fixed:
        assert finding.move is None
        assert "forward undoes its joint with lug, which is fixed" in finding.no_move
    else:
        assert finding.move is not None
        assert finding.move.text == "move pump 5 mm forward (clears every neighbour; undoes its joint with lug)"


@pytest.mark.parametrize("at, undoes", [(-20, "; undoes its joint with box"), (-50, "")])
def test_a_move_that_pulls_a_part_out_of_another_says_so(at: float, undoes: str) -> None:
    """Oracle: by construction: 5 mm down clears the lid; the box holds the top 3 mm of an end, or is far."""
    shaft = part("shaft", Box((40, 10, 10)), goes_into=("box",))
    box = part("box", Box((6, 40, 4)), at=(at, 0, 4), fixed=True)
    lid = part("lid", Box((900, 900, 10)), at=(0, 0, 15), fixed=True)
    finding = next(f for f in bay(shaft, box, lid).check().findings if set(f.subjects) == {"shaft", "lid"})
    assert finding.move is not None
    assert finding.move.text == f"move shaft 5 mm down (clears every neighbour{undoes})"


def test_a_part_is_not_told_to_sink_into_what_it_is_bolted_to() -> None:
    """Oracle: by construction: the tank stands on a shelf, a lid 5 mm over it asks 10: down is shut."""
    tank = part("tank", Box((40, 40, 40)), bolted_to=("shelf",))
    shelf = part("shelf", Box((900, 900, 10)), at=(0, 0, -25))
    lid = part("lid", Box((900, 900, 10)), at=(0, 0, 30), fixed=True)
    finding = next(f for f in bay(tank, shelf, lid).check().findings if set(f.subjects) == {"tank", "lid"})
    assert finding.move is None
    assert "down is blocked by shelf" in finding.no_move


def test_an_overlap_where_nothing_is_asked_but_that_gets_a_real_move() -> None:
    """Oracle: closed form: room for a hand asks 0 mm; a cube sunk 3 mm into it comes out by 3."""
    hand = part("hand", Box((90, 90, 90)), fixed=True)
    cube = part("cube", Box((10, 10, 10)), at=(47, 0, 0))
    (finding,) = bay(hand, cube, clearances=Clearances(default=0.0, use="none")).check().findings
    assert finding.move is not None
    assert finding.move.by == pytest.approx([3, 0, 0])


def test_a_part_that_sticks_out_of_a_lid_is_not_led_out_through_it() -> None:
    """Oracle: by construction. The top of the tank is 15 mm over a thin lid: up is the shorter way out by far."""
    tank = part("tank", Box((60, 60, 80)), at=(0, 0, -20))
    lid = part("lid", Box((900, 900, 2)), at=(0, 0, 5), fixed=True)
    (finding,) = bay(tank, lid, clearances=ruled(default=1.0)).check().findings
    assert finding.move is not None
    assert finding.move.by == pytest.approx([0, 0, -17])


@pytest.mark.parametrize("below", [60.0, 70.0, 77.3])
@pytest.mark.parametrize("round_starter", [False, True])
def test_a_part_is_not_moved_down_through_a_thin_tray(below: float, round_starter: bool) -> None:
    """Oracle: by construction: between block and wall the way out is down, through 1.5 mm of sheet, or far up."""
    shape = Tube(80, 20, 180) if round_starter else Box((180, 80, 80))
    it = part("it", shape, at=(0, -160, below + 110), turn=(0, 90, 0) if round_starter else (0, 0, 0))
    solids = {"tray": ((1000, 860, 1.5), 0), "block": ((540, 230, 300), below), "wall": ((540, 10, 300), below)}
    aside = {"tray": 0.0, "block": 0.0, "wall": -220.0}
    fixed = [
        part(name, Box(size), at=(0, aside[name], low + size[2] / 2), fixed=True)
        for name, (size, low) in solids.items()
    ]
    rules = ruled(Rule(("block", "it"), must=20.0), default=5.0)
    finding = next(f for f in bay(it, *fixed, clearances=rules).check().findings if f.verdict is Verdict.FAIL)
    assert finding.move is not None
    assert finding.move.by[2] > 0


def test_a_part_is_not_moved_with_what_clashes_with_it() -> None:
    """Oracle: by construction: the strap hangs on the battery, so that moving the battery moves both."""
    battery = part("battery", Box((100, 60, 80)))
    strap = part("strap", Box((20, 80, 4)), at=(0, 0, 39), parent="battery", fixed=True)
    (finding,) = bay(battery, strap).check().findings
    assert finding.move is None
    assert finding.no_move == "neither may be moved"


def test_a_panel_is_left_where_it_is_while_something_else_can_move() -> None:
    """Oracle: common practice: a tank is moved, not the tube of the frame beside it, though that is smaller."""
    tank = part("tank", Box((200, 200, 200)))
    tube = part("tube", Box((20, 20, 20)), at=(115, 0, 0), kinds=("structure",))
    (finding,) = bay(tank, tube, clearances=ruled(default=10.0)).check().findings
    assert finding.move is not None and finding.move.part == "tank"


def test_moves_in_inch_scenes_are_in_sixteenths() -> None:
    """Oracle: closed form. A gap of 6 mm against 10 is 4 mm short; rounded up to sixteenths 3/16 in = 4.7625 mm."""
    tank = part("tank", Box((50, 50, 50)))
    wall = part("wall", Box((10, 500, 500)), at=(36, 0, 0), fixed=True)
    (finding,) = bay(tank, wall, units="in").check().findings
    assert finding.move is not None
    assert finding.move.by[0] == pytest.approx(-4.7625)
    assert "3/16 in forward" in finding.move.text


def test_the_march_steps_over_no_place_that_would_do() -> None:
    """Oracle: brute force, every 0.25 mm along the same direction."""
    crowd = assemble(random_crowd(3))
    checked = Bay(crowd)
    name = next(f.subjects[0] for f in checked.check(moves=False).findings if f.verdict is Verdict.FAIL)
    around = Neighbours(crowd, checked.session, name)
    way = np.array([0.0, 0.0, 1.0])
    found = first_clear(around, way, MOVE_REACH)
    tried = [length for length in np.arange(0, MOVE_REACH, 0.25) if around.shortfall(way * length) is None]
    assert (found is None) == (not tried) or (found is not None and found <= MOVE_REACH)
    if tried and found is not None:
        assert found <= tried[0] * 1.02 + 0.3


@pytest.mark.parametrize("seed", range(6))
def test_nowhere_within_what_is_still_to_go_would_do(seed: int) -> None:
    """Oracle: brute force, at eight places within each; all kinds of parts, within 2 mm each, many overlap."""
    crowd = random_crowd(seed, side=200)
    parts = {name: replace(it, tolerance=(2.0,) * 3) for name, it in crowd.parts.items()}
    checked, seen = Bay(assemble(replace(crowd, parts=parts))), 0
    for name, way in zip(list(parts)[:6], [*np.eye(3), *-np.eye(3)], strict=True):
        around = Neighbours(checked.assembly, checked.session, name)
        for gone in (0.0, 11.0, 37.0):
            short = around.shortfall(way * gone, way)
            if short is None or not 0.1 < short.to_go < np.inf:
                continue
            seen += 1
            pair = (short.member, short.other)
            places = gone + short.to_go * np.linspace(0.02, 0.98, 8)
            assert all(around.shortfall(way * place, pair=pair) is not None for place in places)
    assert seen > 5


def test_the_scene_without_faults_seeks_no_moves() -> None:
    report = bay(part("a", Box((10, 10, 10))), part("b", Box((10, 10, 10)), at=(100, 0, 0))).check()
    assert report.verdict is Verdict.PASS
    assert not [finding for finding in report.findings if finding.move or finding.no_move]


def test_a_scene_of_one_part_is_not_a_pass() -> None:
    """Zero pairs is not a pass."""
    assert bay(part("a", Box((10, 10, 10)))).check().verdict is Verdict.NOT_CHECKED
    assert Bay(assemble(scene())).check().verdict is Verdict.NOT_CHECKED


def test_what_falls_short_in_motion_alone_says_why_no_move_is_sought(tmp_path: Path) -> None:
    """Oracle: by head: a slide of 30 mm takes a cube 10 mm into another that stands 20 off; at rest all is kept."""
    path = tmp_path / "scene.yaml"
    path.write_text(
        "packcheck: 1\nparts:\n  rod: {box: [20, 20, 20]}\n  tank: {box: [20, 20, 20], at: [40, 0, 0]}\n"
        "motions: {slides: {carries: [rod], travel: {by: x, from: 0, to: 30}}}\n",
        encoding="utf-8",
    )
    (finding,) = [one for one in packcheck.load(path).check().findings if one.study == "moving"]
    assert finding.word == "clash"
    assert finding.move is None
    assert finding.no_move.startswith("not sought: a move mends what falls short at rest")
