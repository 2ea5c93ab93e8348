"""Places to choose from: closed forms, the whole check of each, layouts that say exactly what was found."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

import packcheck
from packcheck.errors import SceneError
from packcheck.findings import Verdict
from packcheck.places.asked import Asked
from packcheck.places.layout import planned_layout
from packcheck.places.places import places
from packcheck.report.slices import slice_png
from packcheck.scene.model.scene import Box, Sphere
from tests.bays import bay, part
from tests.cli.running import run

ROOM = """packcheck: 1
title: A shelf            # kept
parts:
  wall: {box: [10, 400, 400], fixed: true}
  shelf: {box: [300, 400, 10], at: [150, 0, -100]}
  tank: {box: [60, 60, 60], at: [20, 0, 0], bolted_to: [shelf]}   # too near
clearances: {use: none, default: 10}
"""


def written(folder: Path, text: str = ROOM) -> Path:
    scene = folder / "room.yaml"
    scene.write_text(text, encoding="utf-8")
    return scene


def test_the_best_place_in_a_gap_is_its_middle() -> None:
    """Oracle: closed form. Between walls whose faces are 200 apart a ball of 40 has 200 / 2 - 20 - 10 to spare."""
    walls = (part(name, Box((10, 900, 900)), at=(x, 0, 0)) for name, x in (("near", -105), ("far", 105)))
    made = bay(part("it", Sphere(40), at=(-80, 0, 0)), *walls)
    found = places(made, "it", (np.array([-100.0, -50, -50]), np.array([100.0, 50, 50])), cell=10)
    best = found.spots[0]
    assert best.margin == pytest.approx(70, abs=0.6) and abs(best.middle[0]) <= 0.6
    assert best.notes[0] == "most margin" and best.decided_by in ("near", "far")
    assert 70 <= found.most <= 70 + 10 + 5 * np.sqrt(3)  # to within a cell and its radius
    assert best.moved == pytest.approx(float(np.linalg.norm(best.middle - [-80, 0, 0])))


def test_the_nearest_place_is_as_near_as_the_cells_tell() -> None:
    """Oracle: closed form. From 80 mm off the middle of that gap it must go 10 mm, in cells of 5 mm."""
    walls = (part(name, Box((10, 900, 900)), at=(x, 0, 0)) for name, x in (("near", -105), ("far", 105)))
    made = bay(part("it", Sphere(40), at=(-80, 0, 0)), *walls)
    found = places(made, "it", (np.array([-100.0, -50, -50]), np.array([100.0, 50, 50])), cell=5)
    (nearest,) = (spot for spot in found.spots if "nearest" in spot.notes)
    assert 10 - 1e-6 <= nearest.moved <= 15 + 1e-6
    assert nearest.margin >= 0


def test_places_are_ranked_by_margin_then_by_distance_and_stand_apart() -> None:
    made = bay(part("it", Sphere(40), at=(0, 0, 0)), part("wall", Box((10, 900, 900)), at=(-40, 0, 0)))
    found = places(made, "it", (np.array([-100.0, -200, -200]), np.array([100.0, 200, 200])), cell=20)
    margins = [spot.margin for spot in found.spots]
    assert len(margins) > 2 and margins == sorted(margins, reverse=True)
    others = [spot.middle for spot in found.spots if "nearest" not in spot.notes]
    apart = [float(np.linalg.norm(a - b)) for k, a in enumerate(others) for b in others[:k]]
    assert min(apart) > 15


def test_every_place_passes_a_check_of_a_scene_written_anew(tmp_path: Path) -> None:
    """Oracle: the check itself, of the file with the layout in it; the joint with the shelf is undone and named."""
    scene = written(tmp_path)
    asked = Asked(str(scene), "tank", within="0, -100, -60 to 200, 100, 150", cell="20 mm")
    found = asked.answer()
    assert len(found.spots) >= 3
    for number, spot in enumerate(found.spots):
        Asked(str(scene), "tank", within="0, 0, 0 to 1, 1, 1").layout_of(spot, f"try_{number}").write()
        made = packcheck.load(scene, layout=f"try_{number}")
        report = made.check(["tank"], moves=False)
        bad = [f for f in report.findings if f.verdict in (Verdict.FAIL, Verdict.UNSURE)]
        assert all(f.word == "not seated" for f in bad)
        assert spot.undone == (("shelf",) if bad else ())
        low, high = made.assembly.parts["tank"].box()
        assert (low + high) / 2 == pytest.approx(spot.middle, abs=1e-3)
    assert scene.read_text(encoding="utf-8").startswith(ROOM)


def test_a_place_that_only_a_motion_spoils_is_not_proposed(tmp_path: Path) -> None:
    """Oracle: closed form. A flap that rises sweeps all that is above it; under it there is room."""
    text = """packcheck: 1
