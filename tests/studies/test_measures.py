"""Measures against closed forms, with the tolerances of what they stand on."""

from __future__ import annotations

import json
from math import asin, atan2, degrees, hypot, sqrt
from pathlib import Path

import numpy as np
import pytest

from packcheck.arrays import Points
from packcheck.assembly.features import Directed, Standing
from packcheck.bay import load
from packcheck.findings import Finding, Verdict
from packcheck.studies.reckoned import _nearest
from tests.cli.running import run
from tests.scene.writing import faults_of, write

HEAD = """\
packcheck: 1
frames:
  mount: {at: [100, 0, 0], turn: [0, 0, 90], tolerance: 3}
  loose: {at: [0, 0, 0], tolerance: [1, 0, 2]}
parts:
  pump: {at: [0, 0, 200], box: [40, 60, 80], tolerance: 2}
  tank: {in: mount, at: [0, -300, 0], box: [100, 100, 100]}
  shaft: {at: [500, 0, 0], turn: [0, -10, 0], cylinder: {diameter: 30, length: 300, along: x}}
  small: {in: mount, at: [0, 0, 400], cylinder: {diameter: 60, length: 20, along: x}}
  large: {in: mount, at: [4, 200, 400], turn: [0, 0, 1], tolerance: 1,
    cylinder: {diameter: 90, length: 30, along: x}}
  cord: {in: loose, at: [0, 900, 0], box: [10, 10, 10]}
clearances: {use: none, default: 0}
measures:
"""


def measured(folder: Path, text: str) -> Finding:
    bay = load(write(folder, f"{HEAD}  it: {{{text}}}\n"))
    (finding,) = (finding for finding in bay.check(moves=False).findings if finding.study == "measures")
    return finding


def numbers(finding: Finding) -> list[float | None]:
    return [finding.value, finding.low, finding.high]


def test_distance_of_two_points(tmp_path: Path) -> None:
    """Oracle: closed form: 3, 4, 12 make 13; both points on the car are exact."""
    finding = measured(tmp_path, "distance: {from: [0, 0, 0], to: [3, 4, 12]}, must: 10")
    assert numbers(finding) == pytest.approx([13, 13, 13])
    assert (finding.verdict, finding.word, finding.margin) == (Verdict.PASS, "as asked", 3)


def test_a_ball_widens_a_distance_by_itself(tmp_path: Path) -> None:
    """Oracle: by head: pump (2 mm) from a point of the car, and from the engine (3 mm more)."""
    finding = measured(tmp_path, "distance: {from: pump, to: [0, 0, 0]}, must: 199")
    assert numbers(finding) == pytest.approx([200, 198, 202])
    assert (finding.verdict, finding.word) == (Verdict.UNSURE, "may be too little")
    finding = measured(
        tmp_path, "distance: {from: {in: pump, at: [100, 0, 0]}, to: {in: mount, at: [0, 0, 200]}}, most: 9"
    )
    assert numbers(finding) == pytest.approx([0, 0, 5])


def test_what_carries_both_cancels_and_a_box_counts_along_the_way(tmp_path: Path) -> None:
    """Oracle: by head: two points of the engine share its 3 mm; a shift of [1, 0, 2] moves nothing along y."""
    finding = measured(tmp_path, "distance: {from: tank, to: {in: mount}}, must: 1")
    assert numbers(finding) == pytest.approx([300, 300, 300])
    finding = measured(tmp_path, "distance: {from: cord, to: [0, 0, 0]}, must: 1")
    assert finding.low == pytest.approx(900)
    assert finding.high == pytest.approx(hypot(900, sqrt(5)))


def test_two_points_of_one_part_may_both_be_off(tmp_path: Path) -> None:
    """Oracle: by head: two surfaces of one part, each within 2 mm."""
    finding = measured(tmp_path, "distance: {from: pump.top, to: pump.bottom}, range: [70, 90]")
    assert numbers(finding) == pytest.approx([80, 76, 84])


def test_height_is_signed(tmp_path: Path) -> None:
    """Oracle: by head: pump's underside at 160, the tank's top at 50; 2 and 3 mm of tolerance."""
    finding = measured(tmp_path, "height: {of: pump.bottom, above: tank.top}, must: 100")
    assert numbers(finding) == pytest.approx([110, 105, 115])
    assert measured(tmp_path, "height: {of: tank.top, above: pump.bottom}, must: 0").verdict is Verdict.FAIL


