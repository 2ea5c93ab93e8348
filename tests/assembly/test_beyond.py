"""Skins that were not read to their edges: nothing is called clear of what may stand beyond the readings."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from packcheck.assembly.assembly import assemble
from packcheck.bay import Bay
from packcheck.errors import SceneError
from packcheck.findings import Finding, Verdict
from packcheck.frames import Pose
from packcheck.proximity import Placed
from packcheck.scene.model.scene import Box
from packcheck.solids.primitives import build_shape
from tests.scene.writing import scene_of

HULL = (
    "hull: {kind: body, fixed: true, skin: {aft: [0, 1200], left: [-400, 400], down: [[90, 90], [90, 90]],"
    " side: inner, thickness: 8, between: 0%s}}"
)


def bay_of(tmp_path: Path, *parts: str, more: str = "", edges: str = "", head: str = "packcheck: 1\n") -> Bay:
    lines = "\n".join(f"  {line}" for line in (HULL % edges, *parts))
    return Bay(assemble(scene_of(tmp_path, f"parts:\n{lines}\nclearances: {{default: 10}}\n{more}", head=head)))


def tank(right: float, bottom: float = 60.0, more: str = "") -> str:
    """A box 300 x 250 x 350 whose right face lies `right` mm left, its bottom `bottom` mm down."""
    word = "down" if bottom >= 0 else "up"
    faces = f"front: 450 aft, right: {right} left, bottom: {abs(bottom)} {word}"
    return f"tank: {{box: [300, 250, 350], faces: {{{faces}}}{more}}}"


def of_hull(bay: Bay) -> Finding:
    found = bay.pair(("hull", "tank"))
    assert found is not None
    return found


def test_what_reaches_out_over_the_readings_is_undecided(tmp_path: Path) -> None:
    """Oracle: by head; from 230 to 480 left of a hull read to 400 left, 30 above it."""
    found = of_hull(bay_of(tmp_path, tank(230)))
    assert (found.verdict, found.word, found.low) == (Verdict.UNSURE, "may clash", None)
    assert found.value == pytest.approx(30)
    assert found.note == "tank reaches 80 mm beyond what was read of hull"


def test_what_stands_beyond_the_readings_is_undecided_too(tmp_path: Path) -> None:
    """Oracle: by head; its boxes are 50 mm apart, which asks for 10."""
    found = of_hull(bay_of(tmp_path, tank(450)))
    assert (found.verdict, found.low) == (Verdict.UNSURE, None)
    (listed,) = bay_of(tmp_path, tank(450)).check(moves=False).findings
    assert listed.note == "tank reaches 300 mm beyond what was read of hull"


def test_readings_that_reach_the_edges_leave_nothing_open(tmp_path: Path) -> None:
    bay = bay_of(tmp_path, tank(230), edges=", to_edges: true", head="packcheck: 1\nlist_within: 50\n")
    found = of_hull(bay)
    assert (found.verdict, found.note) == (Verdict.PASS, "")
    assert found.low == pytest.approx(30, abs=1e-3)
    assert bay.check(moves=False).notes == ()


def test_a_part_inside_keeps_what_it_keeps_from_the_end_of_the_readings(tmp_path: Path) -> None:
    """Oracle: by head; its left face lies at 380, the readings end at 400; in the middle it is the gap of 30."""
    near, middle = of_hull(bay_of(tmp_path, tank(130))), of_hull(bay_of(tmp_path, tank(0)))
    assert near.verdict is Verdict.PASS
    assert near.low == pytest.approx(20)
    assert near.note == "hull was read to only 20 mm beyond tank"
    assert middle.low == pytest.approx(30, abs=1e-3)
    assert middle.note == ""


def test_tolerances_come_off_as_well(tmp_path: Path) -> None:
    """Oracle: by head; 20 less 4 of its own."""
    assert of_hull(bay_of(tmp_path, tank(130, more=", tolerance: 4"))).low == pytest.approx(16)


def test_far_above_it_is_not_held_against_the_rest_and_the_report_says_so(tmp_path: Path) -> None:
    """Oracle: by head; 130 above, over 10 and 100; with 150 to be listed it is held against it."""
    bay = bay_of(tmp_path, tank(230, bottom=-40))
    report = bay.check(moves=False)
    assert {finding.verdict for finding in report.findings} <= {Verdict.PASS}
    assert any("hull was not read to its edges" in note for note in report.notes)
    listed = bay_of(tmp_path, tank(230, bottom=-40), head="packcheck: 1\nlist_within: 150\n")
    assert of_hull(listed).verdict is Verdict.UNSURE


def test_what_surely_falls_short_still_does(tmp_path: Path) -> None:
    """Oracle: by head; 2 above what was read, where 10 are asked."""
    found = of_hull(bay_of(tmp_path, tank(230, bottom=88)))
    assert (found.verdict, found.low) == (Verdict.FAIL, None)


def test_a_joint_with_it_stays_a_joint_with_the_note(tmp_path: Path) -> None:
    found = of_hull(bay_of(tmp_path, tank(230, bottom=90, more=", bolted_to: [hull]")))
    assert (found.verdict, found.word) == (Verdict.PASS, "touching")
    assert found.note == "tank reaches 80 mm beyond what was read of hull"


def test_leeway_ends_where_the_readings_do(tmp_path: Path) -> None:
    """Oracle: by head; 100 inside at the start, 10 are asked, so 90 to the left; 30 - 10 = 20 down."""
    (table,) = bay_of(tmp_path, tank(50)).leeway("tank").tables
    free = {str(row[0]): row[1] for row in table.rows}
    assert free["left"] == pytest.approx(90, abs=0.11)
    assert free["down"] == pytest.approx(20, abs=0.11)


def test_no_move_leads_out_over_it(tmp_path: Path) -> None:
    """Oracle: by head; a rod ends 5 right of the tank, which must go 5 left; only 3 are there: up it goes."""
    rod = "rod: {fixed: true, box: [10, 10, 10], faces: {front: 500 aft, left: 132 left, bottom: 40 down}}"
    moved = {}
    for edges in ("", ", to_edges: true"):
        report = bay_of(tmp_path, tank(137), rod, edges=edges).check()
        (found,) = (finding for finding in report.findings if finding.subjects == ("tank", "rod"))
        assert found.move is not None
        moved[edges] = np.flatnonzero(found.move.by).tolist()
    assert moved == {"": [2], ", to_edges: true": [1]}


@pytest.mark.parametrize(("to", "clear"), [(20, True), (60, False)])
def test_a_way_out_over_it_is_not_called_clear(tmp_path: Path, to: float, clear: bool) -> None:
    """Oracle: by head; its left face slides from 350 left to 370 or 410, the readings end at 400."""
    slide = f"motions: {{out: {{carries: [tank], travel: {{by: [0, -1, 0], from: 0, to: {to}}}}}}}"
    bay = bay_of(tmp_path, tank(100), more=slide)
    found = [finding for finding in bay.check(moves=False).findings if finding.study == "moving"]
    assert [finding.verdict is Verdict.PASS for finding in found] == [clear]
    assert clear or "beyond what was read of hull" in found[0].note
    assert clear or found[0].low is None


def test_whatever_stands_outside_is_no_nearer_than_told(tmp_path: Path) -> None:
    """Oracle: brute force; points outside the cards (told by interpolating their ends) against the turned box."""
    rng = np.random.default_rng(4)
    cards = (
        "lid: {kind: body, at: [30, -20, 9], turn: [0, 0, 25], skin: {fore: [0, 200, 500],"
        " right: [[-150, 100, 200], [-200, 0, 240], [-120, 90, 160]], up: [[1, 2, 3], [4, 5, 6], [7, 8, 9]],"
        " side: inner, thickness: 2, between: 1}}"
    )
    assembly = assemble(scene_of(tmp_path, f"parts:\n  {cards}\n"))
    lid, seen = assembly.parts["lid"], 0
    plan = rng.uniform([-700, -450], [200, 450], (4000, 2))
    low = np.interp(-plan[:, 0], [0, 200, 500], [-150, -200, -120])
    high = np.interp(-plan[:, 0], [0, 200, 500], [200, 240, 160])
    outside = plan[(plan[:, 0] > 0) | (plan[:, 0] < -500) | (plan[:, 1] < low) | (plan[:, 1] > high)]
    own = lid.pose.inverse()
    for _ in range(200):
        size = rng.uniform(20, 120, 3)
        here = Pose.of(rng.uniform([-450, -250, -9], [100, 150, 9]), rng.uniform(-180, 180, 3))
        told = assembly.beyond.inside(lid, Placed("box", build_shape(Box(tuple(size))), here))
        way = (own @ here).rotation[:2] * (size / 2)  # the box seen along the heights: the sum of three strokes
        middle = (own @ here).translation[:2]
        turns = np.linspace(0, 2 * np.pi, 360, endpoint=False)
        normals = np.stack([np.cos(turns), np.sin(turns)])
        reach = np.abs(way.T @ normals).sum(axis=0)
        distance = ((outside - middle) @ normals - reach).max(axis=1).min()
        assert told <= max(distance, 0.0) + 0.05  # 360 normals tell a distance from below, by 0.05 at 300 mm
        seen += told > 0
    assert seen > 20


def test_to_edges_is_true_or_false(tmp_path: Path) -> None:
    with pytest.raises(SceneError) as raised:
        bay_of(tmp_path, edges=", to_edges: 400")
    (fault,) = raised.value.faults
    assert "to_edges" in fault.what
    assert "true or false" in fault.what


SURVEY = (
    "survey:\n  instruments: {tape: {accuracy: {standard: 1 mm}}}\n  points:\n    a: {at: [0, -300, 0]}\n"
    "    b: {at: [900, -300, 0]}\n    c: {at: [0, 300, 0]}\n    d: {at: [400, 0, 500]}\n    p:\n"
    "    q: {near: [800, 0, 0]}\n    r: {near: [0, 0, 200]}\n  observations:\n%s"
    "  place: {base: {origin: p, toward: {aft: q}, side: {up: r}}}\n"
)


def taped_bay(tmp_path: Path, down: float, right: float) -> Bay:
    """The hull and a tank that stands in a frame found with a coarse tape; its bottom so many mm down."""
    anchors = {"a": (0, -300, 0), "b": (900, -300, 0), "c": (0, 300, 0), "d": (400, 0, 500)}
    found = {"p": (0, 0, 0), "q": (800, 0, 0), "r": (0, 0, 200)}
    tapes = "".join(
        f"    - {{tape: [{a}, {p}], reads: {np.linalg.norm(np.subtract(at, to)):.4f}}}\n"
        for a, at in anchors.items()
        for p, to in found.items()
    )
    more = f"frames: {{base: {{}}}}\n{SURVEY % tapes}"
    return bay_of(tmp_path, tank(right, down, ", in: base"), more=more)


def test_advice_and_draws_know_that_no_reading_settles_what_was_not_read(tmp_path: Path) -> None:
    """Oracle: by head. 74 down is 16 from the hull, which needs 10: a coarse tape leaves that open, and a finer one
    would settle it in the middle. Where the tank reaches 80 mm over the readings, nothing but more of them does."""
    (middle,) = (table for table in taped_bay(tmp_path, 74, 0).survey().tables if table.id == "survey_next")
    assert middle.rows[0][1] == "the height of q"
    assert middle.rows[0][3] == "clear"
    out = taped_bay(tmp_path, 74, 230)
    (table,) = (table for table in out.survey().tables if table.id == "survey_next")
    assert table.rows[0][:2] == ("hull - tank", "more heights of hull: it was not read far enough there")
    (finding,) = (f for f in out.check(moves=False, draws=300).findings if f.study == "gaps")
    assert "mm (95 %) from what was read of hull" in finding.note
    assert finding.low is None
