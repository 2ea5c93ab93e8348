"""A part nudged by hand: its gaps, its place in the file, and everything else in the file left alone."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import packcheck
from packcheck.errors import SceneError
from packcheck.findings import Verdict
from packcheck.frames import turn_matrix
from packcheck.viewer.desk import Desk
from packcheck.viewer.nudging import Glance, Nudge, gaps_of, nudged, planned_nudge

SCENE = """# A scene with things to say.
packcheck: 1          # the format

frames:
  shelf: {at: [100, 0, 50], turn: [0, 0, 90]}   # turned: its x is the car's y

parts:
  # the pump stands on the shelf
  pump:
    kind: fuel        # keep away from heat
    in: shelf
    at: [10, 20, 0]   # measured twice
    box: [20, 20, 20]
  filter: {in: pump, box: [10, 10, 10], at: [0, 0, 30]}
  wall: {box: [10, 400, 400], at: [0, 0, 0], fixed: true}   # aft face at 5
  lid: {faces: {top: 300, left: -50, front: 20}, box: [50, 60, 10]}
clearances: {use: none, default: 10 mm}
"""
BY = np.array([3.0, -4.0, 5.0])


@pytest.fixture
def bay(tmp_path: Path) -> packcheck.Bay:
    path = tmp_path / "scene.yaml"
    path.write_text(SCENE, encoding="utf-8")
    return packcheck.load(path)


def test_what_hangs_on_the_part_goes_along_and_nothing_else(bay: packcheck.Bay) -> None:
    """Oracle: by head. A shift along the car's axes, whatever frame the part hangs on."""
    moved = nudged(bay.assembly, Nudge("pump").shifted(BY))
    for name, by in {"pump": BY, "filter": BY, "wall": 0 * BY}.items():
        before, after = bay.assembly.parts[name].pose, moved.parts[name].pose
        assert after.translation - before.translation == pytest.approx(by)
    low, high = moved.parts["pump"].box()
    assert moved.boxes[0] == pytest.approx(np.array([low, high]))


def test_a_turn_is_about_the_part_s_own_zero(bay: packcheck.Bay) -> None:
    """Oracle: closed form. The zero stays; the filter 30 mm above it goes 30 mm aside at 90 degrees about x."""
    moved = nudged(bay.assembly, Nudge("pump").turned(np.array([90.0, 0.0, 0.0])))
    here = bay.assembly.parts["pump"].pose.translation
    assert moved.parts["pump"].pose.translation == pytest.approx(here)
    assert moved.parts["filter"].pose.translation - here == pytest.approx([0.0, -30.0, 0.0])


def test_gaps_follow_the_nudge(bay: packcheck.Bay) -> None:
    """Oracle: closed form. The pump's near face stands at 100 - 20 - 10 = 70, the wall's at 5."""
    near = gaps_of(bay.assembly, bay.session, Nudge("pump").shifted(np.array([-60.0, 0.0, 0.0])))
    gap = next(f for f in near if f.subjects == ("pump", "wall"))
    assert gap.value == pytest.approx(5.0)
    assert gap.word == "tight"


def test_the_place_is_written_in_the_part_s_own_frame(bay: packcheck.Bay) -> None:
    """Oracle: by head. On a shelf turned 90 degrees about z, the car's x is -y of the shelf, the car's y is x."""
    plan = planned_nudge(bay.assembly, Nudge("pump").shifted(BY))
    plan.write()
    text = Path(bay.assembly.scene.path).read_text(encoding="utf-8")
    assert "at: [6, 17, 5]   # measured twice" in text
    assert text == SCENE.replace("at: [10, 20, 0]", "at: [6, 17, 5]")


def test_a_turned_part_is_where_it_was_seen_once_read_again(bay: packcheck.Bay) -> None:
    """Oracle: the scene read again from the file."""
    nudge = Nudge("pump").turned(np.array([0.0, 0.0, 30.0])).shifted(BY).turned(np.array([7.0, 0.0, 0.0]))
    wanted = nudged(bay.assembly, nudge).parts
    planned_nudge(bay.assembly, nudge).write()
    again = packcheck.load(bay.assembly.scene.path).assembly.parts
    for name in wanted:
        assert again[name].pose.translation == pytest.approx(wanted[name].pose.translation, abs=1e-4)
        assert again[name].pose.rotation == pytest.approx(wanted[name].pose.rotation, abs=1e-6)
    assert nudge.turn == pytest.approx(turn_matrix([7, 0, 0]) @ turn_matrix([0, 0, 30]))