def test_point_to_plane_with_a_plane_that_may_turn(tmp_path: Path) -> None:
    """Oracle: closed form: the pump's plane square to z is 40 mm across its smaller side; 90 mm from its middle a
    tilt within 2 mm over 20 mm strays 2 x 90 / 20 = 9 mm, and the distance of 50 along it by 50 (1 - cos) more."""
    text = "to_plane: {point: [90, 0, 250], plane: {in: pump, at: [0, 0, 0], normal: z}}, must: 1"
    finding = measured(tmp_path, text)
    lost = 50 * (1 - sqrt(1 - 0.1**2))
    assert numbers(finding) == pytest.approx([50, 50 - 9 - lost, 50 + 9 + lost])
    behind = measured(tmp_path, text.replace("250", "150"))
    assert behind.value == pytest.approx(-50)


def test_a_plane_on_a_frame_says_what_is_not_in_it(tmp_path: Path) -> None:
    finding = measured(tmp_path, "to_plane: {point: [0, 0, 50], plane: {in: mount, normal: z}}, must: 1")
    assert numbers(finding) == pytest.approx([50, 47, 53])
    assert finding.note == "that mount may be turned within its tolerance is not in it"


def test_point_to_axis(tmp_path: Path) -> None:
    """Oracle: closed form: 80 mm beside the middle of a shaft, square to it; 30 mm past its end and 40 mm beside,
    the axis passes at 40, its end is 50 away."""
    finding = measured(tmp_path, "to_line: {point: [500, 80, 0], line: {in: shaft, along: x}}, must: 1")
    assert numbers(finding) == pytest.approx([80, 80, 80])
    text = "to_line: {point: {in: shaft, at: [180, 40, 0]}, line: {in: shaft, along: x}}, must: 1"
    assert measured(tmp_path, text).value == pytest.approx(40)
    for said in ("ends: true", "length: 300"):
        finding = measured(tmp_path, text.replace("along: x", f"along: x, {said}"))
        assert finding.value == pytest.approx(50)
        assert finding.note == "taken to an end; the line, carried on, passes at 40.0 mm"


def test_line_through_two_points_goes_on_past_them(tmp_path: Path) -> None:
    """Oracle: closed form: 800 along and 50 beside a line through points at 0 and 400."""
    text = "to_line: {point: [800, 50, 0], line: {at: [0, 0, 0], to: [400, 0, 0]}}, must: 100"
    finding = measured(tmp_path, text)
    assert numbers(finding) == pytest.approx([50, 50, 50])
    assert finding.verdict is Verdict.FAIL
    ended = measured(tmp_path, text.replace("to: [400, 0, 0]", "to: [400, 0, 0], ends: true"))
    assert ended.value == pytest.approx(hypot(400, 50))


def test_lines_pass_each_other_beyond_their_parts(tmp_path: Path) -> None:
    """Oracle: closed form: along x at height 70, and along y through the zero: 70 apart, however far out they pass;
    from end to end 3, 4 and 70 more."""
    a, b = "{at: [503, 0, 0], along: x, length: 1000%s}", "{at: [0, 54, 70], along: y, length: 100%s}"
    endless, ended = (f"between_lines: {{a: {a % end}, b: {b % end}}}, must: 1" for end in (", ends: false", ""))
    assert measured(tmp_path, endless).value == pytest.approx(70)
    assert measured(tmp_path, ended).value == pytest.approx(sqrt(9 + 16 + 70**2))


def test_line_that_may_turn_strays_the_more_the_farther_out(tmp_path: Path) -> None:
    """Oracle: closed form, two of the lines it may be: a pump of 40 mm, its points good to 2 mm, holds one that
    climbs 4 in 40, so that 400 mm out it is 40 mm nearer, or farther. None strays by more than that."""
    text = "to_line: {point: [400, 50, 200], line: {in: pump, along: x}}, must: 1"
    value, low, high = numbers(measured(tmp_path, text))
    assert value == pytest.approx(50)
    slope = 4 / 40
    turned = [abs(50 - sign * slope * 400) / hypot(1, slope) for sign in (1, -1)]
    assert low is not None and high is not None
    assert min(turned) - 0.5 <= low <= min(turned)
    assert max(turned) <= high <= 90 + 1e-9


