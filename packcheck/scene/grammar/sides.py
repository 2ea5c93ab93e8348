r"""Which of a shape's own sides is its left one? The one that looks most to the left once the part is turned.

own -y                 turned by less than 45 degrees it is the side that the shape was given as its left;
+------+   left        turned by a quarter it is another one
|      |  <---
+------+
"""

from __future__ import annotations

from typing import Final

import numpy as np

from packcheck.arrays import Matrix3
from packcheck.frames import turn_matrix
from packcheck.scene.grammar.reserving import Reserving
from packcheck.scene.model import scene as model
from packcheck.scene.model.directions import FACES, Along, Ways, axis_of
from packcheck.scene.model.scene import FaceName, Shape
from packcheck.scene.quantities.placement import turn_of
from packcheck.scene.quantities.slots import Wrong
from packcheck.scene.solids.ended import turn_along
from packcheck.scene.solids.shapes import Solid, ends_of, shape_of

__all__ = ["check_sides", "lining_of", "needs_of"]

_EVEN: Final = 0.01
"""Of a unit vector: two sides that look to the left as much as each other are both, or neither, the left one."""

_OTHER: Final[dict[FaceName, FaceName]] = {"left": "right", "right": "left"}


def check_sides(part: Solid, reserving: Reserving, ways: Ways) -> None:
    """Refuse sides that cannot be told, and linings on what is not flat.

    Raises
    ------
    Wrong
    """
    rotation = _standing(part, ways)
    for side in reserving.needs.given() if reserving.needs else ():
        _told_side(side, rotation, ways, ("needs", side))
    if reserving.lining:
        if getattr(part, "solids", None) is not None:
            raise Wrong("stands beside solids, needs one shape", mend="draw it as one of them", key=("lining",))
        along = _told_side(reserving.lining.face, rotation, ways, ("lining", "face"))
        key, shape, _ = shape_of(part)
        if not _flat(shape, along.axis):
            raise Wrong(
                f"is {reserving.lining.face}, where the {key} is not flat",
                why="a layer of even thickness on one face is known for flat faces only",
                mend="draw it as a part of its own, or use wrap for a layer all round",
                key=("lining", "face"),
            )


def _flat(shape: Shape, axis: int) -> bool:
    match shape:
        case model.Box():
            return True
        case model.Cylinder() | model.Tube() | model.Extrude():
            return "xyz".index(shape.along) == axis
        case _:
            return False


def _standing(part: Solid, ways: Ways) -> Matrix3:
    """How the shape is turned: with its part, or by its two ends."""
    ends = ends_of(part)
    return turn_matrix(turn_along(ends, ways) if ends else turn_of(part.turn, ways))


def _told_side(side: FaceName, rotation: Matrix3, ways: Ways, key: tuple[str, ...]) -> Along:
    """The own axis and sign of a side."""
    axis, sign = axis_of(ways, FACES[side])
    looks = sign * rotation[axis]
    order = np.argsort(-np.abs(looks))
    if abs(looks[order[0]]) - abs(looks[order[1]]) < _EVEN:
        what = f"is not known: the part is turned so that two of its sides look to the {side}"
        raise Wrong(what, mend="draw the room as a part of its own, of kind access", key=key)
    return Along(int(order[0]), 1 if looks[order[0]] > 0 else -1)


def needs_of(part: Solid, reserving: Reserving, ways: Ways, mirror: model.Mirror | None) -> tuple[model.Need, ...]:
    """The air a part needs; its sides were checked."""
    if reserving.needs is None:
        return ()
    own = mirror is not None and mirror.needs
    return tuple(
        model.Need(
            _OTHER.get(side, side) if mirror and not own else side, *_side(side, part, ways, mirror, own), depth
        )
        for side, depth in reserving.needs.given().items()
    )


def lining_of(part: Solid, reserving: Reserving, ways: Ways, mirror: model.Mirror | None) -> model.Lining | None:
    """The lining of a part of one shape; its face was checked."""
    if reserving.lining is None:
        return None
    own = mirror is not None and mirror.lined
    return model.Lining(*_side(reserving.lining.face, part, ways, mirror, own), reserving.lining.thickness)


def _side(side: FaceName, part: Solid, ways: Ways, mirror: model.Mirror | None, own: bool) -> Along:
    """The own axis and sign of a side, before a mirror image is reflected; `own`: stated for the image itself."""
    rotation = _standing(part, ways)
    if mirror is None or not own:
        return _told_side(side, rotation, ways, ())
    flip = np.eye(3)
    flip[mirror.axis, mirror.axis] = -1.0
    along = _told_side(side, flip @ rotation @ flip if mirror.turned else rotation, ways, ())
    return Along(along.axis, -along.sign if along.axis == mirror.axis and mirror.shaped else along.sign)
