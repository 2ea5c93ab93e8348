"""Parts that rest on others touch them, and nothing of them was met before on the way."""

from __future__ import annotations

from math import cos, hypot, radians, sqrt, tan
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from packcheck.assembly.assembly import Assembly, assemble
from packcheck.errors import SceneError
from packcheck.proximity import Session
from packcheck.scene import load_scene
from tests.scene.writing import write
from tests.solids.mesh_bytes import as_stl, ball, box, joined

WAYS = {
    "bottom": ("above", (0, 0, 1)),
    "top": ("below", (0, 0, -1)),
    "left": ("right_of", (0, 1, 0)),
    "right": ("left_of", (0, -1, 0)),
    "front": ("behind", (1, 0, 0)),
    "rear": ("ahead_of", (-1, 0, 0)),
}
OTHERS = {"front": "21.3 fore", "left": "15.7 left", "bottom": "15.1 down"}
AXIS = {"front": 0, "rear": 0, "left": 1, "right": 1, "top": 2, "bottom": 2}
SHAPES = [
    "box: [60, 40, 30]",
    "cylinder: {diameter: 50, length: 70}",
    "sphere: {diameter: 44}",
    "cone: {bottom: 60, top: 10, length: 40}",
    "tube: {outer: 50, inner: 36, length: 60}",
    "capsule: {diameter: 30, length: 80}",
    "box: [60, 40, 30], wrap: 4",
    "extrude: {outline: [[-30, -30], [30, -30], [30, -20], [-20, -20], [-20, 30], [-30, 30]], thickness: 25}",
    "pipe: {outside: 14, through: [[-40, 0, 0], [20, 0, 0], [20, 40, 10]], bend: 20}",
    "solids: [{box: [50, 20, 20]}, {sphere: {diameter: 30}, at: [20, 0, 20]}]",
    "mesh: {file: lump.stl, units: mm}",
    "mesh: {file: lump.stl, units: mm}, wrap: 3",
]

angle = st.integers(-180, 180)
turns = st.tuples(angle, angle, angle)
near = st.tuples(*[st.integers(-15, 15)] * 3)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("resting")
    lump = joined(box((50, 30, 20)), box((12, 12, 30), (-14, 0, 20)))
    write(made, "", "lump.stl").write_bytes(as_stl(lump))
    return made


def assembled(folder: Path, text: str, *, beginning: str = "packcheck: 1\n") -> Assembly:
    return assemble(load_scene(write(folder, beginning + text)), use_cache=False)


def faults(folder: Path, text: str) -> list[str]:
    with pytest.raises(SceneError) as caught:
        assembled(folder, text)
    return [str(fault) for fault in caught.value.faults]


@settings(deadline=None, max_examples=30)
@given(
    shapes=st.tuples(st.sampled_from(SHAPES), st.sampled_from(SHAPES)),
    standing=st.tuples(turns, turns, turns),
    at=near,
    face=st.sampled_from(sorted(WAYS)),
)
def test_what_rests_touches_and_met_nothing_before(
    folder: Path,
    shapes: tuple[str, str],
    standing: tuple[tuple[int, ...], tuple[int, ...], tuple[int, ...]],
    at: tuple[int, ...],
    face: str,
) -> None:
    """Oracle: the kernel's certified gap, at rest and farther out on the way; it knows nothing of resting."""
    word, way = WAYS[face]
    others = ", ".join(f"{other}: {OTHERS[other]}" for other in OTHERS if AXIS[other] != AXIS[face])
    text = (
        f"frames: {{base: {{turn: {list(standing[2])}}}}}\n"
        "parts:\n"
        f"  still: {{in: base, at: {list(at)}, turn: {list(standing[0])}, {shapes[0]}}}\n"
        f"  it: {{in: base, turn: {list(standing[1])}, {shapes[1]}, "
        f"faces: {{{others}, {face}: {{{word}: still}}}}}}\n"
    )
    try:
        made = assembled(folder, text)
    except SceneError as error:
        assert "without touching" in str(error)
        reject()
    it, still = made.parts["it"], made.parts["still"]
    session = Session()
    assert abs(session.gap(it, still).value) <= 0.01
    out = made.poses["base"].rotate(np.array(way, dtype=float))
    for far in (0.5, 3.0, 11.0, 40.0, 200.0):
        gap = session.gap(it.at(it.pose.shifted(out * far)), still)
        assert gap.low is not None and gap.low > -0.01