parts:
  flap: {box: [400, 300, 4], at: [200, 0, 100], kind: body}
  ball: {sphere: {diameter: 40}, at: [150, 0, 200], kind: coolant}
clearances: {use: none, rules: [{between: [flap, ball], gap: 10, moving: 10}]}
motions:
  opens: {carries: flap, hinge: {through: [0, 0, 100], axis: y, from: 0, to: -80}, during: service}
"""
    made = packcheck.load(written(tmp_path, text))
    found = places(made, "ball", (np.array([100.0, -40, 0]), np.array([300.0, 40, 250])), cell=20)
    assert found.spots and all(spot.middle[2] < 100 for spot in found.spots)


def test_what_carries_on_measures_counts(tmp_path: Path) -> None:
    """Oracle: closed form. The middle of the tank's front, 30 mm before its middle, stays within 60 mm of zero."""
    text = ROOM + "measures: {reach: {distance: {from: tank.front, to: car}, most: 60}}\n"
    made = packcheck.load(written(tmp_path, text))
    found = places(made, "tank", (np.array([0.0, -60, -50]), np.array([200.0, 60, 60])), cell=20)
    fronts = [spot.middle - [30, 0, 0] for spot in found.spots]
    assert fronts and max(float(np.linalg.norm(front)) for front in fronts) <= 60.01
    assert any(finding.study == "measures" for finding in found.short)
    assert found.regions[0].untold == ("reach",)


def test_near_a_face_only(tmp_path: Path) -> None:
    """Oracle: closed form. Within 15 mm of the shelf the tank's middle is at most 5 + 15 + 30 above its middle."""
    asked = Asked(
        str(written(tmp_path)),
        "tank",
        within="40, -100, -90 to 200, 100, 150",
        cell="4 mm",
        face="shelf",
        stand_off="15",
    )
    found = asked.answer()
    assert found.spots
    assert all(-65 - 1e-6 <= spot.middle[2] <= -50 + 1e-3 for spot in found.spots)


def test_beside_a_frame_only(tmp_path: Path) -> None:
    """Oracle: closed form. The tank comes within 20 mm of a point at 150: its middle between 100 and 200."""
    text = ROOM + "frames: {peg: {at: [150, 0, 0]}}\n"
    asked = Asked(
        str(written(tmp_path, text)),
        "tank",
        within="0, -100, -60 to 300, 100, 150",
        cell="10 mm",
        beside="peg",
        stand_off="20",
    )
    spots = asked.answer().spots
    assert spots and all(100 <= spot.middle[0] <= 200 for spot in spots)


@pytest.mark.parametrize(
    ("given", "what"),
    [
        ({"part": "tnk"}, "there is no part 'tnk'"),
        ({"part": "wall"}, "is fixed"),
        ({"cell": "0.1 mm"}, "more than 4e+06"),
        ({"cell": "0"}, "above zero"),
        ({"within": "0, 0 to 1"}, "--within"),
        ({"turns": "sideways"}, "--turns"),
        ({"beside": "pge"}, "there is no frame 'pge'"),
        ({"face": "shlf"}, "there is no part 'shlf'"),
        ({"face": "tank"}, "goes along"),
        ({"stand_off": "20"}, "not what"),
        ({"layout": "nowhere"}, "no layout"),
    ],
)
def test_what_cannot_be_asked_is_refused(tmp_path: Path, given: dict[str, str], what: str) -> None:
    asked = {"part": "tank", "within": "0, -100, -60 to 200, 100, 150", **given}
    with pytest.raises(SceneError) as refused:
        Asked(str(written(tmp_path)), **asked)
    assert what in refused.value.faults[0].what


