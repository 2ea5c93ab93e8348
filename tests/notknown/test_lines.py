"""Lines of motions that are no surer than their frames: what that adds is never less than what can happen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import hypot, sin

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packcheck.arrays import Floats, Points
from packcheck.assembly.assembly import Assembly, assemble
from packcheck.frames import Pose, rotation_of
from packcheck.kinematics.joints import carried
from packcheck.kinematics.motions import Drive
from packcheck.moving.moving_pairs import MovingPair, doubt_of, moving_pairs
from packcheck.proximity import Session
from packcheck.scene.model.motion import FullTurn, Hinge, Motion, Movement, Rock, Stop, Travel
from packcheck.scene.model.motion import Path as MotionPath
from packcheck.scene.model.scene import Box, Clearances, Frame, Part, Scene, SolidSpec
from packcheck.scene.model.survey import Uncertainty
from packcheck.studies import moving

seeds = st.integers(0, 2**32 - 1)
LID = Part("lid", (SolidSpec(Box((400.0, 300.0, 4.0)), ("mid", "mid", "mid")),), at=(200, 0, 100))
PUMP = Part("pump", (SolidSpec(Box((40.0, 40.0, 40.0)), ("mid", "mid", "mid")),), at=(260, 0, 300))
OPENS = Hinge((0, 0, 100), (0, 1, 0), (-60, 0))


def bay(movement: Movement, base: Frame, lid: Part = LID, **more: object) -> Assembly:
    """A lid that a motion given in the frame `base` moves against a pump."""
    motion = Motion("opens", (lid.name,), movement, frame="base", **more)  # type: ignore[arg-type]
    return assemble(
        Scene(
            "scene.yaml",
            frames={"base": base},
            parts={"lid": lid, "pump": PUMP},
            motions={"opens": motion},
            clearances=Clearances(default=1000.0, use="none"),
        )
    )


def ball(tolerance: float) -> Frame:
    return Frame("base", tolerance=(tolerance,) * 3, tolerance_is_ball=True)


def box(x: float, y: float, z: float) -> Frame:
    return Frame("base", tolerance=(x, y, z), tolerance_is_ball=False)


def the_pair(assembly: Assembly) -> MovingPair:
    (pair,) = moving_pairs(assembly)
    return pair


def three(rng: np.random.Generator, most: float) -> tuple[float, float, float]:
    x, y, z = (float(v) for v in rng.uniform(-most, most, 3))
    return x, y, z


def a_movement(rng: np.random.Generator) -> Movement:
    def ends(most: float) -> tuple[float, float]:
        return float(rng.uniform(-most, 0)), float(rng.uniform(0, most))

    way = rng.normal(size=3)
    x, y, z = (float(v) for v in way / np.linalg.norm(way))
    movements: list[Movement] = [
        Hinge(three(rng, 300), (x, y, z), ends(float(rng.choice([5, 60, 200])))),
        FullTurn(three(rng, 300), (x, y, z)),
        Travel((x, y, z), ends(200)),
        Rock(three(rng, 200), (ends(8), ends(60), None), (None, ends(20), ends(50))),
        MotionPath((Stop(), Stop(three(rng, 40)), Stop(three(rng, 60), three(rng, 80))), about=three(rng, 200)),
    ]
    return movements[rng.integers(len(movements))]


def displaced(rng: np.random.Generator, about: Floats, reach: float, tolerance: float) -> Pose:
    """A rigid displacement that carries no point within `reach` of `about` farther than `tolerance`.

    By the triangle inequality: a shift and a turn share it, one of them has all of it, or they are square.
    """
    share = float(rng.choice([0, 1, rng.random()]))
    axis, shift = rng.normal(size=3), rng.normal(size=3)
    if rng.random() < 0.5:
        shift -= (shift @ axis) / (axis @ axis) * axis
    angle = 2 * np.arcsin(min(1.0, tolerance * share / (2 * reach)))
    turn = rotation_of(axis / np.linalg.norm(axis) * angle)
    by = shift / np.linalg.norm(shift) * tolerance * (1 - share)
    return Pose(turn, about + by - turn @ about)


def at_share(drives: Sequence[Drive], shares: Floats) -> Floats:
    """The setting (k,) that lies so far along each range."""
    low, high = (np.array([getattr(drive, end) for drive in drives]) for end in ("low", "high"))
    setting: Floats = np.clip(low + shares * (high - low), low, high)
    return setting


def strayed(assembly: Assembly, error: Pose, setting: Floats, points: Points) -> Floats:
    """How far points (n, 3) of the lid get from where the file has them, the line of its motion displaced."""
    placed_at = assembly.scene.motions["opens"].placed_at
    chain = assembly.motions.chain_at("lid", "opens", setting)
    turned = carried(chain, setting - placed_at)
    wrong = error @ turned @ error.inverse()
    off: Floats = np.linalg.norm(wrong.apply(points) - turned.apply(points), axis=1)
    return off


@settings(max_examples=150, deadline=None)
@given(seeds)
def test_no_displaced_line_leaves_the_part_farther_off_than_is_said(seed: int) -> None:
    """Oracle: brute force: random lines, displaced by all that their tolerance allows, followed exactly."""
    rng = np.random.default_rng(seed)
    tolerance = float(rng.uniform(0.5, 30))
    lid = replace(LID, at=three(rng, 300))
    assembly = bay(a_movement(rng), ball(tolerance), lid)
    doubt, motion = doubt_of(assembly, the_pair(assembly)), assembly.motions
    points = assembly.parts["lid"].pose.apply(
        np.array([(x, y, z) for x in (-200, 200) for y in (-150, 150) for z in (-2, 2)], float)
    )
    about = motion.centre("opens")
    reach = float(np.linalg.norm(points - about, axis=1).max()) + 200
    for _ in range(20):
        error = displaced(rng, about, reach + tolerance, tolerance)
        drives = assembly.motions.drives["opens"]
        share = np.clip(rng.uniform(-0.3, 1.3, len(drives)), 0, 1)
        setting = at_share(drives, share)
        off = strayed(assembly, error, setting, points).max()
        assert off <= doubt.at(setting).most + 1e-6
        assert off <= doubt.most + 1e-6


def at_most(movement: Movement, base: Frame, setting: float) -> float:
    """How far off the lid may be at a setting of its motion, mm."""
    assembly = bay(movement, base)
    return doubt_of(assembly, the_pair(assembly)).at(np.array([setting])).most


def test_a_hinge_shifted_square_to_itself_leaves_the_lid_off_by_the_chord() -> None:
    """Oracle: closed form. Turned by 60 degrees about a line 5 mm off, all of it lands 2 sin(30) 5 = 5 mm off. A
    ball that lets the line lean as well comes to the same, and a little of the second order, 2 t^2 / radius."""
    assert at_most(OPENS, box(0, 0, 5), -60.0) == pytest.approx(5)
    assert 5 <= at_most(OPENS, ball(5), -60.0) <= 5 + 2 * 25 / 150
    error = Pose.of((0, 0, 5), (0, 0, 0))
    assembly = bay(OPENS, ball(5))
    off = strayed(assembly, error, np.array([-60.0]), assembly.parts["lid"].pose.apply(np.zeros((1, 3))))
    assert off == pytest.approx(5)


def test_a_hinge_shifted_along_itself_changes_nothing() -> None:
    """Oracle: geometry."""
    assert at_most(OPENS, box(0, 5, 0), -60.0) == pytest.approx(0, abs=1e-12)


def test_a_whole_turn_about_a_line_that_is_off_leaves_it_off_by_twice_that() -> None:
    """Oracle: closed form: half a turn about a line 5 mm off lands 10 mm off."""
    turn = FullTurn((0, 0, 100), (0, 1, 0))
    assert at_most(turn, box(0, 0, 5), 180.0) == pytest.approx(10)
    assert at_most(turn, ball(5), 180.0) == pytest.approx(10)


def test_travel_in_a_frame_that_is_only_shifted_is_as_sure_as_its_part() -> None:
    """Oracle: geometry: a straight way is the same from anywhere. One that may lean by t over a reach of r strays
    by about t s / r at s from where it begins, and the lid reaches no farther than half its diagonal."""
    slide = Travel((0, 0, 1), (0.0, 80.0))
    assert at_most(slide, box(4, 5, 6), 80.0) == pytest.approx(0, abs=1e-12)
    assert at_most(slide, ball(5), 80.0) >= 5 * 80 / hypot(200, 150, 2)
    assert at_most(slide, ball(5), 80.0) <= 10


def test_what_hangs_on_the_frame_of_its_line_goes_along_with_it() -> None:
    """Oracle: geometry: lid and hinge are off together."""
    assembly = bay(OPENS, ball(5), replace(LID, parent="base"))
    assert doubt_of(assembly, the_pair(assembly)).most == pytest.approx(5)


def test_a_lid_measured_open_swings_from_there() -> None:
    """Oracle: closed form: placed at -60 it turns by 60 degrees to be shut; placed at -30 by 30 either way."""
    assembly = bay(replace(OPENS, range=(-60.0, 0.0)), box(0, 0, 5), placed_at=-60.0)
    (pair,) = moving_pairs(assembly)
    doubt = doubt_of(assembly, pair)
    assert doubt.at(np.zeros(1)).most == pytest.approx(5)
    assert doubt.at(np.array([-60.0])).most == pytest.approx(0, abs=1e-12)
    half = bay(replace(OPENS, range=(-60.0, 0.0)), box(0, 0, 5), placed_at=-30.0)
    for setting in (-60.0, 0.0):
        expected = 2 * sin(np.radians(15)) * 5
        assert doubt_of(half, the_pair(half)).at(np.array([setting])).most == pytest.approx(expected)


@settings(max_examples=25, deadline=None)
@given(seeds)
def test_likely_lines_spread_no_farther_than_is_said(seed: int) -> None:
    """Oracle: a second method: 400 draws of the frame, each followed exactly; their spread is known to 3.5 %."""
    rng = np.random.default_rng(seed)
    shift, turn = (tuple(float(v) for v in rng.uniform(0, most, 3)) for most in (3.0, 0.3))
    base = Frame("base", at=(20, 30, 40), uncertainty=Uncertainty(shift, turn))  # type: ignore[arg-type]
    assembly = bay(a_movement(rng), base)
    doubt = doubt_of(assembly, the_pair(assembly))
    points = assembly.parts["lid"].pose.apply(np.array([(-200, -150, 0), (200, 150, 0)], float))
    drives = assembly.motions.drives["opens"]
    zero = assembly.poses["base"].translation
    for share in rng.choice([0.0, 0.5, 1.0], (3, len(drives))):
        setting = at_share(drives, share)
        there = doubt.at(setting)
        lid_alone = (
            there if there.sides is None else replace(there, sides=(there.sides[0], there.sides[0]), curved=0.0)
        )
        said = lid_alone.most / (there.z or 1.0)
        turned = carried(assembly.motions.chain_at("lid", "opens", setting), setting)
        off = []
        for _ in range(400):
            turned_by = rotation_of(np.radians(turn) * rng.normal(size=3))
            error = Pose(turned_by, zero - turned_by @ zero + np.array(shift) * rng.normal(size=3))
            off.append((error @ turned @ error.inverse()).apply(points) - turned.apply(points))
        spread = np.sqrt([np.linalg.eigvalsh(np.cov(at.T))[-1] for at in np.array(off).swapaxes(0, 1)])
        assert spread.max() <= 1.12 * said + 1e-9


def test_every_gap_over_the_motion_of_a_displaced_hinge_is_within_the_finding() -> None:
    """Oracle: brute force: the same scene, its hinge frame moved to the ends of its tolerance, searched anew."""
    assembly = bay(OPENS, box(4.0, 4.0, 4.0))
    (finding,) = moving.run(assembly, Session()).findings
    assert finding.low is not None and finding.high is not None
    for x, z in ((-4, -4), (-4, 4), (4, -4), (4, 4), (0, 0)):
        (true,) = moving.run(bay(OPENS, Frame("base", at=(x, 0, z))), Session()).findings
        assert true.value is not None
        assert finding.low - 0.06 <= true.value <= finding.high + 0.06
