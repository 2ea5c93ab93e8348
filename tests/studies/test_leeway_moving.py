"""Leeway while things move, against closed forms; each answer is checked by setting the part there."""

from __future__ import annotations

from dataclasses import replace
from math import acos, cos, degrees, radians, sin, sqrt

import numpy as np
import pytest

from packcheck.assembly.assembly import assemble
from packcheck.bay import Bay
from packcheck.findings import Verdict
from packcheck.scene.model.motion import Hinge, Motion, Path, Stop, Travel
from packcheck.scene.model.scene import Box, Extrude, Frame, Part, Scene, Shape, Sphere
from packcheck.studies.leeway import Leeway, leeways
from tests.bays import ANGLE, part, ruled, scene
from tests.studies.test_leeway import shifted


def hinged(*carries: str, to: float, frame: str = "car", **facts: object) -> Motion:
    """A hinge about the y axis of its frame, from 0."""
    return Motion("swings", carries, Hinge((0, 0, 0), (0, 1, 0), (0.0, to)), frame, **facts)  # type: ignore[arg-type]


def crowd(*parts: Part, motion: Motion, must: float = 10.0, frames: dict[str, Frame] | None = None) -> Scene:
    made = scene(*parts, clearances=ruled(default=must), frames=frames)
    return replace(made, motions={motion.name: motion})


def found(made: Scene, name: str = "it") -> dict[str, Leeway]:
    bay = Bay(assemble(made))
    return {way.way: way for way in leeways(bay.assembly, bay.session, name)}


def passes(made: Scene) -> bool:
    bay = Bay(assemble(made))
    report = bay.check(["it", *bay.assembly.carried_by("it")], moves=False)
    return all(finding.verdict in (Verdict.PASS, Verdict.CLOSE) for finding in report.findings)


def confirm(made: Scene, name: str, way: Leeway) -> None:
    """What is free passes everywhere (eight places), and a tenth behind it something is missed."""
    if not np.isfinite(way.free) or way.short_now:
        return
    assert all(passes(shifted(made, name, way.way, share * way.free)) for share in np.linspace(0, 1, 8))
    assert way.open_end or not passes(shifted(made, name, way.way, way.free + 0.1))


def arm(at: float, *, to: float = 90.0) -> Scene:
    """A ball of 20 swings down on a radius of 200, from ahead to straight below; a ball of 30 lies `at` mm out in
    the middle of its way, and half of 10 must remain."""
    aslant = at / sqrt(2)
    return crowd(
        part("it", Sphere(30), at=(aslant, 0, -aslant)),
        part("ball", Sphere(20), at=(200, 0, 0)),
        motion=hinged("ball", to=to),
    )


def test_a_ball_swung_round_decides() -> None:
    """Oracle: closed form: aft from (70.7, -70.7) until 200 - |(x, -70.7)| = 15 + 10 + 5, and at rest nothing would
    stop it before the ball itself, 25 + 10 off, as it lies then."""
    made = arm(100)
    way = found(made)["aft"]
    start = 100 / sqrt(2)
    assert way.free == pytest.approx(sqrt(170**2 - start**2) - start, abs=0.06)
    assert way.stopped_by == ("ball as swings moves",)
    confirm(made, "it", way)


def test_outside_the_swing_it_is_stopped_inwards() -> None:
    """Oracle: closed form: forward until |(x, -212.1)| = 200 + 30, by way of the circle."""
    made = arm(300)
    way = found(made)["forward"]
    start = 300 / sqrt(2)
    assert way.free == pytest.approx(start - sqrt(230**2 - start**2), abs=0.06)
    confirm(made, "it", way)


def test_a_lid_bar_over_a_box() -> None:
    """Oracle: closed form: the underside of a bar 10 thick, swung down by 20 degrees about its end; the box's top
    edge 200 mm out keeps 5 mm while -200 sin 20 - top cos 20 - 5 >= 5."""
    made = crowd(
        part("it", Box((100, 80, 40)), at=(150, 0, -200)),
        part("bar", Box((400, 80, 10)), at=(200, 0, 0)),
        motion=hinged("bar", to=20.0),
    )
    way = found(made)["up"]
    top = -(10 + 200 * sin(radians(20))) / cos(radians(20))
    assert way.free == pytest.approx(top + 180, abs=0.06)
    assert way.stopped_by == ("bar as swings moves",)
    confirm(made, "it", way)


def test_a_part_that_moves_itself_is_led_with_its_motion() -> None:
    """Oracle: by head: a cube of 20 that travels 100 up and is to go aft under a shelf's edge: at rest it passes
    below, on its way the edge 60 mm off must stay 5 mm away."""
    made = crowd(
        part("it", Box((20, 20, 20))),
        part("shelf", Box((100, 100, 10)), at=(120, 0, 100)),
        motion=Motion("lifts", ("it",), Travel((0, 0, 1), (0.0, 100.0))),
    )
    way = found(made)["aft"]
    assert way.free == pytest.approx(70 - 10 - 5, abs=0.06)
    confirm(made, "it", way)


@pytest.mark.parametrize("hangs", [True, False])
def test_the_line_of_a_lever_goes_along_where_it_stands_on_the_part(hangs: bool) -> None:
    """Oracle: by head: a lever with a ball of 20 at 80 mm turns level before a wall 200 ahead: 200 - 80 - 10 - 5.
    Where the line stands in the car, the arm grows instead as the part goes aft: then its farthest point goes on a
    circle of 80 + s about the line, just as far."""
    made = crowd(
        part("it", Sphere(20)),
        part("tip", Sphere(20), parent="it", at=(0, 0, 80)),
        part("wall", Box((10, 400, 400)), at=(205, 0, 0)),
        motion=hinged("tip", to=90.0, frame="it" if hangs else "car"),
    )
    ways = found(made)
    if hangs:
        assert ways["aft"].free == pytest.approx(200 - 80 - 10 - 5, abs=0.06)
        assert ways["forward"].free == np.inf
    else:  # up: the arm is 80 + s long when it points aft
        assert ways["up"].free == pytest.approx(200 - 80 - 10 - 5, abs=0.06)
    for way in ways.values():
        confirm(made, "it", way)