def test_a_layout_that_is_there_is_left_as_it_is(tmp_path: Path) -> None:
    made = packcheck.load(written(tmp_path, ROOM + "layouts: {high: {parts: {tank: {at: [60, 0, 100]}}}}\n"))
    with pytest.raises(SceneError, match="already"):
        planned_layout(made.assembly, made.session, "tank", made.assembly.poses["tank"], "high")


def test_a_layout_of_a_layout_builds_on_it(tmp_path: Path) -> None:
    scene = written(tmp_path, ROOM + "layouts: {high: {parts: {shelf: {at: [150, 0, -150]}}}}\n")
    made = packcheck.load(scene, layout="high")
    planned_layout(
        made.assembly, made.session, "tank", made.assembly.poses["tank"].shifted(np.array([50.0, 0, 0])), "best"
    ).write()
    there = packcheck.load(scene, layout="best").assembly
    assert there.poses["shelf"].translation == pytest.approx([150, 0, -150])
    assert there.poses["tank"].translation == pytest.approx([70, 0, 0])


@pytest.mark.parametrize(
    "placed",
    [
        "faces: {front: 20 aft, left: 30 left, bottom: 40 up}",
        "at: [20, 0, 0], turn: [0, 0, 90]",
        "at: [20, 0, 0], anchor: [min, mid, max]",
    ],
)
def test_a_layout_puts_a_part_there_however_it_was_placed(tmp_path: Path, placed: str) -> None:
    """Oracle: the scene read anew."""
    scene = written(tmp_path, ROOM.replace("at: [20, 0, 0]", placed))
    made = packcheck.load(scene)
    wanted = made.assembly.poses["tank"].shifted(np.array([33.0, -7, 12]))
    planned_layout(made.assembly, made.session, "tank", wanted, "best").write()
    there = packcheck.load(scene, layout="best").assembly.poses["tank"]
    assert there.translation == pytest.approx(wanted.translation, abs=1e-3)
    assert there.rotation == pytest.approx(wanted.rotation, abs=1e-9)


def test_a_part_that_is_a_copy_is_refused(tmp_path: Path) -> None:
    text = ROOM.replace("tank: {box", "tank: {repeat: {count: 2, step: [0, 100, 0]}, box")
    made = packcheck.load(written(tmp_path, text))
    name = next(name for name in made.assembly.parts if name.startswith("tank"))
    with pytest.raises(SceneError, match="another part"):
        planned_layout(made.assembly, made.session, name, made.assembly.poses[name], "best")


def test_the_command_tells_writes_and_draws(tmp_path: Path) -> None:
    scene = written(tmp_path)
    box = ("--within", "0, -100, -60 to 200, 100, 150", "--cell", "25 mm")
    told = run("place", scene, "tank", *box, "--glb", tmp_path / "p.glb", "--slices", tmp_path / "s.png")
    assert told.exit_code == 0, told.output
    assert "Places for the middle of tank" in told.output and "most margin" in told.output
    assert (tmp_path / "p.glb").read_bytes()[:4] == b"glTF"
    pictures = sorted(tmp_path.glob("s-*.png"))
    assert len(pictures) == 3 and all(one.read_bytes()[:8] == b"\x89PNG\r\n\x1a\n" for one in pictures)
    sheets = run("place", scene, "tank", *box, "--slices", tmp_path / "s.svg", "--heights", "40 up")
    assert sheets.exit_code == 0 and "40.0 mm up" in (tmp_path / "s-40.svg").read_text(encoding="utf-8")
    lost = run("place", scene, "tank", *box, "--heights", "40 up")
    assert lost.exit_code == 2 and "--slices" in lost.stderr
    result = json.loads(run("place", scene, "tank", *box, "--json").output)
    assert [table["id"] for table in result["tables"]] == ["place", "pockets", "spots"]
    wrote = run("place", scene, "tank", *box, "--write-layout", "found", "--choose", "2")
    assert wrote.exit_code == 0 and "+ found:" in wrote.output.replace("+   found:", "+ found:")
    assert "# too near" in scene.read_text(encoding="utf-8")
    assert packcheck.load(scene, layout="found").assembly.scene.layout == "found"
    assert run("place", scene, "tank", *box, "--write-layout", "more", "--choose", "99").exit_code == 2


