"""What is only likely, carried to gaps: closed forms, cancelling, drawing."""

from __future__ import annotations

from math import hypot, radians, sqrt

import numpy as np
import pytest

from packcheck.assembly.assembly import Assembly, assemble
from packcheck.findings import Finding, Verdict
from packcheck.proximity import Session
from packcheck.report.text.measured import Measured
from packcheck.scene.model.scene import Box, Clearances, Cylinder, Frame, Rule, Scene, Sphere
from packcheck.scene.model.survey import Uncertainty
from packcheck.studies.drawing import Drawn, drawn_gaps, with_draws
from packcheck.studies.gaps import pair_finding
from packcheck.tolerances import COVERAGE, COVERAGE_ANY
from tests.bays import part, scene

TEN = Clearances(default=10.0, use="none")


def found(made: Scene, a: str = "a", b: str = "b") -> tuple[Assembly, Finding]:
    assembly = assemble(made)
    finding = pair_finding(assembly, Session(), a, b)
    assert finding is not None
    return assembly, finding


def side_by_side(gap: float, **facts: object) -> Scene:
    """Two boxes of 100, `gap` apart along x; `facts` are the second's."""
    return scene(part("a", Box((100, 100, 100))), part("b", Box((100, 100, 100)), at=(100 + gap, 0, 0), **facts))


def test_a_shift_counts_along_the_gap_only() -> None:
    """Oracle: closed form. A standard uncertainty of (2, 5, 7) across a gap along x is 2. The nearest points drift
    apart sideways as well, so that the upper end has the root of chi squared for three numbers, 2.795."""
    _, finding = found(side_by_side(20, uncertainty=Uncertainty((2, 5, 7))))
    z = 2.7954834829151074
    assert finding.standard_uncertainty == pytest.approx(2.0, abs=1e-9)
    assert finding.low == pytest.approx(20 - COVERAGE * 2, abs=1e-6)
    assert finding.high == pytest.approx(sqrt(20**2 + 40 * z * 2 + (z * 7) ** 2), abs=1e-6)


def test_independent_errors_add_as_squares() -> None:
    """Oracle: closed form: 3 and 4 make 5."""
    made = scene(
        part("a", Box((100, 100, 100)), uncertainty=Uncertainty((3, 0, 0))),
        part("b", Sphere(20), at=(80, 0, 0), uncertainty=Uncertainty((4, 0, 0))),
    )
    assert found(made)[1].standard_uncertainty == pytest.approx(5.0, abs=1e-6)


def test_a_turn_counts_by_its_arm() -> None:
    """Oracle: closed form. A ball 300 out on a frame turned about z by a standard 0.5 degrees comes 300 sin 0.5
    nearer to a wall across its path."""
    frames = {"f": Frame("f", uncertainty=Uncertainty((0, 0, 0), (0, 0, 0.5)))}
    made = scene(
        part("a", Sphere(20), parent="f", at=(300, 0, 0)),
        part("b", Box((100, 20, 100)), at=(300, 40, 0)),
        frames=frames,
    )
    assert found(made)[1].standard_uncertainty == pytest.approx(300 * radians(0.5), rel=1e-6)


def test_what_both_hang_on_cancels() -> None:
    """Oracle: the law that a common shift and turn changes no distance."""
    frames = {"f": Frame("f", uncertainty=Uncertainty((9, 9, 9), (5, 5, 5)))}
    made = scene(
        part("a", Box((100, 100, 100)), parent="f"),
        part("b", Box((100, 100, 100)), parent="f", at=(130, 0, 0)),
        frames=frames,
    )
    assert found(made)[1].standard_uncertainty is None


def test_axes_are_those_of_the_parent() -> None:
    """Oracle: closed form. Sure along the parent's y, which lies along the car's x."""
    frames = {"f": Frame("f", turn=(0, 0, -90))}
    made = scene(
        part("a", Box((100, 100, 100))),
        part("b", Sphere(20), parent="f", at=(0, 80, 0), uncertainty=Uncertainty((6, 1, 6))),
        frames=frames,
    )
    assembly, finding = found(made)
    assert assembly.poses["b"].translation == pytest.approx([80, 0, 0])
    assert finding.standard_uncertainty == pytest.approx(1.0, abs=1e-6)