@pytest.mark.parametrize("slope", [0, 3, 20, 45, 70, 80, 85])
def test_a_ball_comes_to_rest_on_a_slope(folder: Path, slope: int) -> None:
    """Oracle: closed form; a ball of radius r over a plane through zero: its middle stands r / cos(slope) above."""
    made = assembled(
        folder,
        "parts:\n"
        f"  ramp: {{box: [900, 90, 20], anchor: [mid, mid, max], turn: {{nose_up: {slope}}}}}\n"
        "  ball: {sphere: {diameter: 50}, faces: {front: 5 aft, bottom: {above: ramp}}}\n",
    )
    x, _, z = made.poses["ball"].translation
    assert x == pytest.approx(30, abs=1e-9)
    assert z == pytest.approx(25 / cos(radians(slope)) - 30 * tan(radians(slope)), abs=0.01)


@pytest.mark.parametrize("aside", [0.0, 12.0, 30.0, 44.0])
def test_a_cylinder_comes_to_rest_on_a_cylinder(folder: Path, aside: float) -> None:
    """Oracle: closed form; parallel axes, radii 20 and 25, `aside` off: the middles are 45 apart."""
    made = assembled(
        folder,
        "parts:\n"
        "  lower: {cylinder: {diameter: 50, length: 80, along: x}}\n"
        f"  upper: {{cylinder: {{diameter: 40, length: 80, along: x}}, faces: {{left: {aside - 20}, "
        "bottom: {above: lower, by: 7}}}\n",
    )
    assert made.poses["upper"].translation[2] == pytest.approx(sqrt(45**2 - aside**2) + 7, abs=0.01)


def test_a_ball_on_the_rim_of_a_bore_hangs_into_it(folder: Path) -> None:
    """Oracle: closed form; a ball of radius 15 on a rim of radius 12 sinks to 9 above it."""
    made = assembled(
        folder,
        "parts:\n"
        "  bush: {tube: {outer: 40, inner: 24, length: 30}, anchor: [mid, mid, max]}\n"
        "  ball: {sphere: {diameter: 30}, faces: {bottom: {above: bush}}}\n"
        "  pin: {cylinder: {diameter: 23, length: 60}, faces: {bottom: {above: [bush, floor]}}}\n"
        "  floor: {box: [99, 99, 10], at: [0, 0, -70], anchor: [mid, mid, max]}\n",
    )
    assert made.poses["ball"].translation[2] == pytest.approx(9.0, abs=0.01)
    assert made.poses["pin"].translation[2] == pytest.approx(-70 + 30, abs=1e-6)


def test_flush_parts_pass_by_and_aligned_ones_are_met(folder: Path) -> None:
    """Oracle: by head; the wall's flank is flush with the part, its foot is not."""
    made = assembled(
        folder,
        "parts:\n"
        "  angle: {extrude: {outline: [[0, 0], [0, 50], [10, 50], [10, 10], [40, 10], [40, 0]], thickness: 60, "
        "along: x}}\n"
        "  it: {box: [60, 30, 5], faces: {front: 0, left: 10 right, bottom: {above: angle}}}\n"
        "  on_it: {box: [60, 30, 8], faces: {front: 0, left: 10 right, bottom: {above: it}}}\n",
    )
    assert made.poses["it"].translation[2] == pytest.approx(12.5, abs=1e-6)
    assert made.poses["on_it"].translation[2] == pytest.approx(19.0, abs=1e-6)


def test_it_is_the_first_part_met_that_counts(folder: Path) -> None:
    made = assembled(
        folder,
        "parts:\n"
        "  low: {box: [50, 50, 10]}\n"
        "  high: {box: [10, 10, 10], at: [20, 0, 30]}\n"
        "  it: {box: [50, 50, 2], faces: {bottom: {above: [low, high], by: 3 mm}}}\n",
    )
    assert made.poses["it"].translation[2] == pytest.approx(35 + 3 + 1, abs=1e-6)


