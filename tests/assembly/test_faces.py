"""Parts placed by their faces stand where the same part placed by plain `at` and `turn` would."""

from __future__ import annotations

from math import hypot
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packcheck.assembly.assembly import Assembly, assemble
from packcheck.errors import SceneError
from packcheck.scene import load_scene
from packcheck.solids.primitives import build_shape, shape_reach
from tests.bays import ANGLE
from tests.scene.seats import AXES, OPPOSITE, SEEN, Array, head, rotation
from tests.scene.writing import scene_of, write
from tests.solids.mesh_bytes import as_stl, box

LOOKS = {"front": "fore", "rear": "aft", "left": "left", "right": "right", "top": "up", "bottom": "down"}

coordinate = st.integers(-5000, 5000).map(lambda tenths: tenths / 10)
size = st.integers(5, 3000).map(lambda tenths: tenths / 10)
degrees = st.one_of(st.sampled_from([0.0, 90.0, -90.0, 180.0]), st.integers(-1800, 1800).map(lambda t: t / 10))
turns = st.tuples(degrees, degrees, degrees)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("faces")


def assembled(folder: Path, text: str, *, beginning: str = "packcheck: 1\n") -> Assembly:
    return assemble(load_scene(write(folder, beginning + text)), use_cache=False)


SHAPES = {
    "box": "box: [{0}, {1}, {2}]",
    "cylinder": "cylinder: {{diameter: {0}, length: {1}}}",
    "tube": "tube: {{outer: {0}, inner: 0.4, length: {1}}}",
    "cone": "cone: {{bottom: {0}, top: {1}, length: {2}}}",
    "sphere": "sphere: {{diameter: {0}}}",
    "capsule": "capsule: {{diameter: {0}, length: {0} + {1}}}",
}


def reach_of(kind: str, sizes: tuple[float, float, float], way: Array) -> float:
    """How far a shape of `SHAPES` reaches from its middle along a unit vector (3,), mm."""
    a, b, c = sizes
    across, along = hypot(way[0], way[1]), float(way[2])
    match kind:
        case "box":
            return float(np.abs(way) @ np.array(sizes)) / 2
        case "sphere":
            return a / 2
        case "capsule":
            return abs(along) * b / 2 + a / 2
        case "cone":  # the farther of the two end discs
            return max(across * a / 2 - along * c / 2, across * b / 2 + along * c / 2)
        case _:
            return across * a / 2 + abs(along) * b / 2


@settings(deadline=None, max_examples=150)
@given(
    kind=st.sampled_from(sorted(SHAPES)),
    sizes=st.tuples(size, size, size),
    ways=st.sampled_from(AXES),
    turn=turns,
    chosen=st.tuples(
        *[st.sampled_from(pair) for pair in (("front", "rear"), ("left", "right"), ("top", "bottom"))]
    ),
    at=st.tuples(coordinate, coordinate, coordinate),
    given_faces=st.integers(1, 7),
    frame=st.tuples(st.tuples(coordinate, coordinate, coordinate), turns),
)
def test_the_pose_is_that_of_at_and_turn(
    folder: Path,
    kind: str,
    sizes: tuple[float, float, float],
    ways: tuple[str, str, str],
    turn: tuple[float, float, float],
    chosen: tuple[str, str, str],
    at: tuple[float, float, float],
    given_faces: int,
    frame: tuple[tuple[float, float, float], tuple[float, float, float]],
) -> None:
    """Oracle: closed forms of how far each shape reaches, along directions turned by matrices of the textbook."""
    text = SHAPES[kind]
    faces = [(face, coord) for k, (face, coord) in enumerate(zip(chosen, at, strict=True)) if given_faces >> k & 1]
    expected = np.zeros(3)
    for axis, way in enumerate(ways):
        up = np.eye(3)[axis] @ rotation(turn)
        expected[axis] = -(reach_of(kind, sizes, up) - reach_of(kind, sizes, -up)) / 2
        for face, coord in faces:
            if LOOKS[face] in (way, OPPOSITE[way]):
                sign = 1 if LOOKS[face] == way else -1
                expected[axis] = coord - sign * reach_of(kind, sizes, sign * up)
    written = ", ".join(f"{face}: {coord}" for face, coord in faces)
    made = assembled(
        folder,
        f"frames: {{rail: {{at: {list(frame[0])}, turn: {list(frame[1])}}}}}\n"
        f"parts:\n"
        f"  it: {{in: rail, {text.format(*sizes)}, turn: {list(turn)}, faces: {{{written}}}}}\n"
        f"  plain: {{in: rail, {text.format(*sizes)}, turn: {list(turn)}, at: {expected.tolist()}}}\n",
        beginning=head(ways),
    )
    it, plain = made.poses["it"], made.poses["plain"]
    assert np.allclose(it.translation, plain.translation, rtol=0, atol=1e-9)
    assert np.array_equal(it.rotation, plain.rotation)


