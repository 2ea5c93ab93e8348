"""Leeway against closed forms; every answer is checked by setting the part there, a tenth before and behind."""

from __future__ import annotations

import json
from dataclasses import replace
from math import acos, asin, atan2, degrees, radians, sqrt
from pathlib import Path

import numpy as np
import pytest

from packcheck.arrays import frozen
from packcheck.assembly.assembly import assemble
from packcheck.bay import Bay
from packcheck.findings import Verdict
from packcheck.frames import IDENTITY, Pose, turn_degrees, turn_matrix
from packcheck.proximity import Session
from packcheck.scene.model.features import Measure, Spot
from packcheck.scene.model.scene import Box, Cylinder, Extrude, Frame, Rule, Scene, Sphere, Tube
from packcheck.scene.model.survey import Uncertainty
from packcheck.studies.going import Way
from packcheck.studies.leeway import Leeway, leeways
from packcheck.trial.neighbours import Neighbours
from packcheck.trial.trial import Trial
from tests.bays import ANGLE, bay, part, random_crowd, random_shape, ruled, scene
from tests.cli.running import run, two_boxes

WAYS = {
    "aft": (0, 1),
    "forward": (0, -1),
    "right": (1, 1),
    "left": (1, -1),
    "up": (2, 1),
    "down": (2, -1),
}


def found(made: Bay, name: str = "it") -> dict[str, Leeway]:
    return {way.way: way for way in leeways(made.assembly, made.session, name)}


def shifted(crowd: Scene, name: str, way: str, by: float) -> Scene:
    """The scene with the part set farther along a way; parts placed in the car, or in an unturned frame."""
    moved = crowd.parts[name]
    if way in WAYS:
        axis, sign = WAYS[way]
        at = [*moved.at]
        at[axis] += sign * by
        moved = replace(moved, at=(at[0], at[1], at[2]))
    else:
        own = [0.0, 0.0, 0.0]
        own["xyz".index(way[-1])] = by if "+" in way else -by
        moved = replace(moved, turn=turn_degrees(turn_matrix(moved.turn) @ turn_matrix(own)))
    return replace(crowd, parts={**crowd.parts, name: moved})


def passes(crowd: Scene, name: str) -> bool:
    report = Bay(assemble(crowd)).check([name], moves=False)
    return all(finding.verdict in (Verdict.PASS, Verdict.CLOSE) for finding in report.findings)


def confirm(crowd: Scene, name: str, way: Leeway) -> None:
    """What is free passes everywhere (twelve places), and a tenth behind it something is missed."""
    if not np.isfinite(way.free) or way.open_end or way.short_now:
        return
    assert all(passes(shifted(crowd, name, way.way, share * way.free), name) for share in np.linspace(0, 1, 12))
    assert not passes(shifted(crowd, name, way.way, way.free + 0.1), name)


def test_a_cube_between_walls() -> None:
    """Oracle: by head: a cube of 20 with walls 50 and 80 mm off, held to 10 mm: 40 one way, 70 the other."""
    made = bay(part("it", Box((20, 20, 20))), part("w", Box((10, 300, 300)), at=(65, 0, 0)),
               part("v", Box((10, 300, 300)), at=(-95, 0, 0)))  # fmt: skip
    ways = found(made)
    assert ways["aft"].free == pytest.approx(40, abs=0.01)
    assert ways["aft"].stopped_by == ("w",)
    assert ways["forward"].free == pytest.approx(70, abs=0.01)
    assert ways["forward"].stopped_by == ("v",)
    assert ways["up"].free == np.inf and not ways["up"].stopped_by


def test_a_ball_that_grazes_another() -> None:
    """Oracle: closed form: balls of 30, the other 40 mm aside and 200 on, held to 25: centres 55 apart when the way
    left is sqrt(55^2 - 40^2)."""
    made = bay(part("it", Sphere(30)), part("b", Sphere(30), at=(200, 40, 0)), clearances=ruled(default=25))
    assert found(made)["aft"].free == pytest.approx(200 - sqrt(55**2 - 40**2), abs=0.01)


