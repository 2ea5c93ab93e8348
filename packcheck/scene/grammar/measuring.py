"""The grammar of `measures`: named distances and angles, each with its limits."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any, Final, TypeAlias

from pydantic import (
    BeforeValidator,
    Discriminator,
    Field,
    PlainValidator,
    Tag,
    ValidationInfo,
    WithJsonSchema,
    model_validator,
)

from packcheck.errors import SourceMark
from packcheck.scene.model import features
from packcheck.scene.model.directions import FACES
from packcheck.scene.model.scene import CAR
from packcheck.scene.quantities.placement import Point, Strict
from packcheck.scene.quantities.slots import (
    MEASURE,
    AxisSlot,
    Degrees,
    Flag,
    Length,
    Maybe,
    Name,
    Prose,
    Wrong,
    read_degrees,
    read_length,
    row,
    written,
)
from packcheck.scene.text.nodes import Text

__all__ = ["SORTS", "Measure", "measures_of"]


def _named(value: object) -> features.Spot:
    """A name alone: the zero of a frame or part; with a face behind a dot, the middle of that face."""
    if not isinstance(value, Text) or not value.strip():
        raise Wrong(f"is {written(value)}, needs a name, [x, y, z] or {{in, at}}")
    name, dot, face = value.strip().rpartition(".")
    return features.Spot(name, face=face) if dot and face in FACES else features.Spot(value.strip())


class Placed(Strict):
    """A point in a frame or part."""

    in_: Name = Field(default=CAR, alias="in", description="The frame or part it stands on.")
    at: Point = Field(default=(0.0, 0.0, 0.0), description="Where, in that frame or part.")


def _form(value: object) -> str:
    return "as a map" if isinstance(value, dict) else "as a list" if isinstance(value, list) else "by name"


SpotSlot: TypeAlias = Annotated[
    Annotated[Placed, Tag("as a map")]
    | Annotated[Point, Tag("as a list")]
    | Annotated[features.Spot, PlainValidator(_named), WithJsonSchema({"type": "string"}), Tag("by name")],
    Discriminator(_form),
]


class Ends(Strict):
    """From one point to another."""

    from_: SpotSlot = Field(alias="from")
    to: SpotSlot


class Straight(Strict):
    """A line: from a point to another, or along an axis of a frame or part."""

    in_: Name = Field(default=CAR, alias="in", description="The frame or part it stands on.")
    at: Point = Field(
        default=(0.0, 0.0, 0.0),
        description="A point of it; its middle, when along an axis. Default: the part's middle.",
    )
    along: Maybe[AxisSlot] = Field(default=None, description="The axis of that frame or part it lies along.")
    length: Maybe[Length] = Field(default=None, description="How long it is; without, as long as the part.")
    to: Maybe[SpotSlot] = Field(default=None, description="Where it leads, in place of along.")

    @model_validator(mode="after")
    def _one_way(self) -> Straight:
        if (self.along is None) == (self.to is None):
            raise Wrong("needs along or to" if self.along is None else "has along and to, needs one of them")
        if self.to is not None and self.length is not None:
            raise Wrong("stands beside to", why="the two ends say it already", key=("length",))
        return self


class Reaching(Straight):
    """A line that distances are taken to: without ends, unless it has a `length` or `ends: true`."""

    ends: Maybe[Flag] = Field(default=None, description="true: distances count to no farther than its ends.")


class Flat(Strict):
    """A plane, square to an axis of a frame or part."""

    in_: Name = Field(default=CAR, alias="in", description="The frame or part it stands on.")
    at: Point = Field(default=(0.0, 0.0, 0.0), description="A point of it.")
    normal: AxisSlot = Field(description="The axis it is square to; distances count along it.")


class PointAndPlane(Strict):
    """How far a point stands from a plane, along its normal."""

    point: SpotSlot
    plane: Flat


class PointAndLine(Strict):
    """How far a point stands from a line."""

    point: SpotSlot
    line: Reaching


class TwoLines(Strict):
    """Two lines."""

    a: Reaching
    b: Reaching


class TwoAxes(Strict):
    """The axes of two pulleys."""

    a: Straight
    b: Straight


class TwoPlanes(Strict):
    """Two planes: how far the point of a stands from b, along the normal of b."""

    a: Flat
    b: Flat


def _direction(value: object) -> str:
    return "a plane" if isinstance(value, dict) and "normal" in value else "a line"


DirectionSlot: TypeAlias = Annotated[
    Annotated[Straight, Tag("a line")] | Annotated[Flat, Tag("a plane")], Discriminator(_direction)
]


class TwoDirections(Strict):
    """Two lines, two planes, or one of each."""

    a: DirectionSlot
    b: DirectionSlot


class Above(Strict):
    """How much one point stands above another."""

    of: SpotSlot
    above: SpotSlot


SORTS: Final = (
    *("distance", "to_line", "to_plane", "between_lines", "between_planes", "height"),
    *("angle", "incline", "slope", "restraint", "pulleys"),
)
"""The keys that say what is measured; a measure has one of them."""


def _limit(value: object, info: ValidationInfo) -> float:
    """A limit in the unit of what is measured: degrees, or a length."""
    if any(info.data.get(sort) is not None for sort in features.ANGLES):
        return read_degrees(value, info)
    return read_length(value, info)


LimitSlot: TypeAlias = Annotated[float, PlainValidator(_limit), MEASURE]


def _range(value: object, info: ValidationInfo) -> tuple[float, float]:
    assert isinstance(value, list)
    return _limit(value[0], info), _limit(value[1], info)


RangeSlot: TypeAlias = Annotated[
    tuple[float, float], PlainValidator(_range), BeforeValidator(row("least, most").func), MEASURE
]


class Measure(Strict):
    """Something the builder cares about, measured between points, lines and planes."""

    distance: Maybe[Ends] = Field(default=None, description="From point to point.")
    to_line: Maybe[PointAndLine] = Field(default=None, description="From a point to a line, such as an axis.")
    to_plane: Maybe[PointAndPlane] = Field(default=None, description="Of a point from a plane, along its normal.")
    between_lines: Maybe[TwoLines] = Field(default=None, description="Shortest distance of two lines.")
    between_planes: Maybe[TwoPlanes] = Field(default=None, description="Of one plane from another.")
    height: Maybe[Above] = Field(default=None, description="How much one point stands above another.")
    angle: Maybe[TwoDirections] = Field(default=None, description="Between two lines or planes, 0 to 90 degrees.")
    incline: Maybe[Straight] = Field(default=None, description="Angle of a line against the horizontal.")
    slope: Maybe[Ends] = Field(default=None, description="Degrees that a drain falls from its start to its end.")
    restraint: Maybe[Ends] = Field(default=None, description="Angle of a belt; printed, never judged here.")
    pulleys: Maybe[TwoAxes] = Field(default=None, description="Axes of two pulleys, each through its mid plane.")
    must: Maybe[LimitSlot] = Field(default=None, description="At least this; less fails.")
    want: Maybe[LimitSlot] = Field(default=None, description="Better this; less is close.")
    most: Maybe[LimitSlot] = Field(default=None, description="At most this; more fails.")
    range: Maybe[RangeSlot] = Field(default=None, description="From this to that, in place of must and most.")
    offset: Maybe[Length] = Field(default=None, description="Of pulleys: most they may stand out of line.")
    parallel: Maybe[Degrees] = Field(default=None, description="Of pulleys: most degrees between their axes.")
    why: Prose = Field(default="", description="The reason, printed with the result.")
    source: Prose = Field(default="", description="Where the figure comes from.")

    @model_validator(mode="after")
    def _whole(self) -> Measure:
        sorts = [sort for sort in SORTS if getattr(self, sort) is not None]
        if len(sorts) != 1:
            raise Wrong(
                f"{'has ' + ' and '.join(sorts) if sorts else 'measures nothing'}, needs one of {', '.join(SORTS)}"
            )
        for slip in _misfits(self, sorts[0]):
            raise slip
        return self


_LIMITS: Final = ("must", "want", "most", "range", "offset", "parallel")


def _misfits(measure: Measure, sort: str) -> Iterator[Wrong]:
    """What is wrong with its limits."""
    given = [key for key in _LIMITS if getattr(measure, key) is not None]
    allowed = {"pulleys": ("offset", "parallel"), "restraint": ()}.get(sort, ("must", "want", "most", "range"))
    for key in given:
        if key not in allowed:
            why = "it is for a qualified person to judge" if sort == "restraint" else ""
            mend = f"{sort} takes {', '.join(allowed) or 'none'}"
            yield Wrong(f"is no limit of {sort}", why=why, mend=mend, key=(key,))
    if not given and sort != "restraint":
        mend = f"write {' or '.join(allowed[:2])}, such as {allowed[0]}: 10"
        yield Wrong("has no limit", why="without one it could neither pass nor fail", mend=mend)
    if measure.range is not None and (measure.must is not None or measure.most is not None):
        yield Wrong("stands beside must or most, needs one of them", key=("range",))
    least, most = measure.range or (measure.must, measure.most)
    if least is not None and most is not None and most < least:
        yield Wrong(f"asks for at least {least:g} and at most {most:g}")
    if measure.want is not None and (least is None or measure.want < least):
        yield Wrong("needs must, and to be at least that", key=("want",))


def measures_of(name: str, measure: Measure, mark: SourceMark) -> tuple[features.Measure, ...]:
    """The measure as frozen facts; pulleys make two."""
    (sort,) = (sort for sort in SORTS if getattr(measure, sort) is not None)
    made = tuple(_feature(value) for value in _values(getattr(measure, sort)))
    words = (measure.why, measure.source, measure.note, mark)
    if sort == "pulleys":
        pairs = (("pulley_offset", measure.offset), ("pulley_parallel", measure.parallel))
        return tuple(
            features.Measure(name, which, made, None, None, most, *words)  # type: ignore[arg-type]
            for which, most in pairs
            if most is not None
        )
    least, most = measure.range or (measure.must, measure.most)
    return (features.Measure(name, sort, made, least, measure.want, most, *words),)  # type: ignore[arg-type]


def _values(value: Strict) -> list[Any]:
    """The features of a measure, in the order of its keys."""
    if isinstance(value, Straight):
        return [value]
    return [getattr(value, key) for key in type(value).model_fields if key != "note"]


def _feature(value: Any) -> features.Feature:
    match value:
        case Straight():
            end = None if value.to is None else _spot(value.to)
            ends = getattr(value, "ends", None)
            return features.Line(
                features.Spot(value.in_, value.at),
                end,
                value.along,
                value.length,
                ends=value.length is not None if ends is None else ends,
                centred=end is None and "at" not in value.model_fields_set,
            )
        case Flat():
            return features.Plane(features.Spot(value.in_, value.at), value.normal)
        case _:
            return _spot(value)


def _spot(value: Any) -> features.Spot:
    if isinstance(value, features.Spot):
        return value
    return features.Spot(value.in_, value.at) if isinstance(value, Placed) else features.Spot(CAR, value)
