"""Motions of a scene: what rocks turns as matrices do; what is stacked, acts together, or was measured open."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packcheck.arrays import Floats
from packcheck.assembly.assembly import Assembly, assemble
from packcheck.frames import turn_matrix
from packcheck.kinematics.joints import carried
from packcheck.moving.motion_table import motion_bound
from packcheck.moving.moving_pairs import MovingPair, Sweeps, moving_pairs
from packcheck.scene import load_scene
from packcheck.scene.model.motion import FullTurn, Hinge, Motion, Rock, Stop, Travel
from packcheck.scene.model.motion import Path as MotionPath
from packcheck.scene.model.scene import Box, Frame, Part, Scene, SolidSpec

VALID = Path(__file__).parents[1] / "scene" / "valid" / "motions.yaml"
seeds = st.integers(0, 2**32 - 1)
CUBE = (SolidSpec(Box((20.0, 30.0, 40.0)), ("mid", "mid", "mid")),)


def built(parts: list[Part], motions: list[Motion], frames: list[Frame] | None = None) -> Assembly:
    return assemble(
        Scene(
            "scene.yaml",
            frames={frame.name: frame for frame in frames or []},
            parts={part.name: part for part in parts},
            motions={motion.name: motion for motion in motions},
        )
    )


def cube(name: str, parent: str = "car", **more: Any) -> Part:
    return Part(name, CUBE, parent=parent, **more)


def place(assembly: Assembly, part: str, motions: tuple[str, ...], setting: list[float]) -> tuple[Floats, Floats]:
    """Where a part's zero goes, and how its axes turn, by the assembly's own joints."""
    drives = tuple(drive for name in motions for drive in assembly.motions.drives[name])
    at = np.array(setting)
    for cell, piece in assembly.motions.roots(drives):
        if (at >= cell.low).all() and (at <= cell.high).all():
            pose = carried(assembly.motions.chain(part, motions, drives, piece), at) @ assembly.poses[part]
            return pose.translation, pose.rotation
    raise AssertionError("no root holds the setting")


def matrix(rotation: Floats, translation: Floats) -> Floats:
    made = np.eye(4)
    made[:3, :3], made[:3, 3] = rotation, translation
    return made


def rotation(axis: int, degrees: float) -> Floats:
    """A turn about one axis, written out."""
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return {
        0: np.array([[1, 0, 0], [0, c, -s], [0, s, c]]),
        1: np.array([[c, 0, s], [0, 1, 0], [-s, 0, c]]),
        2: np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]]),
    }[axis]


@given(seeds)
@settings(deadline=None, max_examples=40)
def test_a_rock_turns_about_x_then_y_then_z_of_its_frame_and_then_shifts(seed: int) -> None:
    """Oracle: second method. 4 by 4 matrices: into the frame, to the point, turned, back, shifted, out again."""
    rng = np.random.default_rng(seed)
    about, at, turn = rng.uniform(-300, 300, 3), rng.uniform(-300, 300, 3), rng.uniform(-180, 180, 3)
    degrees, shift = rng.uniform(-20, 20, 3), rng.uniform(-9, 9, 3)
    span = (-20.0, 20.0)
    rock = Rock(tuple(about), (span, span, span), (span, span, span))
    frame = Frame("mounts", at=tuple(at), turn=tuple(turn))
    part = cube("block", "mounts", at=tuple(rng.uniform(-200, 200, 3)), turn=tuple(rng.uniform(-90, 90, 3)))
    assembly = built([part], [Motion("rocks", ("mounts",), rock, "mounts")], [frame])
    zero, axes = place(assembly, "block", ("rocks",), [*degrees, *shift])
    outer = matrix(turn_matrix(turn), at)
    turned = matrix(rotation(2, degrees[2]) @ rotation(1, degrees[1]) @ rotation(0, degrees[0]), np.zeros(3))
    there = matrix(np.eye(3), shift + about) @ turned @ matrix(np.eye(3), -about)
    expected = outer @ there @ matrix(turn_matrix(part.turn), np.array(part.at))
    assert zero == pytest.approx(expected[:3, 3], abs=1e-9)
    assert axes == pytest.approx(expected[:3, :3], abs=1e-12)


def test_a_lever_on_a_rocking_engine_rocks_and_swings() -> None:
    """Oracle: by hand. The lever's zero is 50 mm up; swung by 90 degrees about y it points along x; the
    engine then rolls by 90 degrees about z, and the lever points along y."""
    frames = [Frame("engine_frame")]
    parts = [cube("block", "engine_frame"), cube("lever", "block", at=(0, 0, 50))]
    rock = Rock((0, 0, 0), (None, None, (-90, 90)), (None, None, None))
    motions = [
        Motion("swings", ("lever",), Hinge((0, 0, 0), (0, 1, 0), (0, 90)), "block"),
        Motion("rolls", ("engine_frame",), rock, "engine_frame"),
    ]
    assembly = built(parts, motions, frames)
    assert assembly.motions.carrying("lever") == ("rolls", "swings")
    zero, _ = place(assembly, "lever", ("rolls", "swings"), [90, 90])
    assert zero == pytest.approx([0, 50, 0])
    (pair,) = moving_pairs(assembly)
    assert (pair.motions_a, pair.motions_b) == ((), ("swings",))  # the engine carries both


def test_a_travel_goes_along_the_axes_of_its_frame() -> None:
    """Oracle: by hand. A frame turned by 90 degrees about z has its x along the car's y."""
    frame = Frame("rail", turn=(0, 0, 90))
    assembly = built([cube("tray")], [Motion("out", ("tray",), Travel((1, 0, 0), (0, 80)), "rail")], [frame])
    zero, _ = place(assembly, "tray", ("out",), [80])
    assert zero == pytest.approx([0, 80, 0])