def test_a_frame_that_may_be_turned_is_off_by_more_farther_out() -> None:
    """Oracle: by hand: 2 mm are left beside a rail that runs along. A frame turned by 0.5 degrees (standard) is off
    by 1.96 x 0.00873 mm for each mm from its zero, so by 2 mm at 117; and the check itself, at twelve places. The
    part's own size counts, too, at the most 17.3 mm, so it may go 99 at the least."""
    crowd = scene(
        part("it", Box((20, 20, 20)), parent="f"),
        part("rail", Box((2000, 10, 300)), at=(0, 27, 0)),
        frames={"f": Frame("f", uncertainty=Uncertainty(turn=(0, 0, 0.5)))},
    )
    made = Bay(assemble(crowd))
    way = found(made)["aft"]
    assert 99 < way.free < 117 and way.stopped_by == ("rail",)
    assert all(passes(shifted(crowd, "it", "aft", share * way.free), "it") for share in np.linspace(0, 1, 12))
    assert not passes(shifted(crowd, "it", "aft", 140), "it")
    neighbours = Neighbours(made.assembly, made.session, "it")
    assert neighbours.shortfall(np.array([90.0, 0, 0])) is None
    assert neighbours.shortfall(np.array([140.0, 0, 0])) is not None


def test_a_tolerance_takes_its_share() -> None:
    """Oracle: by head: 4 mm of tolerance leave 36 of 40."""
    made = bay(part("it", Box((20, 20, 20)), tolerance=(4.0,) * 3), part("w", Box((10, 300, 300)), at=(65, 0, 0)))
    assert found(made)["aft"].free == pytest.approx(36, abs=0.01)


def test_a_turned_bar() -> None:
    """Oracle: closed form: a bar of 100 x 10 x 10 turning about its middle over a floor 35 mm below, held to 5: its
    lower corner, sqrt(50^2 + 5^2) out and atan(5 / 50) down, reaches 30 at asin(30 / 50.249) - 5.711 deg."""
    made = bay(part("it", Box((100, 10, 10))), part("floor", Box((500, 500, 10)), at=(0, 0, -40)),
               clearances=ruled(default=5))  # fmt: skip
    expected = degrees(asin(30 / sqrt(2525))) - degrees(asin(5 / sqrt(2525)))
    ways = found(made)
    assert ways["turn + about its y"].free == pytest.approx(expected, abs=0.02)
    assert ways["turn - about its y"].free == pytest.approx(expected, abs=0.02)
    assert ways["turn + about its x"].free == np.inf


def test_a_round_part_turns_about_its_own_axis_and_not_about_others() -> None:
    """Oracle: closed form: 20 wide and 100 long, its corner reaches 50 mm at asin(50 / 50.99) - atan(10 / 50)."""
    made = bay(part("it", Cylinder(20, 100)), part("w", Box((10, 300, 300)), at=(65, 0, 0)))
    ways = found(made)
    assert ways["turn about its z"].free == np.inf
    expected = degrees(asin(50 / sqrt(2600)) - atan2(10, 50))
    assert ways["turn + about its y"].free == pytest.approx(expected, abs=0.05)


def test_what_hangs_on_it_comes_along() -> None:
    """Oracle: by head: the arm 30 mm ahead of the cube meets the wall first."""
    made = bay(part("it", Box((20, 20, 20))), part("arm", Box((20, 20, 20)), parent="it", at=(40, 0, 0)),
               part("w", Box((10, 300, 300)), at=(105, 0, 0)))  # fmt: skip
    assert found(made)["aft"].free == pytest.approx(40, abs=0.01)


def test_a_joint_may_be_undone_but_not_sunk_into() -> None:
    """Oracle: by head: 1 mm of seat towards the bracket; away from it the joint comes undone."""
    made = bay(part("it", Box((20, 20, 20)), bolted_to=("plate",)), part("plate", Box((10, 90, 90)), at=(15, 0, 0)))
    ways = found(made)
    assert ways["aft"].free == pytest.approx(1, abs=0.01)
    assert ways["aft"].stopped_by == ("plate",)
    assert (ways["forward"].free, ways["forward"].undone) == (np.inf, ("plate",))


@pytest.mark.parametrize("radius", [4.7, 4.9, 4.97])
def test_a_pin_jams_in_its_bore_when_it_is_turned(radius: float) -> None:
    """Oracle: closed form: r cos t + 30 sin t = 5 in a bore of radius 5, 60 long; jammed, no seat frees it. And the
    check itself at twelve places."""
    crowd = scene(part("it", Cylinder(2 * radius, 60), bolted_to=("ring",)), part("ring", Tube(40, 10, 60)))
    made = Bay(assemble(crowd))
    jams = degrees(asin(5 / np.hypot(radius, 30)) - atan2(radius, 30))
    ways = [
        way for way in leeways(made.assembly, made.session, "it", reach=1) if way.way.endswith(("its x", "its y"))
    ]
    assert len(ways) == 4
    assert all(jams - 0.02 < way.free <= jams for way in ways)
    for way in ways[:1]:
        assert all(passes(shifted(crowd, "it", way.way, s * way.free), "it") for s in np.linspace(0, 1, 12))


