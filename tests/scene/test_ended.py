"""Solids from one end to the other."""

from __future__ import annotations

from math import dist
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from packcheck.scene.model import scene as model
from packcheck.scene.model.scene import Shape
from tests.scene.seats import AXES, SEEN, head, rotation
from tests.scene.writing import part_of, scene_of, whats

coordinate = st.integers(-4000, 4000).map(lambda tenths: tenths / 10)
point = st.tuples(coordinate, coordinate, coordinate)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("ended")


@pytest.mark.parametrize(
    ("text", "shape"),
    [
        ("cylinder: {diameter: 5, from: [0, 0, 0], to: [3, 4, 12]}", model.Cylinder(5.0, 13.0)),
        ("capsule: {diameter: 13, from: [0, 0, 0], to: [3, 4, 12]}", model.Capsule(13.0, 13.0)),
        ("cone: {bottom: 5, top: 0, from: [0, 0, 0], to: [3, 4, 12]}", model.Cone(5.0, 0.0, 13.0)),
        ("tube: {outer: 5, inner: 4, from: [0, 0, 0], to: [3, 4, 12]}", model.Tube(5.0, 4.0, 13.0)),
        ("box: {section: [5, 4], from: [0, 0, 0], to: [3, 4, 12]}", model.Box((5.0, 4.0, 13.0))),
    ],
)
def test_the_length_is_that_from_end_to_end(tmp_path: Path, text: str, shape: Shape) -> None:
    """Oracle: closed form; 3, 4, 12 has the length 13."""
    part = part_of(tmp_path, text)
    (solid,) = part.solids
    assert (solid.shape, solid.anchor) == (shape, ("mid", "mid", "min"))
    assert (part.at, part.turn) == ((0.0, 0.0, 0.0), (0.0, 0.0, 0.0))


@settings(deadline=None, max_examples=80)
@given(ways=st.sampled_from(AXES), start=point, end=point)
def test_the_axis_runs_from_the_first_end_to_the_second(
    folder: Path, ways: tuple[str, ...], start: tuple[float, ...], end: tuple[float, ...]
) -> None:
    """Oracle: rotation matrices of the textbook: own zero at `from`, the far end of its own z at `to`."""
    assume(dist(start, end) > 1)
    text = f"parts: {{it: {{tube: {{outer: 5, inner: 4, from: {list(start)}, to: {list(end)}}}}}}}"
    part = scene_of(folder, text, head=head(ways)).parts["it"]
    (solid,) = part.solids
    far = rotation(solid.turn) @ [0, 0, dist(start, end)] + part.at
    assert part.at == start
    assert np.allclose(far, end, rtol=0, atol=1e-9)


@settings(deadline=None, max_examples=80)
@given(ways=st.sampled_from(AXES), end=point)
def test_a_bar_is_as_level_and_upright_as_it_can_be(
    folder: Path, ways: tuple[str, ...], end: tuple[float, ...]
) -> None:
    """Oracle: closed form; its width is square to both its axis and the upright (if steep: to fore and aft)."""
    length = dist((0, 0, 0), end)
    assume(length > 1)
    text = f"parts: {{it: {{box: {{section: [5, 4], from: [0, 0, 0], to: {list(end)}}}}}}}"
    (solid,) = scene_of(folder, text, head=head(ways)).parts["it"].solids
    turned = rotation(solid.turn)
    up = np.array([SEEN["up"] @ SEEN[way] for way in ways])
    fore = np.array([SEEN["fore"] @ SEEN[way] for way in ways])
    steep = abs(np.array(end) @ up) / length
    assume(abs(steep - 0.5**0.5) > 1e-9)
    upright = fore if steep > 0.5**0.5 else up
    assert np.allclose(turned[:, 2] * length, end, rtol=0, atol=1e-9)
    assert abs(turned[:, 0] @ upright) < 1e-12
    assert turned[:, 1] @ upright > 0.5


@pytest.mark.parametrize("end", [(9, 0, 0), (-9, 0, 0), (0, 9, 0), (0, -9, 0), (0, 0, 9), (0, 0, -9)])
def test_a_bar_along_an_axis_stays_square(tmp_path: Path, end: tuple[int, ...]) -> None:
    """Oracle: by head; quarter turns are written as such, so that no rounding tilts it."""
    (solid,) = part_of(tmp_path, f"cylinder: {{diameter: 5, from: [0, 0, 0], to: {list(end)}}}").solids
    assert all(degrees % 90 == 0 for degrees in solid.turn)


def test_solids_of_a_part_have_ends_too(tmp_path: Path) -> None:
    part = part_of(
        tmp_path, "at: [1, 2, 3], solids: [{cylinder: {diameter: 2, from: [5 aft, 0, 0], to: [5, 0, 9 up]}}]"
    )
    (solid,) = part.solids
    assert (part.at, solid.at, solid.turn[:2]) == ((1.0, 2.0, 3.0), (5.0, 0.0, 0.0), (0.0, 0.0))


@pytest.mark.parametrize(
    ("text", "faults"),
    [
        ("cylinder: {diameter: 5}", ["cylinder needs length"]),
        ("tube: {outer: 5, inner: 4, from: [0, 0, 0]}", ["tube.from stands without to, needs both"]),
        ("tube: {outer: 5, inner: 4, to: [0, 0, 0]}", ["tube.to stands without from, needs both"]),
        (
            "cylinder: {diameter: 5, length: 3, along: x, from: [0, 0, 0], to: [0, 0, 3]}",
            ["cylinder.length stands beside from and to", "cylinder.along stands beside from and to"],
        ),
        (
            "cylinder: {diameter: 5, from: [0, 0, 0], to: [0, 0, 3]}, at: [0, 0, 0], turn: {}, anchor: origin",
            [f"{key} stands beside the ends of cylinder" for key in ("at", "turn", "anchor")],
        ),
        (
            "cylinder: {diameter: 5, from: [0, 0, 0], to: [0, 0, 3]}, faces: {front: 3}",
            ["faces stands beside the ends of cylinder"],
        ),
        (
            "cone: {bottom: 5, top: 3, from: [1, 1, 1], to: [1, 1, 1]}",
            ["cone.to is where from is, needs to be at least 0.001 mm away"],
        ),
        (
            "capsule: {diameter: 10, from: [0, 0, 0], to: [0, 0, 9]}",
            ["capsule.to is 9 mm away, needs at least the diameter, 10 mm"],
        ),
        (
            "box: {from: [0, 0, 0], to: [0, 0, 0], section: [1, 1]}",
            ["box.to is where from is, needs to be at least 0.001 mm away"],
        ),
        ("box: {from: [0, 0, 0]}", ["box needs to", "box needs section"]),
        (
            "box: {from: [0, 0, 0], to: [0, 0, 9], section: [1, 0]}",
            ["box.section item 2 is 0 mm, needs more than 0 mm"],
        ),
        ("box: {from: [0, 0, 0], to: [0, 0, 9], section: 5}", ["box.section is 5, needs a list: [width, height]"]),
        ("box: {from: [0, 0, 0], to: [0, 0, 9], length: 5, section: [1, 2]}", ["box has the unknown key 'length'"]),
    ],
)  # fmt: skip
def test_ends_that_cannot_be_are_faults(tmp_path: Path, text: str, faults: list[str]) -> None:
    told = whats(tmp_path, f"parts: {{it: {{{text}}}}}")
    assert sorted(told) == sorted(f"part 'it': {fault}" for fault in faults)
