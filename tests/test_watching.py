"""A scene watched: what a save changes is told, only that is measured, and broken files are waited out."""

from __future__ import annotations

import random
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pytest
import trimesh

import packcheck
from packcheck.comparison import Kind
from packcheck.replacing import replace_files
from packcheck.studies import gaps
from packcheck.watching import GRACE, Look, Watcher, next_save

ROOT = Path(__file__).parents[1]

SCENE = """packcheck: 1
include: [more.yaml]
parts:
  left_box: {box: [10, 10, 10], at: [0, 0, 0]}
  right_box: {box: [10, 10, 10], at: [0, 18, 0]}
  lump: {mesh: {file: lump.stl, units: mm}, at: [0, 0, 200]}
clearances: {use: none, default: 10 mm}
"""
MORE = "packcheck: 1\nparts:\n  far_box: {box: [10, 10, 10], at: [0, 0, 150]}\n"


@dataclass
class Script:
    """Saves that happen while somebody waits: each pause runs the next of `steps`."""

    steps: Iterator[Callable[[], object]]
    waited: float = 0.0
    seen: list[float] = field(default_factory=list)

    def pause(self, seconds: float) -> None:
        self.waited += seconds
        next(self.steps, _too_long)()


def _too_long() -> None:
    raise AssertionError("waited longer than the script goes")


def nothing() -> None:
    """A moment in which nobody saves."""


@pytest.fixture
def scene(tmp_path: Path) -> Path:
    (tmp_path / "scene.yaml").write_text(SCENE, encoding="utf-8")
    (tmp_path / "more.yaml").write_text(MORE, encoding="utf-8")
    lump(tmp_path, 10.0)
    return tmp_path / "scene.yaml"


def lump(folder: Path, side: float) -> None:
    """A cube of this side, saved as most programs save: whole, in place of the old file."""
    data = trimesh.creation.box(extents=(side, side, side)).export(file_type="stl")
    replace_files({folder / "lump.stl": data})


def save(scene: Path, old: str, new: str) -> Callable[[], None]:
    def done() -> None:
        text = scene.read_text(encoding="utf-8")
        assert old in text
        scene.write_text(text.replace(old, new), encoding="utf-8")

    return done


def after(scene: Path, *steps: Callable[[], object]) -> tuple[Watcher, Look, Script]:
    """A first look, then the look that follows these steps."""
    watcher = Watcher(scene)
    first = watcher.look()
    script = Script(iter([*steps, *[nothing] * 30]))
    return watcher, next_save(watcher, script.pause, first), script


def told(look: Look) -> list[tuple[Kind, tuple[str, ...]]]:
    return [(change.kind, change.subjects) for change in look.changes]


def test_the_first_look_has_nothing_to_compare_with(scene: Path) -> None:
    look = Watcher(scene).look()
    assert look.first
    assert not look.changes
    assert look.report is not None


@pytest.mark.parametrize(
    ("at", "kind", "by"), [("15", Kind.WORSE, -3.0), ("19.5", Kind.BETTER, 1.5), ("30", Kind.VANISHES, 12.0)]
)
def test_a_save_tells_what_became_of_a_gap_in_mm(at: str, kind: Kind, by: float, scene: Path) -> None:
    """Oracle: by head. The gap is 8 mm; the second box goes to `at` along y."""
    _, look, _ = after(scene, save(scene, "[0, 18, 0]", f"[0, {at}, 0]"))
    assert told(look) == [(kind, ("left_box", "right_box"))]
    change = look.changes[0]
    assert change.by == pytest.approx(by)


def test_a_new_clash_is_new(scene: Path) -> None:
    _, look, _ = after(scene, save(scene.with_name("more.yaml"), "[0, 0, 150]", "[0, 0, 196]"))
    assert told(look) == [(Kind.APPEARS, ("lump", "far_box"))] or told(look) == [
        (Kind.APPEARS, ("far_box", "lump"))
    ]
    assert look.changes[0].after is not None
    assert look.changes[0].after.word == "clash"


def test_a_mesh_saved_anew_is_seen(scene: Path) -> None:
    """Oracle: by head. A cube of 10 mm becomes one of 80: from 160 to 240, the other box ends at 155, 5 mm off."""
    _, look, _ = after(scene, lambda: lump(scene.parent, 80.0))
    assert len(look.changes) == 1
    change = look.changes[0]
    assert change.kind is Kind.APPEARS
    assert change.after is not None
    assert change.after.value == pytest.approx(5.0)


