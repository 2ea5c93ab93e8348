"""The gap of two parts over a motion: against closed forms, against dense sampling, and each bound on its own."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packcheck.arrays import Floats, frozen
from packcheck.frames import Pose
from packcheck.kinematics.joints import Chain, Joint
from packcheck.moving.moved_pair import MovedPair
from packcheck.proximity import Placed, Session
from packcheck.scene.model.scene import Box, Cylinder, Shape, Sphere
from packcheck.search import Answer, Cell, Outcome, Probe, Sample, decide, least, stretches
from packcheck.solids.primitives import build_shape
from tests.assembly.moving_shapes import DEGREE, a_cell, a_chain, a_part, a_tube, settings_in

seeds = st.integers(0, 2**32 - 1)


def part(shape: Shape, at: tuple[float, ...] = (0, 0, 0), turn: tuple[float, ...] = (0, 0, 0)) -> Placed:
    return Placed(type(shape).__name__, build_shape(shape), Pose.of(at, turn))


def hinge(point: tuple[float, ...], axis: tuple[float, ...], drive: int = 0) -> Joint:
    return Joint(drive, frozen(axis), DEGREE, frozen(point))


def slide(axis: tuple[float, ...], drive: int = 0) -> Joint:
    return Joint(drive, frozen(axis), 1.0)


def moved(a: Placed, b: Placed, cell: Cell, chain_a: Chain, chain_b: Chain = ()) -> MovedPair:
    return MovedPair(Session(), a, b, ((cell, chain_a, chain_b),))


def found(pair: MovedPair, budget: int = 3000) -> Outcome:
    outcome = least(pair.problem(), budget=budget)
    assert outcome.low <= outcome.high
    return outcome


def test_a_bar_swings_past_a_point() -> None:
    """Oracle: closed form. A bar 400 mm long and 20 wide, hinged at one end, and a ball of 20 mm 440 mm off.

    Nothing of the bar is farther from the hinge than a corner of its end, hypot(400, 10). That corner points at the
    ball somewhere on the way, so the least gap is 440 - 10 - hypot(400, 10), at 40 degrees plus or minus
    atan(10 / 400).
    """
    at = (440 * math.cos(40 * DEGREE), 440 * math.sin(40 * DEGREE), 0.0)
    pair = moved(
        part(Box((400, 20, 20)), (200, 0, 0)),
        part(Sphere(20), at),
        Cell.of([0], [90]),
        (hinge((0, 0, 0), (0, 0, 1)),),
    )
    outcome = found(pair)
    assert outcome.answer is Answer.FOUND
    assert outcome.low <= 430 - math.hypot(400, 10) <= outcome.high <= outcome.low + 0.0501
    assert min(abs(outcome.at[0] - 40 - side * math.degrees(math.atan(10 / 400))) for side in (-1, 1)) < 0.8


def test_a_box_on_a_hinge_comes_down_on_a_sphere() -> None:
    """Oracle: closed form. A lid 500 mm long, hinged along y at its lower rear edge, shuts from 50 degrees.

    A ball of radius 40 has its middle 300 mm before the hinge and 100 below the shut lid's underside. With the
    lid t open, the middle is 300 sin(t) + 100 cos(t) under its underside, and the foot lies on the lid. That
    grows with t up to 71 degrees, where 300 cos(t) = 100 sin(t). So the least gap is the shut lid's, 100 - 40.
    """
    lid = part(Box((500, 300, 6)), (-250, 0, 3))
    ball = part(Sphere(80), (-300, 0, -100))
    outcome = found(moved(lid, ball, Cell.of([0], [50]), (hinge((0, 0, 0), (0, 1, 0)),)))
    assert outcome.low <= 60 <= outcome.high + 1e-9
    assert outcome.high - outcome.low <= 0.0501
    assert outcome.at[0] == pytest.approx(0, abs=0.01)


def test_a_cylinder_rocks_beside_a_wall() -> None:
    """Oracle: closed form. A cylinder of radius 40, 300 high, on a point; a wall at x = 55; it turns by u <= 3 deg
    about x, then by t <= 1.5 deg about y, then shifts along the wall.

    Its axis points along (sin t cos u, -sin u, cos t cos u) then, so that its top disc reaches out to
    x = 300 sin t cos u + 40 sqrt(1 - (sin t cos u)^2). With s = sin t cos u that is 300 s + 40 sqrt(1 - s^2), which
    grows with s while s < 0.99: the most is at u = 0 and t = 1.5 deg.
    """
    chain = (slide((0, 0, 1), 2), hinge((0, 0, -150), (0, 1, 0), 1), hinge((0, 0, -150), (1, 0, 0), 0))
    wall = part(Box((10, 900, 900)), (60, 0, 0))
    outcome = found(moved(part(Cylinder(80, 300)), wall, Cell.of([-3, -1.5, -6], [3, 1.5, 4]), chain))
    expected = 55 - 300 * math.sin(1.5 * DEGREE) - 40 * math.cos(1.5 * DEGREE)
    assert outcome.low <= expected + 0.0005
    assert outcome.high >= expected - 0.0005
    assert outcome.high - outcome.low <= 0.051


def test_two_balls_on_crossing_slides_pass_at_a_known_distance() -> None:
    """Oracle: closed form. Middles at (s, 0, 0) and (0, t, 90) are sqrt(s^2 + t^2 + 90^2) apart, at least 90."""
    a, b = part(Sphere(30)), part(Sphere(50), (0, 0, 90))
    outcome = found(moved(a, b, Cell.of([-70, -40], [50, 90]), (slide((1, 0, 0), 0),), (slide((0, 1, 0), 1),)))
    assert outcome.low <= 90 - 15 - 25 <= outcome.high <= outcome.low + 0.0501


def test_a_ball_carried_round_by_two_hinges_reaches_as_far_as_the_arms_together() -> None:
    """Oracle: closed form. Arms of 200 and 100 mm, straight when both angles are 0: the ball's middle gets 300 mm
    from the first hinge, and no farther; a post stands 380 mm off, straight ahead."""
    ball = part(Sphere(20), (300, 0, 0))
    chain = (hinge((0, 0, 0), (0, 0, 1), 0), hinge((200, 0, 0), (0, 0, 1), 1))
    post = part(Sphere(40), (380, 0, 0))
    outcome = found(moved(ball, post, Cell.of([-90, -150], [80, 120]), chain))
    assert outcome.low <= 380 - 300 - 10 - 20 <= outcome.high <= outcome.low + 0.0501


def test_convex_parts_that_overlap_on_the_way_have_the_depth_of_the_deepest_setting() -> None:
    """Oracle: closed form. A box of 40 slides over one of 60: full on, the shortest way out is (40 + 60) / 2."""
    pair = moved(part(Box((40, 300, 300))), part(Box((60, 400, 400))), Cell.of([-90], [70]), (slide((1, 0, 0)),))
    outcome = found(pair)
    assert outcome.low <= -50 <= outcome.high <= outcome.low + 0.0501


def test_the_part_of_the_way_that_clashes_is_told() -> None:
    """Oracle: closed form. The boxes of the last test overlap while |x| < 50."""
    pair = moved(part(Box((40, 300, 300))), part(Box((60, 400, 400))), Cell.of([-90], [70]), (slide((1, 0, 0)),))
    told = stretches(pair.problem(), 0.0, 0.01)
    below = [stretch for stretch in told if stretch.answer is Answer.BELOW]
    above = [stretch for stretch in told if stretch.answer is Answer.ABOVE]
    assert len(below) == 1
    assert (below[0].start, below[0].end) == pytest.approx((-50, 50), abs=0.02)
    assert above[0].end <= -50 <= below[0].start
    assert below[0].end <= 50 <= above[-1].start


@given(seeds)
@settings(max_examples=40, deadline=None)
def test_a_fin_of_a_fifth_of_a_millimetre_is_never_missed(seed: int) -> None:
    """Oracle: closed form. A blade sweeps 120 degrees and crosses a fin 0.2 mm thick that stands at a random angle
    within reach: they meet wherever it stands."""
    rng = np.random.default_rng(seed)
    angle = float(rng.uniform(5, 115))
    middle = (200 * math.cos(angle * DEGREE), 200 * math.sin(angle * DEGREE), 0.0)
    fin = part(Box((30, 0.2, 30)), middle, (0, 0, angle))
    blade = part(Box((400, 0.5, 40)), (200, 0, 0))
    pair = moved(blade, fin, Cell.of([0], [120]), (hinge((0, 0, 0), (0, 0, 1)),))
    decided = decide(pair.problem(), 0.5)
    assert decided.answer is Answer.BELOW
    told = stretches(pair.problem(), 0.0, 0.001)
    assert any(s.start - 0.2 <= angle <= s.end + 0.2 for s in told if s.answer is not Answer.ABOVE)
    assert not any(s.start <= angle <= s.end for s in told if s.answer is Answer.ABOVE)


def random_pair(seed: int, *, convex: bool) -> tuple[np.random.Generator, MovedPair, Cell]:
    rng = np.random.default_rng(seed)
    count = int(rng.integers(1, 4))
    first = a_part(rng, "a", None if convex else a_tube(rng), 150)
    second = a_part(rng, "b", None if convex or rng.random() < 0.5 else a_tube(rng), 150)
    cell = a_cell(rng, count, float(rng.choice([2.0, 10.0, 60.0])))
    split = int(rng.integers(0, count + 1))
    chain_a, chain_b = a_chain(rng, list(range(split))), a_chain(rng, list(range(split, count)))
    return rng, moved(first, second, cell, chain_a, chain_b), cell


class Answering:
    """Stands in for a running search that wants as much as can be proven."""

    target = -np.inf

    def __init__(self, pair: MovedPair) -> None:
        self._pair = pair

    def sample(self, setting: Floats, enough: float) -> Sample:  # noqa: ARG002
        return self._pair.gap(setting, np.inf)


@given(seeds)
@settings(max_examples=150, deadline=None)
def test_no_gap_of_convex_parts_in_a_cell_is_below_any_bound(seed: int) -> None:
    """Oracle: brute force. 40 random settings of random cells, overlapping ones too, each bound on its own."""
    rng, pair, cell = random_pair(seed, convex=True)
    problem = pair.problem()
    travel = float(problem.travel(cell).sum())
    centre = pair.gap(cell.centre, np.inf)
    probe = Probe(Answering(pair), cell, centre, travel)
    bounds = [centre.low - travel, *(bound(probe) for bound in problem.bounds)]
    lowest = min(pair.gap(setting, np.inf).high for setting in settings_in(rng, cell, 40))
    assert max(bounds) <= lowest + 1e-6


@given(seeds)
@settings(max_examples=100, deadline=None)
def test_no_gap_of_parts_with_bores_in_a_cell_is_below_a_bound_above_zero(seed: int) -> None:
    """Oracle: brute force. 30 random settings of random cells."""
    rng, pair, cell = random_pair(seed, convex=False)
    problem = pair.problem()
    travel = float(problem.travel(cell).sum())
    centre = pair.gap(cell.centre, np.inf)
    probe = Probe(Answering(pair), cell, centre, travel)
    best = max([centre.low - travel, *(bound(probe) for bound in problem.bounds)])
    lowest = min(pair.gap(setting, np.inf).high for setting in settings_in(rng, cell, 30))
    assert best <= max(lowest, 0.0) + 1e-6


@given(seeds)
@settings(max_examples=40, deadline=None)
def test_the_least_gap_is_never_above_a_sampled_one(seed: int) -> None:
    """Oracle: brute force. 150 random settings of random motions of one to three parameters."""
    rng, pair, cell = random_pair(seed, convex=seed % 3 > 0)
    outcome = least(pair.problem(), budget=400)
    sampled = min(pair.gap(setting, np.inf).high for setting in settings_in(rng, cell, 150))
    if pair.convex or outcome.low > 0:
        assert outcome.low <= sampled + 1e-6
    else:
        assert sampled > 0 or outcome.low <= 0
    if outcome.answer is Answer.FOUND:
        assert sampled >= outcome.high - 0.0501 - 1e-6


@given(seeds)
@settings(max_examples=40, deadline=None)
def test_decisions_agree_with_sampling(seed: int) -> None:
    """Oracle: brute force. 100 random settings; a pair called clear of its limit has none below it."""
    rng, pair, cell = random_pair(seed, convex=seed % 3 > 0)
    limit = float(rng.uniform(0, 30))
    decided = decide(pair.problem(), limit, 400)
    sampled = [pair.gap(setting, np.inf) for setting in settings_in(rng, cell, 100)]
    if decided.answer is Answer.ABOVE:
        assert min(one.high for one in sampled) >= limit
    if decided.answer is Answer.BELOW:
        assert pair.gap(decided.at, np.inf).low < limit
