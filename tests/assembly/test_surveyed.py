"""Frames and parts set in place by readings: every way of placing, every kind of reading, exact readings first."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pytest

import packcheck
from packcheck.arrays import Floats
from packcheck.assembly.assembly import Assembly, assemble
from packcheck.errors import SceneError
from packcheck.frames import Pose, turn_matrix
from packcheck.scene import load_scene

KNOWN = {
    "tower_l": (420, 560, 520),
    "tower_r": (420, -560, 520),
    "rail_l": (900, 430, 92),
    "rail_r": (900, -430, 92),
    "scuttle": (0, 0, 640),
}


def tapes(points: Mapping[str, Floats]) -> list[str]:
    """Exact tapes from every known point to each of these."""
    return [
        f"    - {{tape: [{name}, {point}], reads: {np.linalg.norm(np.array(at) - place):.9f}}}"
        for point, place in points.items()
        for name, at in KNOWN.items()
    ]


def written(
    tmp_path: Path,
    wanted: Mapping[str, Floats],
    place: str,
    *,
    more: str = "",
    marks: str = "",
    parts: str = "",
    head: str = "",
    taped: bool = True,
) -> Path:
    """A scene with exact readings. `more` are further observations, `marks` further points."""
    lines = [
        "packcheck: 1",
        "axes: {x: fore, y: left, z: up}",
        "frames: {bay: {}}",
        "parts:",
        "  pump: {box: [60, 50, 120]}",
        f"{parts}" or "  # no other parts",
        "survey:",
        head or "  # no stance",
        "  instruments: {tape: {accuracy: 1}, level: {accuracy: 1}, gauge: {angles: 0.3}}",
        "  points:",
        *(f"    {name}: {{at: [{x}, {y}, {z}]}}" for name, (x, y, z) in KNOWN.items()),
        *(f"    {name}:" for name in wanted),
        marks or "    # no marks",
        "  observations:",
        *(tapes(wanted) if taped else []),
        more or "    # no more",
        f"  place: {{{place}}}",
    ]
    path = tmp_path / "bay.yaml"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def assembled(path: Path) -> Assembly:
    return packcheck.load(path).assembly


TRUE = Pose.of((250, 30, 200), (2, -3, 12))


def test_frame_from_three_points(tmp_path: Path) -> None:
    """Oracle: closed form. The points are laid out in a known pose, on its own fore axis and above it."""
    wanted = {
        "o": TRUE.translation,
        "f": TRUE.apply(np.array([300, 0, 0.0])),
        "u": TRUE.apply(np.array([50, 0, 80.0])),
    }
    path = written(tmp_path, wanted, "bay: {origin: o, toward: {fore: f}, side: {up: u}}")
    pose = assembled(path).poses["bay"]
    np.testing.assert_allclose(pose.translation, TRUE.translation, atol=1e-4)
    np.testing.assert_allclose(pose.rotation, TRUE.rotation, atol=1e-6)


def test_frame_that_looks_the_other_way(tmp_path: Path) -> None:
    """Oracle: closed form: a point behind and one to the right give the same frame."""
    wanted = {
        "o": TRUE.translation,
        "a": TRUE.apply(np.array([-300, 0, 0.0])),
        "r": TRUE.apply(np.array([9, -70, 0.0])),
    }
    pose = assembled(written(tmp_path, wanted, "bay: {origin: o, toward: {aft: a}, side: {right: r}}")).poses["bay"]
    np.testing.assert_allclose(pose.rotation, TRUE.rotation, atol=1e-6)


def test_plane_through_many_points(tmp_path: Path) -> None:
    """Oracle: closed form. Four points of the pose's own level plane; its up is the plane's."""
    corners = [(0, 0, 0), (200, 0, 0), (200, -150, 0), (0, -150, 0)]
    wanted = {f"c{k}": TRUE.apply(np.array(at, float)) for k, at in enumerate(corners)}
    pose = assembled(written(tmp_path, wanted, "bay: {plane: [c0, c1, c2, c3]}")).poses["bay"]
    np.testing.assert_allclose(pose.rotation[:, 2], TRUE.rotation[:, 2], atol=1e-6)
    np.testing.assert_allclose(pose.translation, wanted["c0"], atol=1e-4)


@pytest.mark.parametrize("along", ["fore", "left"])
def test_axis_through_two_points(tmp_path: Path, along: str) -> None:
    """Oracle: closed form. The named own axis runs from the first to the second point; the frame does not roll."""
    way = {"fore": np.array([500, 40, -60.0]), "left": np.array([30, 500, 20.0])}[along]
    wanted = {"s": TRUE.translation, "e": TRUE.translation + way}
    pose = assembled(written(tmp_path, wanted, f"bay: {{axis: [s, e], along: {along}}}")).poses["bay"]
    column = {"fore": 0, "left": 1}[along]
    np.testing.assert_allclose(pose.rotation[:, column], way / np.linalg.norm(way), atol=1e-6)
    np.testing.assert_allclose(pose.translation, wanted["s"], atol=1e-4)


MARKS = {"m0": (-30, -25, 60), "m1": (30, -25, 60), "m2": (-30, 25, -60), "m3": (30, 25, 10)}
MARK_LINES = "\n".join(f"    {name}: {{in: pump, at: [{x}, {y}, {z}]}}" for name, (x, y, z) in MARKS.items())
MATCHED = "pump: {matched: {m0: p0, m1: p1, m2: p2, m3: p3}}"


def test_part_laid_on_marks(tmp_path: Path) -> None:
    """Oracle: closed form. Marks carried by a known pose."""
    wanted = {f"p{k}": TRUE.apply(np.array(at, float)) for k, at in enumerate(MARKS.values())}
    assembly = assembled(written(tmp_path, wanted, MATCHED, marks=MARK_LINES))
    np.testing.assert_allclose(assembly.poses["pump"].rotation, TRUE.rotation, atol=1e-6)
    np.testing.assert_allclose(assembly.poses["pump"].translation, TRUE.translation, atol=1e-4)


def test_a_slip_of_the_unit_is_told_and_nothing_is_stretched(tmp_path: Path) -> None:
    """Oracle: the planted truth. The marks are found 2.54 times as far apart as the file has them."""
    wanted = {f"p{k}": TRUE.apply(2.54 * np.array(at, float)) for k, at in enumerate(MARKS.values())}
    path = written(tmp_path, wanted, MATCHED, marks=MARK_LINES)
    with pytest.raises(SceneError, match=r"would fit 2\.54 times as large"):
        packcheck.load(path)
    bay = packcheck.load(path, trust=False)
    (table,) = (table for table in bay.survey().tables if table.id == "survey_places")
    assert "2.54 times as large" in str(table.rows[0][-1])
    assert np.linalg.det(bay.assembly.poses["pump"].rotation) == pytest.approx(1.0)


def test_left_and_right_exchanged_are_told_and_not_mirrored(tmp_path: Path) -> None:
    """Oracle: the planted truth. The marks are found as in a mirror."""
    wanted = {f"p{k}": TRUE.apply(np.array(at, float) * [1, -1, 1]) for k, at in enumerate(MARKS.values())}
    bay = packcheck.load(written(tmp_path, wanted, MATCHED, marks=MARK_LINES), trust=False)
    (table,) = (table for table in bay.survey().tables if table.id == "survey_places")
    assert "mirrored" in str(table.rows[0][-1])
    assert np.linalg.det(bay.assembly.poses["pump"].rotation) == pytest.approx(1.0)


def test_part_placed_by_readings_to_points_on_it(tmp_path: Path) -> None:
    """Oracle: closed form. No point is wanted: tapes lead to marks of the part itself."""
    marks = {name: TRUE.apply(np.array(at, float)) for name, at in MARKS.items()}
    path = written(tmp_path, {}, "pump: {}", marks=MARK_LINES, more="\n".join(tapes(marks)))
    np.testing.assert_allclose(assembled(path).poses["pump"].translation, TRUE.translation, atol=1e-3)


def test_hinge_line_from_two_dots_at_three_openings(tmp_path: Path) -> None:
    """Oracle: closed form (Rodrigues). Two dots swung about a known line by 0, 25 and 55 degrees."""
    from packcheck.frames import rotation_of

    axis = np.array([0.02, 1.0, 0.03])
    axis /= np.linalg.norm(axis)
    zero = np.array([40, 0, 600.0])
    dots = {"a": np.array([420, 400, 620.0]), "b": np.array([330, -420, 640.0])}
    wanted = {
        f"{name}{k}": rotation_of(-axis * np.radians(angle)) @ (dot - zero) + zero
        for name, dot in dots.items()
        for k, angle in enumerate((0, 25, 55))
    }
    pose = assembled(written(tmp_path, wanted, "bay: {hinge: [[a0, a1, a2], [b0, b1, b2]], along: left}")).poses[
        "bay"
    ]
    np.testing.assert_allclose(pose.rotation[:, 1], axis, atol=1e-5)
    assert np.linalg.norm(np.cross(pose.translation - zero, axis)) < 0.01


STANCE = "  stance: {nose_down: 2, lean_left: 1.5}"
UP = turn_matrix((-1.5, 2, 0)).T @ np.array(
    [0, 0, 1.0]
)  # axes fore, left, up: lean_left about -x, nose_down about y


@pytest.mark.parametrize(
    ("more", "stance"),
    [
        ("    - {offset: p, along: up, from: rail_l, reads: 96, step: 12, accuracy: 0.01}", ""),
        ("    - {offset: p, along: up, from: [rail_l, rail_r, tower_l], reads: 1e-6, accuracy: 0.01}", "plane"),
        ("    - {level: [rail_l, p], reads: LEVEL, accuracy: 0.01}", STANCE),
        ("    - {angle: [rail_l, p], to: level, reads: RISE, accuracy: 0.001}", STANCE),
        ("    - {angle: [rail_l, p], to: up, reads: FROM_UP, accuracy: 0.001}", ""),
        ("    - {angle: [rail_l, p, rail_r], reads: AT_P, accuracy: 0.001}", ""),
    ],
    ids=["offset with a step", "offset from a plane", "level", "slope", "angle to an axis", "angle of three"],
)
def test_each_kind_of_reading_agrees_with_the_place_it_was_read_at(tmp_path: Path, more: str, stance: str) -> None:
    """Oracle: closed form. A point held by exact tapes; the reading, computed by its definition, fits it."""
    place = np.array([500, 100, 200.0])
    at = {name: np.array(point, float) for name, point in KNOWN.items()}
    if stance == "plane":
        normal = np.cross(at["rail_r"] - at["rail_l"], at["tower_l"] - at["rail_l"])
        normal /= np.linalg.norm(normal)
        place -= ((place - at["rail_l"]) @ normal) * normal
        stance = ""
    line = place - at["rail_l"]
    up = UP if stance else np.array([0, 0, 1.0])
    b, c = at["rail_l"] - place, at["rail_r"] - place
    words = {
        "LEVEL": line @ up,
        "RISE": np.degrees(np.arcsin(line @ up / np.linalg.norm(line))),
        "FROM_UP": np.degrees(np.arccos(line[2] / np.linalg.norm(line))),
        "AT_P": np.degrees(np.arccos(b @ c / np.linalg.norm(b) / np.linalg.norm(c))),
    }
    for word, value in words.items():
        more = more.replace(word, f"{value:.9f}")
    path = written(tmp_path, {"p": place}, "", more=more, head=stance)
    surveyed = assemble(load_scene(path)).surveyed
    assert surveyed is not None
    np.testing.assert_allclose(surveyed.adjustment.left, 0, atol=2e-5)
    assert surveyed.adjustment.freedom == 3


def test_plumb_and_faces_fix_a_point(tmp_path: Path) -> None:
    """Oracle: closed form. A point hung below another of a level car, on top of a shelf at 150."""
    parts = "  shelf: {at: [400, 0, 140], box: [900, 900, 20]}"
    more = "    - {plumb: [o, p], accuracy: 1}\n    - {lies_on: p, face: top, of: shelf, accuracy: 1}"
    path = written(tmp_path, {"o": np.array([500, 100, 400.0])}, "", more=more, marks="    p:", parts=parts)
    surveyed = assembled(path).surveyed
    assert surveyed is not None
    number = [spot.name for spot in surveyed.network.spots].index("p")
    np.testing.assert_allclose(surveyed.adjustment.placed[number], (500, 100, 150), atol=1e-4)


def test_round_sides_and_lines_hold_points(tmp_path: Path) -> None:
    """Oracle: closed form. A point on the side of a post of diameter 40 and on a line of two known points."""
    parts = "  post: {at: [450, 0, 300], cylinder: {diameter: 40, length: 800}}"
    more = "\n".join(
        [
            "    - {lies_on: p, face: side, of: post, accuracy: 1}",
            "    - {lies_on: p, line: [tower_l, tower_r], accuracy: 1}",
        ]
    )
    path = written(tmp_path, {}, "", more=more, marks="    p: {near: [430, 20, 520]}", parts=parts)
    with pytest.raises(SceneError) as caught:  # the line passes through x = 420, 30 from the post's middle
        assembled(path)
    assert "p" in str(caught.value) or caught.value.faults
    path.write_text(path.read_text().replace("at: [450, 0, 300]", "at: [420, 0, 300]"))
    surveyed = assembled(path).surveyed
    assert surveyed is not None
    number = [spot.name for spot in surveyed.network.spots].index("p")
    np.testing.assert_allclose(surveyed.adjustment.placed[number], (420, 20, 520), atol=1e-3)


def test_a_gap_between_parts_is_a_reading(tmp_path: Path) -> None:
    """Oracle: closed form. The pump hangs square before a wall at x = 700; clay says 25 mm, marks only 40 +- 20."""
    parts = "  wall: {at: [705, 0, 300], box: [10, 900, 600]}"
    square = Pose.of((630, 0, 300))
    wanted = {f"p{k}": square.apply(np.array(at, float)) for k, at in enumerate(MARKS.values())}
    more = "    - {gap: [pump, wall], reads: 25, accuracy: 0.1}"
    place = MATCHED.replace("}}", "}, accuracy: 60}")
    assembly = assembled(written(tmp_path, wanted, place, marks=MARK_LINES, more=more, parts=parts))
    low, high = assembly.parts["pump"].box()
    assert 700 - high[0] == pytest.approx(25, abs=0.2)
    assert low[0] < high[0]


def test_what_rests_on_a_surveyed_part_is_settled_after_it(tmp_path: Path) -> None:
    """Oracle: the definition: a part in a surveyed frame goes where the frame goes."""
    wanted = {
        "o": TRUE.translation,
        "f": TRUE.apply(np.array([300, 0, 0.0])),
        "u": TRUE.apply(np.array([50, 0, 80.0])),
    }
    parts = "  cap: {in: bay, at: [10, 20, 30], box: [5, 5, 5]}"
    path = written(tmp_path, wanted, "bay: {origin: o, toward: {fore: f}, side: {up: u}}", parts=parts)
    np.testing.assert_allclose(
        assembled(path).poses["cap"].translation, TRUE.apply(np.array([10, 20, 30.0])), atol=1e-3
    )


def test_too_few_readings_name_the_point_and_the_way(tmp_path: Path) -> None:
    """Oracle: counting. Two tapes leave a point on a circle."""
    more = "    - {tape: [tower_l, q], reads: 300}\n    - {tape: [tower_r, q], reads: 900}"
    path = written(tmp_path, {"p": np.array([500, 100, 200.0])}, "", marks="    q:", more=more)
    with pytest.raises(SceneError) as caught:
        assembled(path)
    (fault,) = caught.value.faults
    assert "'q': has 2 readings, needs three" in fault.what
    assert "it is free" in fault.what
    assert fault.mark is not None and fault.mark.line > 1


def test_two_places_that_fit_are_both_told(tmp_path: Path) -> None:
    """Oracle: closed form. Three anchors of one height leave a point above and below them."""
    at = {"a": (0, 0, 100), "b": (400, 0, 100), "c": (0, 300, 100)}
    more = [
        f"    - {{tape: [{n}, q], reads: {np.linalg.norm(np.array(v) - [150, 120, 180]):.6f}}}"
        for n, v in at.items()
    ]
    marks = "\n".join([f"    {n}: {{at: {list(v)}}}" for n, v in at.items()] + ["    q:"])
    path = written(tmp_path, {}, "", marks=marks, more="\n".join(more))
    with pytest.raises(SceneError) as caught:
        assembled(path)
    (fault,) = caught.value.faults
    assert "(150, 120, 20)" in fault.what and "(150, 120, 180)" in fault.what
    assert "choose: up" in fault.mend and "choose: down" in fault.mend
    path.write_text(path.read_text().replace("    q:", "    q: {choose: up}"))
    surveyed = assembled(path).surveyed
    assert surveyed is not None
    assert surveyed.adjustment.placed[[s.name for s in surveyed.network.spots].index("q")][2] == pytest.approx(180)


def test_inches_among_millimetres_are_refused_with_the_place(tmp_path: Path) -> None:
    """Oracle: the planted truth: one tape of six is written in inches."""
    place = np.array([500, 100, 200.0])
    length = np.linalg.norm(np.array([60, -500, 120]) - place)
    marks = "    foot: {at: [60, -500, 120]}"
    more = f"    - {{tape: [foot, p], reads: {length / 25.4:.2f}}}"
    path = written(tmp_path, {"p": place}, "", marks=marks, more=more)
    with pytest.raises(SceneError) as caught:
        assembled(path)
    (fault,) = caught.value.faults
    assert "it fits as inches" in fault.why
    assert fault.mark is not None
    assert path.read_text().splitlines()[fault.mark.line - 1].strip().startswith("- {tape: [foot")


def test_readings_that_contradict_each_other_are_all_named(tmp_path: Path) -> None:
    """Oracle: the planted truth: one spare reading shows a mistake of 40 mm, and cannot say whose."""
    path = written(tmp_path, {"p": np.array([500, 100, 200.0])}, "", more="    - {level: [p, tower_l], reads: 280}")
    text = path.read_text()
    kept = [line for line in text.splitlines() if "[tower_r, p]" not in line and "[scuttle, p]" not in line]
    path.write_text("\n".join(kept) + "\n")
    with pytest.raises(SceneError) as caught:
        assembled(path)
    assert any("one of these is wrong" in fault.why or "disagree" in fault.what for fault in caught.value.faults)
