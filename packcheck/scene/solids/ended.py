"""The grammar of round solids and bars: known by a length along an axis, or by their two ends."""

from __future__ import annotations

from math import dist
from typing import Annotated, Final, Self, TypeAlias

import numpy as np
from pydantic import Field, model_validator

from packcheck.arrays import Vector
from packcheck.frames import turn_degrees
from packcheck.scene.model import scene as model
from packcheck.scene.model.directions import Ways, axis_of
from packcheck.scene.model.scene import Direction, Shape, Triple
from packcheck.scene.quantities.placement import Point, Strict
from packcheck.scene.quantities.sizes import Size
from packcheck.scene.quantities.slots import AxisSlot, Length, Maybe, Wrong, row
from packcheck.scene.quantities.soundness import refuse_one_place

__all__ = ["ROUND", "Bar", "Capsule", "Cone", "Cylinder", "Ended", "Ends", "Tube", "turn_along"]

ROUND: Final = ("cylinder", "capsule", "cone", "tube")
"""Shapes that are `Ended`."""

Ends: TypeAlias = tuple[Triple, Triple]
"""From where to where, mm."""


class Ended(Strict):
    """A solid of revolution, known by its length or by its two ends."""

    length: Maybe[Size] = Field(
        default=None, description="Overall length; not with from and to. The word faces where two faces give it."
    )
    along: AxisSlot = Field(default="z", description="The axis it lies along; not with from and to.")
    from_: Maybe[Point] = Field(default=None, alias="from", description="The middle of one end, in place of at.")
    to: Maybe[Point] = Field(default=None, description="The middle of the other end.")

    @model_validator(mode="after")
    def _some_way(self) -> Self:
        if self.ends:
            refuse_one_place(*self.ends)
        return self

    @property
    def ends(self) -> Ends | None:
        """From where to where, mm, when it is given so."""
        return None if self.from_ is None or self.to is None else (self.from_, self.to)

    @property
    def overall(self) -> float:
        """mm; 0 when neither a length nor both ends are given, which is a fault told elsewhere."""
        return dist(*self.ends) if self.ends else self.length or 0.0


class Cylinder(Ended):
    """A round bar cut square at both ends."""

    diameter: Size

    def shape(self) -> Shape:
        return model.Cylinder(self.diameter, self.overall, self.along)


class Capsule(Ended):
    """A round bar with ball ends; the length is overall."""

    diameter: Size

    @model_validator(mode="after")
    def _long_enough(self) -> Capsule:
        if 0 < self.overall < self.diameter:
            key, away = ("to", " away") if self.ends else ("length", "")
            what = f"is {self.overall:g} mm{away}, needs at least the diameter, {self.diameter:g} mm"
            raise Wrong(what, why="a capsule's length is overall, round ends included", key=(key,))
        return self

    def shape(self) -> Shape:
        return model.Capsule(self.diameter, self.overall, self.along)


class Cone(Ended):
    """A cone or a frustum: diameters at the low and the high end of its axis."""

    bottom: Length
    top: Length

    @model_validator(mode="after")
    def _some_width(self) -> Cone:
        if not self.bottom and not self.top:
            raise Wrong("has bottom and top 0, needs one of them larger")
        return self

    def shape(self) -> Shape:
        return model.Cone(self.bottom, self.top, self.overall, self.along)


class Tube(Ended):
    """A straight pipe, open at both ends."""

    outer: Size = Field(description="Outside diameter.")
    inner: Size = Field(description="Diameter of the bore.")

    @model_validator(mode="after")
    def _some_wall(self) -> Tube:
        if self.inner >= self.outer:
            raise Wrong(f"is {self.inner:g} mm, needs less than outer, {self.outer:g} mm", key=("inner",))
        return self

    def shape(self) -> Shape:
        return model.Tube(self.outer, self.inner, self.overall, self.along)


class Bar(Strict):
    """A square-cut bar between two points."""

    from_: Point = Field(alias="from", description="The middle of one end, in place of at.")
    to: Point = Field(description="The middle of the other end.")
    section: Annotated[tuple[Size, Size], row("width, height")] = Field(
        description="Width, level; height. Of a bar nearer upright than level: left to right; fore to aft."
    )

    @model_validator(mode="after")
    def _some_way(self) -> Bar:
        refuse_one_place(*self.ends)
        return self

    @property
    def ends(self) -> Ends:
        return self.from_, self.to

    def shape(self) -> Shape:
        return model.Box((*self.section, dist(*self.ends)))


def turn_along(ends: Ends, ways: Ways) -> Triple:
    r"""The turn, degrees about x, then y, then z, that lays a solid's own z from the first end to the second.

    Its own y stays as near to upright as it can, and its own x level; of a solid nearer upright than level its own
    y stays as near as it can to fore and aft, and its own x lies from left to right:

           y                     ends seen along the bar
        +--|--+
        |  o--|-- x
        +-----+
    """
    z = np.subtract(ends[1], ends[0]) / dist(*ends)
    up, fore = (_unit_along(ways, way) for way in ("up", "fore"))
    y = fore if abs(z @ up) > np.sqrt(0.5) else up
    y = y - (y @ z) * z
    y = y / np.linalg.norm(y)
    return turn_degrees(np.column_stack([np.cross(y, z), y, z]))


def _unit_along(ways: Ways, way: Direction) -> Vector:
    axis, sign = axis_of(ways, way)
    unit: Vector = sign * np.eye(3)[axis]
    return unit
