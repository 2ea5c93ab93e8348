"""Sizes that two opposite faces give."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packcheck.assembly.assembly import assemble
from packcheck.scene import load_scene
from packcheck.scene.model import scene as model
from packcheck.scene.model.scene import Shape
from tests.scene.seats import AXES, SEEN, head, rotation
from tests.scene.writing import faults_of, shape_of, whats, write

SIX = "faces: {front: 60 aft, rear: 200 aft, left: 310 left, right: 9 1/4 in left, bottom: 90 up, top: 165.05 up}"
quarter = st.sampled_from([-180.0, -90.0, 0.0, 90.0, 180.0, 270.0])


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("sizing")


@pytest.mark.parametrize(
    ("text", "shape"),
    [
        ("box: [faces, 5, 6]", model.Box((140.0, 5.0, 6.0))),
        ("box: [faces, faces, faces]", model.Box((140.0, 75.05, 75.05))),
        ("box: [faces, 5, faces], turn: {nose_up: 90}", model.Box((75.05, 5.0, 140.0))),
        ("cylinder: {diameter: faces, length: faces, along: x}", model.Cylinder(75.05, 140.0, "x")),
        (
            "cylinder: {diameter: faces, length: 9, along: x}, turn: {lean_left: 30}",
            model.Cylinder(75.05, 9.0, "x"),
        ),
        ("cylinder: {diameter: 4, length: faces}, turn: [90, 0, 0]", model.Cylinder(4.0, 75.05, "z")),
        ("capsule: {diameter: faces, length: faces, along: x}", model.Capsule(75.05, 140.0, "x")),
        ("tube: {outer: faces, inner: 70, length: faces, along: x}", model.Tube(75.05, 70.0, 140.0, "x")),
        ("cone: {bottom: 4, top: 5, length: faces}", model.Cone(4.0, 5.0, 75.05, "z")),
    ],
)
def test_two_faces_give_the_size(tmp_path: Path, text: str, shape: Shape) -> None:
    """Oracle: by hand; 200 - 60 = 140, 310 - 9.25 * 25.4 = 75.05, 165.05 - 90 = 75.05."""
    got = shape_of(tmp_path, f"{text}, {SIX}")
    assert type(got) is type(shape)
    assert np.allclose(numbers(got), numbers(shape), rtol=0, atol=1e-9)


def numbers(shape: Shape) -> list[float]:
    if isinstance(shape, model.Box):
        return list(shape.size)
    return [value for name in shape.__slots__ if isinstance(value := getattr(shape, name), float)]


@pytest.mark.parametrize("faces", ["top: 5, bottom: 5 down", "left: 2, right: 12", "front: 1, rear: 11 aft"])
def test_any_pair_gives_the_size_of_a_ball_in_any_turn(tmp_path: Path, faces: str) -> None:
    """Oracle: by hand; each pair is 10 apart."""
    made = shape_of(tmp_path, f"sphere: {{diameter: faces}}, turn: [1, 2, 3], faces: {{{faces}}}")
    assert made == model.Sphere(10.0)


@pytest.mark.parametrize("faces", [
    "front: 60 aft, middle: 130 aft", "middle: [130 aft, 7 up], rear: 200 aft",
    "middle: 130 aft, front: 60, rear: 200",
])  # fmt: skip
def test_a_face_and_the_middle_give_the_size(tmp_path: Path, faces: str) -> None:
    """Oracle: by hand; twice the 70 from a face to the middle, or 200 - 60."""
    assert shape_of(tmp_path, f"box: [faces, 5, 6], faces: {{{faces}}}") == model.Box((140.0, 5.0, 6.0))


@settings(deadline=None, max_examples=80)
@given(
    ways=st.sampled_from(AXES),
    turn=st.tuples(quarter, quarter, quarter),
    low=st.tuples(*[st.integers(-500, 500)] * 3),
    size=st.tuples(*[st.integers(1, 500)] * 3),
)
def test_a_box_between_six_faces_fills_them(
    folder: Path, ways: tuple[str, ...], turn: tuple[float, ...], low: tuple[int, ...], size: tuple[int, ...]
) -> None:
    """Oracle: the box of the six coordinates, and its sizes turned back by matrices of the textbook."""
    looks = {"front": "fore", "rear": "aft", "left": "left", "right": "right", "top": "up", "bottom": "down"}
    at = {}
    for face, way in looks.items():
        along = [float(SEEN[way] @ SEEN[positive]) for positive in ways]
        axis = int(np.argmax(np.abs(along)))
        at[face] = low[axis] + size[axis] if along[axis] > 0 else low[axis]
    faces = ", ".join(f"{face}: {coordinate}" for face, coordinate in at.items())
    text = f"parts: {{it: {{box: [faces, faces, faces], turn: {list(turn)}, faces: {{{faces}}}}}}}"
    made = assemble(load_scene(write(folder, head(ways) + text)))
    (spec,) = made.scene.parts["it"].solids
    assert isinstance(spec.shape, model.Box)
    assert np.allclose(np.abs(rotation(turn).T @ size), spec.shape.size, rtol=0, atol=1e-9)
    assert np.allclose(made.boxes[0], np.array([low, np.add(low, size)]), rtol=0, atol=1e-9)


@pytest.mark.parametrize(
    ("text", "faults"),
    [
        ("box: [faces, 5, 5]", ["box item 1 is faces, but the part has no faces"]),
        (
            "box: [faces, faces, 5], faces: {front: 5, left: 0, right: 5}",
            ["box item 1 is faces, needs both front and rear"],
        ),
        (
            "box: [5, faces, 5], faces: {right: 10 left, left: 5 left}",
            ["box item 2 is faces: left at -5 mm and right at -10 mm are -5 mm apart"],
        ),
        (
            "box: [faces, 5, 5], turn: {nose_up: 2.5}, faces: {front: 5, rear: 15}",
            ["box item 1 is faces, needs a turn that keeps it square to its frame"],
        ),
        (
            "cylinder: {diameter: faces, length: 9}, faces: {bottom: 5, top: 15}",
            ["cylinder.diameter is faces, needs both front and rear, or both left and right"],
        ),
        (
            "cylinder: {diameter: faces, length: 9}, faces: {front: 5, rear: 15, left: 0, right: 12}",
            ["cylinder.diameter is faces, but front and rear are 10 mm apart and left and right are 12 mm apart"],
        ),
        ("box: [faces, 5, 5], faces: {middle: 5 aft, top: 0}", ["box item 1 is faces, needs both front and rear"]),
        (
            "box: [5, faces, 5], faces: {right: 10 left, middle: 5 left}",
            ["box item 2 is faces: right at -10 mm and middle at -5 mm are -5 mm apart"],
        ),
        (
            "cylinder: {diameter: faces, length: 9}, faces: {front: 5, rear: 15, left: 0, middle: 7 right}",
            [
                "cylinder.diameter is faces, but front and rear are 10 mm apart "
                "and left and middle are 7 mm apart, half the size"
            ],
        ),
        (
            "tube: {outer: faces, inner: 10, length: 9}, faces: {front: 5, rear: 15}",
            ["tube.inner is 10 mm, needs less than outer, 10 mm"],
        ),
        (
            "tube: {outer: 9, inner: faces, length: 9}, faces: {front: 5, rear: 15}",
            ["tube.inner is faces, needs a size"],
        ),
        (
            "solids: [{box: [faces, 1, 1]}], faces: {front: 5, rear: 15}",
            ["solids item 1.box item 1 is faces, needs a size"],
        ),
        (
            "box: [faces, 1, 1], faces: {front: 5 up, rear: 15}",
            ["faces.front '5 up' says 'up' along x, needs aft, rearward, fore or forward"],
        ),
        ("box: [faces, 1, 1], faces: {front: 5, rear: 15}, turn: 5", ["turn is 5, needs a list: [x, y, z]"]),
        (
            "cylinder: {diameter: 5, length: faces, along: q}, faces: {front: 5, rear: 15}",
            ["cylinder.along is 'q', needs x, y or z"],
        ),
        ("box: [faces, 1], faces: {front: 5, rear: 15}", ["box has 2 values, needs 3: [x, y, z]"]),
    ],
)
def test_faces_that_give_no_size_are_faults(tmp_path: Path, text: str, faults: list[str]) -> None:
    assert whats(tmp_path, f"parts: {{it: {{{text}}}}}") == [f"part 'it': {fault}" for fault in faults]


def test_a_size_by_faces_needs_axes_that_hold(tmp_path: Path) -> None:
    head = "packcheck: 1\naxes: {x: aft, y: fore, z: up}\n"
    text = "parts: {it: {box: [faces, 1, 1], faces: {front: 5, rear: 15}}}"
    assert whats(tmp_path, text, head=head) == ["axes needs one each of fore or aft, left or right, up or down"]


def test_a_param_of_the_name_comes_first(tmp_path: Path) -> None:
    assert shape_of(tmp_path, "box: [faces, 1, 1]", head="params: {faces: 7}\n") == model.Box((7.0, 1.0, 1.0))


def test_the_fault_stands_where_the_word_does(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, "parts: {it: {box: [1, 1, faces]}}")
    assert fault.mark is not None
    assert (fault.mark.line, fault.mark.column) == (2, 26)
