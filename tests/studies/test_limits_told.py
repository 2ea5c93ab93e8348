"""Packaged limits in whole scenes: what they ask at rest and in motion, and that every form of output says why.

Oracle throughout: the texts that the packaged table quotes, and the gaps of boxes and pipes in closed form.
"""

from __future__ import annotations

import json
from math import hypot
from pathlib import Path

import pytest

import packcheck
from packcheck import Bay, Finding, Verdict
from packcheck.report.as_csv import as_csv
from packcheck.report.as_json import as_json
from packcheck.report.as_page import as_page
from packcheck.report.text.as_text import as_text
from packcheck.studies import moving

ROAD = "C-24.2, r. 32, art. 92"


def bay(tmp_path: Path, text: str) -> Bay:
    scene = tmp_path / "scene.yaml"
    scene.write_text(f"packcheck: 1\n{text}", encoding="utf-8")
    return packcheck.load(scene)


def between(bay_: Bay, a: str, b: str, study: str = "gaps") -> Finding:
    return next(f for f in bay_.check().findings if f.study == study and set(f.subjects) == {a, b})


SILENCER = """
parts:
  tyre: {kind: wheel, at: [0, 0, 0], box: [300, 100, 300]}
  silencer: {kind: exhaust, at: [0, 127, 0], box: [300, 64, 100]}
  belt_drive: {kind: rotating, at: [0, 191, 0], box: [100, 20, 100]}
  plastic_tank: {kind: coolant, at: [0, 127, 100], box: [100, 60, 48]}
  gas_line: {kind: gas, at: [0, 127, -106], box: [300, 10, 10]}
  fuel_line: {kind: fuel, at: [200, 127, -106], box: [20, 10, 10]}
"""


@pytest.mark.parametrize(
    ("part", "gap", "must"),
    [("tyre", 45, 50), ("belt_drive", 22, 50), ("plastic_tank", 26, 50), ("gas_line", 51, 150)],
)
def test_what_burns_keeps_what_the_text_beside_the_row_asks(tmp_path: Path, part: str, gap: int, must: int) -> None:
    """Oracle: boxes apart by plain sums; Quebec, art. 92: 50 mm to a combustible part, 150 to lines of gas."""
    found = between(bay(tmp_path, SILENCER), "silencer", part)
    assert found.value == pytest.approx(gap)
    assert found.limit.must == must
    assert found.verdict is Verdict.FAIL
    assert found.rule is not None and ROAD in found.rule.source


def test_liquid_fuel_keeps_fifty_and_the_row_says_liquid(tmp_path: Path) -> None:
    found = between(bay(tmp_path, SILENCER), "silencer", "fuel_line")
    assert found.limit.must == 50
    assert found.rule is not None and "liquid fuel" in found.rule.why


ROCK = """
list_within: 200 mm
frames: {engine_frame: {at: [0, 0, 0]}}
parts:
  fuel_line: {kind: fuel, pipe: {outside: 8, through: [[0, 0, 0], [300, 0, 0]]}}
  OTHER: {kind: KIND, in: engine_frame, pipe: {outside: 50, through: [[0, 130, 20], [300, 130, 20]]}}
motions:
  engine_rock: {carries: engine_frame, rock: {shift: {y: [-SHIFT, 0]}}}
"""


def rocking(tmp_path: Path, shift: float, kind: str = "exhaust") -> Bay:
    text = ROCK.replace("SHIFT", f"{shift}").replace("OTHER", "downpipe").replace("KIND", kind)
    return bay(tmp_path, text)


@pytest.mark.parametrize("shift", [54.5, 75, 80])
def test_a_published_figure_is_whole_in_motion(tmp_path: Path, shift: float) -> None:
    """Oracle: closed form. Axes 130 less the shift to the side and 20 up from each other, radii 29 together."""
    found = between(rocking(tmp_path, shift), "fuel_line", "downpipe", "moving")
    assert found.limit.must == 50
    assert found.value == pytest.approx(hypot(130 - shift, 20) - 29, abs=0.05)
    assert found.verdict is Verdict.FAIL
    assert found.rule is not None and ROAD in found.rule.source


def test_a_published_figure_that_is_kept_in_motion_passes(tmp_path: Path) -> None:
    """Oracle: closed form, as above: hypot(77, 20) - 29 = 50.56."""
    found = between(rocking(tmp_path, 53), "fuel_line", "downpipe", "moving")
    assert found.verdict is Verdict.PASS