def test_a_foot_on_a_plate_may_be_turned_until_it_is_sunk_in_by_the_seat() -> None:
    """Oracle: closed form: its lower edge, 20 mm out and 10 below its zero, comes 1 mm lower: 20 sin t + 10 cos t =
    11. The plate has a hole in it, so that it is not convex."""
    plate = part("plate", Tube(400, 10, 10))
    foot = part("it", Box((40, 40, 20)), at=(100, 0, 15), bolted_to=("plate",))
    ways = found(bay(foot, plate))
    sunk = degrees(asin(11 / sqrt(500)) - atan2(10, 20))
    assert ways["turn + about its y"].free == pytest.approx(sunk, abs=0.02)
    assert ways["down"].free == pytest.approx(1, abs=0.01)
    assert ways["aft"].stopped_by == ()


def test_a_part_that_falls_short_is_led_to_where_it_does_not() -> None:
    """Oracle: by head: 4 mm of 10, so 6 away; or out behind a wall of 10: 4 + 10 + 20 + 10."""
    made = bay(part("it", Box((20, 20, 20))), part("w", Box((10, 300, 300)), at=(19, 0, 0)))
    ways = found(made)
    assert (ways["forward"].free, ways["forward"].short_now, ways["forward"].stopped_by) == (0.0, True, ("w",))
    assert ways["forward"].passes_at == pytest.approx(6, abs=0.11)
    assert ways["aft"].passes_at == pytest.approx(4 + 20 + 10 + 10, abs=0.11)


def test_a_measure_stops_it_too() -> None:
    """Oracle: by head: the part stands 100 mm above the floor point and must stay 60 above."""
    rise = Measure("rise", "height", (Spot("it"), Spot("car")), must=60.0)
    made = bay(part("it", Box((20, 20, 20)), at=(0, 0, 100)), measures=(rise,))
    ways = found(made)
    assert ways["down"].free == pytest.approx(40, abs=0.01)
    assert ways["down"].stopped_by == ("rise",)
    assert ways["up"].free == np.inf


def test_a_distance_that_may_not_grow() -> None:
    """Oracle: closed form: a cable of 130 mm from a point 50 mm below: sqrt(130^2 - 50^2) = 120 sideways."""
    cable = Measure("cable", "distance", (Spot("it"), Spot("car")), most=130.0)
    made = bay(part("it", Box((20, 20, 20)), at=(0, 0, 50)), measures=(cable,))
    assert found(made)["left"].free == pytest.approx(120, abs=0.01)


def test_a_thin_fin_is_never_jumped_over() -> None:
    """Oracle: by head: a fin of 0.5 mm at 200, far thinner than any step."""
    made = bay(part("it", Box((20, 20, 20))), part("fin", Box((0.5, 40, 40)), at=(200, 0, 0)),
               clearances=ruled(default=0))  # fmt: skip
    assert found(made)["aft"].free == pytest.approx(200 - 0.25 - 10, abs=0.01)


def test_parts_that_are_not_convex() -> None:
    """Oracle: by head: an angle iron moving into a post: its inner face, 10 mm thick, meets the post."""
    made = bay(part("it", Extrude(ANGLE, 20)), part("post", Cylinder(10, 200), at=(100, 30, 0)),
               clearances=ruled(default=5))  # fmt: skip
    ways = found(made)
    assert ways["aft"].free == pytest.approx(100 - 5 - 5 - 10, abs=0.01)


def loose_crowd(seed: int) -> Scene:
    """Twelve parts of every kind, turned any way, so far apart that most do not fall short."""
    rng = np.random.default_rng(seed)
    places = [190.0 * np.array(place) for place in np.ndindex(3, 2, 2)]
    parts = []
    for k, place in enumerate(places):
        at = tuple(float(x) for x in place + rng.uniform(-20, 20, 3))
        turn = tuple(float(x) for x in rng.choice([0, 90, 30, 201], 3))
        tolerance = (float(rng.choice([0, 2])),) * 3
        parts.append(part(f"p{k:02d}", random_shape(rng), at=at, turn=turn, tolerance=tolerance))
    return scene(*parts, clearances=ruled(Rule(("p03", "*"), must=3), default=6))


@pytest.mark.parametrize("seed", [3, 5])
def test_answers_in_a_crowd_hold_a_tenth_before_and_behind(seed: int) -> None:
    """Oracle: the check itself, at twelve places up to the answer, and a tenth behind it."""
    crowd = loose_crowd(seed)
    made = Bay(assemble(crowd), Session())
    seen = 0
    for name in list(crowd.parts)[:4]:
        for way in leeways(made.assembly, made.session, name, reach=120):
            seen += np.isfinite(way.free) and not way.short_now
            confirm(crowd, name, way)
    assert seen > 3


