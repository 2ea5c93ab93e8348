"""Where parts end up: chains of frames, parts in parts, anchors, compounds and wraps."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packcheck.assembly.assembly import assemble
from packcheck.placing.placing import poses
from packcheck.proximity import Session
from packcheck.scene.model.scene import Box, Cylinder, Extrude, Frame, Part, Scene, SolidSpec, Sphere
from tests.bays import ANGLE, part, scene

coordinate = st.integers(-500, 500).map(float)
triple = st.tuples(coordinate, coordinate, coordinate)
turn = st.tuples(*[st.sampled_from([0.0, 90.0, 30.0, -12.5])] * 3)


def turned(degrees: tuple[float, ...]) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """Rz Ry Rx written out from the textbook, apart from the code under test."""
    x, y, z = np.radians(degrees)
    rx = np.array([[1, 0, 0], [0, np.cos(x), -np.sin(x)], [0, np.sin(x), np.cos(x)]])
    ry = np.array([[np.cos(y), 0, np.sin(y)], [0, 1, 0], [-np.sin(y), 0, np.cos(y)]])
    rz = np.array([[np.cos(z), -np.sin(z), 0], [np.sin(z), np.cos(z), 0], [0, 0, 1]])
    product: np.ndarray[tuple[int, int], np.dtype[np.float64]] = rz @ ry @ rx
    return product


@settings(deadline=None, max_examples=60)
@given(triple, turn, triple, turn, triple)
def test_a_chain_of_frames_and_parts_is_walked_outward(
    frame_at: tuple[float, float, float],
    frame_turn: tuple[float, float, float],
    pump_at: tuple[float, float, float],
    pump_turn: tuple[float, float, float],
    cap_at: tuple[float, float, float],
) -> None:
    """Oracle: matrices of the textbook, written out in the test."""
    made = scene(
        part("cap", Sphere(10), parent="pump", at=cap_at),
        part("pump", Box((10, 20, 30)), parent="engine_frame", at=pump_at, turn=pump_turn),
        frames={"engine_frame": Frame("engine_frame", at=frame_at, turn=frame_turn)},
    )
    in_pump = turned(pump_turn) @ np.array(cap_at) + np.array(pump_at)
    expected = turned(frame_turn) @ in_pump + np.array(frame_at)
    assert np.allclose(poses(made)["cap"].translation, expected, atol=1e-9)


@pytest.mark.parametrize("anchor, low, high", [
    (("mid", "mid", "mid"), (-5, -10, -15), (5, 10, 15)),
    (("min", "mid", "max"), (0, -10, -30), (10, 10, 0)),
    (("max", "max", "min"), (-10, -20, 0), (0, 0, 30)),
    ("origin", (-5, -10, -15), (5, 10, 15)),
])  # fmt: skip
def test_at_places_the_anchor(anchor: object, low: tuple[float, ...], high: tuple[float, ...]) -> None:
    """Oracle: by head: a box of 10 x 20 x 30."""
    spec = SolidSpec(Box((10, 20, 30)), anchor)  # type: ignore[arg-type]
    box = assemble(scene(Part("a", (spec,), at=(100, 0, 0)))).boxes[0]
    assert np.allclose(box - [100, 0, 0], [low, high], atol=1e-9)


def test_the_anchor_of_a_cylinder_is_on_its_true_face() -> None:
    """Oracle: closed form: facets stand out by their error, the anchor does not."""
    spec = SolidSpec(Cylinder(100, 40, "x"), ("mid", "mid", "min"))
    parts = assemble(scene(Part("a", (spec,)), part("floor", Box((300, 300, 10)), at=(0, 0, -5)))).parts
    gap = Session().gap(parts["a"], parts["floor"])
    assert abs(gap.value) <= 0.0005


def test_extrusions_carry_coordinates_of_their_own() -> None:
    box = assemble(scene(part("a", Extrude(ANGLE, 20), at=(10, 20, 30)))).boxes[0]
    assert np.allclose(box, [[10, 20, 30], [60, 70, 50]])


def test_solids_of_a_compound_are_placed_in_the_part_and_turn_with_it() -> None:
    """Oracle: by head. A cap 20 high with a lug 14 up; the part lies on its side (y up after a turn about x)."""
    specs = (
        SolidSpec(Cylinder(40, 20), ("mid", "mid", "mid")),
        SolidSpec(Box((20, 60, 8)), ("mid", "mid", "mid"), at=(0, 0, 14)),
    )
    box = assemble(scene(Part("cap", specs, at=(0, 0, 100), turn=(90, 0, 0)))).boxes[0]
    assert np.allclose(box, [[-20, -18, 70], [20, 10, 130]], atol=0.001)


def test_solids_of_one_part_never_check_against_each_other() -> None:
    assembly = assemble(scene(part("cap", Box((10, 10, 10)), Box((10, 10, 10)))))
    assert list(assembly.parts) == ["cap"]


def test_wrap_grows_a_part_all_round() -> None:
    box = assemble(scene(part("hose", Cylinder(20, 100), wrap=6.0))).boxes[0]
    assert np.allclose(box, [[-16, -16, -56], [16, 16, 56]], atol=0.001)


def test_equal_shapes_share_their_solids() -> None:
    parts = assemble(scene(part("a", Cylinder(20, 50)), part("b", Cylinder(20, 50), at=(100, 0, 0)))).parts
    assert parts["a"].solids is parts["b"].solids


def test_what_hangs_on_a_part_through_a_frame_is_carried_by_it() -> None:
    made = scene(
        part("pump", Box((10, 10, 10))),
        part("pulley", Cylinder(40, 10), parent="nose"),
        part("rail", Box((10, 10, 10))),
        frames={"nose": Frame("nose", parent="pump", at=(0, 0, 20))},
    )
    assert assemble(made).carried_by("pump") == ("pulley",)


def test_a_scene_without_parts_can_be_put_together() -> None:
    assert assemble(Scene("empty.yaml")).boxes.shape == (0, 2, 3)
