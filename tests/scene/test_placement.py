"""Direction words behind coordinates, and turns in words."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packcheck.scene.model import scene as model
from tests.scene.seats import AXES, OPPOSITE, SEEN, head, rotation, seen
from tests.scene.writing import faults_of, part_of, scene_of, shape_of, whats

SYNONYMS = {"fore": "forward", "aft": "rearward"}
angle = st.integers(-1800, 1800).map(lambda tenths: tenths / 10)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("placement")


def box(text: str) -> str:
    return f"parts: {{it: {{box: [1, 1, 1], {text}}}}}"


@pytest.mark.parametrize("ways", AXES, ids=" ".join)
@pytest.mark.parametrize("mirrored", [False, True])
def test_a_direction_word_says_which_way(folder: Path, ways: tuple[str, ...], mirrored: bool) -> None:
    """Oracle: each length along the unit vector of its word, as seen from the seat."""
    words = [OPPOSITE[way] if mirrored else way for way in ways]
    at = ", ".join(f"{length} {SYNONYMS.get(word, word)}" for length, word in zip((5, 7, 9), words, strict=True))
    part = scene_of(folder, box(f"at: [{at}]"), head=head(ways)).parts["it"]
    expected = sum((n * SEEN[word] for n, word in zip((5, 7, 9), words, strict=True)), np.zeros(3))
    assert np.array_equal(seen(part.at, ways), expected)


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("310 left", -310.0),
        ("12 in left", -304.8),
        ("1 1/2 in right", 38.1),
        ("rise + 20 mm left", -170.0),
        ("(rise - 20 mm) / 2 right", 65.0),
        ("20 mm - rise left", 130.0),
        ("max(rise, 10 mm) left", -150.0),
        ("2 * left", 14.0),
        ("2 * left left", -14.0),
        ("left", 7.0),
        ("0 left", 0.0),
        ("  3 left  ", -3.0),
    ],
)
def test_what_stands_before_the_word_is_a_length(tmp_path: Path, text: str, mm: float) -> None:
    """Oracle: by hand, with rise 150 mm and a param of the unlucky name left, 7 mm; y points right."""
    params = "params: {rise: 150 mm, left: 7 mm}\n"
    assert scene_of(tmp_path, params + box(f"at: [0, '{text}', 0]")).parts["it"].at == pytest.approx((0, mm, 0))


def test_words_are_taken_wherever_a_point_stands(tmp_path: Path) -> None:
    text = """\
        units: in
        frames: {rail: {at: [1 fore, 2 left, 3 down]}}
        parts:
          line: {pipe: {outside: 1, through: [[0, 0, 0], [1 in fore, 25.4 mm left, 2 up]]}}
          cap: {solids: [{sphere: {diameter: 1}, at: [1 aft, 0, 1 down]}]}
        """
    scene = scene_of(tmp_path, text)
    assert scene.frames["rail"].at == pytest.approx((-25.4, -50.8, -76.2))
    (line,), (cap,) = scene.parts["line"].solids, scene.parts["cap"].solids
    assert isinstance(line.shape, model.Pipe)
    assert line.shape.through[1] == pytest.approx((-25.4, -25.4, 50.8))
    assert cap.at == pytest.approx((25.4, 0, -25.4))


@pytest.mark.parametrize(
    ("at", "what", "mend"),
    [
        ("[60 left, 0, 0]", "'60 left' says 'left' along x, needs aft, rearward, fore or forward", "order"),
        ("[0, 6 up, 0]", "'6 up' says 'up' along y, needs right or left", "order"),
        ("[0, 0, 6 forward]", "'6 forward' says 'forward' along z, needs up or down", "order"),
        ("[6 afft, 0, 0]", "'6 afft' has the unknown direction word 'afft'", "'aft'"),
        ("[6 mm behind, 0, 0]", "'6 mm behind' has the unknown direction word 'behind'", "'aft'"),
        ("[0, 6 Left, 0]", "'6 Left' has the unknown direction word 'Left'", "'left'"),
        ("[0, 6left, 0]", "'6left' has no blank before 'left'", "'6 left'"),
        ("[0, -6 left, 0]", "'-6 left' has a minus sign and a direction word, needs one of them", "leave out"),
        ("[0, 6 left right, 0]", "'6 left right' has two direction words, needs one", ""),
        ("[0, 6 ft left, 0]", "'6 ft' has the unknown unit 'ft', known are mm, cm, m, in and deg", ""),
        ("[0, 6 lbs, 0]", "'6 lbs' has the unknown unit 'lbs', known are mm, cm, m, in and deg", ""),
    ],
)  # fmt: skip
def test_a_wrong_word_is_a_fault(tmp_path: Path, at: str, what: str, mend: str) -> None:
    (fault,) = faults_of(tmp_path, box(f"at: {at}"))
    assert fault.what.endswith(what)
    assert mend in fault.mend


@pytest.mark.parametrize(
    "slot", ["box: [1, 1, 6 left]", "wrap: 6 up, box: [1, 1, 1]", "tolerance: [1, 1, 1 up], box: [1, 1, 1]"]
)
def test_a_size_takes_no_direction(tmp_path: Path, slot: str) -> None:
    (fault,) = faults_of(tmp_path, f"parts: {{it: {{{slot}}}}}")
    assert "behind a coordinate only" in fault.mend


def test_words_are_not_judged_by_axes_that_are_at_fault(tmp_path: Path) -> None:
    assert whats(
        tmp_path, box("at: [6 left, 6 up, 6 aft]"), head="packcheck: 1\naxes: {x: aft, y: fore, z: up}\n"
    ) == ["axes needs one each of fore or aft, left or right, up or down"]


@pytest.mark.parametrize("ways", AXES, ids=" ".join)
@pytest.mark.parametrize(
    ("word", "end", "towards"),
    [
        ("nose_up", "fore", "up"),
        ("nose_down", "fore", "down"),
        ("lean_left", "up", "left"),
        ("lean_right", "up", "right"),
        ("swing_left", "fore", "left"),
        ("swing_right", "fore", "right"),
    ],
)
def test_a_turn_in_words_moves_the_end_it_names(
    folder: Path, ways: tuple[str, ...], word: str, end: str, towards: str
) -> None:
    """Oracle: closed form; 20 degrees carry a point at the end by cos 20 along itself and sin 20 the way named."""
    turn = scene_of(folder, box(f"turn: {{{word}: 20}}"), head=head(ways)).parts["it"].turn
    point = np.array([SEEN[end] @ SEEN[way] for way in ways])
    expected = np.cos(np.radians(20)) * SEEN[end] + np.sin(np.radians(20)) * SEEN[towards]
    assert np.allclose(seen(rotation(turn) @ point, ways), expected, atol=1e-12)


@settings(deadline=None, max_examples=60)
@given(ways=st.sampled_from(AXES), nose=angle, lean=angle, swing=angle)
def test_several_words_turn_about_x_then_y_then_z(
    folder: Path, ways: tuple[str, ...], nose: float, lean: float, swing: float
) -> None:
    """Oracle: rotations about the seat's own directions (Rodrigues), in the order of the file's axes."""
    text = box(f"turn: {{nose_up: {nose}, lean_left: {lean}, swing_right: {swing}}}")
    made = rotation(scene_of(folder, text, head=head(ways)).parts["it"].turn)
    thumbs = {"left": ("right", nose), "fore": ("aft", lean), "up": ("down", swing)}
    expected = np.eye(3)
    for way in ways:
        thumb, degrees = thumbs[way if way in thumbs else OPPOSITE[way]]
        expected = about(SEEN[thumb], degrees) @ expected
    from_scene = np.column_stack([SEEN[way] for way in ways])
    assert np.allclose(from_scene @ made @ from_scene.T, expected, atol=1e-12)


def about(
    axis: np.ndarray[tuple[int], np.dtype[np.float64]], degrees: float
) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    x, y, z = axis
    cross = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    a = np.radians(degrees)
    made: np.ndarray[tuple[int, int], np.dtype[np.float64]] = (
        np.eye(3) + np.sin(a) * cross + (1 - np.cos(a)) * cross @ cross
    )
    return made


def test_frames_and_solids_turn_in_words_too(tmp_path: Path) -> None:
    """Oracle: by head; with the default axes nose_up is about +y and swing_right about -z."""
    scene = scene_of(
        tmp_path,
        "frames: {rail: {turn: {nose_up: 2.5}}}\n"
        "parts: {cap: {solids: [{box: [1, 1, 1], turn: {swing_right: 10 deg, lean_right: 3}}]}}",
    )
    assert scene.frames["rail"].turn == (0.0, 2.5, 0.0)
    assert scene.parts["cap"].solids[0].turn == (-3.0, 0.0, -10.0)


@pytest.mark.parametrize(("word", "meant", "aft"), [("lean_back", "nose_up", 1), ("tilt_forward", "nose_down", -1)])
def test_a_lean_fore_and_aft_is_told_as_the_turn_it_is(tmp_path: Path, word: str, meant: str, aft: int) -> None:
    """Oracle: the top of the part, turned by matrices of the textbook, goes the way the builder wrote."""
    (fault,) = faults_of(tmp_path, f"parts: {{it: {{box: [1, 1, 1], turn: {{{word}: 20 deg}}}}}}")
    assert fault.mend.startswith(f"write {meant}: 20 deg; {meant} tips its top ")
    turn = part_of(tmp_path, f"box: [1, 1, 1], turn: {{{meant}: 20 deg}}").turn
    assert np.sign((rotation(turn) @ [0, 0, 1])[0]) == aft


def test_a_point_of_another_part_is_refused_with_a_mend(tmp_path: Path) -> None:
    text = "parts: {it: {pipe: {outside: 9, through: [[0, 0, 0], {in: pump, at: [0, 0, 9]}]}}}"
    (fault,) = faults_of(tmp_path, text)
    assert fault.what == "part 'it': pipe.through item 2 is a map, needs a list: [x, y, z]"
    assert "`packcheck list` tells where each part stands" in fault.mend


def test_a_tube_without_a_bore_is_told_of_the_cylinder(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, "parts: {it: {tube: {outer: 9, length: 20}}}")
    assert (fault.what, fault.mend[:35]) == ("part 'it': tube needs inner", "a solid round bar is a `cylinder`; ")


def test_a_frame_is_a_datum_unless_it_says_no(tmp_path: Path) -> None:
    scene = scene_of(tmp_path, "frames: {wall: {at: [1, 0, 0]}, height: {at: [0, 0, 190 up], datum: false}}")
    assert {name: frame.datum for name, frame in scene.frames.items()} == {"wall": True, "height": False}
    assert whats(tmp_path, "frames: {wall: {datum: 3}}") == ["frame 'wall': datum is 3, needs true or false"]


def test_contrary_words_are_told_all_at_once(tmp_path: Path) -> None:
    turn = "{nose_up: 1, nose_down: 2, lean_right: 1, lean_left: 1, swing_left: 5, swing_right: 1}"
    assert whats(tmp_path, f"frames: {{rail: {{turn: {turn}}}}}") == [
        "frame 'rail': turn has nose_up and nose_down, needs one of them",
        "frame 'rail': turn has lean_left and lean_right, needs one of them",
        "frame 'rail': turn has swing_left and swing_right, needs one of them",
    ]


@pytest.mark.parametrize(
    ("turn", "what"),
    [
        ("{nose_upp: 3}", "turn has the unknown key 'nose_upp'"),
        ("{nose_up: 3 mm}", "turn.nose_up '3 mm' is a length, not an angle"),
        ("{nose_up: 400}", "turn.nose_up is 400 deg, needs to be within one whole turn, -360 to 360 deg"),
        ("{nose_up: }", "turn.nose_up is empty, needs a value"),
        ("5", "turn is 5, needs a list: [x, y, z]"),
        ("[5, 5]", "turn has 2 values, needs 3: [x, y, z]"),
        ("[5, 5, up]", "turn item 3 'up' has the unknown name 'up'"),
    ],
)
def test_a_turn_that_is_none_is_a_fault(tmp_path: Path, turn: str, what: str) -> None:
    assert whats(tmp_path, box(f"turn: {turn}")) == [f"part 'it': {what}"]


def test_faces_are_kept_in_the_order_of_the_axes(tmp_path: Path) -> None:
    """Oracle: by hand; x points aft, so the front looks down it and stands at 60."""
    part = part_of(tmp_path, "box: [1, 1, 1], faces: {bottom: 1 in up, front: 60 aft, right: 5 left}")
    assert [(face.name, face.axis, face.sign, face.at) for face in part.faces] == [
        ("front", 0, -1, 60.0),
        ("right", 1, 1, -5.0),
        ("bottom", 2, -1, 25.4),
    ]


def test_the_word_of_a_middle_names_its_axis(tmp_path: Path) -> None:
    """Oracle: by hand; x points aft, y right, z up, so 5 in left is -127 along y."""
    part = part_of(tmp_path, "box: [1, 1, 1], faces: {rear: 60, middle: [7 up, 5 in left]}")
    assert [(face.name, face.axis, face.sign, face.at) for face in part.faces] == [
        ("rear", 0, 1, 60.0),
        ("middle", 1, 0, -127.0),
        ("middle", 2, 0, 7.0),
    ]


@pytest.mark.parametrize(
    ("faces", "what"),
    [
        ("{}", "faces names no face, needs one of front, rear, left, right, top, bottom, middle"),
        ("{note: x}", "faces names no face, needs one of front, rear, left, right, top, bottom, middle"),
        ("{front: 6 left}", "faces.front '6 left' says 'left' along x, needs aft, rearward, fore or forward"),
        ("{top: 6 aft}", "faces.top '6 aft' says 'aft' along z, needs up or down"),
        ("{frnt: 6}", "faces has the unknown key 'frnt'"),
        ("{front: }", "faces.front is empty, needs a value"),
        ("5", "faces is 5, needs a map with front, rear, left, right, top, bottom, middle, note"),
        ("{middle: 190}", "faces.middle is 190, needs a length and a direction word"),
        ("{middle: 190 upp}", "faces.middle '190 upp' has the unknown direction word 'upp'"),
        ("{middle: 190up}", "faces.middle '190up' has no blank before 'up'"),
        (
            "{middle: [-5 up]}",
            "faces.middle item 1 '-5 up' has a minus sign and a direction word, needs one of them",
        ),
        (
            "{middle: [5 up, 6 aft, 7 down]}",
            "faces.middle item 3 stands along down or up a second time, needs it once",
        ),
        ("{middle: []}", "faces.middle lists no axis, needs one"),
        ("{middle: {behind: rail}}", "faces.middle is a map, needs a length and a direction word"),
        ("{front: {above: rail}}", "faces.front.above cannot rest above a part, needs behind"),
    ],
)
def test_faces_that_say_nothing_are_a_fault(tmp_path: Path, faces: str, what: str) -> None:
    assert whats(tmp_path, box(f"faces: {faces}"))[0] == f"part 'it': {what}"


def test_a_middle_beside_a_face_that_rests_is_a_fault(tmp_path: Path) -> None:
    faces = "{bottom: {above: rail}, middle: [5 aft, 6 up]}"
    text = f"parts: {{rail: {{box: [1, 1, 1]}}, it: {{box: [1, 1, 1], faces: {faces}}}}}"
    assert whats(tmp_path, text) == ["part 'it': faces.middle stands beside bottom, which rests"]


def test_faces_stand_alone(tmp_path: Path) -> None:
    assert whats(tmp_path, box("at: [0, 0, 0], anchor: [min, min, min], faces: {front: 5}")) == [
        "part 'it': at stands beside faces",
        "part 'it': anchor stands beside faces",
    ]


def test_shapes_are_not_changed_by_faces(tmp_path: Path) -> None:
    assert shape_of(tmp_path, "box: [1, 2, 3], faces: {front: 5}") == model.Box((1.0, 2.0, 3.0))


@pytest.mark.parametrize(
    ("text", "placed"),
    [
        ("box: [1, 1, 1]", False),
        ("box: [1, 1, 1], turn: {nose_up: 3}", False),
        ("box: [1, 1, 1], faces: {front: 5}", True),
        ("box: {from: [0, 0, 0], to: [0, 0, 9], section: [1, 1]}", True),
        ("cone: {bottom: 3, top: 2, from: [0, 0, 0], to: [0, 0, 9]}", True),
        ("cone: {bottom: 3, top: 2, length: 9}", False),
    ],
)
def test_faces_and_ends_count_as_a_place(tmp_path: Path, text: str, placed: bool) -> None:
    assert part_of(tmp_path, text).placed is placed


@pytest.mark.parametrize(
    ("line", "key"),
    [
        ("turn: {nose_up: 3}", "turn"),
        ("faces: {front: 3}", "faces"),
        ("box: {from: [0, 0, 0], to: [0, 0, 9], section: [1, 1]}", "box"),
    ],
)
def test_words_too_far_out_are_told_as_keys_of_the_part_above(tmp_path: Path, line: str, key: str) -> None:
    shape = "" if key == "box" else "    sphere: {diameter: 4}\n"
    told = whats(tmp_path, f"parts:\n  it:\n{shape}    note: x\n  {line}\n")
    assert told == [f"part {key!r} looks like a key of part 'it'"]
