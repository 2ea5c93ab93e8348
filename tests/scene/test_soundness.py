"""Pipes that can be bent, outlines that can be cut."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from packcheck.scene.quantities.slots import Wrong
from packcheck.scene.quantities.soundness import check_outline, check_pipe

SQUARE = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]
ANGLE_BEND = [(0.0, 0.0, 0.0), (100.0, 0.0, 0.0), (100.0, 100.0, 0.0)]


@pytest.mark.parametrize("bend", [0.0, 10.0, 99.9, 100.0])
def test_right_angle_bend_fits_when_its_radius_is_no_longer_than_a_leg(bend: float) -> None:
    """Oracle: closed form; the tangent length of a 90 degree bend is its radius, the legs are 100 mm."""
    check_pipe(20.0, ANGLE_BEND, bend)


def test_right_angle_bend_longer_than_its_leg_is_refused() -> None:
    with pytest.raises(
        Wrong, match=r"needs 100\.1 mm of straight from point 1 to point 2 for its bends, has 100 mm"
    ):
        check_pipe(20.0, ANGLE_BEND, 100.1)


def test_bend_tighter_than_half_the_outside_is_refused() -> None:
    with pytest.raises(Wrong, match=r"is 9\.9 mm, needs at least 10 mm"):
        check_pipe(20.0, ANGLE_BEND, 9.9)


@settings(deadline=None)
@given(st.floats(1.0, 178.0), st.floats(20.0, 200.0))
def test_bend_fits_exactly_up_to_its_tangent_length(turn: float, bend: float) -> None:
    """Oracle: closed form; a bend turning by `turn` takes bend tan(turn / 2) of each leg."""
    tangent = bend * math.tan(math.radians(turn) / 2)
    assume(0.1 < tangent < 1e5)
    for leg, fits in ((tangent + 0.01, True), (tangent - 0.01, False)):
        end = (leg + 1e5 * math.cos(math.radians(turn)), 1e5 * math.sin(math.radians(turn)), 0.0)
        through = [(0.0, 0.0, 0.0), (leg, 0.0, 0.0), end]
        if fits:
            check_pipe(20.0, through, bend)
        else:
            with pytest.raises(Wrong, match="of straight from point 1"):
                check_pipe(20.0, through, bend)


def test_two_bends_share_the_leg_between_them() -> None:
    """Oracle: closed form; two right angles of radius 30 take 60 mm of the middle leg."""
    zigzag = [(0.0, 0.0, 0.0), (100.0, 0.0, 0.0), (100.0, 60.0, 0.0), (200.0, 60.0, 0.0)]
    check_pipe(20.0, zigzag, 30.0)
    with pytest.raises(Wrong, match=r"needs 60\.2 mm of straight from point 2 to point 3"):
        check_pipe(20.0, zigzag, 30.1)


def test_straight_run_of_points_needs_no_room_for_bends() -> None:
    check_pipe(20.0, [(0.0, 0.0, 0.0), (5.0, 0.0, 0.0), (9.0, 0.0, 0.0)], 50.0)


@pytest.mark.parametrize("bend", [0.0, 30.0])
def test_hairpin_is_refused_at_its_corner(bend: float) -> None:
    with pytest.raises(Wrong, match="straight back") as caught:
        check_pipe(20.0, [(0.0, 0.0, 0.0), (100.0, 0.0, 0.0), (0.0, 0.0, 0.0)], bend)
    assert caught.value.slip.key == ("through", 1)


@pytest.mark.parametrize(
    ("through", "at"),
    [([(0, 0, 0), (0, 0, 0)], 1), ([(0, 0, 0), (5, 0, 0), (5, 0, 0), (9, 0, 0)], 2)],
)
def test_repeated_point_of_a_pipe_is_refused(through: list[tuple[float, float, float]], at: int) -> None:
    with pytest.raises(Wrong, match="repeats") as caught:
        check_pipe(20.0, through, 0.0)
    assert caught.value.slip.key == ("through", at)


def test_pipe_may_come_back_to_where_it_began() -> None:
    check_pipe(2.0, [(0.0, 0.0, 0.0), (9.0, 0.0, 0.0), (9.0, 9.0, 0.0), (0.0, 0.0, 0.0)], 0.0)


@pytest.mark.parametrize(
    "outline", [SQUARE, SQUARE[::-1], [(0, 0), (9, 0), (4, 3), (4, 9)], [(0, 0), (5, 0), (9, 0), (0, 9)]]
)
def test_simple_outline_is_taken(outline: list[tuple[float, float]]) -> None:
    check_outline(outline)


@pytest.mark.parametrize(
    ("outline", "sides"),
    [
        ([(0, 0), (10, 10), (10, 0), (0, 10)], "point 1 meets the side from point 3"),  # a bow tie
        ([(0, 0), (10, 0), (10, 10), (5, 0), (0, 10)], "meets"),  # a corner on the opposite side
        ([(0, 0), (10, 0), (4, 0), (0, 10)], "meets"),  # folded back along its own side
        ([(0, 0), (5, 0), (10, 0)], "meets"),  # no area
        ([(0, 0), (4, 4), (8, 0), (8, 8), (4, 4), (0, 8)], "meets"),  # one corner twice
    ],
)
def test_outline_that_meets_itself_is_refused(outline: list[tuple[float, float]], sides: str) -> None:
    with pytest.raises(Wrong, match="crosses or touches itself") as caught:
        check_outline(outline)
    assert sides in caught.value.slip.phrase


def test_outline_closed_by_hand_is_refused_with_the_way_out() -> None:
    with pytest.raises(Wrong, match="repeats the first point") as caught:
        check_outline([*SQUARE, SQUARE[0]])
    assert "closes by itself" in caught.value.slip.mended()


def test_outline_of_too_many_points_is_refused() -> None:
    with pytest.raises(Wrong, match="1001 points"):
        check_outline([(math.cos(i / 160), math.sin(i / 160)) for i in range(1001)])


@settings(deadline=None)
@given(st.lists(st.floats(5.0, 100.0), min_size=3, max_size=40))
def test_star_shaped_outline_is_simple(radii: list[float]) -> None:
    """Oracle: closed form; corners in order of angle round a point they all see never cross."""
    step = 2 * math.pi / len(radii)
    check_outline([(r * math.cos(i * step), r * math.sin(i * step)) for i, r in enumerate(radii)])


@settings(deadline=None)
@given(st.lists(st.tuples(st.integers(0, 6), st.integers(0, 6)), min_size=4, max_size=7, unique=True))
def test_simplicity_agrees_with_exact_arithmetic(points: list[tuple[int, int]]) -> None:
    """Oracle: brute force in whole numbers, every pair of sides by orientation and overlap."""
    simple = _is_simple(points)
    outline = [(float(x), float(y)) for x, y in points]
    if simple:
        check_outline(outline)
    else:
        with pytest.raises(Wrong):
            check_outline(outline)


def _is_simple(points: list[tuple[int, int]]) -> bool:
    count = len(points)
    sides = [(points[i], points[(i + 1) % count]) for i in range(count)]
    for i in range(count):
        for j in range(i + 1, count):
            (a, b), (c, d) = sides[i], sides[j]
            if j == i + 1 or (i == 0 and j == count - 1):
                shared, one, other = (b, a, d) if j == i + 1 else (a, b, c)
                if _turn(one, shared, other) == 0 and _dot(shared, one, other) > 0:
                    return False
            elif _meet(a, b, c, d):
                return False
    return True


def _meet(a: tuple[int, int], b: tuple[int, int], c: tuple[int, int], d: tuple[int, int]) -> bool:
    if _turn(a, b, c) * _turn(a, b, d) < 0 and _turn(c, d, a) * _turn(c, d, b) < 0:
        return True
    return _on(a, b, c) or _on(a, b, d) or _on(c, d, a) or _on(c, d, b)


def _turn(a: tuple[int, int], b: tuple[int, int], c: tuple[int, int]) -> int:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _dot(corner: tuple[int, int], a: tuple[int, int], b: tuple[int, int]) -> int:
    return (a[0] - corner[0]) * (b[0] - corner[0]) + (a[1] - corner[1]) * (b[1] - corner[1])


def _on(a: tuple[int, int], b: tuple[int, int], p: tuple[int, int]) -> bool:
    return _turn(a, b, p) == 0 and _dot(p, a, b) <= 0
