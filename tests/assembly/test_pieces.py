"""Parts cut into pieces: never more planes than can be held, and none that clears what finer ones do not."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from packcheck.assembly import pieces
from packcheck.frames import Pose
from packcheck.proximity import Placed
from packcheck.scene.model import Tube
from packcheck.search import Planes, spread_directions
from packcheck.solids.primitives import build_shape

WAYS = spread_directions(60)
TUBE = build_shape(Tube(80.0, 70.0, 60.0))


def between(most: int, monkeypatch: pytest.MonkeyPatch) -> Planes:
    """The planes that clear five stances of a tube of another, no more than so many heights of them."""
    monkeypatch.setattr(pieces, "_MOST_HEIGHTS", most)
    stances = [Placed("b", TUBE, Pose.of((20 * k, 0, 0), (0, 0, 0))) for k in range(5)]
    return pieces.planes_between(WAYS, Placed("a", TUBE, Pose.of()), stances, 5.0, [1.0] * 5)


def heights(planes: Planes | None) -> list[int]:
    return [] if planes is None else [planes.heights.size, *heights(planes.finer)]


@pytest.mark.parametrize("most", [1, 20_000, 2_000_000])
def test_no_more_planes_than_can_be_held(most: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Oracle: invariance: a position cleared by coarser pieces is cleared by finer ones."""
    finest, coarse = between(10**9, monkeypatch), between(most, monkeypatch)
    assert max(heights(coarse)) <= max(most, 5 * len(WAYS)) < max(heights(finest))
    places = np.array(list(product(range(-240, 241, 60), repeat=3)), dtype=float)
    told, true = coarse.clear(places, np.full(3, 4.0)), finest.clear(places, np.full(3, 4.0))
    assert not (told & ~true).any()
    assert told.any() and not told.all()