def test_axes_alike_that_may_turn_may_meet_unless_they_end(tmp_path: Path) -> None:
    """Oracle: by head: 480 mm beyond the pump of 40 mm a line may be off by 2 + 2 x 480 / 20 = 50 mm; parallel ones
    without ends meet somewhere when one is turned ever so little."""
    text = "between_lines: {a: {in: pump, along: x}, b: {in: shaft, along: y}}, must: 1"
    assert measured(tmp_path, text).low == pytest.approx(150, abs=2)
    text = text.replace("b: {in: shaft, along: y}", "b: {at: [0, 0, 0], along: x, length: 9, ends: false}")
    finding = measured(tmp_path, text)
    assert (finding.value, finding.low, finding.verdict) == (200, 0, Verdict.UNSURE)
    assert (
        finding.note == "turned within their tolerances, lines without ends may meet far away: say length or ends"
    )
    ended = text.replace("along: x}, b", "along: x, ends: true}, b").replace("ends: false", "ends: true")
    assert measured(tmp_path, ended).low == pytest.approx(198)


def test_skew_lines(tmp_path: Path) -> None:
    """Oracle: closed form: two lines square to each other, 70 mm apart in height."""
    a, b = "{at: [0, 0, 0], along: x, length: 100}", "{at: [10, 5, 70], along: y, length: 100}"
    assert measured(tmp_path, f"between_lines: {{a: {a}, b: {b}}}, must: 1").value == pytest.approx(70)


def lines_of(rng: np.random.Generator, *, ends: tuple[bool, bool] = (True, True)) -> tuple[Directed, Directed]:
    points = rng.uniform(-100, 100, (4, 3))
    if rng.random() < 0.3:  # parallel ones
        points[3] = points[2] + (points[1] - points[0]) * rng.uniform(-2, 2)
    made = [Standing("car", point) for point in points]
    return Directed(made[0], made[1], ends[0]), Directed(made[2], made[3], ends[1])


def along(line: Directed, count: int) -> Points:
    shares = np.linspace(0, 1, count)[:, None]
    points: Points = line.start.at + shares * (line.end.at - line.start.at)
    return points


def test_segments_against_their_points() -> None:
    """Oracle: brute force: 400 points on each of two segments, 300 pairs of segments, one in three parallel."""
    rng = np.random.default_rng(7)
    for _ in range(300):
        a, b = lines_of(rng)
        found = float(np.linalg.norm(np.subtract(*_nearest(a, b))))
        brute = np.linalg.norm(along(a, 400)[:, None] - along(b, 400)[None], axis=2).min()
        assert found <= brute + 1e-9
        assert brute <= found + (a.length + b.length) / 399 / 2


@pytest.mark.parametrize("ends", [(False, False), (False, True), (True, False)])
def test_lines_without_ends_against_an_optimiser(ends: tuple[bool, bool]) -> None:
    """Oracle: least squares of other libraries over both shares, 100 pairs of lines, one in three parallel."""
    from scipy.optimize import lsq_linear

    rng = np.random.default_rng(11)
    bounds = [(0.0, 1.0) if end else (-np.inf, np.inf) for end in ends]
    for _ in range(100):
        a, b = lines_of(rng, ends=ends)
        step = np.stack([a.end.at - a.start.at, b.start.at - b.end.at], axis=1)
        apart = b.start.at - a.start.at
        shares = np.linalg.lstsq(step, apart, rcond=1e-9)[0]
        if any(ends):
            shares = lsq_linear(step, apart, tuple(zip(*bounds, strict=True)), "bvls", 1e-14).x
        on_a, on_b = _nearest(a, b)
        assert np.linalg.norm(on_a - on_b) == pytest.approx(np.linalg.norm(step @ shares - apart), abs=1e-5)


def test_planes_of_two_parts(tmp_path: Path) -> None:
    """Oracle: by head: a plane of the car 200 mm below the pump's middle; directly below, a tilt costs nothing but
    the cosine."""
    text = "between_planes: {a: {in: car, at: [0, 0, 0], normal: z}, b: {in: pump, normal: z}}, range: [-210, -190]"
    lost = 200 * (1 - sqrt(1 - 0.1**2))
    assert numbers(measured(tmp_path, text)) == pytest.approx([-200, -202 - lost, -198 + lost])


