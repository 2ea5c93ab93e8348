"""Air that parts need, linings, and room kept free."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packcheck.assembly.assembly import Assembly
from packcheck.bay import Bay, load
from packcheck.findings import Finding
from tests.scene.seats import AXES, SEEN, head, rotation, seen
from tests.scene.writing import whats, write

LOOKS = {"front": "fore", "rear": "aft", "left": "left", "right": "right", "top": "up", "bottom": "down"}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("reserved")


def bay(folder: Path, text: str, *, beginning: str = "packcheck: 1\n") -> Bay:
    return load(write(folder, beginning + text), use_cache=False)


def told(made: Bay, *, moves: bool = True) -> dict[tuple[str, ...], Finding]:
    return {finding.subjects: finding for finding in made.check(moves=moves).findings}


def box_of(made: Assembly, name: str) -> list[list[float]]:
    low, high = made.boxes[list(made.parts).index(name)]
    return [low.round(6).tolist(), high.round(6).tolist()]


@pytest.mark.parametrize("ways", AXES, ids=" ".join)
@pytest.mark.parametrize("side", LOOKS)
def test_air_lies_on_the_side_that_was_named(folder: Path, ways: tuple[str, ...], side: str) -> None:
    """Oracle: by hand, seen from the seat; a box of 40, and 90 of air beside it."""
    text = f"parts: {{filter: {{at: [10, 20, 30], box: [40, 40, 40], needs: {{{side}: 90 mm}}}}}}"
    made = bay(folder, text, beginning=head(ways)).assembly
    air = next(name for name in made.parts if name != "filter")
    middle = made.parts[air].box()
    off = seen((middle[0] + middle[1]) / 2 - made.poses["filter"].translation, ways)
    assert np.allclose(off, SEEN[LOOKS[side]] * 65, atol=1e-6)
    assert sorted((middle[1] - middle[0]).round(6)) == [40, 40, 90]


def test_findings_name_the_air(folder: Path) -> None:
    """Oracle: by head; the battery reaches 10 into the 90 that the filter needs, and 80 stay."""
    made = bay(
        folder,
        "parts:\n"
        "  oil_filter: {kind: oil, at: [0, 0, 0], cylinder: {diameter: 60, length: 80}, needs: {left: 90 mm}}\n"
        "  tray: {kind: structure, at: [0, -160, 0], box: [100, 100, 100], fixed: true}\n"
        "  far: {kind: exhaust, at: [0, -200, 300], box: [100, 100, 100]}\n",
    )
    finding = told(made)["air needed on the left of oil_filter", "tray"]
    assert finding.word == "clash"
    assert finding.value == pytest.approx(-10.0)
    assert finding.limit.must == 0.0
    assert finding.move is not None
    assert finding.move.part == "oil_filter"
    assert finding.move.carries == ("air needed on the left of oil_filter",)


def test_air_is_as_wide_as_the_part_with_its_layers_and_moves_with_it(folder: Path) -> None:
    """Oracle: by head; 3 of wrap all round, 5 of felt on the right."""
    made = bay(
        folder,
        "frames: {shelf: {at: [0, 0, 100], tolerance: 4}}\n"
        "parts:\n"
        "  ecu: {in: shelf, at: [0, 0, 0], box: [60, 40, 20], wrap: 3, lining: {face: right, thickness: 5}, "
        "needs: {right: 30, top: 10}, tolerance: 2}\n"
        "  other: {at: [0, 300, 100], box: [9, 9, 9]}\n",
    ).assembly
    assert box_of(made, "ecu") == [[-33, -23, 87], [33, 28, 113]]
    assert box_of(made, "air needed on the right of ecu") == [[-33, 28, 87], [33, 58, 113]]
    assert box_of(made, "air needed above ecu") == [[-33, -23, 113], [33, 28, 123]]
    assert made.carried_by("ecu") == ("air needed on the right of ecu", "air needed above ecu")
    assert made.doubt("air needed above ecu", "other").most == pytest.approx(6)


def test_room_asks_for_no_overlap_and_nothing_more(folder: Path) -> None:
    """Oracle: by head; what touches room, or comes as near as one likes, is no matter."""
    made = bay(
        folder,
        "parts:\n"
        "  plug: {kind: access, at: [0, 0, 0], box: [40, 40, 40]}\n"
        "  jack: {kind: keep_out, at: [30, 0, 0], box: [40, 40, 40]}\n"
        "  wrist: {kind: hand, at: [0, 30, 0], box: [40, 40, 40]}\n"
        "  pipe: {kind: exhaust, at: [0, -21, 0], box: [40, 2, 40]}\n"
        "  tank: {kind: fuel, at: [55, 0, 0], box: [30, 30, 30]}\n"
        "  fan: {kind: rotating, at: [0, 0, 21], box: [10, 10, 2.0]}\n",
    )
    found = told(made, moves=False)
    short = {subjects for subjects, finding in found.items() if finding.word == "clash" and len(subjects) == 2}
    assert (
        short & {("plug", "jack"), ("plug", "wrist"), ("jack", "wrist"), ("plug", "pipe"), ("plug", "fan")} == set()
    )
    assert ("jack", "tank") in short
    assert not any("plug" in subjects for subjects in found)


def test_pairs_that_nothing_is_asked_of_are_no_passes(folder: Path) -> None:
    """Oracle: by hand; of the six pairs, room with room and a part with its own air are not asked."""
    made = bay(
        folder,
        "parts:\n"
        "  ecu: {at: [0, 0, 0], box: [40, 40, 40], needs: {left: 50}}\n"
        "  jack: {kind: keep_out, at: [300, 0, 0], box: [40, 40, 40]}\n"
        "  tray: {at: [600, 0, 0], box: [40, 40, 40]}\n",
    )
    report = made.check()
    assert report.pairs.total == 4
    assert sum(report.counts.values()) == 4
    assert made.check(["jack"]).pairs.total == 2


def test_rules_that_name_room_are_kept(folder: Path) -> None:
    made = bay(
        folder,
        "parts:\n"
        "  plug: {kind: access, at: [0, 0, 0], box: [40, 40, 40]}\n"
        "  pipe: {kind: exhaust, at: [0, -30, 0], box: [40, 2, 40]}\n"
        "  tank: {kind: fuel, at: [0, 40, 0], box: [40, 2, 40]}\n"
        "clearances:\n"
        "  rules: [{between: [access, exhaust], gap: 20}, {between: ['*', fuel], gap: 50}]\n",
    )
    limits = made.assembly.rules
    assert limits.limit("plug", "pipe").limit.must == 20
    assert limits.limit("plug", "tank").limit.must == 0
    assert told(made, moves=False)["plug", "pipe"].word == "tight"


def test_room_is_never_moved_by_itself(folder: Path) -> None:
    made = bay(
        folder,
        "parts:\n"
        "  jack: {kind: keep_out, at: [0, 0, 0], box: [40, 40, 40]}\n"
        "  post: {at: [30, 0, 0], box: [40, 40, 40], fixed: true}\n"
        "  can: {at: [0, 0, 30], box: [30, 30, 30]}\n",
    )
    found = told(made)
    assert found["jack", "post"].no_move == "neither may be moved"
    move = found["jack", "can"].move
    assert move is not None and move.part == "can"


degrees = st.integers(-180, 180).filter(lambda angle: abs(abs(angle) % 90 - 45) > 3)


@settings(deadline=None, max_examples=60)
@given(turn=st.tuples(*[degrees] * 3), side=st.sampled_from(sorted(LOOKS)), ways=st.sampled_from(AXES))
def test_a_turned_part_has_its_air_where_it_looks_that_way_most(
    folder: Path, turn: tuple[int, int, int], side: str, ways: tuple[str, ...]
) -> None:
    """Oracle: brute force over the six own directions, turned by matrices of the textbook."""
    text = f"parts: {{it: {{at: [0, 0, 0], turn: {list(turn)}, box: [10, 20, 40], needs: {{{side}: 30}}}}}}"
    own = np.vstack([np.eye(3), -np.eye(3)])
    looks = np.array([seen(rotation(turn) @ way, ways) @ SEEN[LOOKS[side]] for way in own])
    best = np.sort(looks)[::-1]
    if best[0] - best[1] < 0.011:
        return
    made = bay(folder, text, beginning=head(ways)).assembly
    air = next(name for name in made.parts if name != "it")
    low, high = made.parts[air].box()
    way = own[int(np.argmax(looks))]
    expected = rotation(turn) @ (way * (np.abs(way) @ np.array([10, 20, 40]) / 2 + 15))
    assert np.allclose((low + high) / 2, expected, atol=1e-6)


@pytest.mark.parametrize(
    ("shape", "face", "low", "high"),
    [
        ("box: [10, 20, 30]", "rear", (-5, -10, -15), (17, 10, 15)),
        ("box: [10, 20, 30], anchor: [min, mid, max]", "bottom", (0, -10, -42), (10, 10, 0)),
        ("box: [10, 20, 30], turn: [0, 0, 90]", "rear", (-10, -5, -15), (22, 5, 15)),
        ("cylinder: {diameter: 10, length: 30, along: y}", "left", (-5, -27, -5), (5, 15, 5)),
        ("tube: {outer: 10, inner: 8, length: 30}", "top", (-5, -5, -15), (5, 5, 27)),
        ("extrude: {outline: [[0, 0], [10, 0], [0, 20]], thickness: 3}", "bottom", (0, 0, -12), (10, 20, 3)),
        ("extrude: {outline: [[0, 0], [10, 0], [0, 20]], thickness: 3, along: x}", "rear", (0, 0, 0), (15, 10, 20)),
        ("box: {from: [0, 0, 0], to: [40, 0, 0], section: [10, 10]}", "right", (0, -5, -5), (40, 17, 5)),
    ],
)
def test_a_lining_grows_one_face(
    folder: Path, shape: str, face: str, low: tuple[float, ...], high: tuple[float, ...]
) -> None:
    """Oracle: by hand; 12 more on that side."""
    at = "" if "from" in shape else "at: [0, 0, 0], "
    made = bay(folder, f"parts: {{it: {{{at}{shape}, lining: {{face: {face}, thickness: 12 mm}}}}}}").assembly
    assert np.allclose(made.boxes[0], [low, high], atol=0.001)
    assert made.parts["it"].convex or "tube" in shape


def test_faces_are_measured_without_the_lining(folder: Path) -> None:
    """Oracle: by head; as they are without the wrap."""
    made = bay(
        folder,
        "parts: {it: {box: [10, 20, 30], lining: {face: rear, thickness: 12}, faces: {rear: 100, left: 5 left}}}",
    ).assembly
    assert np.allclose(made.boxes[0], [[90, -5, -15], [112, 15, 15]], atol=1e-9)


def test_a_mirror_image_has_its_air_and_its_lining_on_the_other_side(folder: Path) -> None:
    """Oracle: by head; and what is stated for the image itself is meant of the image."""
    made = bay(
        folder,
        "parts:\n"
        "  it: {at: [0, -100, 0], turn: [0, 0, 20], box: [10, 20, 30], needs: {left: 40}, "
        "lining: {face: left, thickness: 6}}\n"
        "  image: {mirror_of: it}\n"
        "  other: {mirror_of: it, needs: {left: 40}, lining: {face: left, thickness: 6}}\n",
    ).assembly
    flip = np.array([1, -1, 1])
    own, image = made.parts["air needed on the left of it"], made.parts["air needed on the right of image"]
    corners = [part.pose.apply(part.solids[0].vertices) for part in (own, image)]
    assert np.allclose(np.sort(corners[0] * flip, axis=0), np.sort(corners[1], axis=0), atol=1e-9)
    it, mirrored = made.parts["it"], made.parts["image"]
    assert np.allclose(
        it.pose.apply(it.solids[0].vertices) * flip, mirrored.pose.apply(mirrored.solids[0].vertices)
    )
    other = made.parts["air needed on the left of other"]
    middle = other.pose.apply(other.solids[0].vertices).mean(axis=0)
    assert middle[1] < made.poses["other"].translation[1] - 30


def test_a_row_has_its_air_in_a_row(folder: Path) -> None:
    made = bay(
        folder,
        "parts: {coil: {at: [0, 0, 0], box: [9, 9, 9], needs: {top: 50}, repeat: {count: 3, step: [20, 0, 0]}}}",
    ).assembly
    assert [name for name in made.parts if name.startswith("air")] == [
        f"air needed above coil.{k}" for k in (1, 2, 3)
    ]
    assert {made.scene.parts[f"air needed above coil.{k}"].family for k in (1, 2, 3)} == {"air needed above coil"}


def test_what_is_gone_by_the_stage_needs_no_air(folder: Path) -> None:
    made = bay(
        folder,
        "stage: final\n"
        "parts:\n"
        "  sling: {at: [0, 0, 0], box: [9, 9, 9], needs: {top: 50}, stage: mockup}\n"
        "  it: {at: [0, 0, 40], box: [9, 9, 9]}\n",
    ).assembly
    assert list(made.parts) == ["it"]


@pytest.mark.parametrize(
    ("keys", "what"),
    [
        ("needs: {}", "needs names no side, needs one of front, rear"),
        ("needs: {lft: 5}", "needs has the unknown key 'lft'"),
        ("needs: {left: 0}", "needs.left is 0 mm, needs more than 0 mm"),
        (
            "needs: {left: 5}, turn: [0, 0, 45]",
            "needs.left is not known: the part is turned so that two",
        ),
        ("lining: {face: rear}", "lining needs thickness"),
        ("lining: {face: back, thickness: 3}", "lining.face is 'back', needs front, rear, left"),
        ("lining: {face: top, thickness: 3}, turn: [45, 0, 0]", "lining.face is not known"),
    ],
)
def test_air_and_linings_that_cannot_be_understood(tmp_path: Path, keys: str, what: str) -> None:
    (said,) = whats(tmp_path, f"parts: {{it: {{at: [0, 0, 0], box: [9, 9, 9], {keys}}}}}")
    assert said.startswith(f"part 'it': {what}")


def test_linings_of_what_is_not_flat(tmp_path: Path) -> None:
    assert whats(
        tmp_path,
        "parts:\n"
        "  a: {cylinder: {diameter: 5, length: 9}, at: [0, 0, 0], lining: {face: left, thickness: 3}}\n"
        "  b: {sphere: {diameter: 5}, at: [0, 0, 0], lining: {face: top, thickness: 3}}\n"
        "  c: {solids: [{box: [1, 1, 1]}], lining: {face: top, thickness: 3}}\n",
    ) == [
        "part 'a': lining.face is left, where the cylinder is not flat",
        "part 'b': lining.face is top, where the sphere is not flat",
        "part 'c': lining stands beside solids, needs one shape",
    ]
