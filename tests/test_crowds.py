"""The random pairs are what the campaign claims: repeatable, of every kind, mostly square on a grid."""

from __future__ import annotations

from itertools import combinations_with_replacement

import numpy as np
import pytest

from tests.adapters import to_placed, to_scene_shape
from tests.crowds import KINDS, SITUATIONS, drawn_pair, pairs
from tests.oracles.meshes import box_mesh
from tests.oracles.shapes import Pair
from tests.oracles.truth import is_convex, truth

CROWD = list(pairs(7, 400))


def square(pair: Pair) -> bool:
    """Both things stand square to the axes, apart by a multiple of half a millimetre along each."""
    turned = np.abs(np.stack([pair.a.pose.rotation, pair.b.pose.rotation]))
    return bool(np.isin(turned, (0.0, 1.0)).all())


def test_the_same_seed_draws_the_same_pair() -> None:
    first, second = (drawn_pair(3, 14, ("cylinder", "box")) for _ in range(2))
    assert first.b.pieces[0].shape == second.b.pieces[0].shape
    assert (first.b.pose.translation == second.b.pose.translation).all()


def test_more_than_half_stand_square_on_a_grid() -> None:
    assert sum(map(square, CROWD)) > len(CROWD) / 2


def test_every_kind_and_situation_turns_up() -> None:
    assert {thing.kind for pair in CROWD for thing in (pair.a, pair.b)} == set(KINDS)
    assert {pair.situation for pair in CROWD} == set(SITUATIONS)


def test_things_stand_up_to_ten_metres_from_the_origin() -> None:
    away = [float(np.linalg.norm(pair.a.pose.translation)) for pair in CROWD]
    assert 5_000 < max(away) <= 10_000


def test_near_overlapping_and_touching_pairs_turn_up_in_numbers() -> None:
    """Oracle: second methods. Shares of a sample, so that no situation dies out unseen."""
    gaps = [truth(pair) for pair in CROWD[:150] if is_convex(pair.a) and is_convex(pair.b)]
    assert sum(gap.high < 0 for gap in gaps) > len(gaps) / 6
    assert sum(0 < gap.low < 30 for gap in gaps) > len(gaps) / 6
    assert sum(abs(gap.middle) < 1e-6 for gap in gaps) >= 3


@pytest.mark.parametrize(("first", "second"), list(combinations_with_replacement(KINDS, 2)))
def test_any_two_kinds_can_be_asked_for_and_become_parts(first: str, second: str) -> None:
    pair = drawn_pair(1, 0, (first, second))
    assert (pair.a.kind, pair.b.kind) == (first, second)
    assert to_placed(pair.a, "a").solids and to_placed(pair.b, "b").solids


def test_a_mesh_has_no_scene_shape_by_numbers() -> None:
    with pytest.raises(TypeError, match="Mesh"):
        to_scene_shape(box_mesh((1, 2, 3)))