def test_pictures_are_from_above_whatever_the_axes(tmp_path: Path) -> None:
    """Oracle: the same room along other axes. Heights are asked and drawn along the axis that runs up."""
    text = ROOM.replace("title:", "axes: {x: up, y: aft, z: right}\ntitle:")
    asked = Asked(str(written(tmp_path, text)), "tank", within="0, -100, -60 to 200, 100, 150", cell="25 mm")
    found = asked.answer()
    ((name, drawn),) = asked.pictures(found, asked.heights("40 up"))
    assert (name, drawn.height, drawn.axes) == ("-40", 40.0, ("aft", "right", "up"))
    assert drawn.states.shape == tuple(found.regions[0].states.shape[k] for k in (1, 2, 0))
    assert slice_png(drawn)[:4] == b"\x89PNG"


def test_inches_are_told_in_sixteenths(tmp_path: Path) -> None:
    parts = "  wall: {box: [1, 20, 20]}\n  can: {sphere: {diameter: 2}, at: [3, 0, 0]}\n"
    text = f"packcheck: 1\nunits: in\nparts:\n{parts}"
    box = ("--within", "1, -3, -3 to 6, 3, 3", "--cell", "1/2 in")
    told = run("place", written(tmp_path, text), "can", *box)
    assert told.exit_code == 0 and "cubic in" in told.output and "margin, in" in told.output


def test_where_nothing_fits_that_is_said(tmp_path: Path) -> None:
    told = run("place", written(tmp_path), "tank", "--within", "0, -20, -20 to 30, 20, 20", "--cell", "10 mm")
    assert told.exit_code == 0 and "It surely fits nowhere here." in told.output


COARSE = """packcheck: 1
parts:
  left: {box: [200, 10, 200], at: [0, -35, 0], fixed: true}
  right: {box: [200, 10, 200], at: [0, 35, 0], fixed: true}
  can: {sphere: {diameter: 30}, at: [%s, 0, 0]}
clearances: {use: none, default: 10}
"""
"""Between walls whose faces are 60 apart a ball of 30 has 5 mm to either side."""

AISLE = ("--within", "-60, -25, -60 to 60, 25, 60")


def test_cells_too_coarse_are_halved_until_something_fits(tmp_path: Path) -> None:
    """Oracle: closed form. The aisle of middles is 10 mm wide, a tenth of the box: cells of 50 mm prove nothing, of
    6.25 mm they do."""
    scene = written(tmp_path, COARSE % 400)
    found = Asked(str(scene), "can", within=AISLE[1], cell="50 mm").answer()
    assert found.regions[0].shifted.cell < 10
    assert found.spots and all(abs(spot.middle[1]) <= 5 + 1e-6 for spot in found.spots)
    assert "fits nowhere" not in run("place", scene, "can", *AISLE, "--cell", "50 mm").output


def test_what_is_not_proven_is_not_called_nowhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Oracle: closed form. With no cells to spend the same aisle stays open: said, with a size to try."""
    monkeypatch.setattr("packcheck.places.refining.REFINED_CELLS", 0)
    scene = written(tmp_path, COARSE % 400)
    said = " ".join(run("place", scene, "can", *AISLE, "--cell", "50 mm").output.split())
    assert "No cell is proven at 50 mm, 0.72 litres open: try 12.5 mm." in said
    assert "fits nowhere" not in said


def test_where_the_part_stands_is_tried_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Oracle: the check of the scene as it is: it passes, so that there is a place, whatever the cells tell."""
    monkeypatch.setattr("packcheck.places.refining.REFINED_CELLS", 0)
    scene = written(tmp_path, COARSE % 0)
    assert packcheck.load(scene).check(moves=False).verdict is Verdict.PASS
    (spot,) = Asked(str(scene), "can", within=AISLE[1], cell="50 mm").answer().spots
    assert spot.notes == ("most margin", "nearest", "as it stands")
    assert spot.moved == pytest.approx(0, abs=1e-9)
    assert spot.margin == pytest.approx(5, abs=0.01)


@pytest.mark.parametrize(("x", "within"), [("400", AISLE[1]), ("0", "20, -25, -60 to 60, 25, 60")])
def test_where_the_part_stands_counts_only_in_the_box(
    tmp_path: Path, x: str, within: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("packcheck.places.refining.REFINED_CELLS", 0)
    assert not Asked(str(written(tmp_path, COARSE % x)), "can", within=within, cell="50 mm").answer().spots
