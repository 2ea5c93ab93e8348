"""How far what is joined may travel before it is sunk in too deep: where it can give way, and where it jams."""

from __future__ import annotations

import numpy as np
import pytest

from packcheck.arrays import Vector, frozen
from packcheck.frames import IDENTITY, Pose
from packcheck.proximity import Placed, Session
from packcheck.proximity.freeing import room_left
from packcheck.scene.model.scene import Box
from packcheck.solids.primitives import build_shape

PLATE = (((0, 0, -5), (400, 100, 10)), ((0, 0, -15), (400, 50, 10)))
GROOVE = (((0, 10, 0), (60, 10, 40)), ((0, -10, 0), (60, 10, 40)))


def boxes(name: str, *drawn: tuple[tuple[float, ...], tuple[float, float, float]]) -> Placed:
    """A part of boxes, each its middle and size, mm."""
    poses = (Pose(IDENTITY.rotation, frozen(middle)) for middle, _ in drawn)
    solids = (build_shape(Box(size))[0].placed(pose) for (_, size), pose in zip(drawn, poses, strict=True))
    return Placed(name, tuple(solids), IDENTITY)


def room(a: Placed, b: Placed, *, straight: bool) -> float:
    found = Session().room_by(a, b, 1.0, straight=straight)
    assert found == Session().room_by(b, a, 1.0, straight=straight)
    return found


@pytest.mark.parametrize("straight", [False, True])
@pytest.mark.parametrize("sunk", [0.0, 0.05, 0.3, 0.7, 0.95])
def test_what_is_sunk_in_a_plate_has_what_is_left_of_the_seat(sunk: float, straight: bool) -> None:
    """Oracle: by head: lifted by 1 mm it stands 1 - sunk over the plate, which is not convex."""
    foot = boxes("foot", ((30, 0, 10 - sunk), (40, 40, 20)))
    assert room(foot, boxes("plate", *PLATE), straight=straight) == pytest.approx(1 - sunk, abs=0.001)


@pytest.mark.parametrize("over", [0.02, 0.4, 3.0])
def test_what_stands_apart_has_that_and_straight_on_the_seat(over: float) -> None:
    """Oracle: by head; as far as it was looked, 1 mm."""
    foot, plate = boxes("foot", ((30, 0, 10 + over), (40, 40, 20))), boxes("plate", *PLATE)
    apart = min(over, 1.0)
    assert room(foot, plate, straight=False) == pytest.approx(apart, abs=0.001)
    assert room(foot, plate, straight=True) == pytest.approx(1 + apart, abs=0.001)


@pytest.mark.parametrize("aside, wide", [(0.0, 10.1), (0.3, 10.0), (0.3, 9.0)])
def test_in_a_groove_there_is_room_only_for_what_can_give_way(aside: float, wide: float) -> None:
    """Oracle: by head: 10.1 is freed of 10 by no shift of 1 mm, and 10 by one that leaves no air; 9 stands 0.2 from
    the nearer side, and straight on may be sunk in by 1 mm besides."""
    tongue, groove = boxes("tongue", ((0, aside, 0), (90, wide, 60))), boxes("groove", *GROOVE)
    turning, straight = (room(tongue, groove, straight=way) for way in (False, True))
    if wide == 9.0:
        assert [turning, straight] == pytest.approx([0.2, 1.2], abs=0.001)
    else:
        assert turning == straight == 0.0


def test_a_shift_no_longer_than_needed_is_found_in_a_narrow_groove() -> None:
    """Oracle: by head: free from 0.3 to 0.7: shifts of 0.5 free it by 0.2, those of 1 do not."""

    def clear_by(shift: Vector) -> float:
        return float(min(shift[0] - 0.3, 0.7 - shift[0]))

    ways = np.array([[0, 1.0, 0], [1.0, 0, 0]])
    for straight, expected in ((True, 0.7), (False, 0.2)):
        assert list(room_left(clear_by, ways, 1.0, straight=straight)) == pytest.approx([expected, 1])