def test_rests_are_settled_in_the_order_they_need(folder: Path) -> None:
    """Oracle: by head; a pile written upside down, on a rail that hangs on a part that rests."""
    made = assembled(
        folder,
        "parts:\n"
        "  third: {box: [10, 10, 10], faces: {bottom: {above: second}}}\n"
        "  second: {box: [10, 10, 10], faces: {bottom: {above: first}}}\n"
        "  first: {in: shelf, box: [10, 10, 10], faces: {bottom: {above: plate}}}\n"
        "  plate: {in: shelf, box: [40, 40, 4], at: [0, 0, 2]}\n"
        "  shelf: {box: [50, 50, 6], faces: {bottom: {above: floor}}}\n"
        "  floor: {box: [99, 99, 2], at: [0, 0, -1]}\n",
    )
    assert made.poses["third"].translation[2] == pytest.approx(3 + 4 + 10 + 10 + 5, abs=1e-6)


def test_resting_in_a_turned_frame_goes_along_the_axis_of_the_frame(folder: Path) -> None:
    """Oracle: by head; under a frame swung by a quarter, its aft is the car's right."""
    made = assembled(
        folder,
        "frames: {across: {turn: [0, 0, 90]}}\n"
        "parts:\n"
        "  wall: {box: [300, 10, 300], at: [0, 100, 0]}\n"
        "  it: {in: across, box: [20, 20, 20], faces: {rear: {ahead_of: wall, by: 5}}}\n",
    )
    assert np.allclose(made.poses["it"].translation, [0, 95 - 5 - 10, 0], atol=1e-6)


def test_layers_touch_as_what_they_cover_does(folder: Path) -> None:
    """Oracle: by head; 6 mm of wrap below the ball, 4 above the plate."""
    made = assembled(
        folder,
        "parts:\n"
        "  plate: {box: [90, 90, 10], wrap: 4}\n"
        "  it: {sphere: {diameter: 20}, wrap: 6, faces: {bottom: {above: plate}}}\n",
    )
    assert made.poses["it"].translation[2] == pytest.approx(5 + 4 + 6 + 10, abs=0.01)


def test_a_part_that_is_never_met_is_told(folder: Path) -> None:
    told = faults(
        folder,
        "parts:\n"
        "  rail: {box: [10, 10, 10]}\n"
        "  it: {box: [10, 10, 10], faces: {left: 5 right, bottom: {above: rail}}}\n"
        "  on: {box: [10, 10, 10], faces: {bottom: {above: it}}}\n"
        "  far: {sphere: {diameter: 4}, faces: {left: 40 left, rear: {ahead_of: [rail]}}}\n",
    )
    assert [line for text in told for line in text.splitlines()[:1]] == [
        f"{folder / 'bay.yaml'}:4:50: part 'it': bottom rests above 'rail', but coming down from above it passes "
        "by without touching",
        f"{folder / 'bay.yaml'}:6:55: part 'far': rear rests ahead_of 'rail', but coming from ahead it passes by "
        "without touching",
    ]


def test_large_meshes_rest_on_each_other(folder: Path) -> None:
    """Oracle: closed form; two balls of radius 100 and 60 50 aside, less what facets lack."""
    for name, radius in (("big", 100.0), ("small", 60.0)):
        write(folder, "", f"{name}.stl").write_bytes(as_stl(ball(radius, 90, 180)))
    made = assembled(
        folder,
        "parts:\n"
        "  under: {mesh: {file: big.stl, units: mm}}\n"
        "  over: {mesh: {file: small.stl, units: mm}, faces: {left: 10 left, bottom: {above: under}}}\n",
    )
    facets = 160 * (1 - cos(np.pi / 180)) * 4
    assert made.poses["over"].translation[2] == pytest.approx(sqrt(160**2 - 50**2), abs=facets)
    assert abs(Session().gap(made.parts["over"], made.parts["under"]).value) <= 0.01
    assert hypot(50, made.poses["over"].translation[2]) < 160.01