def test_angle_of_a_shaft_against_the_horizontal(tmp_path: Path) -> None:
    """Oracle: closed form: turned nose up by 10 degrees, exactly."""
    finding = measured(tmp_path, "incline: {in: shaft, along: x}, most: 12")
    assert numbers(finding) == pytest.approx([10, 10, 10])
    assert (finding.unit, round(finding.margin or 0, 9)) == ("deg", 2)


def test_the_angle_of_a_line_widens_with_its_tolerance_over_its_length(tmp_path: Path) -> None:
    """Oracle: closed form: asin(2 x 3 mm / 100 mm) for the engine's tolerance over a tank of 100 mm."""
    off = degrees(asin(0.06))
    assert numbers(measured(tmp_path, "incline: {in: tank, along: x}, most: 12")) == pytest.approx([0, 0, off])
    lines = "{a: {in: tank, along: x}, b: {in: mount, along: y, length: 100}}"
    assert numbers(measured(tmp_path, f"angle: {lines}, must: 80")) == pytest.approx([90, 90, 90])


def test_slope_of_a_drain(tmp_path: Path) -> None:
    """Oracle: closed form: 20 mm of fall on 300 mm is atan(20 / 300); a climb is negative."""
    fall = degrees(atan2(20, 300))
    assert measured(tmp_path, "slope: {from: [0, 0, 20], to: [300, 0, 0]}, must: 2").value == pytest.approx(fall)
    climbing = measured(tmp_path, "slope: {from: [300, 0, 0], to: [0, 0, 20]}, must: 2")
    assert climbing.value == pytest.approx(-fall)
    assert climbing.word == "too little"


def test_pulleys_in_line_and_parallel(tmp_path: Path) -> None:
    """Oracle: closed form: on one frame, 4 mm out of line, axes 1 degree apart; the larger is good to 1 mm, turns
    by asin(2 / 30) over its width; the engine's 3 mm cancel."""
    text = "pulleys: {a: {in: small, along: x}, b: {in: large, along: x}}, offset: 1 mm, parallel: 0.5"
    bay = load(write(tmp_path, f"{HEAD}  it: {{{text}}}\n"))
    found = [finding for finding in bay.check(moves=False).findings if finding.study == "measures"]
    offset = next(finding for finding in found if finding.unit == "mm")
    parallel = next(finding for finding in found if finding.unit == "deg")
    assert numbers(offset) == pytest.approx([4, 3, 5])
    turn = degrees(asin(2 / 30))
    assert numbers(parallel) == pytest.approx([1, 0, 1 + turn])
    assert (offset.verdict, parallel.verdict) == (Verdict.FAIL, Verdict.UNSURE)


PULLEYS = """\
packcheck: 1
clearances: {use: none, default: 0}
parts:
  crank: {at: [0, 0, 0], anchor: [min, mid, mid], cylinder: {diameter: 150, length: 26, along: x}}
  pump: {at: [0, -185, 60], cylinder: {diameter: 62, length: 24, along: x}}
  corner: {at: [0, 300, 0], anchor: [max, min, max], turn: [0, 0, 180],
    cylinder: {diameter: 60, length: 20, along: x}}
  dynamo: {at: [0, 500, 0], solids: [{cylinder: {diameter: 90, length: 20, along: x}},
    {cylinder: {diameter: 30, length: 40, along: x}, at: [30, 0, 0]}]}
measures:
"""


@pytest.mark.parametrize(("b", "offset"), [
    ("{in: pump, along: x}", 13.0), ("{in: pump, at: [10, 0, 0], along: x}", 3.0), ("{in: corner, along: x}", 3.0),
    ("{in: dynamo, at: [0, 0, 0], along: x}", 13.0),
])  # fmt: skip
def test_pulleys_are_measured_by_their_middles_wherever_their_anchor_is(
    b: str, offset: float, tmp_path: Path
) -> None:
    """Oracle: by head: the crank's reaches from 0 to 26, middle 13; the pump's stands at 0; that of the corner has
    its rear end at 0 and is turned about, so that it reaches from 0 to 20."""
    text = f"  it: {{pulleys: {{a: {{in: crank, along: x}}, b: {b}}}, offset: 1}}\n"
    (finding,) = load(write(tmp_path, PULLEYS + text)).check(moves=False).findings[:1]
    assert finding.value == pytest.approx(offset)


