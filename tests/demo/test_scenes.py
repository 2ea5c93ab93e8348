"""The demo scenes load, and show exactly the faults that were built into them."""

from __future__ import annotations

import math
import re
from pathlib import Path

import numpy as np
import pytest

import packcheck
from packcheck import Finding, Report, SceneError, Verdict
from packcheck.arrays import Point
from packcheck.scene.model.scene import Mesh

SCENES = Path(__file__).parents[2] / "scenes"
GOOD = sorted(file.name for file in SCENES.glob("*.yaml"))
SHORT = (Verdict.FAIL, Verdict.UNSURE, Verdict.NOT_CHECKED)

FAULTS = {
    "hillclimb_rear_bay.yaml": {
        ("engine_mount_right", "breather_box"): "clash",
        ("exhaust_pipe", "vacuum_tank"): "tight",
        ("fuel_regulator", "starter_relay_box"): "tight",
        ("top_rail_right", "gearbox_cooler"): "may be tight",
    },
    "first_steps.yaml": {("exhaust_pipe", "fuel_filter"): "tight"},
    "saloon_straight_six.yaml": {
        ("radiator", "fan"): "tight",
        ("exhaust_manifold", "steering_column"): "tight",
    },
    "boat_engine_box.yaml": {
        ("fuel_filter", "starter_battery"): "tight",
        ("exhaust_hose", "bilge_blower"): "tight",
    },
    "relocated_pump.yaml": {("fuel_pump", "coolant_pump"): "tight"},
    "plenum_under_body.yaml": {},
    "measured_bay.yaml": {
        ("rail_left", "steering_shaft"): "tight",
        ("fuel_pump", "steering_shaft"): "tight",
        ("exhaust_downpipe", "fuel_pump"): "disagrees, may be tight",
    },
}

MOVING_FAULTS = {
    "hillclimb_rear_bay.yaml": {
        (("shift_crank", "vacuum_tank"), "gear_shift"): "clash",
        (("exhaust_pipe", "vacuum_tank"), "engine_rock"): "tight",
    }
}
"""What falls short, or may, while something moves: the pair, and what moves it."""

EXHAUST, CRANK, MOUNT, RELAYS = (
    ("exhaust_pipe", "vacuum_tank"),
    ("shift_crank", "vacuum_tank"),
    ("engine_mount_right", "breather_box"),
    ("fuel_regulator", "starter_relay_box"),
)
LAYOUTS = {
    "tank_forward": ({EXHAUST}, {("cylinder_head", "vacuum_tank"), ("block", "vacuum_tank")}),
    "tank_on_top": ({EXHAUST, CRANK}, set()),
    "rod_low": (set(), {("gearbox", "shift_crank")}),
    "tank_right": ({EXHAUST, CRANK}, set()),
    "all_moved": ({EXHAUST, CRANK, MOUNT, RELAYS}, set()),
}
"""Of the hillclimb special: which pairs no longer fall short, at rest and in motion, and which newly do."""

MESSAGES = {
    "unknown_key": ":6:16: part 'fuel_pump': cylinder has the unknown key 'diametre'",
    "duplicate_key": ":6:3: key 'race_battery' is written twice, first in line 4",
    "millimetres_and_plain": ":6:50: part 'plenum': at item 3 'plenum_height + 20' cannot add mm and a plain",
    "frame_loop": ":4:18: frame 'bulkhead': in leads round in a loop",
    "mesh_without_units": ":4:27: part 'gearbox': mesh needs units",
    "misspelt_kind": ":4:20: part 'manifold': kind 'exhuast' is not known",
    "missing_mesh": ":4:42: part 'manifold': mesh.file '../../meshes_demo/manifold_v3.stl' does not exist",
}


@pytest.fixture(scope="module")
def reports() -> dict[str, Report]:
    """Every good scene, checked once; moves are left out, they are not asked about here."""
    return {name: packcheck.load(SCENES / name).check(moves=False) for name in GOOD}


def found(report: Report, *subjects: str) -> Finding:
    """The one finding at rest about `subjects`."""
    (finding,) = (f for f in report.findings if f.subjects == subjects and f.study != "moving")
    return finding


def test_every_scene_has_its_faults_written_down_here() -> None:
    assert sorted(FAULTS) == GOOD


def test_every_mistake_has_its_message_written_down_here() -> None:
    files = {file.stem for file in (SCENES / "mistakes").glob("*.yaml")}
    assert files == {*MESSAGES, "open_mesh"}


