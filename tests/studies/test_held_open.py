"""Rooms, air and ways out that are used while something is held open: asked at that setting and only there."""

from __future__ import annotations

from math import atan2, cos, degrees, radians, sin, tan
from pathlib import Path

import pytest

import packcheck
from packcheck import Bay, Finding, Verdict
from packcheck.errors import SceneError
from packcheck.report.text.as_text import as_text
from packcheck.sizing.sizes import Asked, one_size
from packcheck.studies import leeway


def bay(tmp_path: Path, text: str) -> Bay:
    scene = tmp_path / "scene.yaml"
    scene.write_text(f"packcheck: 1\n{text}", encoding="utf-8")
    return packcheck.load(scene)


def short(bay_: Bay) -> set[tuple[str, ...]]:
    return {f.subjects for f in bay_.check().findings if f.verdict not in (Verdict.PASS, Verdict.CLOSE)}


def found(bay_: Bay, *subjects: str) -> list[Finding]:
    return [f for f in bay_.check().findings if set(f.subjects) == set(subjects)]


LID = """
parts:
  lid: {kind: body, box: [800, 600, 3], faces: {front: 0, bottom: 500 up}}
  dipstick: {kind: oil, cylinder: {diameter: 20, length: 100}, at: [300, 100, 400], needs: {top: 430 mm, WITH}}
motions:
  lid_opens: {carries: [lid], hinge: {through: [800, 0, 500], axis: y, from: 0, to: 80}, during: service}
"""
AIR = "air needed above dipstick"
FREE = degrees(atan2(450 + 430 - 500, 800 - 310))
"""deg. The air's upper edge nearest to the hinge, 310 aft and 880 up, comes free of the underside of the lid there:
the underside goes through the hinge line, 800 aft and 500 up. 37.8 degrees."""


@pytest.mark.parametrize(("held", "free"), [
    ("65", True), ("38", True), ("[38, 80]", True), ("[65, 50]", True),
    ("37.5", False), ("20", False), ("0", False), ("[37, 65]", False), ("[0, 80]", False),
])  # fmt: skip
def test_a_dipstick_is_drawn_with_the_lid_open_and_not_below_thirty_eight(
    tmp_path: Path, held: str, free: bool
) -> None:
    """Oracle: closed form, FREE above; a range asks it all over the range."""
    assert 37.5 < FREE < 38
    made = bay(tmp_path, LID.replace("WITH", f"with: {{lid_opens: {held}}}"))
    assert (("lid", AIR) not in short(made)) is free
    table = next(table for table in made.check().tables if table.id == "rooms")
    assert table.rows[0][1] == ("free" if free else "not free")


def test_without_saying_so_it_is_asked_with_the_lid_shut_and_all_along_its_way(tmp_path: Path) -> None:
    made = bay(tmp_path, LID.replace(", WITH", ""))
    assert [finding.study for finding in found(made, "lid", AIR)] == ["moving", "gaps"]


def test_the_gap_at_a_setting_is_that_of_the_lid_drawn_so(tmp_path: Path) -> None:
    """Oracle: closed form. At 65 degrees the underside is a line through the hinge: the distance of the air's edge
    310 aft and 880 up from it is 490 sin(65) - 380 cos(65)."""
    made = bay(tmp_path, LID.replace("WITH", "with: {lid_opens: 65}"))
    (finding,) = found(made, "lid", AIR)
    assert finding.value == pytest.approx(490 * sin(radians(65)) - 380 * cos(radians(65)), abs=0.06)
    assert finding.when == "lid 65.0 deg open"
    assert finding.pose == {"lid_opens": 65.0}
    assert finding.verdict is Verdict.PASS


def test_it_is_told_with_what_is_held_open(tmp_path: Path) -> None:
    told = " ".join(as_text(bay(tmp_path, LID.replace("WITH", "with: {lid_opens: 65}")).check()).split())
    assert f"{AIR}, with lid 65.0 deg open" in told
    assert f"service: {AIR} with lid 65.0 deg open" in told


def test_what_the_lid_does_not_move_is_asked_at_rest_as_ever(tmp_path: Path) -> None:
    text = LID.replace("WITH", "with: {lid_opens: 65}").replace(
        "motions:", "  post: {kind: structure, box: [10, 10, 900], at: [300, 100, 500]}\nmotions:"
    )
    assert ("post", AIR) in {tuple(sorted(s, key=len)) for s in short(bay(tmp_path, text))}