def test_a_loom_keeps_fifty_from_what_turns_at_rest_and_turning(tmp_path: Path) -> None:
    """Oracle: closed form. The fan's tip circle has the radius hypot(30, 12) about z 61: 61 - 32.31 - 5 = 23.69."""
    fan = bay(
        tmp_path,
        """
parts:
  rear_loom: {kind: loom, pipe: {outside: 10, through: [[-300, 0, 0], [300, 0, 0]]}}
  fan: {kind: rotating, at: [0, 0, 61], box: [16, 24, 60]}
motions:
  fan_spin: {carries: fan, in: fan, full_turn: {through: [0, 0, 0], axis: x}}
""",
    )
    still, turning = between(fan, "rear_loom", "fan"), between(fan, "rear_loom", "fan", "moving")
    assert still.value == pytest.approx(26, abs=0.001)
    assert turning.value == pytest.approx(23.69, abs=0.06)
    assert still.limit.must == turning.limit.must == 50
    assert still.verdict is turning.verdict is Verdict.FAIL
    assert turning.rule is not None and turning.rule.source.startswith("second-hand: ")


HALF = "common practice: half of what must be at rest"
LOWERED = "lowered from the published 50 mm to a combustible part"


def told(bay_: Bay) -> dict[str, str]:
    """The report in every form, spaces and line breaks as one."""
    report = bay_.check()
    forms = {
        "text": as_text(report),
        "json": as_json(report, version="1"),
        "csv": as_csv(report),
        "page": as_page(report, bay_.model(report), version="1"),
    }
    return {form: " ".join(text.split()) for form, text in forms.items()}


@pytest.mark.parametrize("form", ["text", "json", "csv", "page"])
@pytest.mark.parametrize("shift", [101, 102], ids=["passes", "falls short"])
def test_a_halved_limit_is_called_that_in_every_form(tmp_path: Path, form: str, shift: float) -> None:
    """Oracle: steering keeps 12 at rest, common practice about touching, 6 in motion; what is left is
    hypot(29, 20) - 29 = 6.2, or hypot(28, 20) - 29 = 5.4."""
    rocked = rocking(tmp_path, shift, "steering")
    found = between(rocked, "fuel_line", "downpipe", "moving")
    assert found.limit.must == 6
    assert HALF in told(rocked)[form]


@pytest.mark.parametrize("form", ["text", "json", "csv", "page"])
@pytest.mark.parametrize("gap", [20, 30, 52], ids=["tight", "close", "passes"])
def test_a_figure_lowered_from_a_published_one_is_called_that_in_every_form(
    tmp_path: Path, form: str, gap: int
) -> None:
    made = bay(
        tmp_path,
        f"""
list_within: 100
parts:
  silencer: {{kind: exhaust, box: [100, 100, 100]}}
  panel: {{kind: body, box: [100, 4, 100], at: [0, {52 + gap}, 0]}}
""",
    )
    assert LOWERED in told(made)[form]


def test_the_wanted_figure_has_a_source_of_its_own(tmp_path: Path) -> None:
    """Oracle: the row of an exhaust and a panel: 25 is lowered, 50 is what the road text asks for what burns."""
    made = bay(
        tmp_path,
        """
parts:
  silencer: {kind: exhaust, box: [100, 100, 100]}
  panel: {kind: body, box: [100, 4, 100], at: [0, 82, 0]}
""",
    )
    (finding,) = json.loads(as_json(made.check(), version="1"))["findings"]
    assert finding["limit"] == {"must": 25.0, "want": 50.0}
    assert finding["rule"]["source"].startswith(f"common practice: {LOWERED}")
    assert f"{ROAD}: 50 mm to a combustible part" in finding["rule"]["want_source"]
    assert f" wanted Quebec, Regulation respecting safety standards for road vehicles, {ROAD}" in told(made)["text"]


def test_moves_are_checked_against_the_whole_figure_in_motion(tmp_path: Path) -> None:
    """Oracle: the study of motions asks of every pair what the table of rules tells."""
    made = rocking(tmp_path, 60)
    table = made.rules()
    row = dict(zip(table.columns, table.rows[0], strict=True))
    (found,) = moving.run(made.assembly, made.session).findings
    assert row["moving, mm"] == found.limit.must == 50
    assert found.rule is not None and row["moving source"] == found.rule.source


def test_a_shield_stands_near_and_gives_no_credit(tmp_path: Path) -> None:
    """Oracle: closed form. 40 - 0.4 - 21 = 18.6 from the pipe, 105 - 47.5 - 40.4 = 17.1 from the tank; these are
    105 - 47.5 - 21 = 36.5 apart, where 50 must be, shield or none."""
    made = bay(
        tmp_path,
        """
list_within: 100
parts:
  primary: {kind: exhaust, pipe: {outside: 42, through: [[0, 0, 0], [400, 0, 0]]}}
  foil: {kind: shield, box: [400, 200, 0.8], at: [200, 0, 40]}
  oil_tank: {kind: oil, cylinder: {diameter: 95, length: 300, along: x}, at: [200, 0, 105]}
""",
    )
    assert between(made, "primary", "foil").verdict is Verdict.PASS
    assert between(made, "foil", "oil_tank").verdict is Verdict.PASS
    assert between(made, "primary", "oil_tank").verdict is Verdict.FAIL
    assert between(made, "primary", "oil_tank").value == pytest.approx(36.5, abs=0.001)