@pytest.mark.parametrize("ways", AXES, ids=" ".join)
def test_a_pump_measured_in_words_stands_where_the_tape_touched(folder: Path, ways: tuple[str, ...]) -> None:
    """Oracle: by hand; 140 long, 78 across, front face 60 aft, left side 310 left, underside 90 up."""
    made = assembled(
        folder,
        "parts: {it: {box: [1, 1, 1], faces: {front: 60 aft, left: 310 left, bottom: 90 up}}}",
        beginning=head(ways),
    )
    middle = sum((x * SEEN[way] for x, way in zip(made.poses["it"].translation, ways, strict=True)), np.zeros(3))
    assert np.allclose(middle, [60.5, -309.5, 90.5], rtol=0, atol=1e-9)


def test_faces_of_every_other_shape(folder: Path) -> None:
    """Oracle: by hand from the outlines: the box of each part before it is placed."""
    write(folder, "", "block.stl").write_bytes(as_stl(box((10, 20, 30), (1, 2, 3))))
    outline = [list(corner) for corner in ANGLE]
    made = assembled(
        folder,
        "parts:\n"
        "  line: {pipe: {outside: 10, through: [[0, 0, 0], [100, 0, 0], [100, 80, 0]], bend: 20}, "
        "faces: {front: 0, right: 0, top: 0}}\n"
        f"  angle: {{extrude: {{outline: {outline}, thickness: 5}}, faces: {{rear: 0, left: 0, bottom: 0}}}}\n"
        "  block: {mesh: {file: block.stl, units: mm}, faces: {front: 5, left: 6, bottom: 7}}\n"
        "  cap: {faces: {front: 0, top: 0}, solids: [{box: [9, 10, 10]}, {sphere: {diameter: 4}, at: [0, 0, 8]}]}\n"
        "  onit: {in: block, box: [2, 2, 2], faces: {bottom: 3}}\n",
    )
    boxes = dict(zip(made.parts, made.boxes, strict=True))
    assert np.allclose(boxes["line"], [[0, -85, -10], [105, 0, 0]], atol=0.001)
    assert np.allclose(boxes["angle"], [[-50, 0, 0], [0, 50, 5]], atol=1e-9)
    assert np.allclose(boxes["block"], [[5, 6, 7], [15, 26, 37]], atol=1e-4)
    assert np.allclose(boxes["cap"], [[0, -5, -15], [9, 5, 0]], atol=1e-9)
    assert np.allclose(boxes["onit"] - made.poses["block"].translation, [[-1, -1, 3], [1, 1, 5]], atol=1e-9)


@pytest.mark.parametrize("ways", AXES, ids=" ".join)
def test_a_middle_stands_where_it_is_written(folder: Path, ways: tuple[str, ...]) -> None:
    """Oracle: by hand; a fan's middle 190 up and 20 left, its front face 60 aft of which half of 30 is behind."""
    made = assembled(
        folder,
        "parts: {it: {box: [30, 30, 30], faces: {front: 60 aft, middle: [190 up, 20 left]}}}",
        beginning=head(ways),
    )
    middle = sum((x * SEEN[way] for x, way in zip(made.poses["it"].translation, ways, strict=True)), np.zeros(3))
    assert np.allclose(middle, [75, -20, 190], rtol=0, atol=1e-9)