ROOM = """
frames: {engine_frame: {at: [0, 0, 0]}}
parts:
  lid: {kind: body, box: [800, 600, 3], faces: {front: 0, bottom: 500 up}}
  jack_room: {kind: access, box: [20, 20, 430], at: [300, 100, 665], WITH}
  block: {kind: engine, in: engine_frame, box: [100, 100, 100], at: [300, 100, 390]}
motions:
  lid_opens: {carries: [lid], travel: {by: z, from: 0, to: 600}, during: service}
  engine_rock: {carries: engine_frame, rock: {shift: {z: [-5, 300]}}}
"""


@pytest.mark.parametrize(("height", "free"), [("381 mm", True), ("379 mm", False), ("[381, 600]", True)])
def test_room_of_its_own_is_asked_at_a_height_of_the_lid(tmp_path: Path, height: str, free: bool) -> None:
    """Oracle: by head: the room reaches 880 up, the underside of the lid 500 and what it is lifted by. The block
    would rock into it, but that is while driving."""
    made = bay(tmp_path, ROOM.replace("WITH", f"with: {{lid_opens: {height}}}"))
    assert (("lid", "jack_room") not in short(made)) is free
    assert ("jack_room", "block") not in short(made)
    assert ("jack_room", "block") in short(bay(tmp_path, ROOM.replace(", WITH", "")))


PLENUM = """
parts:
  lid: {kind: body, box: [800, 600, 3], faces: {front: 0, bottom: 500 up}}
  plenum: {kind: air, box: [400, 200, 120], faces: {front: 200 aft, bottom: 350 up}}
  mast: {kind: structure, box: [20, 20, 900], faces: {front: 640 aft, bottom: 0, left: 350}}
motions:
  lid_opens: {carries: [lid], hinge: {through: [800, 0, 500], axis: y, from: 0, to: 80}, during: service}
  plenum_out: {carries: [plenum], OUT}
clearances: {use: none, default: 0.1}
"""


@pytest.mark.parametrize(("out", "free"), [
    ("way_out: [[0, 0, 400]], with: {lid_opens: 80}", True),
    ("way_out: [[0, 0, 400]], with: {lid_opens: 76}", True),
    ("way_out: [[0, 0, 400]], with: {lid_opens: 61}", False),
    ("way_out: [[0, 0, 400]]", False),
    ("way_out: [[0, 0, 400]], with: {lid_opens: [70, 80]}", True),
    ("way_out: [[-300, 0, 0], [-300, 0, 900]]", False),
    ("way_out: [{at: [0, 0, 400], turn: [0, 0, 10]}], with: {lid_opens: 80}", True),
    ("path: [{at: [0, 0, 0]}, {at: [0, 0, 400]}], during: service, with: {lid_opens: 80}", True),
])  # fmt: skip
def test_a_plenum_is_lifted_out_with_the_lid_open(tmp_path: Path, out: str, free: bool) -> None:
    """Oracle: closed form. Its top rear edge rises from 470 to 870 up at 600 aft, 200 before the hinge: the lid's
    underside is 200 tan(t) above 500 there, over 870 from atan(370 / 200) = 61.6 degrees on."""
    assert 500 + 200 * tan(radians(61)) < 870 < 500 + 200 * tan(radians(62))
    made = bay(tmp_path, PLENUM.replace("OUT", out))
    assert (("lid", "plenum") not in short(made)) is free


def test_a_way_out_starts_where_the_part_stands_and_is_one_of_service(tmp_path: Path) -> None:
    made = bay(tmp_path, PLENUM.replace("OUT", "way_out: [[0, 0, 400], [0, 50, 400]]"))
    motion = made.assembly.scene.motions["plenum_out"]
    assert [stop.at for stop in motion.movement.stops] == [(0, 0, 0), (0, 0, 400), (0, 50, 400)]  # type: ignore[union-attr]
    assert (motion.during, motion.together) == ("service", False)


def test_the_lid_and_the_rest_of_the_car_are_asked_once(tmp_path: Path) -> None:
    """Oracle: by head: what a way out holds open is searched for itself in its own motion."""
    made = bay(tmp_path, PLENUM.replace("OUT", "way_out: [[0, 0, 400]], with: {lid_opens: 80}"))
    table = next(table for table in made.check().tables if table.id == "motions")
    searched = dict(
        zip(
            [row[0] for row in table.rows], [int(row[5] or 0) + int(row[6] or 0) for row in table.rows], strict=True
        )
    )
    assert searched == {"lid_opens": 3, "plenum_out": 2}  # lid with plenum, mast, and plenum on its way out


