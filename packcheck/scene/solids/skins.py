"""The grammar of skins: a sheet through a grid of measured heights."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Final, TypeAlias, cast, get_args

import numpy as np
from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ModelWrapValidatorHandler,
    PrivateAttr,
    ValidationInfo,
    WithJsonSchema,
    model_validator,
)

from packcheck.scene.model import scene as model
from packcheck.scene.model.directions import Along, axis_of
from packcheck.scene.model.scene import Direction, Shape, Side
from packcheck.scene.quantities.placement import Strict
from packcheck.scene.quantities.sizes import SMALLEST, Size
from packcheck.scene.quantities.slots import (
    AnyLength,
    Context,
    Flag,
    Length,
    Maybe,
    Untold,
    Wrong,
    choice,
    words,
    written,
)
from packcheck.scene.text.hints import joined

__all__ = ["MOST_POINTS", "Skin"]

MOST_POINTS: Final = 2500
"""Points of one grid: fifty by fifty, more than anybody measures by hand."""

_WAYS: Final = get_args(Direction)
_SIDES: Final = get_args(Side)


def _rows(value: object) -> object:
    """A list of lengths, or a list of such lists, as rows."""
    if not isinstance(value, list):
        raise Wrong(f"is {written(value)}, needs a list of lengths, or a list of such lists")
    if not value:
        raise Wrong("is an empty list, needs lengths")
    nested = [isinstance(row, list) for row in value]
    if any(nested) and not all(nested):
        raise Wrong("mixes lengths and lists of lengths", key=(nested.index(not nested[0]),))
    return {"rows": value} if nested[0] else {"line": value}


class _Measured(BaseModel):
    """What was read along one direction: one line for every station, or a row of its own for each."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    line: list[AnyLength] = Field(default=[])
    rows: list[list[AnyLength]] = Field(default=[])


_LENGTHS: Final = {"type": "array", "items": {"type": ["number", "string"]}}
Readings: TypeAlias = Annotated[
    _Measured,
    BeforeValidator(_rows),
    WithJsonSchema({"anyOf": [_LENGTHS, {"type": "array", "items": _LENGTHS}]}),
]


class Skin(Strict):
    """A sheet through a grid of measured points: stations, places along each of them, heights there.

    The three directions are read in the order in which they are written: first the stations, then the places along
    each (one list for all, or one for each station), last the heights, a list for each station.
    """

    fore: Maybe[Readings] = Field(default=None, description="Distances forward.")
    aft: Maybe[Readings] = Field(default=None, description="Distances aft.")
    left: Maybe[Readings] = Field(default=None, description="Distances to the left.")
    right: Maybe[Readings] = Field(default=None, description="Distances to the right.")
    up: Maybe[Readings] = Field(default=None, description="Distances up.")
    down: Maybe[Readings] = Field(default=None, description="Distances down.")
    side: Annotated[Side, choice(*_SIDES), words(*_SIDES)] = Field(
        description="Which face was measured; its outside lies the way the heights count."
    )
    thickness: Size = Field(description="Of the sheet.")
    between: Length = Field(
        description="The most that the true surface stands off a straight-edge laid between neighbouring points."
    )
    to_edges: Flag = Field(
        default=False,
        description="The readings reach the edges of the real panel; beyond them there is nothing.",
    )
    _shape: model.Skin | None = PrivateAttr(default=None)

    @model_validator(mode="wrap")
    @classmethod
    def _gridded(cls, value: object, handler: ModelWrapValidatorHandler[Skin], info: ValidationInfo) -> Skin:
        made = handler(value)
        order = [way for way in value if way in _WAYS] if isinstance(value, dict) else []
        if not cast(Context, info.context).axes:
            raise Untold()
        made._shape = _shaped(made, [cast(Direction, str(way)) for way in order], info)
        return made

    def shape(self) -> Shape:
        assert self._shape is not None
        return self._shape


def _shaped(skin: Skin, order: list[Direction], info: ValidationInfo) -> model.Skin:
    ways = cast(Context, info.context).axes
    along = {way: axis_of(ways, way) for way in order}
    _refuse_other_than_three(order, along)
    stations, places, heights = order
    given: dict[Direction, _Measured] = {way: getattr(skin, way) for way in order}
    if given[stations].rows:
        raise Wrong("comes first and is a list of lists, needs a list: the stations", key=(stations,))
    if not given[heights].rows:
        why = "the direction written last holds the heights"
        raise Wrong("comes last and is a list, needs a list of heights for each station", why=why, key=(heights,))
    first = given[stations].line
    across = given[places].rows or [given[places].line] * len(first)
    _check_size(first, across, given[heights].rows, order)
    _check_steady(first, (stations,))
    for k, row in enumerate(across):
        _check_steady(row, (places, k) if given[places].rows else (places,))
    grid = np.zeros((len(first), len(across[0]), 3))
    for way, values in ((stations, np.array(first)[:, None]), (places, across), (heights, given[heights].rows)):
        grid[..., along[way].axis] = np.asarray(values) * along[way].sign
    points = tuple(tuple((float(x), float(y), float(z)) for x, y, z in row) for row in grid)
    up = (along[heights].axis, along[heights].sign)
    return model.Skin(points, up, skin.thickness, skin.side, skin.between, skin.to_edges)


def _refuse_other_than_three(order: list[Direction], along: Mapping[Direction, Along]) -> None:
    if len(order) != 3 or len({there.axis for there in along.values()}) != 3:
        got = joined(list(order), " and ") if order else "no direction"
        what = f"has {got}, needs three: one of fore and aft, one of left and right, one of up and down"
        raise Wrong(what, why="stations along one, places along the next, heights along the last")


def _check_size(
    stations: list[float], places: list[list[float]], heights: list[list[float]], order: list[Direction]
) -> None:
    """As many rows as stations, as many heights in each as places, and two of either at least."""
    counts = {order[0]: len(stations), order[1]: len(places[0])}
    for way, count in counts.items():
        if count < 2:
            raise Wrong(f"lists {count}, needs at least 2", key=(way,))
    if len(stations) * len(places[0]) > MOST_POINTS:
        raise Wrong(f"has {len(stations) * len(places[0])} points, needs at most {MOST_POINTS}", mend="use a mesh")
    for way, rows in ((order[1], places), (order[2], heights)):
        if len(rows) != len(stations):
            what = f"has {len(rows)} rows, needs {len(stations)}, one for each {order[0]}"
            turned = len(rows) == len(places[0]) and all(len(row) == len(stations) for row in rows)
            mend = f"write {order[1]} before {order[0]}" if turned and way == order[2] else ""
            raise Wrong(what, mend=mend, key=(way,))
        for k, row in enumerate(rows):
            if len(row) != len(places[0]):
                raise Wrong(f"has {len(row)} values, needs {len(places[0])}, one for each place", key=(way, k))


def _check_steady(values: list[float], key: tuple[str | int, ...]) -> None:
    steps = np.diff(values)
    turns = np.abs(steps) < SMALLEST
    turns |= np.sign(steps) != np.sign(steps[0])
    if turns.any():
        at = int(np.argmax(turns)) + 1
        what = f"goes from {values[at - 1]:g} to {values[at]:g} mm, needs to go on one way"
        raise Wrong(what, mend="list them in the order in which they lie", key=(*key, at))
