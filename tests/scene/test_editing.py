"""Scene files changed in place: planned, shown, written in one step or not at all."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from packcheck.errors import SceneError
from packcheck.scene import load_scene
from packcheck.scene.editing import Append, Mm, Put, planned
from packcheck.scene.text.spelling import Value

from .writing import write

BAY = """\
    packcheck: 1
    units: mm            # of the tape
    include: [shared.yaml]

    parts:
      # the pump moved in March
      pump:
        at: [60, -310, 120]   # from the bulkhead
        box: [10, 10, 10]
      "tank 2": {box: [1, 2, 3], bolted_to: pump}

    # clearances follow the club's book
    clearances: {default: 5}
    """
SHARED = """\
    packcheck: 1
    units: in
    parts:
      rail: {box: [1, 1, 1]}   # inches here
    """


@pytest.fixture
def bay(tmp_path: Path) -> Path:
    write(tmp_path, SHARED, "shared.yaml")
    return write(tmp_path, BAY)


def test_a_place_is_changed_and_all_else_stays(bay: Path) -> None:
    before = bay.read_text(encoding="utf-8")
    plan = planned(load_scene(bay), [Put(("parts", "pump", "at"), [Mm(60), Mm(-300), "12 up"])])
    assert bay.read_text(encoding="utf-8") == before
    plan.write()
    assert bay.read_text(encoding="utf-8") == before.replace("[60, -310, 120]", "[60, -300, 12 up]")
    assert load_scene(bay) == plan.scene
    assert plan.scene.parts["pump"].at == (60.0, -300.0, 12.0)


def test_the_change_is_shown_by_file_and_line(bay: Path) -> None:
    plan = planned(load_scene(bay), [Append(("parts", "tank 2", "bolted_to"), "rail")])
    assert list(plan.lines()) == [
        str(bay),
        "  line 10",
        '  -   "tank 2": {box: [1, 2, 3], bolted_to: pump}',
        '  +   "tank 2": {box: [1, 2, 3], bolted_to: [pump, rail]}',
    ]


def test_a_part_is_changed_in_the_file_that_defines_it_and_in_its_units(bay: Path) -> None:
    """Oracle: closed form, 34.925 mm = 1 3/8 in."""
    rail = bay.with_name("shared.yaml")
    planned(load_scene(bay), [Put(("parts", "rail", "at"), [Mm(34.925), Mm(0), Mm(25.4)])]).write()
    assert "rail: {box: [1, 1, 1], at: [1 3/8 in, 0, 1]}   # inches here" in rail.read_text(encoding="utf-8")
    assert load_scene(bay).parts["rail"].at == pytest.approx((34.925, 0.0, 25.4), abs=1e-9)


def test_changes_of_several_files_are_written_together(bay: Path) -> None:
    changes = [Append(("parts", name, "bolted_to"), "tank 2") for name in ("pump", "rail")]
    planned(load_scene(bay), changes).write()
    scene = load_scene(bay)
    assert [scene.parts[name].bolted_to for name in ("pump", "rail")] == [("tank 2",), ("tank 2",)]


def test_a_part_is_added_to_its_section_and_a_section_to_the_file(bay: Path) -> None:
    changes = [
        Put(("parts", "bolt"), {"box": [1, 2, 3], "at": [Mm(1), 0, 0]}),
        Put(("frames", "foot"), {"at": [0, 0, 5]}),
    ]
    planned(load_scene(bay), changes).write()
    text = bay.read_text(encoding="utf-8")
    assert "bolted_to: pump}\n  bolt: {box: [1, 2, 3], at: [1, 0, 0]}\n\n# clearances" in text
    assert text.endswith("clearances: {default: 5}\n\nframes:\n  foot: {at: [0, 0, 5]}\n")


def test_a_byte_order_mark_and_windows_line_ends_stay(tmp_path: Path) -> None:
    path = tmp_path / "bay.yaml"
    path.write_bytes(b"\xef\xbb\xbfpackcheck: 1\r\nparts:\r\n  a: {box: [1, 1, 1]}  # caf\xc3\xa9")
    planned(load_scene(path), [Put(("parts", "a", "at"), [0, 0, 1])]).write()
    said = b"\xef\xbb\xbfpackcheck: 1\r\nparts:\r\n  a: {box: [1, 1, 1], at: [0, 0, 1]}  # caf\xc3\xa9"
    assert path.read_bytes() == said


@pytest.mark.parametrize("when", ["before the plan", "after the plan"])
def test_a_file_that_changed_meanwhile_is_left_alone(bay: Path, when: str) -> None:
    scene = load_scene(bay)
    change = [Put(("parts", "pump", "fixed"), True)]
    plan = planned(scene, change)
    bay.write_bytes(bay.read_bytes() + b"# one more\n")
    with pytest.raises(SceneError, match="changed since it was read"):
        planned(scene, change) if when == "before the plan" else plan.write()
    assert bay.read_bytes().endswith(b"# one more\n")


def test_nothing_of_several_files_is_written_when_one_changed(bay: Path) -> None:
    plan = planned(load_scene(bay), [Put(("parts", name, "fixed"), True) for name in ("pump", "rail")])
    rail = bay.with_name("shared.yaml")
    rail.write_bytes(rail.read_bytes() + b"# one more\n")
    before = bay.read_bytes()
    with pytest.raises(SceneError, match=r"shared\.yaml: the file has changed"):
        plan.write()
    assert bay.read_bytes() == before
    assert sorted(path.name for path in bay.parent.iterdir()) == ["bay.yaml", "shared.yaml"]


@pytest.mark.parametrize(
    ("change", "match"),
    [
        (Put(("parts", "pump", "at"), [1, 2]), "at has 2 values, needs 3"),
        (Put(("parts", "pump", "colour"), "red"), "unknown key 'colour'"),
        (Append(("parts", "pump", "bolted_to"), "nobody"), "'nobody' is not known"),
        (Put(("parts", "runner.2", "fixed"), True), "'runner.2' is not written out"),
        (Put(("clearances", "default", "x"), 1), "no map to put 'x' in"),
    ],
)
def test_a_change_that_does_not_load_is_refused(bay: Path, change: Put | Append, match: str) -> None:
    before = bay.read_bytes()
    with pytest.raises(SceneError, match=match):
        planned(load_scene(bay), [change]).write()
    assert bay.read_bytes() == before


def test_a_change_that_would_lose_a_comment_is_refused_with_its_place(tmp_path: Path) -> None:
    path = write(tmp_path, "packcheck: 1\nparts:\n  a:\n    box:\n      - 1  # across\n      - 2\n      - 3\n")
    with pytest.raises(SceneError, match=r"bay\.yaml:4:9: parts\.a\.box cannot be changed: .* comments"):
        planned(load_scene(path), [Put(("parts", "a", "box"), "none")])


def test_a_write_protected_file_is_left_alone(bay: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    plan = planned(load_scene(bay), [Put(("parts", "pump", "fixed"), True)])
    before = bay.read_bytes()
    monkeypatch.setattr(os, "access", lambda path, mode: (path, mode) != (bay, os.W_OK))
    with pytest.raises(SceneError, match="write-protected"):
        plan.write()
    assert bay.read_bytes() == before


def test_a_link_to_the_scene_stays_a_link(bay: Path) -> None:
    link = bay.with_name("link.yaml")
    try:
        link.symlink_to(bay)
    except OSError:
        pytest.skip("this system makes no links here")
    planned(load_scene(link), [Put(("parts", "pump", "fixed"), True)]).write()
    assert link.is_symlink()
    assert load_scene(bay).parts["pump"].fixed


def test_a_layout_is_added_and_loads(bay: Path) -> None:
    moved: Value = {"note": "lower", "parts": {"pump": {"at": [Mm(60), Mm(-310), Mm(90)]}}}
    planned(load_scene(bay), [Put(("layouts", "low pump"), moved)]).write()
    assert bay.read_text(encoding="utf-8").endswith(
        "layouts:\n  low pump:\n    note: lower\n    parts:\n      pump: {at: [60, -310, 90]}\n"
    )
    assert load_scene(bay, "low pump").parts["pump"].at == (60.0, -310.0, 90.0)
    assert load_scene(bay).parts["pump"].at == (60.0, -310.0, 120.0)


def test_a_layout_that_does_not_load_is_refused(bay: Path) -> None:
    wrong: Value = {"parts": {"pump": {"at": [1, 2]}}}
    with pytest.raises(SceneError, match="at has 2 values, needs 3"):
        planned(load_scene(bay), [Put(("layouts", "low pump"), wrong)])


@pytest.mark.parametrize("name", ["hillclimb_rear_bay", "saloon_straight_six", "boat_engine_box", "first_steps"])
def test_a_change_of_every_part_of_a_demo_touches_nothing_else(name: str, tmp_path: Path) -> None:
    """Oracle: the file before: taken out again, what was written leaves it byte for byte."""
    folder = Path(__file__).parents[2] / "scenes"
    text = (folder / f"{name}.yaml").read_text(encoding="utf-8")
    meshes = folder.parent / "meshes_demo"
    path = tmp_path / "bay.yaml"
    path.write_text(text.replace("../meshes_demo", meshes.as_posix()), encoding="utf-8")
    before = path.read_text(encoding="utf-8")
    scene = load_scene(path)
    changes = [Put(("parts", part, "wrap"), Mm(0)) for part in scene.parts if "." not in part]
    planned(scene, changes).write()
    after = path.read_text(encoding="utf-8")
    assert after != before
    assert after.replace("\n    wrap: 0", "").replace(", wrap: 0", "") == before