def test_leeway_counts_what_is_held_open(tmp_path: Path) -> None:
    """Oracle: closed form. Led aft, the dipstick's air comes under the lid at 45 degrees when its rear upper edge
    is 380 before the hinge, 110 farther."""
    made = bay(tmp_path, LID.replace("WITH", "with: {lid_opens: 45}") + "clearances: {use: none, default: 0}\n")
    (table,) = leeway.run(made.assembly, made.session, ["dipstick"]).tables
    aft = next(row for row in table.rows if row[0] == "aft")
    assert aft[1] == pytest.approx(110, abs=0.2)


def test_size_counts_what_is_held_open(tmp_path: Path) -> None:
    """Oracle: closed form. As deep as the lid at 45 degrees lets it: 490 over 500, from 450 up."""
    text = LID.replace("430 mm, WITH", "deep, with: {lid_opens: 45}")
    bay(tmp_path, text.replace("parts:", "params: {deep: 430 mm}\nparts:"))
    report = one_size(Asked(str(tmp_path / "scene.yaml"), "deep", to="800 mm"))
    told = {str(row[0]): row[1] for row in report.tables[0].rows}
    assert told["largest that passes, mm"] == pytest.approx(540, abs=0.2)


FAULTS = """packcheck: 1
parts:
  lid: {box: [800, 600, 3], at: [0, 0, 500], with: {lid_opens: 5}}
  dipstick: {box: [10, 10, 10], needs: {top: 430 mm, with: {lid_open: 65, lid_opens: 95}}}
  room: {kind: access, box: [10, 10, 10], at: [0, 0, 90], with: {engine_rock: 5, flap: "20 mm"}}
  bay_room: {kind: access, box: [10, 10, 10], at: [0, 0, 190], with: {lid_opens: [1, 2, 3]}}
  fan: {box: [10, 10, 10], at: [0, 0, 290]}
motions:
  lid_opens: {carries: [lid], hinge: {through: [800, 0, 500], axis: y, from: 0, to: 80}, during: service}
  flap: {carries: [dipstick], hinge: {through: [800, 0, 500], axis: y, from: 0, to: 80}, during: service}
  engine_rock: {carries: [fan], rock: {shift: {z: [-5, 5]}}}
  fan_out: {carries: [fan], way_out: [[0, 0, 0]], with: {fan_out: 1}}
  room_out: {carries: [room], way_out: [[0, 0, 5]], during: driving}
"""


def test_every_fault_is_told_with_its_place(tmp_path: Path) -> None:
    """Oracle: by head: line and column of each `with` that names a stranger, goes beyond, or stands astray."""
    scene = tmp_path / "scene.yaml"
    scene.write_text(FAULTS, encoding="utf-8")
    with pytest.raises(SceneError) as caught:
        packcheck.load(scene)
    told = "\n".join(str(fault) for fault in caught.value.faults)
    for line in (
        "3:46: part 'lid': with stands on a part that is no room, needs kind access or keep_out",
        "4:61: part 'dipstick': needs.with 'lid_open' is not known, needs a motion",
        "5:66: part 'room': with holds 'engine_rock', which has no one setting, needs a hinge or a travel",
        "6:82: part 'bay_room': with.lid_opens has 3 values, needs one setting, or two: [from, to]",
        "12:39: motion 'fan_out': way_out item 1 is where it stands",
        "12:58: motion 'fan_out': with holds the motion itself",
        "13:61: motion 'room_out': during is driving, needs service",
    ):
        assert f"scene.yaml:{line}" in told, told


def test_a_setting_beyond_the_way_is_refused(tmp_path: Path) -> None:
    for with_, said in (
        ("{lid_opens: 95}", "needs.with lid_opens is 95 deg, needs 0 to 80 deg, its own way"),
        ("{lid_opens: [-2, 60]}", "needs.with lid_opens is -2 deg, needs 0 to 80 deg, its own way"),
        ("{lid_opens: 20 mm}", "needs.with lid_opens is no setting in deg, needs 0 to 80 deg"),
    ):
        with pytest.raises(SceneError) as caught:
            bay(tmp_path, LID.replace("WITH", f"with: {with_}"))
        (fault,) = caught.value.faults
        assert fault.what.endswith(said)
        assert fault.mark is not None and fault.mark.line == 5


def test_a_layout_may_hold_it_elsewhere(tmp_path: Path) -> None:
    text = LID.replace("WITH", "with: {lid_opens: 65}")
    text += "layouts:\n  low: {parts: {dipstick: {needs: {with: {lid_opens: 20}}}}}\n"
    bay(tmp_path, text)
    low = packcheck.load(tmp_path / "scene.yaml", layout="low")
    assert ("lid", AIR) in short(low)