PATH = MotionPath(
    (Stop(), Stop((0, 12, 0)), Stop((0, 12, 0), (0, 0, 60)), Stop((5, 12, 9), (0, 0, 90))), (30, 0, 0)
)


@pytest.mark.parametrize(
    ("stop", "zero", "degrees"),
    [
        (1, [0, 0, 0], 0),
        (1.5, [0, 6, 0], 0),
        (2, [0, 12, 0], 0),
        (2.5, [30 - 30 * np.cos(np.pi / 6), 12 - 15, 0], 30),
        (3, [15, 12 - 30 * np.sin(np.pi / 3), 0], 60),
        (3.5, [30 + 2.5 - 30 * np.cos(np.radians(75)), 12 - 30 * np.sin(np.radians(75)), 4.5], 75),
        (4, [35, -18, 9], 90),
    ],
)
def test_a_path_is_straight_and_turns_evenly_between_its_stops(
    stop: float, zero: list[float], degrees: float
) -> None:
    """Oracle: by hand. The part's zero is 30 mm left of the point it turns about, on a circle round it."""
    assembly = built([cube("latch")], [Motion("throw", ("latch",), PATH)])
    there, axes = place(assembly, "latch", ("throw",), [stop])
    assert there == pytest.approx(zero, abs=1e-9)
    assert axes == pytest.approx(rotation(2, degrees), abs=1e-9)


@given(seeds)
@settings(deadline=None, max_examples=30)
def test_a_path_is_whole_where_its_pieces_meet_and_holds_its_stops(seed: int) -> None:
    """Oracle: second method. At each stop, the pose that its own offset and turn give."""
    rng = np.random.default_rng(seed)
    stops = tuple(Stop(tuple(rng.uniform(-40, 40, 3)), tuple(rng.uniform(-28, 28, 3))) for _ in range(4))
    about = rng.uniform(-90, 90, 3)
    frame = Frame("base", at=tuple(rng.uniform(-90, 90, 3)), turn=tuple(rng.uniform(-90, 90, 3)))
    assembly = built(
        [cube("latch", "base")], [Motion("throw", ("latch",), MotionPath(stops, tuple(about)), "base")], [frame]
    )
    base = assembly.poses["base"]
    for k, stop in enumerate(stops, start=1):
        expected = base.apply(about + np.array(stop.at) + turn_matrix(stop.turn) @ -about)
        for beside in (k - 1e-9, float(k), k + 1e-9):
            zero, _ = place(assembly, "latch", ("throw",), [min(max(beside, 1.0), 4.0)])
            assert zero == pytest.approx(expected, abs=1e-5)


def test_parts_measured_open_stand_shut_at_rest_with_all_that_hangs_on_them() -> None:
    """Oracle: by hand. Drawn 90 degrees open about y, the lid at (0, 0, 100) came from (-100, 0, 0) shut; the
    lamp 10 mm further out along the lid came from (-110, 0, 0)."""
    lid = cube("lid", at=(0, 0, 100), turn=(0, 90, 0))
    lamp = cube("lamp", "lid", at=(-10, 0, 0))
    hinge = Motion("opens", ("lid",), Hinge((0, 0, 0), (0, 1, 0), (0, 90)), placed_at=90)
    assembly = built([lid, lamp], [hinge])
    assert assembly.poses["lid"].translation == pytest.approx([-100, 0, 0], abs=1e-9)
    assert assembly.poses["lamp"].translation == pytest.approx([-110, 0, 0], abs=1e-9)
    assert assembly.poses["lid"].rotation == pytest.approx(np.eye(3), abs=1e-9)
    assert place(assembly, "lid", ("opens",), [90])[0] == pytest.approx([0, 0, 100], abs=1e-9)
    assert assembly.boxes[0] == pytest.approx(np.array([[-110, -15, -20], [-90, 15, 20]]))


