"""What a straight way leads through, against the volume that boxes sweep, which has a closed form."""

from __future__ import annotations

from itertools import product
from typing import TypeAlias

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packcheck.arrays import Floats, Vector, frozen
from packcheck.frames import IDENTITY, Pose
from packcheck.moving.passing import Passage
from packcheck.proximity import Placed, Session
from packcheck.scene.model.scene import Box
from packcheck.solids.core.solid import Solid
from packcheck.solids.primitives import build_shape

SEAT = 1.005
Drawn: TypeAlias = tuple[tuple[float, ...], tuple[float, ...]]
"""Middle and size, mm."""

BAND = 0.11  # mm; what comes nearer may be taken to be met


def placed(name: str, *boxes: Drawn) -> Placed:
    """A part of boxes; where there are several it is not convex."""
    return Placed(name, tuple(solid(middle, size) for middle, size in boxes), IDENTITY)


def solid(middle: tuple[float, ...], size: tuple[float, ...]) -> Solid:
    (made,) = build_shape(Box(size))  # type: ignore[arg-type]
    return made.placed(Pose(IDENTITY.rotation, frozen(middle)))


def through(mover: Placed, still: Placed, shift: object, *, joint: bool = False, seat: float = SEAT) -> bool:
    return Passage(Session(), mover, still, np.asarray(shift, dtype=float), seat).is_through(joint=joint)


def meets(mover: list[Floats], still: list[Floats], shift: Vector, grown: float) -> bool:
    """Whether a box (middle, size) on its way by `shift` overlaps another, all grown by so much: closed form.

    Its middle goes along a line past a box as large as both together, and is in there where it is between all three
    pairs of faces at once.
    """
    return any(_crosses(b[0] - a[0], (a[1] + b[1]) / 2 + grown, shift) for a, b in product(mover, still))


def _crosses(middle: Vector, half: Vector, way: Vector) -> bool:
    entered, left = 0.0, 1.0
    for at, room, gone in zip(middle, half, way, strict=True):
        if gone == 0.0:
            if abs(at) >= room:
                return False
            continue
        ends = sorted(((at - room) / gone, (at + room) / gone))
        entered, left = max(entered, ends[0]), min(left, ends[1])
    return entered < left


sizes = st.tuples(*[st.sampled_from([0.2, 0.7, 1.5, 6.0, 25.0, 80.0])] * 3)
middles = st.tuples(*[st.floats(-60, 60).map(lambda x: round(x, 2))] * 3)
parts = st.lists(st.tuples(middles, sizes), min_size=1, max_size=3)
ways = st.tuples(*[st.sampled_from([0.0, 0.0, 1.0, -1.0, 0.37])] * 3).filter(any)


@given(parts, parts, ways, st.floats(1, 200), st.tuples(*[st.floats(-150, 150)] * 3))
@settings(max_examples=300, deadline=None)
def test_what_stood_clear_is_in_the_way_where_the_volume_swept_meets_it(
    mover: list[Drawn], still: list[Drawn], way: tuple[float, ...], length: float, off: tuple[float, ...]
) -> None:
    """Oracle: closed form: boxes as thin as 0.2 mm, one to three a part, along axes and aslant."""
    shift = np.array(way) / np.linalg.norm(way) * length
    moved = [(tuple(np.add(middle, off)), size) for middle, size in mover]
    a, b = ([np.array(box) for box in boxes] for boxes in (moved, still))
    if meets(a, b, np.zeros(3), BAND):
        return  # touches or overlaps as it stands: told apart below
    found = through(placed("a", *moved), placed("b", *still), shift)
    if meets(a, b, shift, -1e-6):
        assert found
    elif not meets(a, b, shift, BAND):
        assert not found


@pytest.mark.parametrize("gap", np.linspace(1, 400, 12))
@pytest.mark.parametrize("thickness", [0.2, 1.5])
def test_a_panel_thinner_than_the_way_to_it_is_not_jumped(gap: float, thickness: float) -> None:
    """Oracle: by construction: a cube of 20, a panel at any distance below; along the panel nothing is met."""
    cube = placed("cube", ((0, 0, 0), (20, 20, 20)))
    panel = placed("panel", ((0, 0, -10 - gap - thickness / 2), (900, 900, thickness)))
    assert through(cube, panel, (0, 0, -gap - 30))
    assert not through(cube, panel, (200, 0, -gap + 0.02))