@pytest.mark.parametrize(
    ("gap", "verdict"),
    [(20.0, Verdict.PASS), (11.0, Verdict.UNSURE), (9.0, Verdict.UNSURE), (2.0, Verdict.FAIL)],
)
def test_a_limit_inside_the_band_is_unsure(gap: float, verdict: Verdict) -> None:
    """Oracle: the definition: +- 3.92 mm about the gap, against 10."""
    assert found(side_by_side(gap, uncertainty=Uncertainty((2, 0, 0))))[1].verdict is verdict


@pytest.mark.parametrize("fit", ["encloses", "about"])
@pytest.mark.parametrize("gap", [-20.0, 5.0, 40.0])
def test_of_an_envelope_no_chance_is_stated(gap: float, fit: str) -> None:
    """What is truly in it may leave any room, so that no share of all cars can be told."""
    _, finding = found(side_by_side(gap, uncertainty=Uncertainty((2, 0, 0)), fit=fit))
    assert finding.standard_uncertainty and finding.envelope
    assert finding.chance is None
    assert Measured(finding, "mm").chance() == ""


def test_the_chance_is_the_normal_one() -> None:
    """Oracle: tables of the normal distribution: one deviation under its mean, 15.87 %; at its mean, a half."""
    assert found(side_by_side(12, uncertainty=Uncertainty((2, 0, 0))))[1].chance == pytest.approx(0.1587, abs=1e-4)
    assert found(side_by_side(10, uncertainty=Uncertainty((2, 0, 0))))[1].chance == pytest.approx(0.5, abs=1e-6)


def test_hard_tolerances_are_kept_apart_and_added() -> None:
    """Oracle: closed form. 20 +- 1 hard, +- 3.92 likely: 15.08 to 24.92 in all; the chance is at the worst."""
    facts = {"uncertainty": Uncertainty((2, 0, 0)), "tolerance": (1, 1, 1)}
    _, finding = found(side_by_side(20, **facts))
    assert finding.hard == pytest.approx((19, 21), abs=1e-6)
    assert finding.low == pytest.approx(19 - COVERAGE * 2, abs=1e-6)
    _, near = found(side_by_side(13, **facts))
    assert near.chance == pytest.approx(0.1587, abs=1e-4)


def test_far_parts_are_not_culled_when_they_may_be_near() -> None:
    """Oracle: the definition. 60 mm off with a standard 30 may well be under 10."""
    report = shortfalls(side_by_side(60, uncertainty=Uncertainty((30, 0, 0))))
    assert [finding.verdict for finding in report] == [Verdict.UNSURE]


def shortfalls(made: Scene) -> list[Finding]:
    from packcheck.bay import Bay

    report = Bay(assemble(made)).check(moves=False)
    return [finding for finding in report.findings if finding.verdict is not Verdict.PASS]


def test_moves_leave_room_for_what_is_only_likely() -> None:
    """Oracle: the definition: after the move the low end, band included, meets the limit."""
    from dataclasses import replace

    from packcheck.bay import Bay

    made = side_by_side(11, uncertainty=Uncertainty((2, 0, 0)))
    (finding,) = (f for f in Bay(assemble(made)).check().findings if f.verdict is Verdict.UNSURE)
    assert finding.move is not None
    moved = replace(made.parts[finding.move.part])
    x, y, z = (float(v) for v in np.array(moved.at) + finding.move.by)
    again = replace(made, parts={**made.parts, moved.name: replace(moved, at=(x, y, z))})
    assert found(again)[1].verdict is Verdict.PASS