@pytest.mark.parametrize("seed", range(4))
def test_nowhere_within_what_is_surely_missing_is_a_limit_kept(seed: int) -> None:
    """Oracle: brute force, at eight places within each, straight on and turning; every third pair is a joint."""
    crowd = random_crowd(seed, side=160)
    names = list(crowd.parts)
    bolted = {name: replace(it, bolted_to=(names[k - 3],)) for k, (name, it) in enumerate(crowd.parts.items())}
    made, seen = Bay(assemble(replace(crowd, parts=bolted))), 0
    for name in names[:4]:
        trial = Trial(made.assembly, made.session, name)
        pose = made.assembly.poses[name]

        def turned(s: float, pose: Pose = pose) -> Pose:
            return pose @ Pose.of((0, 0, 0), (0, s, 0)) @ pose.inverse()

        speed = radians(trial.radius(pose.rotation[:, 1], pose.translation))
        for along, at, rate in ((np.eye(3)[0], shifting, 1.0), (None, turned, speed)):
            way = Way(trial, at, rate, 90.0, None, along)  # type: ignore[arg-type]
            for ask in trial.asks:
                _, missing = way.gap_free(ask, 5.0)
                if missing > 0.5:
                    seen += 1
                    assert all(way.gap_free(ask, 5.0 + missing * s)[0] < 0 for s in np.linspace(0.02, 0.98, 8))
    assert seen > 5


def shifting(s: float) -> Pose:
    return Pose(IDENTITY.rotation, frozen((s, 0.0, 0.0)))


def test_on_a_turned_frame_ways_are_the_cars() -> None:
    """Oracle: by head: the frame is turned by 90 degrees; aft is still the car's x."""
    frames = {"f": Frame("f", at=(5, 5, 5), turn=(0, 0, 90))}
    made = bay(
        part("it", Box((20, 20, 20)), parent="f"), part("w", Box((10, 300, 300)), at=(70, 0, 0)), frames=frames
    )
    assert found(made)["aft"].free == pytest.approx(40, abs=0.01)


def test_a_ball_on_a_radius() -> None:
    """Oracle: closed form: a ball 100 mm out on an arm turns about the arm's zero until it is 20 mm from a ball a
    quarter turn on: chord 50 on radius 100."""
    made = bay(
        part("it", Sphere(10)),
        part("tip", Sphere(30), parent="it", at=(100, 0, 0)),
        part("b", Sphere(30), at=(0, 100, 0)),
        clearances=ruled(default=20),
    )
    expected = 90 - degrees(acos(1 - 50**2 / (2 * 100**2)))
    assert found(made)["turn + about its z"].free == pytest.approx(expected, abs=0.02)


def test_in_inches_what_is_free_is_rounded_down_and_what_passes_up() -> None:
    """Oracle: by head: 30.4 mm of air less 10 is 20.4, 12.85 sixteenths; 6 mm short is 3.8 sixteenths."""
    cube, wall = part("it", Box((20, 20, 20))), Box((10, 300, 300))
    for at, way, cells in [(45.4, "aft", ("3/4", "in", "w", None)), (19.0, "forward", ("0", "in", "w", "1/4"))]:
        made = bay(cube, part("w", wall, at=(at, 0, 0)), units="in")
        (table,) = made.leeway("it").tables
        assert next(row[1:5] for row in table.rows if row[0] == way) == cells
    assert {row[2] for row in table.rows if str(row[0]).startswith("turn")} == {"deg"}


def test_many_names_are_counted() -> None:
    """Oracle: by hand: five parts sunk into the cube stop it; three are named."""
    crowd = [part(f"p{k}", Box((5, 5, 5)), at=(0, 0, k)) for k in range(5)]
    (table,) = bay(part("it", Box((20, 20, 20))), *crowd).leeway("it").tables
    assert {row[3] for row in table.rows if row[0] in WAYS} == {"p0, p1, p2 and 2 others"}


def test_the_command(tmp_path: Path) -> None:
    path = two_boxes(tmp_path, 30)
    told = run("leeway", path, "left_box")
    assert told.exit_code == 0 and "Leeway of left_box" in told.output
    (table,) = json.loads(run("leeway", path, "left_box", "--json").output)["tables"]
    rows = {row[0]: row for row in table["rows"]}
    assert rows["right"][1] == pytest.approx(20, abs=0.1) and rows["right"][3] == "right_box"
    assert "did you mean 'left_box'" in run("leeway", path, "lft_box").output