ON = ((0, 0, -5), (400, 100, 10))  # a plate; what stands on it has its lower face at 0


@pytest.mark.parametrize("begun", np.linspace(20, 40, 9))
def test_a_thin_part_is_not_slid_through_a_thin_fin_of_what_it_is_bolted_to(begun: float) -> None:
    """Oracle: by head: 1.6 mm in 0.8 mm is sunk in by 1.2 mm at the most, and by over 1 for 0.4 mm of the way."""
    base = placed("base", ON, ((0, 20, 20), (0.8, 20, 40)))
    leaf = placed("leaf", ((begun, 0, 10), (1.6, 60, 20)))
    assert through(leaf, base, (-60, 0, 0), joint=True)
    assert not through(leaf, base, (-(begun - 3), 0, 0), joint=True)
    assert not through(leaf, base, (60, 0, 0), joint=True)


@pytest.mark.parametrize("shift, expected", [((-100, 0, 0), True), ((100, 0, 0), False), ((-25, 0, 0), False)])
def test_what_stands_on_a_part_may_be_slid_along_it_but_not_through_what_rises_from_it(
    shift: tuple[float, ...], expected: bool
) -> None:
    """Oracle: by construction: a block flush on a plate; 30 mm along a post rises, off the middle of the block."""
    base = placed("base", ON, ((-50, 14, 20), (4, 4, 40)))
    assert through(placed("block", ((0, 0, 10), (40, 40, 20))), base, shift) is expected


@pytest.mark.parametrize("joint", [False, True])
def test_flush_boxes_slide_and_part_but_do_not_sink(joint: bool) -> None:
    """Oracle: by head: along and away is free; in by the seat is allowed, by more is not."""
    block, plate = placed("block", ((0, 0, 10), (40, 40, 20))), placed("plate", ON)
    assert not through(block, plate, (80, 10, 0), joint=joint)
    assert not through(block, plate, (0, 0, 200), joint=joint)
    assert not through(block, plate, (0, 0, -0.9), joint=joint)
    assert through(block, plate, (0, 0, -1.1), joint=joint)


@pytest.mark.parametrize("at, ways", [(20, {"up"}), (-20, {"down"})])
def test_what_sticks_through_a_lid_comes_out_on_the_side_of_its_middle(at: float, ways: set[str]) -> None:
    """Oracle: by construction: a tank 80 tall through a lid of 2 mm, its middle 20 mm above or below."""
    tank, lid = placed("tank", ((0, 0, at), (60, 60, 80))), placed("lid", ((0, 0, 0), (900, 900, 2)))
    found = {word for word, up in (("up", 200), ("down", -200)) if not through(tank, lid, (0, 0, up))}
    assert found == ways


def test_what_has_come_out_of_a_part_may_not_go_into_it_again() -> None:
    """Oracle: by construction: sunk 3 mm into one flange of a channel; 5 mm on the other, off its middle."""
    channel = placed("channel", ((0, 0, 0), (10, 100, 10)), ((48, 30, 0), (1, 40, 10)))
    block = placed("block", ((22, 0, 0), (40, 40, 40)))
    assert not through(block, channel, (4, 0, 0))
    assert through(block, channel, (100, 0, 0))
    assert through(block, channel, (-90, 0, 0))  # its middle through the near flange


def test_what_cannot_be_told_within_the_questions_allowed_is_in_the_way() -> None:
    """Oracle: by construction: 0.11 mm beside a long rail of two pieces: a tenth of a millimetre at a time."""
    rail = placed("rail", ((0, 0, -5), (900, 50, 10)), ((0, 0, -15), (900, 20, 10)))
    block = placed("block", ((-400, 0, 20.11), (40, 40, 40)))
    assert through(block, rail, (700, 0, 0))
    assert not through(block, rail, (30, 0, 0))
