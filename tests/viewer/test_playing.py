"""Motions on a slider: where its places lead, where it stops, what is outlined."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from packcheck.moving.stances import stance
from packcheck.viewer import sight
from packcheck.viewer.desk import Desk
from packcheck.viewer.playing import WHOLE_WAY, Player, way_of

SCENE = """packcheck: 1
parts:
  flap: {kind: body, box: [100, 10, 10], at: [50, 0, 5]}
  stop: {kind: engine, box: [10, 10, 10], at: [-40, 0, 60]}
  block: {kind: engine, box: [40, 40, 40], at: [0, 300, 0]}
  rail: {kind: structure, box: [40, 40, 40], at: [0, 344, 0]}
  shelf: {kind: oil, box: [40, 40, 40], at: [300, 300, 0]}
motions:
  opens: {carries: flap, hinge: {through: [0, 0, 0], axis: y, from: 0, to: -180}}
  rocks: {carries: block, rock: {about: [0, 300, 0], turn: {x: [-2, 2]}, shift: {y: [-3, 3], z: [-1, 1]}}}
  slides: {carries: shelf, travel: {by: [1, 0, 0], from: 0, to: 40}}
clearances: {use: none, default: 8 mm}
"""


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    path = tmp_path / "scene.yaml"
    path.write_text(SCENE, encoding="utf-8")
    return Desk(path)


def test_the_slider_of_one_parameter_is_its_range(desk: Desk) -> None:
    """Oracle: by head. Nothing comes near on the way of the shelf: half of 0 to 40 mm is 20 mm along x."""
    way = way_of(desk.bay.assembly, "slides", ())
    assert way.worst is None
    desk.slide("slides", 0.5)
    moved = sight.carried(desk)
    assert set(moved) == {"shelf"}
    assert moved["shelf"].translation == pytest.approx([20.0, 0.0, 0.0])
    assert desk.said == ["slides: shelf 20 mm aft"]


def test_the_worst_place_is_the_pose_of_the_worst_finding(desk: Desk) -> None:
    """Oracle: closed form. The stop lies at 60 mm over -40: 123.7 degrees, where the flap goes through it."""
    way = way_of(desk.bay.assembly, "opens", desk.report.findings)
    assert way.finding is not None
    assert way.finding.subjects == ("flap", "stop")
    assert way.worst is not None
    assert way.pose(way.worst) is way.finding.pose
    degrees = float(way.setting(way.worst)[0])
    assert abs(degrees) == pytest.approx(np.degrees(np.arctan2(60, -40)), abs=12)


def test_a_way_of_several_parameters_leads_through_the_worst_from_the_far_corner(desk: Desk) -> None:
    """Oracle: by head. The rail is on the right: 3 mm there is worst, so the way begins with 3 mm to the left."""
    way = way_of(desk.bay.assembly, "rocks", desk.report.findings)
    assert way.worst is not None
    named = {drive.word: k for k, drive in enumerate(way.drives)}
    worst = way.setting(way.worst)
    assert worst[named["shift y"]] == pytest.approx(3.0, abs=0.01)
    assert way.start[named["shift y"]] == -3.0
    for share in np.linspace(0, 1, 9):
        setting = way.setting(float(share))
        assert all(d.low - 1e-9 <= v <= d.high + 1e-9 for d, v in zip(way.drives, setting, strict=True))
    seen = stance(desk.bay.assembly, way.pose(way.worst)).moved
    told = stance(desk.bay.assembly, {"rocks": desk_pose(worst, named)}).moved
    assert seen["block"][1] == pytest.approx(told["block"][1], abs=1e-3)


def desk_pose(worst: np.ndarray, named: dict[str, int]) -> dict[str, list[float]]:
    """A pose of the rock, written as findings write it."""
    shift = [0.0, float(worst[named["shift y"]]), float(worst[named["shift z"]])]
    return {"turn": [float(worst[named["turn x"]]), 0.0, 0.0], "shift": shift}


def test_playing_stops_at_the_worst_place_then_at_the_end_then_begins_anew(desk: Desk) -> None:
    desk.play("opens")
    assert desk.player is not None
    worst = desk.player.way.worst
    assert worst is not None
    for _ in range(400):
        desk.advance(WHOLE_WAY / 200)
    assert desk.player.share == worst
    assert not desk.player.running
    assert any(line.startswith("worst here: clash flap - stop") for line in desk.said)
    assert [finding.subjects for finding in sight.drawn(desk)] == [("flap", "stop")]
    desk.play()
    while desk.advance(0.1):
        pass
    assert desk.player.share == 1.0
    assert sight.drawn(desk) == ()
    desk.play()
    desk.advance(0.1)
    assert desk.player.share == pytest.approx(0.1 / WHOLE_WAY)


def test_pressing_again_stops_it_on_the_way(desk: Desk) -> None:
    desk.play("slides")
    desk.advance(1.0)
    desk.play()
    assert not desk.advance(1.0)
    assert desk.player is not None
    assert desk.player.share == pytest.approx(1.0 / WHOLE_WAY)


def test_a_slider_let_go_near_the_worst_place_is_there_and_a_key_goes_past_it(desk: Desk) -> None:
    way = way_of(desk.bay.assembly, "opens", desk.report.findings)
    assert way.worst is not None
    player = Player(way)
    player.slide(way.worst + 0.01)
    assert player.at_worst
    player.slide(way.worst + 0.01, snap=False)
    assert not player.at_worst
    player.slide(7.0)
    assert player.share == 1.0


def test_motions_are_played_one_after_the_other(desk: Desk) -> None:
    names = []
    for _ in range(4):
        desk.play_next()
        assert desk.player is not None
        names.append(desk.player.way.motion)
    assert names == ["opens", "rocks", "slides", "opens"]


def test_both_ends_are_outlined_but_not_where_it_stands(desk: Desk) -> None:
    """Oracle: closed form. The flap, 45 to 55 mm from its hinge: shut at rest, over on the other side at 180."""
    desk.slide("opens", 0.3)
    ends = list(sight.extremes(desk))
    assert [name for name, _ in ends] == ["flap", "flap"]
    middle = desk.model.surfaces[0].vertices.mean(axis=0)
    assert [round(float(pose.apply(middle)[0])) for _, pose in ends] in ([50, -50], [-50, 50])
    desk.slide("opens", 1.0)
    assert len(list(sight.extremes(desk))) == 1
    desk.whole()
    assert not list(sight.extremes(desk))


def test_a_moving_finding_is_seen_in_its_pose_and_its_moved_part_outlined(desk: Desk) -> None:
    number = next(k for k, f in enumerate(desk.report.findings, 1) if f.pose and "flap" in f.subjects)
    desk.go_to(number)
    assert set(sight.carried(desk)) == {"flap"}
    assert {name for name, _ in sight.extremes(desk)} == {"flap"}
    assert sight.title(desk).splitlines()[2].startswith("flap at")


def test_stepping_to_a_finding_ends_the_play(desk: Desk) -> None:
    desk.play("slides")
    desk.step(1)
    assert desk.player is None


def test_a_scene_without_motions_has_nothing_to_play(tmp_path: Path) -> None:
    path = tmp_path / "scene.yaml"
    path.write_text("packcheck: 1\nparts: {}\n", encoding="utf-8")
    still = Desk(path)
    still.play()
    still.play_next()
    assert still.player is None
    assert not still.advance(1.0)


def test_what_moves_can_be_searched_later(desk: Desk) -> None:
    """Oracle: the desk that searched at once."""
    later = Desk(desk.path, patient=False)
    assert later.searching
    assert not [finding for finding in later.report.findings if finding.study == "moving"]
    later.select("shelf")
    later.shift("up", 1.0)
    assert later.nudge is not None
    assert later.nudge.still
    later.found(later.search())
    assert not later.searching
    assert [f.subjects for f in later.report.findings] == [f.subjects for f in desk.report.findings]


def test_a_finding_without_a_known_pose_is_seen_at_rest(desk: Desk) -> None:
    number = next(k for k, f in enumerate(desk.report.findings, 1) if f.pose)
    desk.go_to(number)
    assert desk.finding is not None
    strange = replace(desk.finding, pose={"nothing": 1.0})
    desk.report = replace(desk.report, findings=(strange,))
    desk.at = 0
    assert sight.carried(desk) == {}