def test_the_change_is_shown_before_it_is_written(bay: packcheck.Bay) -> None:
    plan = planned_nudge(bay.assembly, Nudge("pump").shifted(BY))
    said = "\n".join(plan.lines())
    assert "at: [10, 20, 0]" in said
    assert "at: [6, 17, 5]" in said
    assert Path(bay.assembly.scene.path).read_text(encoding="utf-8") == SCENE


def test_a_file_that_changed_meanwhile_is_not_written(bay: packcheck.Bay) -> None:
    plan = planned_nudge(bay.assembly, Nudge("pump").shifted(BY))
    path = Path(bay.assembly.scene.path)
    path.write_text(SCENE + "# somebody else was here\n", encoding="utf-8")
    with pytest.raises(SceneError, match=r"changed"):
        plan.write()
    assert path.read_text(encoding="utf-8").endswith("# somebody else was here\n")


def test_a_part_placed_by_its_faces_is_not_written(bay: packcheck.Bay) -> None:
    with pytest.raises(SceneError, match=r"at stands beside faces"):
        planned_nudge(bay.assembly, Nudge("lid").shifted(BY))


def test_nudging_and_back_is_no_nudge() -> None:
    nudge = Nudge("pump").shifted(BY).turned(np.array([0.0, 5.0, 0.0]))
    assert not nudge.still
    assert nudge.turned(np.array([0.0, -5.0, 0.0])).shifted(-BY).still


HOOKED = """packcheck: 1
parts:
  hook: {extrude: {outline: [[0, 0], [60, 0], [60, 20], [20, 20], [20, 60], [0, 60]], thickness: 20}, at: [0, 0, 0]}
  pin: {box: [10, 10, 10], at: [45, 5, 10]}
  far: {box: [10, 10, 10], at: [75, 5, 10]}
clearances: {use: none, default: 10 mm}
"""


def test_a_glance_leaves_open_how_deep_shapes_overlap_that_are_not_convex(tmp_path: Path) -> None:
    """Oracle: the whole session. What a glance does tell is the same; what it leaves open is a shortfall there."""
    path = tmp_path / "scene.yaml"
    path.write_text(HOOKED, encoding="utf-8")
    hooked = packcheck.load(path)
    nudge = Nudge("hook").shifted(np.array([1.0, 0.0, 0.0]))
    glance = Glance(whole=hooked.session)
    told = {f.subjects: f for f in gaps_of(hooked.assembly, glance, nudge)}
    whole = {f.subjects: f for f in gaps_of(hooked.assembly, hooked.session, nudge)}
    assert glance.left_open
    assert told["hook", "pin"].verdict is Verdict.NOT_CHECKED
    assert "how deep is being worked out" in told["hook", "pin"].skipped
    assert whole["hook", "pin"].word == "clash"
    assert told["hook", "far"].value == whole["hook", "far"].value


def test_what_a_nudge_leaves_open_is_finished_later(tmp_path: Path) -> None:
    path = tmp_path / "scene.yaml"
    path.write_text(HOOKED, encoding="utf-8")
    desk, patient = Desk(path, patient=False), Desk(path)
    for one in (desk, patient):
        one.select("hook")
        one.shift("aft", 1.0)
    assert desk.open
    assert not patient.open
    desk.finish()
    assert not desk.open
    assert desk.said == patient.said


def test_a_nudge_measures_only_what_it_moves(bay: packcheck.Bay) -> None:
    """Oracle: the session's count. A nudge of one part measures no pair of two others."""
    gaps_of(bay.assembly, bay.session, Nudge("pump"))
    before = bay.session.work.gaps
    gaps_of(bay.assembly, bay.session, Nudge("pump").shifted(np.array([-50.0, 0.0, 0.0])))
    assert bay.session.work.gaps - before <= 4
