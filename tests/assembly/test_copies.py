"""Mirror images and rows, put together: real reflections, in the right place, as sure as they can be."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packcheck.assembly.assembly import Assembly, assemble
from packcheck.drawing.weighing import weigh_parts
from packcheck.frames import Pose
from packcheck.proximity import Session
from packcheck.scene import load_scene
from packcheck.scene.model.scene import Frame, Part
from tests.scene.seats import AXES, Array, head
from tests.scene.writing import write
from tests.solids.mesh_bytes import as_stl, box, joined

SHAPES = [
    "box: [60, 40, 30], anchor: [min, mid, max]",
    "cone: {bottom: 60, top: 10, length: 40, along: y}",
    "tube: {outer: 50, inner: 36, length: 60, along: x}",
    "capsule: {diameter: 30, from: [0, 0, 0], to: [20, 30, 40]}",
    "extrude: {outline: [[0, 0], [30, 0], [0, 60]], thickness: 25, along: y}, anchor: [max, min, mid]",
    "pipe: {outside: 14, through: [[-40, 0, 0], [20, 0, 0], [20, 40, 10]], bend: 20}",
    "solids: [{box: [50, 20, 20], turn: [10, 20, 30]}, {sphere: {diameter: 30}, at: [20, 9, 20]}]",
    "mesh: {file: lump.stl, units: mm}, wrap: 3",
]
angle = st.integers(-180, 180)
turns = st.tuples(angle, angle, angle)
places = st.tuples(*[st.integers(-300, 300)] * 3)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("copies")
    lump = joined(box((50, 30, 20)), box((12, 12, 30), (-14, 5, 20)))
    write(made, "", "lump.stl").write_bytes(as_stl(lump))
    return made


def assembled(folder: Path, text: str, *, beginning: str = "packcheck: 1\n") -> Assembly:
    return assemble(load_scene(write(folder, beginning + text)), use_cache=False)


def corners(made: Assembly, name: str) -> Array:
    """Every vertex (n, 3) of a part in the car, mm."""
    return np.concatenate([made.poses[name].apply(solid.vertices) for solid in made.parts[name].solids])


def left_right(ways: tuple[str, ...]) -> int:
    return next(k for k, way in enumerate(ways) if way in ("left", "right"))


@settings(deadline=None, max_examples=80)
@given(
    ways=st.sampled_from(AXES),
    shape=st.sampled_from(SHAPES),
    frame=st.tuples(places, turns),
    middle=st.tuples(places, turns),
    at=places,
    turn=turns,
)
def test_an_image_is_the_reflection_of_the_part(
    folder: Path,
    ways: tuple[str, ...],
    shape: str,
    frame: tuple[tuple[int, ...], tuple[int, ...]],
    middle: tuple[tuple[int, ...], tuple[int, ...]],
    at: tuple[int, ...],
    turn: tuple[int, ...],
) -> None:
    """Oracle: closed form; x - 2 ((x - p) . n) n for every corner, n across the plane through p."""
    placed = "" if "from" in shape else f"at: {list(at)}, turn: {list(turn)}, "
    made = assembled(
        folder,
        f"frames:\n  rail: {{at: {list(frame[0])}, turn: {list(frame[1])}}}\n"
        f"  middle: {{at: {list(middle[0])}, turn: {list(middle[1])}, centreline: true}}\n"
        "parts:\n"
        f"  it: {{in: rail, {placed}{shape}}}\n"
        "  image: {mirror_of: it}\n"
        "  other: {mirror_of: {part: it, across: car}}\n",
        beginning=head(ways),
    )
    for name, plane in (("image", made.poses["middle"]), ("other", Pose.of())):
        across = plane.rotation[:, left_right(ways)]
        there = corners(made, "it")
        expected = there - 2 * np.outer((there - plane.translation) @ across, across)
        assert np.allclose(corners(made, name), expected, rtol=0, atol=1e-9)
        assert np.linalg.det(made.poses[name].rotation) == pytest.approx(1.0)


@settings(deadline=None, max_examples=60)
@given(ways=st.sampled_from(AXES), at=places, turn=turns)
def test_the_image_of_a_box_is_the_box_placed_by_hand(
    folder: Path, ways: tuple[str, ...], at: tuple[int, ...], turn: tuple[int, ...]
) -> None:
    """Oracle: by hand; the coordinate across changes its sign, and the turns about the two other axes do."""
    k = left_right(ways)
    there = [-a if axis == k else a for axis, a in enumerate(at)]
    turned = [a if axis == k else -a for axis, a in enumerate(turn)]
    made = assembled(
        folder,
        f"parts:\n  it: {{at: {list(at)}, turn: {list(turn)}, box: [3, 4, 5]}}\n  image: {{mirror_of: it}}\n"
        f"  plain: {{at: {there}, turn: {turned}, box: [3, 4, 5]}}\n",
        beginning=head(ways),
    )
    image, plain = made.poses["image"], made.poses["plain"]
    assert np.allclose(image.translation, plain.translation, rtol=0, atol=1e-9)
    assert np.allclose(image.rotation, plain.rotation, rtol=0, atol=1e-9)


def test_images_keep_the_gaps_of_what_they_mirror(folder: Path) -> None:
    """Oracle: a reflection keeps every distance."""
    parts = [
        f"  p{k}: {{at: [{97 * k}, {60 + 13 * k}, 0], turn: [{31 * k}, 17, 5], {shape}}}\n"
        for k, shape in enumerate(shape for shape in SHAPES if "from" not in shape)
    ]
    count = len(parts)
    images = [f"  q{k}: {{mirror_of: p{k}}}\n" for k in range(count)]
    made, session = assembled(folder, "parts:\n" + "".join(parts + images)), Session()
    for k in range(count - 1):
        here, there = (session.gap(made.parts[f"{c}{k}"], made.parts[f"{c}{k + 1}"]) for c in "pq")
        assert there.value == pytest.approx(here.value, abs=1e-6)


def test_what_the_file_states_of_an_image_is_taken_as_written(folder: Path) -> None:
    """Oracle: by hand from the text."""
    made = assembled(
        folder,
        "parts:\n"
        "  it: {at: [10, 20, 30], turn: [0, 0, 30], box: [10, 20, 30]}\n"
        "  at: {mirror_of: it, at: [1, 2, 3]}\n"
        "  turned: {mirror_of: it, turn: [0, 0, 50]}\n"
        "  faced: {mirror_of: it, turn: [0, 0, 0], faces: {front: 5, bottom: 40}}\n"
        "  larger: {mirror_of: it, sphere: {diameter: 8}}\n"
        "  tube: {mirror_of: it, tube: {outer: 8, inner: 4, from: [0, 0, 0], to: [9, 0, 0]}}\n",
    )

    def stands(name: str, at: tuple[float, ...], turn: tuple[float, ...]) -> bool:
        meant, pose = Pose.of(at, turn), made.poses[name]
        same = np.allclose(pose.translation, meant.translation, atol=1e-9)
        return same and np.allclose(pose.rotation, meant.rotation, atol=1e-9)

    assert stands("at", (1, 2, 3), (0, 0, -30))
    assert stands("turned", (10, -20, 30), (0, 0, 50))
    assert stands("faced", (10, 0, 55), (0, 0, 0))
    assert stands("larger", (10, -20, 30), (0, 0, -30))
    assert stands("tube", (0, 0, 0), (0, 0, 0))


def test_images_of_parts_that_rest_stand_where_the_mirror_shows_them(folder: Path) -> None:
    """Oracle: by head; the left rail is there to rest on, the right side is bare."""
    made = assembled(
        folder,
        "parts:\n"
        "  image: {mirror_of: pump}\n"
        "  pump: {box: [20, faces, 20], faces: {left: 310 left, right: 290 left, bottom: {above: rail}}}\n"
        "  rail: {at: [0, 300 left, 50 up], box: [90, 40, 40]}\n"
        "  on_it: {box: [10, 10, 10], faces: {left: 5 left, bottom: {above: image}}, in: shift}\n"
        "frames: {shift: {at: [0, 300 right, 0]}}\n",
    )
    assert np.allclose(made.poses["image"].translation, [0, 300, 80], atol=1e-6)
    assert np.allclose(made.poses["on_it"].translation, [0, 300, 95], atol=1e-6)


NODES = ("bulkhead", "block", "middle", "shelf")
PARENTS = [
    ("car", "car", "car", "car"),
    ("car", "bulkhead", "car", "block"),
    ("middle", "bulkhead", "car", "middle"),
]


@settings(deadline=None, max_examples=60)
@given(
    parents=st.sampled_from(PARENTS),
    on=st.sampled_from(["car", *NODES]),
    across=st.sampled_from(["car", *NODES]),
    image_on=st.sampled_from(["", "car", *NODES]),
    other_on=st.sampled_from(["car", *NODES]),
    slack=st.lists(st.sampled_from([0, 1, 4]), min_size=5, max_size=5),
    each=st.booleans(),
    seed=st.integers(0, 2**32 - 1),
)
def test_the_slack_of_an_image_holds_whatever_the_frames_do(
    folder: Path,
    parents: tuple[str, ...],
    on: str,
    across: str,
    image_on: str,
    other_on: str,
    slack: list[int],
    each: bool,
    seed: int,
) -> None:
    """Oracle: brute force; frames are really shifted within their tolerances, and the image is taken anew."""
    rng = np.random.default_rng(seed)
    tolerances = [f"[{t}, 0.5, {t}]" if each and t else str(t) for t in slack]
    frames = "".join(
        f"  {name}: {{in: {parent}, at: {rng.integers(-99, 99, 3).tolist()}, "
        f"turn: {rng.integers(-180, 180, 3).tolist()}, tolerance: {tolerance}}}\n"
        for name, parent, tolerance in zip(NODES, parents, tolerances, strict=False)
    )
    stands = f", in: {image_on}" if image_on else ""
    made = assembled(
        folder,
        f"frames:\n{frames}parts:\n"
        f"  it: {{in: {on}, at: [50, 60, 70], box: [9, 9, 9], tolerance: {tolerances[4]}}}\n"
        f"  image: {{mirror_of: {{part: it, across: {across}}}{stands}}}\n"
        f"  other: {{in: {other_on}, at: [5, 6, 7], box: [9, 9, 9]}}\n",
    )
    for name in ("other", "it"):
        most = made.doubt("image", name).most
        for _ in range(8):
            assert _apart(made, name, across, rng) <= most + 1e-9


def _apart(made: Assembly, name: str, across: str, rng: np.random.Generator) -> float:
    """How far the image stands off its place, seen from the part `name`, mm, once everything is shifted."""
    nodes: dict[str, Frame | Part] = {**made.scene.frames, **made.scene.parts}
    shift = {node: made.poses[nodes[node].parent].rotate(_drawn(nodes[node], rng)) for node in (*NODES, "it")}

    def carried(node: str) -> Array:
        total = np.zeros(3)
        while node in nodes:
            total = total + shift.get(node, np.zeros(3))
            node = nodes[node].parent
        return total

    plane = carried(across)
    way = made.poses[across].rotation[:, 1]
    moved = carried("it") - plane
    image = plane + moved - 2 * float(moved @ way) * way
    return float(np.linalg.norm(image - carried(name)))


def _drawn(node: Frame | Part, rng: np.random.Generator) -> Array:
    """A shift within the tolerance of a frame or part, as far out as it goes more often than not."""
    if not node.tolerance_is_ball:
        corner: Array = np.array(node.tolerance) * rng.choice([-1.0, 1.0], 3)
        return corner
    way = rng.normal(size=3)
    drawn: Array = node.tolerance[0] * way / np.linalg.norm(way)
    return drawn


def test_a_row_placed_by_faces_keeps_its_step(folder: Path) -> None:
    """Oracle: by head; 95 apart from middles at 0, resting where the plate is, which falls away by 1 in 10."""
    made = assembled(
        folder,
        "parts:\n"
        "  plate: {extrude: {outline: [[0, -200], [0, 400], [40, 400], [100, -200]], thickness: 90, along: y}, "
        "at: [0, -45, 0]}\n"
        "  coil: {box: [20, 20, 50], faces: {left: 10 left, bottom: 3 up}, repeat: {count: 3, step: [95, 0, 5]}}\n"
        "  foot: {sphere: {diameter: 2}, faces: {bottom: {above: plate}}, repeat: {count: 3, step: [100, 0, 0]}}\n",
    )
    coils = [made.poses[f"coil.{k}"].translation for k in (1, 2, 3)]
    assert np.allclose(coils, [[0, 0, 28], [95, 0, 33], [190, 0, 38]], atol=1e-9)
    feet = np.array([made.poses[f"foot.{k}"].translation for k in (1, 2, 3)])
    assert np.allclose(feet[:, 0], [0, 100, 200], atol=1e-9)
    assert np.allclose(np.diff(feet[:, 2]), -10, atol=0.01)


def test_an_image_weighs_what_the_part_weighs_on_the_other_side(folder: Path) -> None:
    """Oracle: a reflection keeps the volume and moves the centre of mass across."""
    made = assembled(
        folder,
        "parts:\n"
        "  it: {at: [10, 60, 0], turn: [20, 30, 40], mass: 3 kg, "
        "extrude: {outline: [[0, 0], [30, 0], [0, 60]], thickness: 25}}\n"
        "  image: {mirror_of: it}\n",
    )
    it, image = (weigh_parts(made)[name].bulk for name in ("it", "image"))
    assert it is not None and image is not None
    assert image.volume == pytest.approx(it.volume)
    assert np.allclose(image.middle, it.middle * [1, -1, 1])