def test_axis_of_a_shape_runs_through_its_middle_wherever_its_anchor_is(tmp_path: Path) -> None:
    """Oracle: by head: held by the corner of its box and turned about z, 30 mm inward and 30 mm down of that."""
    text = "  it: {to_line: {point: [0, 270, 0], line: {in: corner, along: x}}, must: 1}\n"
    (finding,) = load(write(tmp_path, PULLEYS + text)).check(moves=False).findings[:1]
    assert finding.value == pytest.approx(30)


def test_pulley_of_several_solids_has_to_say_where_its_groove_is(tmp_path: Path) -> None:
    text = "  it: {pulleys: {a: {in: crank, along: x}, b: {in: dynamo, along: x}}, offset: 1, parallel: 1}\n"
    path = write(tmp_path, PULLEYS + text)
    told = run("check", path)
    assert told.exit_code == 2
    assert "pulleys.b has no at, and 'dynamo' is no single plain shape" in told.output
    assert told.output.count("pulleys.b") == 1


def test_a_restraint_angle_is_printed_and_never_judged(tmp_path: Path) -> None:
    finding = measured(tmp_path, "restraint: {from: [0, 0, 0], to: [100, 0, 100]}")
    assert finding.value == pytest.approx(45)
    assert (finding.verdict, finding.note) == (Verdict.UNSURE, "to be judged by a qualified person")
    head = "packcheck: 1\nparts: {seat: {box: [9, 9, 9]}}\nmeasures:\n"
    path = write(tmp_path, f"{head}  belt: {{restraint: {{from: [0, 0, 0], to: [100, 0, 100]}}}}\n")
    told = run("check", path, "--no-moves")
    assert "to be judged: belt: 45.0 deg" in told.output
    assert told.exit_code == 3


def test_only_the_measures_of_the_parts_asked_for(tmp_path: Path) -> None:
    lines = [f"  {name}: {{height: {{of: {name[:4]}, above: car}}, must: 0}}" for name in ("pump_up", "tank_up")]
    bay = load(write(tmp_path, HEAD + "\n".join(lines)))
    names = {f.subjects[0] for f in bay.check(["tank"], moves=False).findings if f.study == "measures"}
    assert names == {"tank_up"}


def test_measures_in_json_and_in_a_layout(tmp_path: Path) -> None:
    text = "  it: {height: {of: pump, above: car}, must: 150}\nlayouts: {low: {parts: {pump: {at: [0, 0, 100]}}}}\n"
    path = write(tmp_path, HEAD + text)
    report = json.loads(run("check", path, "--layout", "low", "--json", "--no-moves").output)
    (finding,) = (finding for finding in report["findings"] if finding["study"] == "measures")
    assert (finding["value"], finding["limit"]["must"], finding["verdict"]) == (100, 150, "fail")
    compared = json.loads(run("compare", path, "--json").output)
    assert [(c["subjects"], c["change"]) for c in compared["changes"]["low"]] == [(["it"], "appears")]


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("it: {must: 3}", "measure 'it': measures nothing, needs one of distance"),
        ("it: {height: {of: pump, above: car}}", "measure 'it': has no limit"),
        ("it: {height: {of: pmp, above: car}, must: 1}", "measure 'it': height.of 'pmp' is not known"),
        ("it: {height: {of: base.top, above: car}, must: 1}", "measure 'it': height.of 'base' is a frame"),
        ("it: {incline: {in: base, along: x}, most: 3}", "measure 'it': incline lies along an axis of 'base'"),
        ("it: {incline: {in: pump}, most: 3}", "measure 'it': incline needs along or to"),
        ("it: {height: {of: pump, above: car}, must: 9, most: 3}", "measure 'it': asks for at least 9"),
        ("it: {restraint: {from: pump, to: car}, must: 3}", "measure 'it': must is no limit of restraint"),
        ("it: {height: {of: pump, above: car}, most: 3 deg}", "measure 'it': most '3 deg'"),
    ],
)  # fmt: skip
def test_measures_written_wrongly(tmp_path: Path, text: str, what: str) -> None:
    head = "frames: {base: {at: [0, 0, 0]}}\nparts: {pump: {box: [1, 1, 1]}}\nmeasures:\n"
    (fault,) = faults_of(tmp_path, f"{head}  {text}\n")
    assert fault.what.startswith(what)
    assert fault.mark is not None and fault.mark.line == 5