def test_a_hinge_on_what_was_measured_open_goes_along_when_that_is_shut() -> None:
    """Oracle: by hand. The flap hangs on the lid, its line at the lid's end: shut, that line lies at x = -100."""
    lid = cube("lid", at=(0, 0, 100), turn=(0, 90, 0))
    flap = cube("flap", "lid", at=(-20, 0, 0))
    motions = [
        Motion("opens", ("lid",), Hinge((0, 0, 0), (0, 1, 0), (0, 90)), placed_at=90),
        Motion("folds", ("flap",), Hinge((0, 0, 100), (0, 1, 0), (0, 90))),
    ]
    assembly = built([lid, flap], motions)
    assert place(assembly, "flap", ("opens", "folds"), [0, 0])[0] == pytest.approx([-120, 0, 0], abs=1e-9)
    assert place(assembly, "flap", ("opens", "folds"), [0, 90])[0] == pytest.approx([-100, 0, 20], abs=1e-9)


def pairs(assembly: Assembly) -> dict[tuple[str, str], list[tuple[str, ...]]]:
    told: dict[tuple[str, str], list[tuple[str, ...]]] = {}
    for pair in moving_pairs(assembly):
        told.setdefault((pair.a, pair.b), []).append(pair.motions)
    return told


def test_motions_of_one_state_act_together_and_those_of_the_other_stand_still() -> None:
    """Oracle: by hand, from the words of the grammar."""
    up = Travel((0, 0, 1), (0, 10))
    motions = [
        Motion("lid_opens", ("lid",), up, during="service"),
        Motion("engine_rocks", ("engine",), up),
        Motion("wheel_bumps", ("wheel",), up),
        Motion("fan_spins", ("fan",), FullTurn((0, 0, 0), (1, 0, 0)), together=False),
    ]
    names = ("lid", "engine", "wheel", "fan", "frame")
    told = pairs(built([cube(name) for name in names], motions))
    assert told["engine", "wheel"] == [("engine_rocks", "wheel_bumps")]
    assert told["lid", "engine"] == [("lid_opens",), ("engine_rocks",)]
    assert told["engine", "fan"] == [("engine_rocks",), ("fan_spins",)]
    assert told["wheel", "frame"] == [("wheel_bumps",)]
    assert ("lid", "frame") in told
    assert len(told) == 10


def test_a_motion_that_carries_both_parts_is_no_motion_between_them() -> None:
    lift = Motion("lifts", ("a", "b"), Travel((0, 0, 1), (0, 10)))
    assert pairs(built([cube("a"), cube("b"), cube("c")], [lift])).keys() == {("a", "c"), ("b", "c")}


def corners(assembly: Assembly, part: str) -> Floats:
    return np.asarray(assembly.parts[part].solids[0].vertices)


@pytest.mark.parametrize("name", ["deck_opens", "engine_rock", "throttle", "wheel_bump", "fan_spin", "latch_throw"])
def test_no_point_goes_farther_from_rest_than_the_motion_bound(name: str) -> None:
    """Oracle: brute force. 400 settings of every kind of motion, all corners; and the bound is not far off."""
    assembly = assemble(load_scene(VALID))
    rng = np.random.default_rng(1)
    drives = assembly.motions.drives[name]
    for part in assembly.parts:
        if name not in assembly.motions.carrying(part):
            continue
        bound, farthest = motion_bound(assembly, name, part), 0.0
        rest = assembly.poses[part].apply(corners(assembly, part))
        for _ in range(400):
            setting = [float(rng.choice([d.low, d.high, rng.uniform(d.low, d.high)])) for d in drives]
            zero, axes = place(assembly, part, (name,), setting)
            gone = np.linalg.norm(corners(assembly, part) @ axes.T + zero - rest, axis=1)
            farthest = max(farthest, float(gone.max()))
        assert farthest <= bound + 1e-6
        assert bound <= 1.3 * farthest + 1


def test_a_swept_box_holds_the_part_at_every_setting() -> None:
    """Oracle: brute force. 100 settings of every moving pair: the boxes of both stay within what was swept."""
    assembly = assemble(load_scene(VALID))
    sweeps = Sweeps(assembly)
    rng = np.random.default_rng(2)
    for pair in moving_pairs(assembly):
        for part, motions in ((pair.a, pair.motions_a), (pair.b, pair.motions_b)):
            if motions:
                swept = sweeps._box(part, motions)
                _held(assembly, pair, part, motions, swept, rng)


def _held(
    assembly: Assembly,
    pair: MovingPair,
    part: str,
    motions: tuple[str, ...],
    swept: Floats,
    rng: np.random.Generator,
) -> None:
    drives = tuple(drive for name in motions for drive in assembly.motions.drives[name])
    for _ in range(20):
        setting = [float(rng.choice([d.low, d.high, rng.uniform(d.low, d.high)])) for d in drives]
        zero, axes = place(assembly, part, motions, setting)
        points = corners(assembly, part) @ axes.T + zero
        assert (points >= swept[0] - 1e-6).all(), pair
        assert (points <= swept[1] + 1e-6).all(), pair