@pytest.mark.parametrize("name", GOOD)
def test_a_scene_shows_its_faults_and_no_others(name: str, reports: dict[str, Report]) -> None:
    short: dict[tuple[str, ...], list[str]] = {}
    for finding in reports[name].findings:
        if finding.verdict in SHORT and finding.study != "moving":
            short.setdefault(finding.subjects, []).append(finding.word)
    assert {subjects: ", ".join(words) for subjects, words in short.items()} == FAULTS[name]


@pytest.mark.parametrize("name", GOOD)
def test_a_scene_shows_its_faults_in_motion_and_no_others(name: str, reports: dict[str, Report]) -> None:
    short = {
        (f.subjects, "+".join(f.pose)): f.word
        for f in reports[name].findings
        if f.verdict in SHORT and f.study == "moving"
    }
    assert short == MOVING_FAULTS.get(name, {})


TANK = np.array([755 - 63, 5, 417.3]), np.array([755 + 63, 5, 417.3])
CRANK_AXIS = np.array([719.8, 142 - 3.3, 360]), np.array([861.0, 142 - 102, 360 - 16])


def off_the_tank(point: Point) -> float:
    """How far a point is outside the tank, a ball of 52 mm led along a segment: closed form."""
    a, b = TANK
    share = float(np.clip((point - a) @ (b - a) / ((b - a) @ (b - a)), 0, 1))
    return float(np.linalg.norm(point - a - share * (b - a))) - 52


def crank_end(turn: float, shift: float) -> list[Point]:
    """The rim of the crank's aft end (64, 3), 8 mm from its axis, turned by degrees about the rod and shifted."""
    start, end = CRANK_AXIS
    along = (end - start) / np.linalg.norm(end - start)
    across = np.cross(along, [0, 0, 1]) / np.linalg.norm(np.cross(along, [0, 0, 1]))
    up = np.cross(across, along)
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    turned = np.array([[1, 0, 0], [0, cos, -sin], [0, sin, cos]])
    axis = np.array([0.0, 142, 360])
    rim = [end + 8 * (math.cos(a) * across + math.sin(a) * up) for a in np.linspace(0, 2 * math.pi, 64)]
    return [turned @ (point - axis) + axis + (shift, 0, 0) for point in rim]


def test_the_crank_of_the_gear_rod_strikes_the_tank_in_a_gear(reports: dict[str, Report]) -> None:
    """Oracle: closed form. Points of the crank's end, 20 degrees across the gate, that lie inside the tank."""
    findings = reports["hillclimb_rear_bay.yaml"].findings
    (finding,) = (f for f in findings if f.subjects == CRANK and f.study == "moving")
    deepest = min(off_the_tank(point) for point in crank_end(-20, -30))
    assert deepest < -2
    assert finding.low is not None
    assert finding.low <= deepest


def test_in_neutral_the_crank_clears_the_tank() -> None:
    """Oracle: closed form. No less than with round ends, no more than from its rim."""
    finding = packcheck.load(SCENES / "hillclimb_rear_bay.yaml").pair(CRANK)
    assert finding is not None and finding.value is not None
    least = min(off_the_tank(point) for point in np.linspace(*CRANK_AXIS, 2000)) - 8
    assert 10 < least - 0.05 <= finding.value <= min(map(off_the_tank, crank_end(0, 0))) + 0.05


def test_the_rear_bay_is_as_large_as_a_real_one() -> None:
    scene = packcheck.load(SCENES / "hillclimb_rear_bay.yaml").assembly.scene
    meshes = [solid for part in scene.parts.values() for solid in part.solids if isinstance(solid.shape, Mesh)]
    assert len(scene.parts) >= 66
    assert len(meshes) >= 8
    assert len(scene.motions) >= 5


def test_the_mount_runs_through_the_breather_box_by_what_their_faces_say(reports: dict[str, Report]) -> None:
    """Oracle: closed form. The box ends at 302 + 92 mm, the mount's tube begins at 400 - 18; both taped to 2 mm."""
    finding = found(reports["hillclimb_rear_bay.yaml"], *MOUNT)
    assert finding.value == pytest.approx(382 - 394, abs=1e-2)
    assert finding.high is not None and finding.high == pytest.approx(-12 + 4, abs=1e-2)


def test_regulator_and_relay_box_stand_where_the_tape_says(reports: dict[str, Report]) -> None:
    """Oracle: closed form. From the box's right face, 95 + 80 mm, to the regulator's left face at 193; of the two
    only the regulator says how well it is known, to 2 mm."""
    finding = found(reports["hillclimb_rear_bay.yaml"], *RELAYS)
    assert (finding.value, finding.low, finding.high) == pytest.approx((18, 16, 20), abs=1e-2)


