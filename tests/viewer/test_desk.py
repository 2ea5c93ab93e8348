"""The viewer without its window: stepping, choosing, nudging, writing, following saves."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from packcheck.errors import SceneError
from packcheck.viewer import sight
from packcheck.viewer.desk import Desk

SCENE = """packcheck: 1
parts:
  left_box: {kind: engine, box: [60, 60, 60], at: [0, 0, 0]}      # the block
  middle_box: {kind: air, box: [60, 60, 60], at: [0, 64, 0]}      # 4 mm off
  right_box: {kind: oil, box: [60, 60, 60], at: [0, 130, 0]}      # 6 mm off
clearances: {use: none, default: 10 mm}
"""


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    path = tmp_path / "scene.yaml"
    path.write_text(SCENE, encoding="utf-8")
    return Desk(path)


def test_steps_go_round_in_the_order_of_the_report(desk: Desk) -> None:
    """Oracle: by head. Two findings, the tighter first; then round."""
    seen = []
    for by in (1, 1, 1, -1, -1):
        desk.step(by)
        assert desk.finding is not None
        seen.append(desk.finding.subjects[0])
    assert seen == ["left_box", "middle_box", "left_box", "middle_box", "left_box"]
    desk.whole()
    assert desk.finding is None
    desk.step(-1)
    assert desk.finding is not None
    assert desk.finding.subjects == ("middle_box", "right_box")


def test_findings_are_reached_by_the_number_reports_give_them(desk: Desk) -> None:
    desk.go_to(2)
    assert sight.title(desk).startswith(
        "2 of 2  tight: middle_box - right_box\ngap 6.0 mm, needs 10 mm, short by 4.0 mm"
    )
    for number in (0, 3):
        with pytest.raises(SceneError, match=f"no finding {number}"):
            desk.go_to(number)


def test_the_title_of_the_whole_is_the_verdict(desk: Desk) -> None:
    assert sight.title(desk) == "2 shortfalls found in 3 pairs: 2 tight"
    assert [finding.subjects for finding in sight.drawn(desk)] == [finding.subjects for finding in desk.findings]


def test_the_spot_is_held_by_the_camera(desk: Desk) -> None:
    """Oracle: by head. The middle of the gap of 4 mm between faces at 30 and 34."""
    desk.go_to(1)
    middle, reach = sight.extent(desk)
    assert middle[1] == pytest.approx(32.0)
    assert 30 < reach < 150


def test_a_part_must_be_chosen_before_it_is_nudged(desk: Desk) -> None:
    desk.shift("up", 1.0)
    assert desk.said == ["no part is selected: click on one first"]
    desk.enter()
    assert desk.said == ["nothing was nudged, so there is nothing to write"]


def test_a_nudge_moves_what_is_shown_and_tells_the_new_gaps(desk: Desk) -> None:
    """Oracle: by head. 5 mm to the right: 9 mm on the left, 1 mm on the right."""
    desk.select("middle_box")
    desk.shift("right", 5.0)
    assert desk.said[0].startswith("middle_box: 5 mm right")
    assert any("left_box: gap 9.0 mm" in line for line in desk.said)
    assert any("right_box: gap 1.0 mm" in line for line in desk.said)
    moved = sight.carried(desk)
    assert set(moved) == {"middle_box"}
    before = desk.model.surfaces[1].vertices
    assert moved["middle_box"].apply(before) - before == pytest.approx(np.tile([0.0, 5.0, 0.0], (len(before), 1)))
    desk.undo()
    assert not sight.carried(desk)


def test_the_gaps_of_a_nudged_part_are_drawn_where_they_are_now(desk: Desk) -> None:
    """Oracle: by head. 5 mm to the right faces at 34 and 94 stand at 39 and 99, beside 30 and 100."""
    desk.go_to(1)
    assert [finding.value for finding in sight.drawn(desk)] == pytest.approx([4.0])
    desk.select("middle_box")
    desk.shift("right", 5.0)
    drawn = sight.drawn(desk)
    assert [finding.value for finding in drawn] == pytest.approx([1.0, 9.0])
    assert sorted(point[1] for f in drawn if f.points is not None for point in f.points) == pytest.approx(
        [30.0, 39.0, 99.0, 100.0]
    )


def test_enter_shows_then_writes_and_the_comments_stay(desk: Desk) -> None:
    desk.select("middle_box")
    desk.shift("right", 1.0)
    desk.enter()
    assert any("at: [0, 64, 0]" in line for line in desk.said)
    assert desk.path.read_text(encoding="utf-8") == SCENE
    desk.enter()
    assert desk.said[0] == "written"
    assert desk.path.read_text(encoding="utf-8") == SCENE.replace("[0, 64, 0]", "[0, 65, 0]")
    assert desk.nudge is not None
    assert desk.nudge.still
    assert not desk.changed()


def test_a_nudge_between_asks_again_before_it_is_written(desk: Desk) -> None:
    desk.select("middle_box")
    desk.shift("right", 1.0)
    desk.enter()
    desk.shift("up", 1.0)
    desk.enter()
    assert desk.path.read_text(encoding="utf-8") == SCENE


def test_a_file_saved_meanwhile_is_not_overwritten(desk: Desk) -> None:
    desk.select("middle_box")
    desk.shift("right", 1.0)
    desk.enter()
    other = SCENE.replace("4 mm off", "somebody else's words")
    desk.path.write_text(other, encoding="utf-8")
    desk.enter()
    assert desk.path.read_text(encoding="utf-8") == other
    assert any("changed" in line for line in desk.said)


def test_a_save_is_followed_and_the_finding_looked_at_stays(desk: Desk) -> None:
    desk.go_to(2)
    desk.path.write_text(SCENE.replace("[0, 130, 0]", "[0, 126, 0]"), encoding="utf-8")
    assert desk.changed()
    assert desk.refresh()
    assert desk.finding is not None
    assert desk.finding.subjects == ("middle_box", "right_box")
    assert desk.finding.value == pytest.approx(2.0)
    assert desk.said == ["worse: middle_box - right_box"]


def test_a_broken_save_is_told_and_the_bay_stays(desk: Desk) -> None:
    desk.path.write_text(SCENE.replace("box:", "bax:"), encoding="utf-8")
    assert not desk.refresh()
    assert any("bax" in line for line in desk.said)
    assert len(desk.model.surfaces) == 3


def test_picks_are_told_and_the_fourth_begins_anew(desk: Desk) -> None:
    for k in range(3):
        desk.pick(np.array([10.0 * k, 30.0 * (k == 2), 0.0]), "left_box")
    assert desk.said[-1].startswith("picked: {at: [0, 0, 0], turn:")
    assert desk.nudge is not None
    assert desk.nudge.part == "left_box"
    desk.pick(np.array([1.0, 2.0, 3.0]), "right_box")
    assert len(desk.picks) == 1
    assert desk.nudge.part == "right_box"


def test_a_scene_that_cannot_be_read_is_refused(tmp_path: Path) -> None:
    with pytest.raises(SceneError, match="does not exist"):
        Desk(tmp_path / "nowhere.yaml")


def test_a_scene_without_parts_is_looked_at_all_the_same(tmp_path: Path) -> None:
    path = tmp_path / "scene.yaml"
    path.write_text("packcheck: 1\nparts: {}\n", encoding="utf-8")
    empty = Desk(path)
    empty.step(1)
    assert empty.finding is None
    assert sight.extent(empty)[1] > 0