def test_only_pairs_that_the_edit_touches_are_measured_again(scene: Path) -> None:
    """Oracle: the session's own count of pairs measured; one box of two that are near each other moves."""
    crowd = "".join(f"  b{k}: {{box: [10, 10, 10], at: [{15 * k + k * k / 10}, 400, 0]}}\n" for k in range(20))
    scene.write_text(SCENE.replace("clearances", f"{crowd}clearances"), encoding="utf-8")
    watcher = Watcher(scene)
    watcher.look()
    assert watcher.bay is not None
    work = watcher.bay.session.work
    before = work.gaps
    assert before >= 19
    save(scene, "[0, 18, 0]", "[0, 17, 0]")()
    watcher.look()
    assert work.gaps - before == 1
    scene.write_text(scene.read_text(encoding="utf-8") + "title: another\n", encoding="utf-8")
    watcher.look()
    assert work.gaps - before == 1


def test_in_the_demo_a_nudged_part_costs_its_own_pairs_and_no_mesh_is_read_again(tmp_path: Path) -> None:
    """Oracle: the count of pairs that a check of that part alone measures, in a fresh bay."""
    for folder in ("scenes", "meshes_demo"):
        shutil.copytree(ROOT / folder, tmp_path / folder, ignore=shutil.ignore_patterns("mistakes", "pictures"))
    demo = tmp_path / "scenes" / "hillclimb_rear_bay.yaml"
    watcher = Watcher(demo)
    watcher.look()
    assert watcher.bay is not None
    work, before = watcher.bay.session.work, watcher.bay.session.work.gaps
    save(demo, "aft, 5 right, 417.3 up]", "aft, 6 right, 417.3 up]")()
    look = watcher.look()
    assert {name for change in look.changes for name in change.subjects} >= {"vacuum_tank"}
    alone = packcheck.load(demo)
    report = gaps.run(alone.assembly, alone.session, ("vacuum_tank", *alone.assembly.carried_by("vacuum_tank")))
    assert 0 < work.gaps - before <= report.pairs.measured
    assert watcher.bay.session.work.gaps - before < before / 5


