"""Is a pipe one that can be bent, an outline one that can be cut?"""

from __future__ import annotations

from collections.abc import Sequence
from math import dist
from typing import Final

import numpy as np

from packcheck.arrays import Floats, Points, flat_cross
from packcheck.scene.model.scene import Triple
from packcheck.scene.quantities.sizes import SMALLEST
from packcheck.scene.quantities.slots import Wrong
from packcheck.tolerances import MERGE_DISTANCE

__all__ = ["check_outline", "check_pipe", "refuse_one_place"]

MOST_POINTS: Final = 1000
"""Points of one pipe or outline. What needs more was not measured by hand and is better held as a mesh."""

HAIRPIN: Final = 179.0
"""deg. A corner that turns by more leads back along the leg it came from."""

FIT_SLACK: Final = 1e-6
"""mm. Rounding allowed where bends fill their leg exactly."""


def refuse_one_place(start: Triple, end: Triple) -> None:
    """Refuse two ends (3,) mm that are one place.

    Raises
    ------
    Wrong
    """
    if dist(start, end) < SMALLEST:
        raise Wrong(f"is where from is, needs to be at least {SMALLEST:g} mm away", key=("to",))


def check_pipe(outside: float, through: Sequence[Triple], bend: float) -> None:
    """Refuse a pipe that folds, doubles back, or whose bends do not fit between its points.

    Parameters
    ----------
    outside, bend : float
        Outside diameter and centreline bend radius, mm; `bend` 0 is mitred.
    through : sequence of (3,) mm
        At least two.

    Raises
    ------
    Wrong
    """
    _refuse_many(len(through), "through")
    points = np.array(through)
    legs = np.diff(points, axis=0)
    lengths = np.linalg.norm(legs, axis=1)
    _refuse_repeats(lengths, "through")
    if 0 < bend < outside / 2:
        raise Wrong(
            f"is {bend:g} mm, needs at least {outside / 2:g} mm, half the outside diameter",
            why="the inside of the bend would fold over itself",
            mend=f"raise bend to {outside / 2:g} mm or more, or leave it out for mitred corners",
            key=("bend",),
        )
    turns = _turns(legs / lengths[:, None])
    if np.any(turns > HAIRPIN):
        corner = int(np.argmax(turns > HAIRPIN)) + 1
        raise Wrong("leads straight back from this point", mend="put a point to each side", key=("through", corner))
    _refuse_crowded_bends(lengths, bend * np.tan(np.radians(turns) / 2))


def _turns(directions: Points) -> Floats:
    """How far each corner turns, degrees, from unit vectors (n, 3) along the legs (well behaved near 0 and 180)."""
    a, b = directions[:-1], directions[1:]
    turns: Floats = np.degrees(2 * np.arctan2(np.linalg.norm(a - b, axis=1), np.linalg.norm(a + b, axis=1)))
    return turns


def _refuse_crowded_bends(lengths: Floats, tangents: Floats) -> None:
    r"""Each bend takes its tangent length t = bend tan(turn / 2) from both of its legs.

          t    t
        ----\     corner where the legs meet; the arc leaves each leg t before it
             \
    """
    taken = np.concatenate([[0.0], tangents]) + np.concatenate([tangents, [0.0]])
    short = taken > lengths + FIT_SLACK
    if np.any(short):
        leg = int(np.argmax(short))
        raise Wrong(
            f"needs {taken[leg]:.6g} mm of straight from point {leg + 1} to point {leg + 2} for its bends, "
            f"has {lengths[leg]:.6g} mm",
            why="the bends would overlap",
            mend="lower bend, or move the points apart",
            key=("through", leg + 1),
        )


def check_outline(outline: Sequence[tuple[float, float]]) -> None:
    """Refuse an outline (n, 2) mm that is not a simple polygon.

    Raises
    ------
    Wrong
    """
    _refuse_many(len(outline), "outline")
    points = np.array(outline)
    if np.array_equal(points[0], points[-1]):
        where = ("outline", len(points) - 1)
        raise Wrong("repeats the first point", mend="leave it out, an outline closes by itself", key=where)
    sides = np.roll(points, -1, axis=0) - points
    _refuse_repeats(np.linalg.norm(sides, axis=1), "outline")
    meeting = _first_meeting(points, sides)
    if meeting:
        a, b = meeting
        what = f"crosses or touches itself: the side from point {a + 1} meets the side from point {b + 1}"
        raise Wrong(what, mend="list the points in order round the edge", key=("outline", b))


def _first_meeting(points: Points, sides: Points) -> tuple[int, int] | None:
    """The first two sides that cross, or where a corner lies on a side it does not belong to."""
    count = len(points)
    index = np.arange(count)
    own = (index[:, None] == index) | (index[:, None] == (index + 1) % count)  # corner k is an end of side j
    touching = (_corner_to_side(points, sides) <= MERGE_DISTANCE) & ~own
    # left[k, j]: on which side of the line through side j corner k lies
    left = np.sign(flat_cross(sides[None], points[:, None] - points[None]))
    apart = left * np.roll(left, -1, axis=0)  # [i, j]: the two ends of side i, seen from side j
    meets = (apart < 0) & (apart.T < 0) | touching
    found = np.argwhere(meets)
    if not len(found):
        return None
    a, b = sorted(int(i) for i in found[0])
    return a, b


def _corner_to_side(points: Points, sides: Points) -> Floats:
    """Distance of every corner (rows) from every side (columns), mm."""
    offset = points[:, None] - points[None]
    along = np.einsum("kji,ji->kj", offset, sides) / np.einsum("ji,ji->j", sides, sides)
    nearest = np.clip(along, 0.0, 1.0)[..., None] * sides[None]
    distance: Floats = np.linalg.norm(offset - nearest, axis=2)
    return distance


def _refuse_many(count: int, key: str) -> None:
    if count > MOST_POINTS:
        raise Wrong(f"has {count} points, needs at most {MOST_POINTS}", mend="use a mesh", key=(key,))


def _refuse_repeats(lengths: Floats, key: str) -> None:
    """`lengths` from each point to the next, mm."""
    if np.any(lengths <= MERGE_DISTANCE):
        point = int(np.argmax(lengths <= MERGE_DISTANCE)) + 1
        raise Wrong("repeats the point before it", mend="leave it out", key=(key, point))