def test_drawing_agrees_where_the_gap_is_straight() -> None:
    """Oracle: closed form. Two faces square to each other: the drawn spread is the stated one."""
    assembly, finding = found(side_by_side(40, uncertainty=Uncertainty((2, 0, 0))))
    drawn = Drawn.of(drawn_gaps(assembly, Session(), "a", "b", draws=3000, seed=3))
    assert drawn.standard == pytest.approx(2.0, rel=0.05)
    (again,) = with_draws(assembly, Session(), [finding], draws=3000, seed=3)
    assert "as reckoned" in again.note and "not as" not in again.note
    assert again.low == finding.low


def test_drawing_says_where_the_nearest_point_moves_about() -> None:
    """Oracle: closed form. A ball midway between two posts: its gap is the lesser of two, so it never grows by a
    shift across, while first derivatives see one post alone: mean 30 - 0.798 s, s = 6."""
    made = scene(
        part("a", Sphere(20), uncertainty=Uncertainty((0, 6, 0))),
        part("b", Box((10, 10, 10)), Box((10, 10, 10))),
        clearances=Clearances(default=10.0, use="none", rules=(Rule(("a", "b"), 25.0),)),
    )
    posts = made.parts["b"]
    from dataclasses import replace

    solids = (replace(posts.solids[0], at=(0, 45, 0)), replace(posts.solids[1], at=(0, -45, 0)))
    made = replace(made, parts={**made.parts, "b": replace(posts, solids=solids)})
    assembly, finding = found(made)
    gaps = drawn_gaps(assembly, Session(), "a", "b", draws=2000, seed=5)
    assert gaps.max() <= 30 + 1e-6
    assert gaps.mean() == pytest.approx(30 - 6 * sqrt(2 / np.pi), abs=0.3)
    (again,) = with_draws(assembly, Session(), [finding], draws=2000, seed=5)
    assert "not as reckoned" in again.note
    assert again.low is not None and again.low <= float(np.quantile(gaps, 0.025)) + 1e-6


def test_the_same_seed_draws_the_same_gaps() -> None:
    made = scene(
        part("a", Sphere(20)), part("b", Cylinder(30, 80), at=(70, 0, 0), uncertainty=Uncertainty((1, 1, 1)))
    )
    assembly, _ = found(made)
    first, again = (drawn_gaps(assembly, Session(), "a", "b", draws=50, seed=9) for _ in range(2))
    np.testing.assert_array_equal(first, again)


def test_no_direction_of_the_bound_is_exceeded() -> None:
    """Oracle: property. The bound used before measuring is no less than what is reckoned, for 30 turned boxes."""
    rng = np.random.default_rng(8)
    for _ in range(30):
        doubt = Uncertainty(tuple(rng.uniform(0, 3, 3)), tuple(rng.uniform(0, 2, 3)))
        at = tuple(rng.uniform(150, 300, 3))
        made = scene(part("a", Box((100, 60, 80))), part("b", Box((90, 50, 70)), at=at, uncertainty=doubt))
        assembly = assemble(made)
        gap = Session().gap(assembly.parts["a"], assembly.parts["b"])
        assert gap.points is not None and gap.direction is not None
        between = assembly.doubt("a", "b")
        spread = between.chance(gap.direction, gap.points, convex=True)
        assert spread is not None
        reckoned = spread.standard
        assert reckoned * COVERAGE_ANY <= between.most + 1e-9
        assert reckoned <= spread.farthest
        assert reckoned <= hypot(*doubt.shift) + 500 * radians(hypot(*doubt.turn))


def test_measures_are_as_unsure_as_what_they_stand_on() -> None:
    """Oracle: closed form. A point of a part off by a standard 2 in one direction is off by 3.92 along it, and by
    nothing across."""
    made = side_by_side(20, uncertainty=Uncertainty((2, 0, 0)))
    between = assemble(made).account.points("a", np.zeros(3), "b", np.array([20.0, 0, 0]))
    assert between.across(np.array([1.0, 0, 0])) == pytest.approx(2 * COVERAGE)
    assert between.across(np.array([0, 1.0, 0])) == pytest.approx(0, abs=1e-9)
    assert between.hard.most == 0.0
