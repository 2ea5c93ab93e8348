"""The grammar of motions: hinges, travels, rocking frames, paths and full turns."""

from __future__ import annotations

from math import dist, hypot
from typing import Annotated, Final, TypeAlias, cast, get_args

from pydantic import (
    Field,
    PlainValidator,
    ValidationInfo,
    WithJsonSchema,
    model_validator,
)

from packcheck.scene.grammar.holding import Settings
from packcheck.scene.grammar.stops import STEEPEST, Stops, WaysOut
from packcheck.scene.model import motion
from packcheck.scene.model.scene import CAR, Triple
from packcheck.scene.quantities.placement import Point, Strict
from packcheck.scene.quantities.resting import Names
from packcheck.scene.quantities.sizes import SMALLEST
from packcheck.scene.quantities.slots import (
    AnyLength,
    Degrees,
    Flag,
    Maybe,
    Name,
    Wrong,
    choice,
    read_number,
    row,
    words,
    written,
)

__all__ = ["MOVEMENTS", "Motion"]

MOVEMENTS: Final = ("hinge", "travel", "rock", "path", "way_out", "full_turn")
"""The ways of moving, one of which every motion has."""

WHOLE_TURN: Final = 360.0

_UNIT: Final = {"x": (1.0, 0.0, 0.0), "y": (0.0, 1.0, 0.0), "z": (0.0, 0.0, 1.0)}


def _way(value: object, info: ValidationInfo) -> Triple:
    """A unit vector: the name of an axis, or three numbers of any common length."""
    if isinstance(value, str) and value in _UNIT:
        return _UNIT[str(value)]
    if not isinstance(value, list):
        raise Wrong(f"is {written(value)}, needs x, y, z or a list: [x, y, z]")
    if len(value) != 3:
        raise Wrong(f"has {len(value)} values, needs 3: [x, y, z]")
    x, y, z = (read_number(number, info) for number in value)
    length = hypot(x, y, z)
    if length == 0:
        raise Wrong("is [0, 0, 0], needs to point somewhere")
    return x / length, y / length, z / length


Way: TypeAlias = Annotated[
    Triple,
    PlainValidator(_way),
    WithJsonSchema(
        {
            "anyOf": [
                {"enum": list(_UNIT)},
                {"type": "array", "items": {"type": ["number", "string"]}, "minItems": 3, "maxItems": 3},
            ]
        }
    ),
]


class Line(Strict):
    """A line: a point and an axis, or two points."""

    through: Maybe[Point] = Field(default=None, description="A point of the line; with axis.")
    axis: Maybe[Way] = Field(default=None, description="Where the line runs: x, y, z or [x, y, z].")
    between: Maybe[Annotated[tuple[Point, Point], row("from, to")]] = Field(
        default=None, description="Two points of the line, in place of through and axis."
    )

    @model_validator(mode="after")
    def _one_line(self) -> Line:
        given = [key for key in ("through", "axis") if getattr(self, key) is not None]
        if self.between is not None and given:
            raise Wrong(f"stands beside {given[0]}", why="two points say it all", key=("between",))
        if self.between is None and len(given) < 2:
            missing = " and ".join(key for key in ("through", "axis") if key not in given)
            raise Wrong(
                f"needs {missing}", why="a line has a place and a direction", mend="or give between: two points"
            )
        if self.between is not None and dist(*self.between) < SMALLEST:
            what = f"gives one place twice, needs two places at least {SMALLEST:g} mm apart"
            raise Wrong(what, why="a line of no length has no direction", key=("between", 1))
        return self

    @property
    def point(self) -> Triple:
        return self.between[0] if self.between else cast(Triple, self.through)

    @property
    def direction(self) -> Triple:
        """Unit vector, from the first point to the second, or along the axis."""
        if self.between is None:
            return cast(Triple, self.axis)
        x, y, z = (b - a for a, b in zip(*self.between, strict=True))
        length = dist(*self.between)
        return x / length, y / length, z / length


