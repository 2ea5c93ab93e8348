"""The demo scenes load, and show exactly the faults that were built into them."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest

import packcheck
from packcheck import Finding, Report, SceneError, Verdict
from packcheck.findings import worst
from packcheck.scene.model import Mesh

SCENES = Path(__file__).parents[2] / "scenes"
GOOD = sorted(file.name for file in SCENES.glob("*.yaml"))
SHORT = (Verdict.FAIL, Verdict.UNSURE, Verdict.NOT_CHECKED)

FAULTS = {
    "hillclimb_rear_bay.yaml": {
        ("fuel_pump", "coolant_pump"): "clash",
        ("hand_at_oil_filter", "race_battery"): "clash",
        ("rear_deck", "intake_plenum"): "tight",
        ("exhaust_manifold", "oil_catch_tank"): "tight",
        ("exhaust_manifold", "rear_brake_line"): "tight",
        ("silencer", "rear_lamp_loom"): "tight",
        ("bottom_rail_left", "battery_tray"): "not seated",
        ("seat_bulkhead", "fuel_regulator"): "may be tight",
        ("top_rail_left", "air_filter"): "may be tight",
        ("crank_pulley", "pressure_hose"): "may be tight",
        ("driveshaft_right", "rear_brake_line"): "may be tight",
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
    "measured_bay.yaml": {
        ("rail_left", "steering_shaft"): "tight",
        ("fuel_pump", "steering_shaft"): "tight",
        ("exhaust_downpipe", "fuel_pump"): "disagrees, may be tight",
    },
}

MOVING_FAULTS = {
    "hillclimb_rear_bay.yaml": {
        (("rear_deck", "intake_plenum"), "deck_opens"): "may clash",
        (("rear_deck", "intake_plenum"), "engine_rock"): "clash",
        (("rear_deck", "intake_elbow"), "engine_rock"): "may be tight",
        (("head_cover", "engine_loom"), "engine_rock"): "may be tight",
        (("hand_at_oil_filter", "race_battery"), "engine_rock"): "clash",
        (("exhaust_manifold", "oil_catch_tank"), "engine_rock"): "may be tight",
        (("silencer", "rear_lamp_loom"), "engine_rock"): "may be tight",
        (("intake_plenum", "throttle_lever"), "throttle"): "clash",
        (("rear_lamp_loom", "cooler_fan"), "fan_spin"): "tight",
        (("wheel_left", "header_tank"), "wheel_bump"): "clash",
    }
}
"""What falls short, or may, while something moves: the pair, and what moves it."""

LAYOUTS = {
    "pump_aft": ({("crank_pulley", "pressure_hose")}, {("fuel_pump", "coolant_pump")}),
    "pump_rail": (set(), {("fuel_pump", "coolant_pump"), ("crank_pulley", "pressure_hose")}),
    "pump_right": (set(), {("fuel_pump", "coolant_pump"), ("crank_pulley", "pressure_hose")}),
    "pump_right_plenum_low": (
        set(),
        {
            *(("fuel_pump", "coolant_pump"), ("crank_pulley", "pressure_hose")),
            *(("rear_deck", "intake_plenum"), ("top_rail_left", "air_filter")),
        },
    ),
}
"""Of the hillclimb special: which pairs fall short more than before, and which no longer fall short."""

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


def test_the_tyre_meets_the_header_tank_where_its_circle_says(reports: dict[str, Report]) -> None:
    """Oracle: closed form. The tyre's circle, radius 280 about (729, 171 + 60), over the tank's rear lower edge at
    (650, 490): the way out that is least goes through that edge."""
    (finding,) = (
        f for f in reports["hillclimb_rear_bay.yaml"].findings if f.subjects == ("wheel_left", "header_tank")
    )
    overlap = math.hypot(729 - 650, 490 - 231) - 280
    assert finding.study == "moving"
    assert finding.value == pytest.approx(overlap, abs=0.01)
    assert finding.low is not None and finding.high is not None
    assert finding.low - 1e-3 <= overlap <= finding.high + 1e-3
    assert finding.pose == {"wheel_bump": 60.0}


def test_the_rear_bay_is_as_large_as_a_real_one() -> None:
    parts = packcheck.load(SCENES / "hillclimb_rear_bay.yaml").assembly.scene.parts.values()
    meshes = [solid for part in parts for solid in part.solids if isinstance(solid.shape, Mesh)]
    assert len(parts) >= 38
    assert len(meshes) >= 6


def test_the_coolant_pump_overlaps_the_fuel_pump_by_what_their_axes_say(reports: dict[str, Report]) -> None:
    """Oracle: closed form. Upright cylinders of radius 26 and 44, axes 61 and 20 mm apart in plan."""
    finding = found(reports["hillclimb_rear_bay.yaml"], "fuel_pump", "coolant_pump")
    overlap = math.hypot(61, 20) - 26 - 44
    # a part of several solids: the way out is found in steps of a hundredth of a radian
    assert finding.value == pytest.approx(overlap, abs=1e-2)
    assert finding.low is not None and finding.low <= overlap + 1e-3
    assert (finding.low, finding.high) == pytest.approx((overlap - 2, overlap + 2), abs=2e-3)


def test_the_battery_tray_stands_off_its_rail_by_the_missing_spacers(reports: dict[str, Report]) -> None:
    """Oracle: closed form. Tray at 3 + 41 mm, top of the rail at 3 + 19 + 19 mm."""
    finding = found(reports["hillclimb_rear_bay.yaml"], "bottom_rail_left", "battery_tray")
    assert finding.value == pytest.approx(44 - 41, abs=1e-3)


def test_the_fuel_filter_of_the_launch_is_above_its_battery(reports: dict[str, Report]) -> None:
    """Oracle: closed form. From the rim of the bowl's foot to the top edge of the battery's forward face."""
    finding = found(reports["boat_engine_box.yaml"], "fuel_filter", "starter_battery")
    aside = (390 - 135) - (90 + 45)
    assert finding.value == pytest.approx(math.hypot(aside, (420 - 110) - 220), abs=0.05)


def test_the_deck_comes_clear_without_the_spacer_as_the_scene_says(tmp_path: Path) -> None:
    text = (SCENES / "hillclimb_rear_bay.yaml").read_text(encoding="utf-8")
    lower = text.replace("plenum_height: 278 mm", "plenum_height: 262 mm")
    assert lower != text
    scene = tmp_path / "lower.yaml"
    scene.write_text(lower.replace("../meshes_demo", (SCENES.parent / "meshes_demo").as_posix()), encoding="utf-8")
    report = packcheck.load(scene).check(parts=["intake_plenum"], moves=False)
    assert worst(f.verdict for f in report.findings if f.study == "gaps") is Verdict.CLOSE


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
    """What falls short in a layout is what fell short before, less what it mends."""
    worse, mended = LAYOUTS[layout]
    report = packcheck.load(SCENES / "hillclimb_rear_bay.yaml", layout=layout).check(moves=False)
    before = {f.subjects for f in written.findings if f.verdict in SHORT and f.study == "gaps"}
    after = {f.subjects for f in report.findings if f.verdict in SHORT and f.study == "gaps"}
    assert after == before - mended
    for subjects in worse:
        here, there = (
            min(f.margin or 0.0 for f in one.findings if f.subjects == subjects) for one in (report, written)
        )
        assert here < there


def test_every_layout_of_the_demo_is_tested() -> None:
    assert packcheck.load(SCENES / "hillclimb_rear_bay.yaml").assembly.scene.layouts == tuple(LAYOUTS)
