"""Keys, the panel, the section: what they do, without a window."""

from __future__ import annotations

from pathlib import Path

import pytest

from packcheck.viewer.controls import After, Controls
from packcheck.viewer.desk import Desk
from packcheck.viewer.panel import PANEL, Item, item_at, panel, rows_for, share_at
from packcheck.viewer.shown import SWITCHES, Shown

SCENE = """packcheck: 1
parts:
  left_box: {kind: engine, box: [60, 60, 60], at: [0, 0, 0]}
  middle_box: {kind: [air, hot], box: [60, 60, 60], at: [0, 64, 0]}
  right_box: {box: [60, 60, 60], at: [0, 130, 0]}
motions:
  slides: {carries: right_box, travel: {by: [0, 0, 1], from: 0, to: 40}}
clearances: {use: none, default: 10 mm}
"""


@pytest.fixture
def controls(tmp_path: Path) -> Controls:
    path = tmp_path / "scene.yaml"
    path.write_text(SCENE, encoding="utf-8")
    return Controls(Desk(path))


def items(controls: Controls, *acts: str) -> list[Item]:
    return [item for item in panel(controls, 900.0) if item.act[: len(acts)] == acts]


def pressed(controls: Controls, item: Item) -> After:
    """A click in the middle of an item, found again by its place."""
    found = item_at(panel(controls, 900.0), item.left + item.width / 2, item.top + item.height / 2)
    assert found == item
    return controls.do(found.act, share_at(found, item.left + item.width / 2))


def test_keys_step_and_the_camera_goes_along(controls: Controls) -> None:
    assert controls.key("n") is After.LOOK
    assert controls.desk.at == 0
    assert controls.key("Home") is After.LOOK
    assert controls.desk.at is None
    assert controls.key("q") is After.CLOSE
    assert controls.key("F7") is After.NOTHING


def test_arrows_nudge_by_one_and_by_five(controls: Controls) -> None:
    """Oracle: by head. Right is y, up is z, aft is x; Shift is 5 mm; a turn about z of 1 degree and back."""
    controls.desk.select("middle_box")
    for name, shift in (("Right", False), ("Right", True), ("Prior", True), ("Up", False)):
        assert controls.key(name, shift=shift) is After.AGAIN
    assert controls.desk.nudge is not None
    assert controls.desk.nudge.shift == pytest.approx([-1.0, 6.0, 5.0])
    controls.key("z")
    assert not controls.desk.nudge.only_shifts
    controls.key("Z", shift=True)
    assert controls.desk.nudge.only_shifts


@pytest.mark.parametrize(
    ("key", "what"), [("l", "names"), ("d", "datums"), ("b", "skins"), ("e", "ends"), ("c", "cutting")]
)
def test_switches_have_keys(key: str, what: str, controls: Controls) -> None:
    before = getattr(controls.shown, what)
    controls.key(key)
    assert getattr(controls.shown, what) is not before
    controls.key(key)
    assert getattr(controls.shown, what) is before


def test_the_cut_slides_and_begins_anew_at_the_next_finding(controls: Controls) -> None:
    controls.key("n")
    controls.key("bracketright")
    controls.key("bracketright", shift=True)
    controls.key("bracketleft")
    assert controls.shown.cutting
    assert controls.shown.cut == pytest.approx(5.0)
    controls.key("n")
    assert controls.shown.cut == 0.0
    (slider,) = items(controls, "cut")
    controls.do(slider.act, 1.0)
    assert controls.shown.cut == pytest.approx(controls.cut_reach)
    (moved,) = items(controls, "cut")
    assert moved.share == pytest.approx(1.0)


def test_the_panel_lists_findings_with_word_gap_and_parts_and_leads_to_them(controls: Controls) -> None:
    """Oracle: the report: 4 and 6 mm of 10."""
    rows = [item for item in panel(controls, 900.0) if item.sort == "row"]
    assert [(row.text, row.aside, row.below) for row in rows[:2]] == [
        ("1  tight", "4.0 mm", "left_box - middle_box"),
        ("2  tight", "6.0 mm", "middle_box - right_box"),
    ]
    assert pressed(controls, rows[1]) is After.LOOK
    assert controls.desk.finding is not None
    assert controls.desk.finding.subjects == ("middle_box", "right_box")
    assert [item.on for item in panel(controls, 900.0) if item.sort == "row"][:2] == [False, True]
    (whole,) = items(controls, "whole")
    assert pressed(controls, whole) is After.LOOK
    assert controls.desk.finding is None


def test_kinds_are_hidden_and_shown_one_by_one(controls: Controls) -> None:
    assert [item.text for item in items(controls, "kind")] == ["air", "engine", "hot", "no kind"]
    pressed(controls, items(controls, "kind", "hot")[0])
    assert controls.shown.hides(("air", "hot"))
    assert not controls.shown.hides(("engine",))
    pressed(controls, items(controls, "kind", "no kind")[0])
    assert controls.shown.hides(())
    controls.key("a")
    assert not controls.shown.hidden


def test_the_kinds_of_the_selected_part_are_hidden_by_a_key(controls: Controls) -> None:
    controls.key("h")
    assert not controls.shown.hidden
    controls.desk.select("middle_box")
    controls.key("h")
    assert controls.shown.hidden == {"air", "hot"}


def test_motions_are_played_and_slid_from_the_panel(controls: Controls) -> None:
    (button,) = items(controls, "play", "slides")
    assert button.text == "play"
    pressed(controls, button)
    assert items(controls, "play", "slides")[0].text == "stop"
    (slider,) = items(controls, "slide", "slides")
    controls.do(slider.act, share_at(slider, slider.left + slider.width / 2))
    assert controls.desk.player is not None
    assert controls.desk.player.share == pytest.approx(0.5)
    assert not controls.desk.player.running
    controls.key("period")
    assert controls.desk.player.share == pytest.approx(0.52)
    controls.key("m")
    assert controls.desk.player.running


@pytest.mark.parametrize(("x", "share"), [(-50.0, 0.0), (7.0, 0.0), (100.0, 0.5), (193.0, 1.0), (400.0, 1.0)])
def test_a_place_on_a_slider_is_a_share(x: float, share: float) -> None:
    """Oracle: by head. 200 px wide with 7 px to spare at each end."""
    assert share_at(Item("slider", 0.0, 0.0, 200.0, 20.0), x) == pytest.approx(share)


@pytest.mark.parametrize("height", [480.0, 860.0, 1400.0])
def test_nothing_in_the_panel_covers_anything_else(height: float, controls: Controls) -> None:
    controls.key("n")
    controls.key("c")
    laid = [item for item in panel(controls, height) if item.width and item.height]
    for k, one in enumerate(laid):
        assert one.left >= 0
        assert one.left + one.width <= PANEL
        for other in laid[k + 1 :]:
            apart = one.left + one.width <= other.left or other.left + other.width <= one.left
            assert apart or one.top + one.height <= other.top or other.top + other.height <= one.top
    assert rows_for(controls, height) >= 3


def test_the_list_can_begin_farther_down(controls: Controls) -> None:
    rows = [item for item in panel(controls, 900.0, 1) if item.sort == "row"]
    assert rows[0].text == "2  tight"


def test_everything_that_can_be_switched_is_in_the_panel(controls: Controls) -> None:
    assert [item.act[1] for item in items(controls, "switch")] == ["cutting", *SWITCHES]
    assert all(hasattr(Shown(), what) for what in SWITCHES)


def test_an_unknown_act_does_nothing(controls: Controls) -> None:
    assert controls.do(("dance",)) is After.NOTHING