def _ordered(first: float, second: float, unit: str, *key: str) -> motion.Range:
    """Least end first. Refuses a range of nothing, as the fault of `key`."""
    if first == second:
        what = f"goes from {first:g} to {second:g} {unit}, needs two different ends"
        raise Wrong(what, why="a motion without a way moves nothing", key=key)
    return min(first, second), max(first, second)


class _Unplaced:
    placed_at = 0.0


_UNPLACED: Final = _Unplaced()
_PLACED_AT: Final = "Where on this way the parts were measured, when that was not at 0."


class Hinge(Line):
    """A turn about a line; the right thumb along it, the fingers curl the way a positive angle turns."""

    from_: Degrees = Field(default=0.0, alias="from", description="Degrees at one end.")
    to: Degrees = Field(description="Degrees at the other end.")
    placed_at: Degrees = Field(default=0.0, description=_PLACED_AT)

    @model_validator(mode="after")
    def _some_way(self) -> Hinge:
        _ordered(self.from_, self.to, "deg", "to")
        if abs(self.to - self.from_) > WHOLE_TURN:
            what = f"is {abs(self.to - self.from_):g} deg from from, needs at most {WHOLE_TURN:g} deg"
            raise Wrong(what, mend="use full_turn for what turns on and on", key=("to",))
        return self

    def movement(self) -> motion.Movement:
        return motion.Hinge(self.point, self.direction, _ordered(self.from_, self.to, "deg", "to"))


class FullTurn(Line):
    """All the way round a line: a fan, a pulley, a shaft."""

    def movement(self) -> motion.Movement:
        return motion.FullTurn(self.point, self.direction)


class Travel(Strict):
    """A straight shift."""

    by: Way = Field(description="The direction: x, y, z or [x, y, z]; its length does not matter.")
    from_: AnyLength = Field(default=0.0, alias="from", description="How far at one end; negative: the other way.")
    to: AnyLength = Field(description="How far at the other end.")
    placed_at: AnyLength = Field(default=0.0, description=_PLACED_AT)

    @model_validator(mode="after")
    def _some_way(self) -> Travel:
        _ordered(self.from_, self.to, "mm", "to")
        return self

    def movement(self) -> motion.Movement:
        return motion.Travel(self.by, _ordered(self.from_, self.to, "mm", "to"))


DegreeRange: TypeAlias = Annotated[tuple[Degrees, Degrees], row("least, greatest")]
LengthRange: TypeAlias = Annotated[tuple[AnyLength, AnyLength], row("least, greatest")]
_Ranges: TypeAlias = tuple[motion.Range | None, motion.Range | None, motion.Range | None]


class _Axes(Strict):
    def ranges(self, unit: str) -> _Ranges:
        """The range of x, y and z, least first."""
        x, y, z = (None if pair is None else _ordered(*pair, unit) for pair in map(self._pair, "xyz"))
        return x, y, z

    def _pair(self, axis: str) -> motion.Range | None:
        pair: motion.Range | None = getattr(self, axis)
        return pair

    def refuse_nothing(self, unit: str) -> None:
        for axis in "xyz":
            if pair := self._pair(axis):
                _ordered(*pair, unit, axis)


class Turns(_Axes):
    """Ranges of turn about axes, degrees."""

    x: Maybe[DegreeRange] = Field(default=None, description="Least and greatest turn about x, first.")
    y: Maybe[DegreeRange] = Field(default=None, description="Least and greatest turn about y, second.")
    z: Maybe[DegreeRange] = Field(default=None, description="Least and greatest turn about z, third.")

    @model_validator(mode="after")
    def _some_way(self) -> Turns:
        self.refuse_nothing("deg")
        for axis in "xyz":
            steepest = max(map(abs, self._pair(axis) or (0.0,)))
            if steepest > STEEPEST:
                what = f"reaches {steepest:g} deg, needs at most {STEEPEST:g} deg"
                raise Wrong(what, mend="use a hinge", key=(axis,))
        return self


