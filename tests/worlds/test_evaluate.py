"""The tests' own evaluator against closed forms, linear programs and sampled points. No word of the package."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy.integrate import dblquad
from scipy.optimize import linprog

from tests.oracles.bodies import box_corners
from tests.oracles.shapes import Array, Pose
from tests.worlds import scenes
from tests.worlds.contact import contact
from tests.worlds.evaluate import Drawn, MissedError, Settings, gap_in
from tests.worlds.gap import certified, gap, solid
from tests.worlds.generate import MAKERS, made
from tests.worlds.pieces import Piece
from tests.worlds.scene import Scene, read
from tests.worlds.settings import least_over, random_settings
from tests.worlds.sources import Move, World, rotated
from tests.worlds.worlds import Space

REST: Settings = {}


def off(**shifts: tuple[float, float, float]) -> World:
    return World({name: Move(np.array(shift, float), np.zeros(3)) for name, shift in shifts.items()})


def at(scene: dict[str, Any], world: World, a: str, b: str, settings: Settings = REST) -> float:
    return gap_in(read(scene), world, a, b, settings).value


def swept(scene: Scene, world: World, a: str, b: str) -> float:
    """The least gap over all motions."""
    drawn = Drawn(scene, world)

    def value(settings: Settings) -> float:
        return gap(drawn.solid(a, settings), drawn.solid(b, settings)).value

    return least_over(scene, tuple(scene.motions), value, {})


def test_a_carrier_that_both_hang_on_counts_twice_where_a_line_stands_still() -> None:
    """Oracle: closed form. The corner of `a` goes round at hypot(x + 10, 10), the face of `b` stands at x - 120."""
    scene = read(scenes.carrier_and_hinge())
    for x in (-5.0, 0.0, 5.0):
        found = swept(scene, off(f=(x, 0, 0)), "a", "b")
        assert found == pytest.approx((120 - x) - np.hypot(110 + x, 10), abs=1e-3)


def test_what_rests_goes_up_with_its_rail() -> None:
    """Oracle: closed form. 76 - 20 - 50 = 6, less the 4 mm of the rail."""
    assert at(scenes.rail_and_pump(), World(), "pump", "lid") == pytest.approx(6.0, abs=1e-5)
    assert at(scenes.rail_and_pump(), off(rail=(0, 0, 4)), "pump", "lid") == pytest.approx(2.0, abs=1e-5)


def test_an_error_along_an_axis_is_turned_back_with_the_part() -> None:
    """Oracle: closed form. Drawn upright and 5 mm off along x, the lid lies 5 mm off along z when shut: 0 to 10."""
    found = [at(scenes.boxes_of_errors_turned_back(), off(lid=(x, 0, 0)), "lid", "b") for x in (5, 0, -5)]
    assert found == pytest.approx([0.0, 5.0, 10.0], abs=1e-6)


def test_a_line_that_is_off_moves_what_was_drawn_open() -> None:
    """Oracle: closed form. A line off by (x, z) shuts the lid x + z higher: at most 1.2 sqrt 2."""
    for x, z in ((1.2, 0.0), (-1.2, 0.0), (0.0, 1.2), (0.0, -1.2)):
        assert at(scenes.unsure_hinge_drawn_open(), off(h=(x, 0, z)), "lid", "b") == pytest.approx(
            5 + x + z, abs=1e-6
        )


def test_an_image_goes_the_other_way() -> None:
    """Oracle: closed form. A frame off by y moves a part by y and its image by -y: the gap by 2 y."""
    assert at(scenes.mirror_in_a_likely_frame(), off(f=(0, 1.5, 0)), "a", "b") == pytest.approx(13.0, abs=1e-6)


def test_three_numbers_turn_with_what_a_part_hangs_on() -> None:
    """Oracle: closed form. 120 - (60 + 8 + 50) sin 89 - 5 cos 89 = 1.93."""
    truth = 120 - 118 * np.sin(np.radians(89)) - 5 * np.cos(np.radians(89))
    assert at(scenes.child_of_a_turned_part(89), off(c=(0, 8, 0)), "c", "wall") == pytest.approx(truth, abs=1e-4)


def test_what_rests_on_several_meets_the_first_of_them() -> None:
    """Oracle: closed form. The pump stands on the higher of both: 88 - 30 - max(20, height)."""
    for height in (0.0, 19.0, 21.5, 40.0):
        truth = 88 - 30 - max(20.0, height)
        assert at(scenes.shelf_and_rail(height), World(), "pump", "lid") == pytest.approx(truth, abs=1e-5)


def test_what_rests_climbs_a_step() -> None:
    """Oracle: closed form. The step is 20 higher and under the pump, whose front is 15 fore, from 45 on."""
    assert at(scenes.stepped_rail(40), World(), "pump", "lid") == pytest.approx(20.0, abs=1e-5)
    assert at(scenes.stepped_rail(46), World(), "pump", "lid") == pytest.approx(0.0, abs=1e-5)


def test_a_path_turns_about_what_it_carries() -> None:
    """Oracle: closed form. `b` goes round the zero of `a`, at (x, y - 100), by 90 degrees."""
    for x, y in ((0.0, 150.0), (30.0, 30.0)):
        centre = np.array([x, y - 100])
        turned = centre + np.array([[0, -1], [1, 0]]) @ (np.array([100.0, 0.0]) - centre)
        truth = np.linalg.norm(turned - [x, y]) - 5 - 2  # a stays; p does not move
        scene = read(scenes.path_about_a_carried_zero((x, y, 0)))
        pose = Drawn(scene).pose("b", {"m": (2.0,)})
        assert np.linalg.norm(pose.translation[:2] - [x, y]) - 7 == pytest.approx(truth, abs=1e-9)


def test_a_shaft_in_a_bore_by_closed_form() -> None:
    """Oracle: closed form. The gap is 10 - hypot(y, z); under 5.5 in exp(-4.5^2 / 8) = 8.0 % of all draws."""
    scene = read(scenes.bore())
    rng = np.random.default_rng(4)
    for shift in rng.normal(scale=2, size=(30, 3)):
        found = gap_in(scene, off(shaft=tuple(shift)), "shaft", "bore", REST)
        assert abs(found.value - (10 - np.hypot(shift[1], shift[2]))) <= found.error
    assert np.exp(-(4.5**2) / 8) == pytest.approx(0.080, abs=0.001)


def test_a_tilted_plate_by_closed_form() -> None:
    """Oracle: closed form. A corner comes down by 300 (|wx| + |wy|), first order; under 4 in 8.4 % of all draws."""
    scene = read(scenes.plates())
    for x, y in ((0.4, 0.1), (-0.3, 0.6), (0.0, -0.9)):
        turn = np.radians([x, y, 0])
        corners = box_corners((600, 600, 10)) @ rotated(turn).T
        found = gap_in(scene, World({"lid": Move(np.zeros(3), turn)}), "lid", "box", REST).value
        assert found == pytest.approx(15 + corners[:, 2].min(), abs=0.05)  # the corner may stand out past the box
    step = 6 / (300 * np.radians(0.4))
    inside, _ = dblquad(lambda v, u: 4 * np.exp(-(u * u + v * v) / 2) / (2 * np.pi), 0, step, 0, lambda u: step - u)
    assert 1 - inside == pytest.approx(0.084, abs=0.001)


@pytest.mark.parametrize("seed", range(12))
def test_contact_by_a_linear_program(seed: int) -> None:
    """Oracle: linear program (scipy). The greatest height at which two boxes, one led along a way, still meet."""
    rng = np.random.default_rng(seed)
    way = rng.normal(size=3)
    way /= np.linalg.norm(way)
    posed = [Pose(rotated(rng.normal(size=3)), rng.uniform(-15, 15, 3)) for _ in range(2)]
    sizes = rng.uniform(10, 60, (2, 3))
    hulls = [pose.apply(box_corners(tuple(size))) for pose, size in zip(posed, sizes, strict=True)]
    led, other = (
        solid((Piece("box", tuple(size), Pose()),), pose) for pose, size in zip(posed, sizes, strict=True)
    )
    found = contact(led, other, way)
    truth = highest_meeting(hulls[0], hulls[1], way)
    assert (found is None) == (truth is None)
    if truth is not None:
        assert found == pytest.approx(truth, abs=2e-5)


def highest_meeting(a: Array, b: Array, way: Array) -> float | None:
    """Maximise h with a point of hull A (n, 3), shifted by h along `way`, in hull B (m, 3)."""
    rows = np.hstack([a.T, -b.T, way[:, None]])
    sums = np.zeros((2, rows.shape[1]))
    sums[0, : len(a)] = sums[1, len(a) : -1] = 1
    bounds = [(0, None)] * (len(a) + len(b)) + [(None, None)]
    cost = np.r_[np.zeros(len(a) + len(b)), -1.0]
    found = linprog(cost, A_eq=np.vstack([rows, sums]), b_eq=[0, 0, 0, 1, 1], bounds=bounds)
    return None if found.status == 2 else -float(found.fun)


def test_contact_of_balls_and_of_a_ball_in_a_bore() -> None:
    """Oracle: closed form. Balls of radius 10 and 20, 18 off axis: sqrt(30^2 - 18^2) = 24; a rim of radius 12 holds
    a ball of 20 at sqrt(20^2 - 12^2) = 16 over its edge."""
    ball = solid((Piece("sphere", (10.0,), Pose()),), Pose())
    other = solid((Piece("sphere", (20.0,), Pose()),), Pose(np.eye(3), np.array([18.0, 0, 0])))
    assert contact(ball, other, np.array([0, 0, 1.0])) == pytest.approx(24.0, abs=1e-5)
    held = solid((Piece("sphere", (20.0,), Pose()),), Pose())
    rim = solid((Piece("tube", (30.0, 12.0, 25.0), Pose()),), Pose())
    assert contact(held, rim, np.array([0, 0, 1.0])) == pytest.approx(25 + 16.0, abs=0.02)
    small = solid((Piece("sphere", (11.0,), Pose()),), Pose())
    assert contact(small, rim, np.array([0, 0, 1.0])) is None


def test_a_part_that_meets_nothing_is_told() -> None:
    """Oracle: the scene. The rail is put beside the way of the pump."""
    with pytest.raises(MissedError):
        at(scenes.rail_and_pump(), off(rail=(500, 0, 0)), "pump", "lid")


@pytest.mark.parametrize("what", [("part", "nothing"), ("line + rest", "turning"), ("across + mirrored", "mirror")])
@pytest.mark.parametrize("kind", ["frame ball", "part ball"])
def test_no_world_takes_a_point_farther_than_its_tolerance(what: tuple[str, str], kind: str) -> None:
    """Oracle: sampled points. What hangs on a ball is drawn again at random settings, its own circles included."""
    rng = np.random.default_rng(7)
    for _ in range(3):
        scene = read(made(what, kind, rng).tree)
        space = Space(scene)
        for node, size in ((s.node, float(s.size[0])) for s in space.sources if s.kind == "ball"):
            for _ in range(20):
                choice = space.drawn(rng, (node, "ball"))
                world = space.world({(node, "ball"): choice})
                still, moved = Drawn(scene), Drawn(scene, World(world.moves))
                shift = moved.stand(node).translation - still.stand(node).translation
                turn = moved.stand(node).rotation @ still.stand(node).rotation.T
                step = Pose(turn, still.stand(node).translation + shift - turn @ still.stand(node).translation)
                points = reached(scene, node, rng)
                assert np.linalg.norm(step.apply(points) - points, axis=1).max() <= size * (1 + 1e-6)


def reached(scene: Scene, node: str, rng: np.random.Generator) -> Array:
    """Points (n, 3) of the parts that hang on a node, at random settings of all motions that carry them."""
    still = Drawn(scene)
    found = [still.stand(node).translation[None]]
    for part in scene.parts:
        if node in scene.chain(part):
            motions = scene.carrying(part)
            for _ in range(4):
                solids = still.solid(part, random_settings(scene, motions, rng))
                found.append(solids.middles)
    return np.vstack(found)


@pytest.mark.parametrize("what", sorted(MAKERS))
def test_all_on_one_carrier_keeps_its_gaps(what: tuple[str, str]) -> None:
    """Oracle: invariance. A frame under everything, lines and mirrors too, moves all of it: no gap changes."""
    rng = np.random.default_rng(11)
    scene = made(what, "frame ball", rng)
    tree = under_one_frame(scene.tree)
    move = Move(np.array([3.0, -2.0, 5.0]), np.array([0.1, -0.2, 0.3]))
    one = gap_in(read(tree), World(), scene.a, scene.b, scene.settings)
    other = gap_in(read(tree), World({"whole": move}), scene.a, scene.b, scene.settings)
    assert other.value == pytest.approx(one.value, abs=one.error + 1e-5)


def under_one_frame(tree: dict[str, Any]) -> dict[str, Any]:
    """The scene with a frame under all that stands in the car. `whole` itself is exact."""

    def hung(given: dict[str, Any]) -> dict[str, Any]:
        return given if "mirror_of" in given else {"in": "whole", **given}

    frames = {name: hung(given) for name, given in tree.get("frames", {}).items()}
    parts = {name: hung(given) for name, given in tree["parts"].items()}
    motions = {name: {"in": "whole", **given} for name, given in tree.get("motions", {}).items()}
    return {**tree, "frames": {"whole": {"at": [0, 0, 0]}, **frames}, "parts": parts, "motions": motions}


@pytest.mark.parametrize("seed", range(4))
def test_the_quick_engine_by_conic_programs(seed: int) -> None:
    """Oracle: conic programs with a certificate, for pairs of every shape, apart and overlapping."""
    rng = np.random.default_rng(seed)
    for what in (("part", "nothing"), ("surface", "copy"), ("rest", "rest")):
        scene = made(what, "frame ball", rng)
        drawn = Drawn(read(scene.tree))
        for _ in range(6):
            one, other = drawn.solid(scene.a, {}), drawn.solid(scene.b, {})
            moved = solid(
                drawn.pieces(scene.b), Pose(other.pose.rotation, other.pose.translation + rng.normal(0, 20, 3))
            )
            sure, quick = certified(one, moved), gap(one, moved)
            assert abs(sure.value - quick.value) <= sure.error + quick.error