def test_turned_against_what_travels() -> None:
    """Oracle: law of cosines: a ball 120 mm out on an arm turns about the part's zero; another travels by, 130 mm
    out. Balls of 20 with 5 mm in between: their middles 25 apart."""
    made = crowd(
        part("it", Sphere(10)),
        part("tip", Sphere(20), parent="it", at=(0, 120, 0)),
        part("slide", Sphere(20), at=(130, 0, -100)),
        motion=Motion("runs", ("slide",), Travel((0, 0, 1), (0.0, 200.0))),
    )
    way = found(made)["turn - about its z"]
    chord = (120**2 + 130**2 - 25**2) / (2 * 120 * 130)
    assert way.free == pytest.approx(90 - degrees(acos(chord)), abs=0.06)
    assert way.stopped_by == ("slide as runs moves",)
    confirm(made, "it", way)


def test_short_in_motion_is_short_now_and_led_to_where_it_is_not() -> None:
    """Oracle: closed form: in the way of the ball, at |x| = 190; farther aft it is free at 230."""
    way = found(arm(190))["aft"]
    start = 190 / sqrt(2)
    assert (way.short_now, way.stopped_by) == (True, ("ball as swings moves",))
    assert way.passes_at == pytest.approx(sqrt(230**2 - start**2) - start, abs=0.11)
    assert way.passes_at is not None
    made = arm(190)
    assert passes(shifted(made, "it", "aft", way.passes_at + 0.1))
    assert not passes(shifted(made, "it", "aft", way.passes_at - 0.2))


def test_what_is_not_convex() -> None:
    """Oracle: by head: a post rises through the notch of an angle iron: its inner face stops 5 before it."""
    made = crowd(
        part("it", Extrude(ANGLE, 20)),
        part("post", Box((10, 10, 60)), at=(100, 30, -200)),
        motion=Motion("rises", ("post",), Travel((0, 0, 1), (0.0, 300.0))),
    )
    way = found(made)["aft"]
    assert way.free == pytest.approx(95 - 5 - 10, abs=0.06)
    confirm(made, "it", way)


def test_a_path_turns_about_what_it_carries_first() -> None:
    """Oracle: by head: a cube led along goes straight 100 up, then on; a shelf 100 above keeps 5 mm off."""
    stops = (Stop(), Stop((0, 0, 100)), Stop((0, 50, 100), (0, 0, 90)))
    made = crowd(
        part("it", Box((20, 20, 20))),
        part("shelf", Box((400, 400, 10)), at=(0, 0, 200)),
        motion=Motion("taken_out", ("it",), Path(stops)),
    )
    way = found(made)["up"]
    assert way.free == pytest.approx(195 - 100 - 10 - 5, abs=0.06)
    confirm(made, "it", way)


@pytest.mark.parametrize("seed", range(4))
def test_random_swings_hold_before_and_behind(seed: int) -> None:
    """Oracle: the check itself, at eight places up to the answer, and a tenth behind it."""
    rng = np.random.default_rng(seed)
    shapes: list[Shape] = [Sphere(40), Box((60, 20, 40)), Extrude(ANGLE, 30)]
    arms = [part(f"arm{k}", shapes[k], parent="hub", at=tuple(rng.uniform(60, 160, 3))) for k in range(3)]
    made = crowd(
        part("it", shapes[seed % 3], at=(300, 110, 20), turn=(0, float(rng.uniform(0, 90)), 30)),
        *arms,
        motion=Motion("swings", ("hub",), Hinge((0, 0, 0), (0, 1, 0), (-20.0, 80.0)), "hub"),
        frames={"hub": Frame("hub", turn=(float(rng.uniform(-30, 30)), 0, 0))},
    )
    bay = Bay(assemble(made))
    stopped = 0
    for way in leeways(bay.assembly, bay.session, "it", reach=200):
        stopped += any("moves" in name for name in way.stopped_by)
        if way.unit == "mm":
            confirm(made, "it", way)
    assert stopped


def test_a_line_that_is_not_sure_takes_its_share() -> None:
    """Oracle: the check itself: a hinge on a frame good to 3 mm swings a ball towards the part, and takes some."""
    sure = arm(100)
    frames = {"pin": Frame("pin", tolerance=(3.0, 3.0, 3.0))}
    loose = replace(sure, frames=frames, motions={"swings": hinged("ball", to=90.0, frame="pin")})
    way = found(loose)["aft"]
    assert way.free < found(sure)["aft"].free - 1
    confirm(loose, "it", way)


def test_tolerances_by_axis_count_along_the_gap_alone() -> None:
    """Oracle: by head: 3 mm along the axis of the swing change nothing of what is free in its plane."""
    sure = arm(100)
    loose = replace(sure, parts={**sure.parts, "it": replace(sure.parts["it"], tolerance=(0.0, 3.0, 0.0))})
    way = found(loose)["aft"]
    assert way.free == pytest.approx(found(sure)["aft"].free, abs=0.06)
    assert passes(shifted(loose, "it", "aft", way.free - 0.1))
    assert not passes(shifted(loose, "it", "aft", way.free + 0.1))