class Shifts(_Axes):
    """Ranges of shift along axes."""

    x: Maybe[LengthRange] = Field(default=None, description="Least and greatest shift along x.")
    y: Maybe[LengthRange] = Field(default=None, description="Least and greatest shift along y.")
    z: Maybe[LengthRange] = Field(default=None, description="Least and greatest shift along z.")

    @model_validator(mode="after")
    def _some_way(self) -> Shifts:
        self.refuse_nothing("mm")
        return self


class Rock(Strict):
    """Something on rubber: turns about a point, and shifts, all at once."""

    about: Point = Field(
        default=(0.0, 0.0, 0.0), description="The point it turns about, such as between its mounts."
    )
    turn: Turns = Field(default=Turns(), description="Degrees about x, then y, then z.")
    shift: Shifts = Field(default=Shifts(), description="How far along x, y and z, after the turn.")

    @model_validator(mode="after")
    def _some_way(self) -> Rock:
        if not any((*self.turn.ranges("deg"), *self.shift.ranges("mm"))):
            raise Wrong("has no turn and no shift", why="a motion without a way moves nothing")
        return self

    def movement(self) -> motion.Movement:
        return motion.Rock(self.about, self.turn.ranges("deg"), self.shift.ranges("mm"))


_STATES: Final = get_args(motion.State)


class Motion(Strict):
    """Something that moves: who, how, and when."""

    carries: Names = Field(description="What it moves: parts, kinds, or a frame with all that hangs on it.")
    in_: Name = Field(default=CAR, alias="in", description="The frame or part whose coordinates these are.")
    hinge: Maybe[Hinge] = Field(default=None, description="A turn about a line: lid, deck, flap, lever, tensioner.")
    travel: Maybe[Travel] = Field(default=None, description="A straight shift: a wheel, a drawer, belt adjustment.")
    rock: Maybe[Rock] = Field(default=None, description="Turns and shifts at once: an engine on its mounts.")
    way_out: Maybe[WaysOut] = Field(
        default=None, description="How it is taken out: shifts from where it stands, one after the other."
    )
    path: Maybe[Stops] = Field(default=None, description="Poses one after the other: a linkage traced by hand.")
    full_turn: Maybe[FullTurn] = Field(default=None, description="All the way round: fan, pulley, shaft.")
    about: Maybe[Point] = Field(
        default=None,
        description="The point a path turns about; default the zero of what is carried.",
    )
    during: Annotated[motion.State, choice(*_STATES), words(*_STATES)] = Field(
        default="driving", description="driving or service: motions of one state act together, others stand still."
    )
    together: Flag = Field(default=True, description="false: checked alone, while all others stand still.")
    with_: Maybe[Settings] = Field(
        default=None, alias="with", description="Motions held at a setting meanwhile: {lid_opens: 65}."
    )

    @model_validator(mode="after")
    def _out_in_service(self) -> Motion:
        if self.way_out is not None and "during" in self.model_fields_set and self.during != "service":
            raise Wrong("is driving, needs service", why="nothing is taken out while driving", key=("during",))
        return self

    @property
    def state(self) -> motion.State:
        """When it moves; a way out is one of service."""
        return "service" if self.way_out is not None else self.during

    @property
    def joins(self) -> bool:
        """Whether it acts together with others: a way out does not, nor what holds another at a setting."""
        return self.together and self.way_out is None and self.with_ is None

    def movement(self) -> motion.Movement:
        """How it moves. It has one way of moving: `motion_faults` sees to that."""
        (key,) = (key for key in MOVEMENTS if getattr(self, key) is not None)
        if self.way_out is not None:
            stops = (motion.Stop(), *(motion.Stop(stop.at, stop.turn) for stop in self.way_out))
            return motion.Path(stops, self.about)
        if self.path is not None:
            return motion.Path(tuple(motion.Stop(stop.at, stop.turn) for stop in self.path), self.about)
        made: motion.Movement = getattr(self, key).movement()
        return made

    @property
    def placed_at(self) -> float:
        """Where on its way it stands in the file, degrees or mm."""
        return (self.hinge or self.travel or _UNPLACED).placed_at