def test_the_middle_is_that_of_the_part_as_it_lies(folder: Path) -> None:
    """Oracle: closed form; a cone 100 long and 40 across, leaned by 30 left.

    It reaches 50 cos 30 up to its point, 50 cos 30 + 20 sin 30 down to the rim of its foot.
    """
    made = assembled(
        folder,
        "parts:\n"
        "  it: {cone: {bottom: 40, top: 0.002, length: 100}, turn: {lean_left: 30}, faces: {middle: 190 up}}\n",
    )
    low, high = made.boxes[0][:, 2]
    assert (low + high) / 2 == pytest.approx(190, abs=1e-3)
    half = (100 * np.cos(np.radians(30)) + 20 * np.sin(np.radians(30))) / 2
    assert high == pytest.approx(190 + half, abs=0.01)
    assert made.poses["it"].translation[2] == pytest.approx(190 + half - 50 * np.cos(np.radians(30)), abs=0.01)


def test_a_middle_that_agrees_with_the_faces_and_the_size_is_taken(folder: Path) -> None:
    """Oracle: by head."""
    made = assembled(folder, "parts: {it: {box: [10, 5, 5], faces: {front: 0, rear: 10 aft, middle: 5 aft}}}")
    assert np.allclose(made.poses["it"].translation, [5, 0, 0], atol=1e-9)


def test_a_middle_that_the_size_contradicts_is_told(folder: Path) -> None:
    with pytest.raises(SceneError) as caught:
        assembled(
            folder,
            "parts:\n"
            "  it: {box: [10, 20, 30], faces: {front: 60, middle: [66 aft, 5 up], left: 10 left}}\n"
            "  that: {sphere: {diameter: 4}, faces: {top: 4 down, bottom: 8 down, middle: 4 down}}\n"
            "  other: {sphere: {diameter: 4}, faces: {top: 4 up, middle: 6 up}}\n",
        )
    first, second, third = caught.value.faults
    assert first.what == (
        "part 'it': front at 60 mm and middle at 66 mm are 6 mm apart, half the size of its shape there is 5 mm"
    )
    assert first.mend == "mend one of the three, or leave out middle"
    assert second.what.startswith("part 'that': bottom at -8 mm and middle at -4 mm are 4 mm apart, half")
    assert third.mend == "exchange middle and top, or mend their signs"


def test_an_image_stands_across_from_its_middle(folder: Path) -> None:
    """Oracle: by head; 20 left becomes 20 right; an image with a middle of its own stands there."""
    made = assembled(
        folder,
        "parts:\n"
        "  it: {box: [10, 8, 6], faces: {front: 60 aft, middle: [20 left, 7 up]}}\n"
        "  image: {mirror_of: it}\n"
        "  own: {mirror_of: it, faces: {middle: [200 aft, 30 right]}}\n",
    )
    assert np.allclose(made.poses["image"].translation, [65, 20, 7], atol=1e-9)
    assert np.allclose(made.poses["own"].translation, [200, 30, 0], atol=1e-9)


def test_a_part_with_a_middle_rests_on_another(folder: Path) -> None:
    """Oracle: by head; the fan's middle 190 up, pushed forward onto the rear of a core whose rear is at 142."""
    made = assembled(
        folder,
        "parts:\n"
        "  core: {box: [42, 500, 400], faces: {front: 100 aft, bottom: 0}}\n"
        "  fan: {sphere: {diameter: 60}, faces: {front: {behind: core}, middle: 190 up}}\n",
    )
    assert np.allclose(made.poses["fan"].translation, [172, 0, 190], atol=1e-3)


def test_a_mesh_is_accounted_for_once(folder: Path) -> None:
    write(folder, "", "block.stl").write_bytes(as_stl(box((10, 20, 30))))
    made = assembled(folder, "parts: {block: {mesh: {file: block.stl, units: mm}, faces: {front: 5}}}")
    assert len(made.accounts["block"]) == 1


def test_the_wrap_is_left_out(folder: Path) -> None:
    """Oracle: by head; a ball of 20 whose front stands at 60, and 6 mm of wrap in front of that."""
    made = assembled(folder, "parts: {it: {sphere: {diameter: 20}, wrap: 6, faces: {front: 60 aft}}}")
    assert np.allclose(made.boxes[0], [[54, -16, -16], [86, 16, 16]], atol=1e-9)