def test_a_half_saved_file_is_waited_out(scene: Path) -> None:
    whole = scene.read_text(encoding="utf-8").replace("[0, 18, 0]", "[0, 16, 0]")
    half = whole[: len(whole) // 2]
    steps = (lambda: scene.write_text(half), nothing, nothing, lambda: scene.write_text(whole))
    _, look, _ = after(scene, *steps)
    assert not look.faults
    assert told(look) == [(Kind.WORSE, ("left_box", "right_box"))]


def test_a_broken_file_is_told_after_the_grace_and_what_was_known_is_kept(scene: Path) -> None:
    watcher, look, script = after(
        scene, save(scene, "box: [10, 10, 10], at: [0, 18", "bax: [10, 10, 10], at: [0, 18")
    )
    assert look.report is None
    assert any("bax" in fault.what for fault in look.faults)
    assert script.waited >= GRACE
    again = Script(iter([save(scene, "bax", "box"), *[nothing] * 30]))
    mended = next_save(watcher, again.pause, look)
    assert mended.report is not None
    assert not mended.changes


def test_the_same_faults_are_told_once(scene: Path) -> None:
    watcher, look, _ = after(scene, save(scene, "at: [0, 18, 0]}", "at: [0, 18, 0], colour: red}"))
    steps = [lambda: scene.write_text(scene.read_text() + "\n"), *[nothing] * 20, save(scene, ", colour: red", "")]
    script = Script(iter([*steps, *[nothing] * 30]))
    assert next_save(watcher, script.pause, look).report is not None


def test_a_file_that_goes_away_and_comes_back(scene: Path) -> None:
    watcher, look, _ = after(scene, scene.unlink)
    assert "does not exist" in str(look.faults[0])
    script = Script(iter([lambda: scene.write_text(SCENE), *[nothing] * 30]))
    back = next_save(watcher, script.pause, look)
    assert back.report is not None
    assert not back.changes


def test_an_included_file_that_is_only_made_later_is_noticed(scene: Path) -> None:
    scene.write_text(SCENE.replace("more.yaml", "later.yaml"), encoding="utf-8")
    watcher = Watcher(scene)
    look = watcher.look()
    assert look.faults
    later = scene.with_name("later.yaml")
    script = Script(iter([lambda: later.write_text(MORE), *[nothing] * 30]))
    assert next_save(watcher, script.pause, look).report is not None


def test_a_scene_that_never_was_whole_is_waited_for(tmp_path: Path) -> None:
    scene = tmp_path / "scene.yaml"
    watcher = Watcher(scene)
    look = watcher.look()
    assert look.faults
    script = Script(iter([lambda: scene.write_text("packcheck: 1\nparts: {}\n"), *[nothing] * 30]))
    assert next_save(watcher, script.pause, look).first


def test_a_move_is_found_for_what_is_new(scene: Path) -> None:
    watcher, look, _ = after(scene, save(scene, "[0, 18, 0]", "[0, 15, 0]"))
    assert look.changes[0].after is not None
    assert watcher.move(look.changes[0].after).move is not None


def test_two_hundred_half_written_saves_are_survived(scene: Path) -> None:
    """Oracle: a fresh look at the same file. Cut anywhere, with bytes changed, or cut and continued; then whole."""
    rng = random.Random(7)
    watcher = Watcher(scene)
    watcher.look()
    whole = SCENE.encode()
    for _ in range(200):
        cut = rng.randrange(len(whole))
        torn = bytearray(whole[:cut] + rng.choice([b"", whole[cut + rng.randrange(40) :]]))
        for _ in range(rng.randrange(3) if torn else 0):
            torn[rng.randrange(len(torn))] = rng.randrange(256)
        scene.write_bytes(bytes(torn))
        look, fresh = watcher.look(), Watcher(scene).look()
        assert look.faults == fresh.faults
        assert (look.report is None) == (fresh.report is None)
        if look.report is not None and fresh.report is not None:
            assert [(f.subjects, f.value) for f in look.report.findings] == [
                (f.subjects, f.value) for f in fresh.report.findings
            ]
    scene.write_bytes(whole)
    assert watcher.look().report is not None


def test_a_mesh_torn_while_it_is_saved_is_told_and_mended(scene: Path) -> None:
    path = scene.with_name("lump.stl")
    whole = path.read_bytes()
    watcher, look, _ = after(scene, lambda: path.write_bytes(whole[: len(whole) // 2]))
    assert "lump.stl" in str(look.faults[0])
    script = Script(iter([lambda: path.write_bytes(whole), *[nothing] * 30]))
    assert next_save(watcher, script.pause, look).report is not None


def test_a_long_day_of_mesh_edits_does_not_fill_the_memory(scene: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("packcheck.watching.MOST_REPLACED", 3)
    watcher = Watcher(scene)
    sessions = []
    for side in np.arange(10.0, 20.0):
        lump(scene.parent, float(side))
        watcher.look()
        assert watcher.bay is not None
        sessions.append(watcher.bay.session)
    assert len({id(session) for session in sessions}) >= 2


def test_what_moves_is_searched_after_what_rests_is_told(scene: Path) -> None:
    """Oracle: by head. The lump slides 60 mm down, to where the far box ends at 155: 15 mm off, then 11 and 9."""
    moving = SCENE.replace(
        "clearances", "motions: {slides: {carries: [lump], travel: {by: [0, 0, -1], from: 0, to: 36}}}\nclearances"
    )
    scene.write_text(moving, encoding="utf-8")
    watcher = Watcher(scene)
    first = watcher.look()
    assert first.at_rest
    assert first.report is not None
    assert not [finding for finding in first.report.findings if finding.study == "moving"]
    assert watcher.motions().first
    save(scene, "from: 0, to: 36", "from: 0, to: 39")()
    rest = watcher.look()
    assert not rest.changes
    whole = watcher.motions()
    assert [(change.kind, change.study) for change in whole.changes] == [(Kind.WORSE, "moving")]
    assert whole.changes[0].by == pytest.approx(-3.0, abs=0.06)


def test_only_motions_of_what_a_save_touches_are_searched_again(scene: Path) -> None:
    """Oracle: by head. The lump slides towards the far box; the right box stands far from both."""
    slides = "motions: {slides: {carries: [lump], travel: {by: [0, 0, -1], from: 0, to: 36}}}"
    scene.write_text(SCENE.replace("clearances", f"{slides}\nclearances"), encoding="utf-8")
    watcher = Watcher(scene)
    work = watcher.session.work
    searches = []
    for old, new in (("18", "18"), ("[0, 18, 0]", "[0, 19, 0]"), ("to: 36", "to: 37"), ("to: 37", "to: 36")):
        save(scene, old, new)()
        watcher.look()
        watcher.motions()
        searches.append(work.searches)
    first, elsewhere, farther, back = searches
    assert 0 < first == elsewhere < farther == back