def test_the_relocated_pump_clears_the_fuel_pump_by_what_their_axes_say(reports: dict[str, Report]) -> None:
    """Oracle: closed form. One lies, its right side at 96, the other stands, its right side at 27: their axes cross
    square, so that both radii are taken off from left to right; each taped to 3 mm."""
    finding = found(reports["relocated_pump.yaml"], "fuel_pump", "coolant_pump")
    aside = (96 - 24) - (27 - 36) - 24 - 36
    assert finding.value == pytest.approx(aside, abs=1e-2)
    assert (finding.low, finding.high) == pytest.approx((aside - 6, aside + 6), abs=0.05)


def test_the_plenum_clears_the_sloping_body_by_its_height_under_the_plane(reports: dict[str, Report]) -> None:
    """Oracle: closed form. The body's underside falls 4 degrees aft and stands 614.2 mm up at 1440 aft; the
    plenum's rear upper edge stands at 790 aft and 480 + 15 + 135 up."""
    finding = found(reports["plenum_under_body.yaml"], "rear_body", "plenum")
    under = 614.2 + (1440 - 790) * math.tan(math.radians(4)) - 630
    assert finding.value == pytest.approx(under * math.cos(math.radians(4)), abs=1e-2)


def test_the_small_scenes_are_short_enough_to_read_at_a_glance() -> None:
    for name in ("relocated_pump", "plenum_under_body"):
        assert len((SCENES / f"{name}.yaml").read_text(encoding="utf-8").splitlines()) < 25


def test_the_fuel_filter_of_the_launch_is_above_its_battery(reports: dict[str, Report]) -> None:
    """Oracle: closed form. From the rim of the bowl's foot to the top edge of the battery's forward face."""
    finding = found(reports["boat_engine_box.yaml"], "fuel_filter", "starter_battery")
    aside = (390 - 135) - (90 + 45)
    assert finding.value == pytest.approx(math.hypot(aside, (420 - 110) - 220), abs=0.05)


def test_every_line_of_the_first_steps_is_explained() -> None:
    lines = (SCENES / "first_steps.yaml").read_text(encoding="utf-8").splitlines()
    assert [line for line in lines if line.strip() and "#" not in line] == []


@pytest.mark.parametrize("mistake", MESSAGES)
def test_a_mistake_is_named_with_its_place(mistake: str) -> None:
    scene = SCENES / "mistakes" / f"{mistake}.yaml"
    with pytest.raises(SceneError, match=re.escape(f"{scene}{MESSAGES[mistake]}")):
        packcheck.load(scene)


def test_an_open_mesh_without_thickness_and_side_is_said_to_be_one() -> None:
    report = packcheck.load(SCENES / "mistakes" / "open_mesh.yaml").check(moves=False)
    finding = next(f for f in report.findings if f.subjects == ("rear_deck",))
    assert finding.word == "open surface"
    assert finding.verdict is Verdict.UNSURE


@pytest.fixture(scope="module")
def written(reports: dict[str, Report]) -> Report:
    return reports["hillclimb_rear_bay.yaml"]


@pytest.mark.parametrize("layout", LAYOUTS)
def test_a_layout_mends_what_its_story_says_and_breaks_no_more(layout: str, written: Report) -> None:
    """What falls short in a layout is what fell short before, less what it mends, and what it newly breaks."""
    mended, broken = LAYOUTS[layout]
    report = packcheck.load(SCENES / "hillclimb_rear_bay.yaml", layout=layout).check(moves=False)
    assert short_pairs(report) == (short_pairs(written) - mended) | broken


def short_pairs(report: Report) -> set[tuple[str, ...]]:
    return {f.subjects for f in report.findings if f.verdict in SHORT}


def test_what_no_move_mends_waits_for_a_reading() -> None:
    report = packcheck.load(SCENES / "hillclimb_rear_bay.yaml", layout="all_moved").check(moves=False)
    assert report.counts[Verdict.FAIL] == 0
    (readings,) = (table for table in report.tables if table.id == "readings")
    assert readings.rows[0][0] == "gearbox_cooler"


def test_every_layout_of_the_demo_is_tested() -> None:
    assert packcheck.load(SCENES / "hillclimb_rear_bay.yaml").assembly.scene.layouts == tuple(LAYOUTS)