def test_what_hangs_on_the_part_goes_along(folder: Path) -> None:
    """Oracle: by head; the middle of the box is at 65, its lid 5 above."""
    made = assembled(
        folder,
        "frames: {lid: {in: it, at: [0, 0, 5]}}\n"
        "parts: {it: {box: [10, 10, 10], faces: {front: 60}}, knob: {in: lid, sphere: {diameter: 1}}}",
    )
    assert np.allclose(made.poses["knob"].translation, [65, 0, 5], atol=1e-9)
    assert made.scene.parts["it"].at == (65.0, 0.0, 0.0)


def test_opposite_faces_that_agree_with_the_size_are_taken(folder: Path) -> None:
    """Oracle: by head; typed in inches to three figures, 3.937 in is 0.0002 mm off 100."""
    made = assembled(folder, "parts: {it: {box: [100, 5, 5], faces: {front: 0, rear: 3.937 in aft}}}")
    assert np.allclose(made.poses["it"].translation, [49.9999, 0, 0], atol=1e-9)


def test_opposite_faces_that_disagree_with_the_size_are_all_told(folder: Path) -> None:
    with pytest.raises(SceneError) as caught:
        assembled(
            folder,
            "parts:\n"
            "  it: {box: [10, 20, 30], faces: {rear: 71, front: 60, left: 5 left, right: 15 right, top: 3}}\n"
            "  that: {sphere: {diameter: 4}, faces: {top: 4 down, bottom: 0}}\n",
        )
    first, second = caught.value.faults
    assert first.what == (
        "part 'it': front at 60 mm and rear at 71 mm are 11 mm apart, the size of its shape there is 10 mm"
    )
    assert str(first.mark).endswith("bay.yaml:3:45")
    assert second.what.startswith("part 'that': bottom at 0 mm and top at -4 mm are -4 mm apart")
    assert second.mend == "exchange bottom and top, or mend their signs"


@settings(deadline=None, max_examples=60)
@given(start=st.tuples(coordinate, coordinate, coordinate), end=st.tuples(coordinate, coordinate, coordinate))
def test_a_solid_with_two_ends_is_the_one_placed_by_a_turn(
    folder: Path, start: tuple[float, float, float], end: tuple[float, float, float]
) -> None:
    """Oracle: closed form; the end discs of diameter 8 reach 4 sin(angle to the axis) past the ends."""
    step = np.subtract(end, start)
    length = float(np.linalg.norm(step))
    if length < 1:
        return
    made = assembled(
        folder, f"parts: {{it: {{cylinder: {{diameter: 8, from: {list(start)}, to: {list(end)}}}}}}}"
    ).scene.parts["it"]
    (spec,) = made.solids
    ways = np.eye(3)
    reach = shape_reach(spec.shape, build_shape(spec.shape), ways @ rotation(spec.turn))
    middle = np.array(made.at) + rotation(spec.turn) @ [0, 0, length / 2]
    expected = np.maximum(start, end) + 4 * np.sqrt(np.maximum(0, 1 - (step / length) ** 2))
    assert np.allclose(middle + reach, expected, rtol=0, atol=1e-6)


def test_a_face_taken_from_another_part_says_where_it_is_written(tmp_path: Path) -> None:
    text = """
    parts:
      a: {box: [40, 20, 10], faces: {front: 210 aft, rear: 250 aft}}
      b: {like: a, box: [50, 20, 10], faces: {bottom: 3 up}}
      c: {like: a, box: [50, 20, 10],
        faces: {rear: 250 aft,
          front: 210 aft}}
    """
    with pytest.raises(SceneError) as raised:
        assemble(scene_of(tmp_path, text))
    said = [fault.what for fault in raised.value.faults]
    assert "front at 210 mm and rear at 250 mm are 40 mm apart" in said[0]
    assert "front at 210 mm (line 8) and rear at 250 mm (line 7) are 40 mm apart" in said[1]
