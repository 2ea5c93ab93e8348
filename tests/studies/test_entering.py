"""What goes into another part must reach it; what is bolted to one must touch it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import packcheck
from packcheck import Bay, Finding, Verdict
from packcheck.places.places import places
from packcheck.report.as_json import as_dict
from packcheck.report.text.as_text import as_text


def bay(tmp_path: Path, text: str) -> Bay:
    scene = tmp_path / "scene.yaml"
    scene.write_text(f"packcheck: 1\n{text}", encoding="utf-8")
    return packcheck.load(scene)


def apart(bay_: Bay) -> list[Finding]:
    return [finding for finding in bay_.check().findings if finding.word == "does not reach"]


HOSE = """
parts:
  pump: {kind: coolant, at: [0, FAR, 0], cylinder: {diameter: 70, length: 120}}
  supply: {kind: [coolant, hose], pipe: {outside: 34, through: [[0, 0, 0], [0, 0, 300]]}, goes_into: [pump]}
"""


@pytest.mark.parametrize("far", [900, 60, 52.6])
def test_a_hose_that_ends_before_its_pump_does_not_reach(tmp_path: Path, far: float) -> None:
    """Oracle: closed form. Two parallel cylinders, radii 35 and 17, axes `far` apart: far - 52 between them."""
    made = bay(tmp_path, HOSE.replace("FAR", f"{far}"))
    (found,) = apart(made)
    assert found.subjects == ("supply", "pump")
    assert found.verdict is Verdict.FAIL
    assert found.value == pytest.approx(far - 52, abs=0.002)
    assert f"supply goes into pump, and ends {far - 52:g} mm from it" in found.note
    assert found.mark is not None and found.mark.line == 5
    report = made.check()
    assert (report.pairs.total, report.counts[Verdict.PASS], report.unmeasured) == (1, 0, ())
    assert "does not reach: supply - pump" in as_text(report)
    assert as_dict(report, version="0")["findings"][0]["word"] == "does not reach"


@pytest.mark.parametrize("far", [0, 40, 52, 52.4])
def test_a_hose_that_meets_its_pump_is_not_measured_any_further(tmp_path: Path, far: float) -> None:
    """Oracle: closed form, as above; up to 0.5 mm of air is a joint."""
    made = bay(tmp_path, HOSE.replace("FAR", f"{far}"))
    assert apart(made) == []
    assert made.check().unmeasured == ("supply goes into pump: not measured, as the file says",)


def test_tolerances_widen_what_still_meets(tmp_path: Path) -> None:
    """Oracle: by head: 2.0 apart, and either may stand 1 nearer, so that they may meet: 0.5 + 1 + 1 is allowed."""
    text = HOSE.replace("FAR", "54").replace("goes_into", "tolerance: 1, goes_into")
    assert apart(bay(tmp_path, text.replace("kind: coolant, at", "kind: coolant, tolerance: 1, at"))) == []
    assert len(apart(bay(tmp_path, text))) == 1


TUBE = """
parts:
  bulkhead: {kind: body, tube: {outer: 200, inner: 60, length: 4, along: x}}
  main_loom: {kind: loom, pipe: {outside: 20, through: [[FROM, 0, 0], [300, 0, 0]]}, goes_into: [bulkhead]}
"""


def test_what_passes_through_a_hole_meets_what_the_hole_is_in(tmp_path: Path) -> None:
    """Oracle: by head: 20 mm of air all round in the hole of a plate, which is no gap to a connection."""
    assert apart(bay(tmp_path, TUBE.replace("FROM", "-300"))) == []


def test_what_ends_before_the_hole_does_not_reach(tmp_path: Path) -> None:
    """Oracle: closed form. Its end is 98 mm from the plate and 20 mm inside the rim of the hole: hypot(98, 20)."""
    (found,) = apart(bay(tmp_path, TUBE.replace("FROM", "100")))
    assert found.value == pytest.approx((98**2 + 20**2) ** 0.5, abs=2.0)
    assert found.low is not None and found.low <= (98**2 + 20**2) ** 0.5


def test_only_asks_of_the_parts_that_are_looked_at(tmp_path: Path) -> None:
    made = bay(
        tmp_path, HOSE.replace("FAR", "900") + "  post: {kind: structure, box: [5, 5, 5], at: [0, 300, 0]}\n"
    )
    assert [f.word for f in made.check(["post"]).findings if f.verdict is Verdict.FAIL] == []
    assert [f.word for f in made.check(["pump"]).findings if f.verdict is Verdict.FAIL] == ["does not reach"]


def test_a_bolted_part_that_stands_off_is_not_seated(tmp_path: Path) -> None:
    """Oracle: by head: 900 mm between the two faces."""
    made = bay(
        tmp_path,
        "parts:\n  a: {box: [10, 10, 10]}\n  b: {box: [10, 10, 10], at: [0, 910, 0], bolted_to: [a]}\n",
    )
    (found,) = made.check().findings
    assert (found.word, found.verdict) == ("not seated", Verdict.FAIL)
    assert found.value == pytest.approx(900)


def test_a_place_out_of_reach_of_what_goes_into_the_part_is_no_reason_against_it(tmp_path: Path) -> None:
    """Oracle: by head: as for a joint, the hose follows; nothing else stands anywhere near."""
    made = bay(tmp_path, HOSE.replace("FAR", "40"))
    found = places(made, "pump", (np.array([-5.0, 395, -5]), np.array([5.0, 405, 5])), cell=5.0)
    assert found.spots and found.spots[0].undone == ("supply",)
