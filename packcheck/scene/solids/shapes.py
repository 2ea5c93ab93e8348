"""The grammar of solids: what may be written for each, and the shape it makes."""

from __future__ import annotations

from typing import Annotated, Any, Final, Literal, TypeAlias, cast, get_args

from pydantic import Discriminator, Field, PlainValidator, Tag, WithJsonSchema, model_validator

from packcheck.scene.model import scene as model
from packcheck.scene.model.scene import Anchor, End, Shape, Triple
from packcheck.scene.quantities.placement import Point, Strict, Turn, either
from packcheck.scene.quantities.sizes import Size
from packcheck.scene.quantities.slots import (
    AnyLength,
    AxisSlot,
    Length,
    Maybe,
    Wrong,
    many,
    row,
    written,
)
from packcheck.scene.quantities.soundness import check_outline, check_pipe
from packcheck.scene.solids.bent import Strip
from packcheck.scene.solids.ended import Bar, Capsule, Cone, Cylinder, Ended, Ends, Tube
from packcheck.scene.solids.mesh_shape import Mesh
from packcheck.scene.solids.skins import Skin
from packcheck.scene.text.hints import nearest

__all__ = ["ENDED", "OWN_ZERO", "SHAPES", "Solid", "ends_of", "shape_of"]

Sizes: TypeAlias = Annotated[tuple[Size, Size, Size], row("x, y, z")]
FlatPoint: TypeAlias = Annotated[tuple[AnyLength, AnyLength], row("x, y")]

SHAPES: Final = ("box", "cylinder", "sphere", "capsule", "cone", "tube", "pipe", "extrude", "strip", "skin", "mesh")
"""Keys of which every solid has exactly one."""

ENDED: Final = ("box", "cylinder", "capsule", "cone", "tube")
"""Shapes that may be given by their two ends."""

OWN_ZERO: Final = ("pipe", "extrude", "strip", "skin", "mesh")
"""Shapes that carry coordinates of their own, so that their anchor is their zero unless the file says otherwise."""


class Sphere(Strict):
    """A ball."""

    diameter: Size

    def shape(self) -> Shape:
        return model.Sphere(self.diameter)


class Pipe(Strict):
    """A round bar through points, for hoses, pipes and exhausts."""

    outside: Size = Field(description="Outside diameter.")
    through: Annotated[list[Point], many(2)] = Field(description="Points of the centreline.")
    bend: Length = Field(default=0.0, description="Centreline radius of the bends; 0 for mitred corners.")

    @model_validator(mode="after")
    def _bendable(self) -> Pipe:
        check_pipe(self.outside, self.through, self.bend)
        return self

    def shape(self) -> Shape:
        return model.Pipe(self.outside, tuple(self.through), self.bend)


class Extrude(Strict):
    """A flat outline given thickness."""

    outline: Annotated[list[FlatPoint], many(3)] = Field(description="Corners, in order round the edge.")
    thickness: Size
    along: AxisSlot = "z"

    @model_validator(mode="after")
    def _simple(self) -> Extrude:
        check_outline(self.outline)
        return self

    def shape(self) -> Shape:
        return model.Extrude(tuple(self.outline), self.thickness, self.along)


_ENDS = get_args(End)


def _end(value: object) -> End:
    if isinstance(value, str) and value in _ENDS:
        return cast(End, str(value))
    why = "min is the low end of its own box along that axis, max the high end"
    raise Wrong(f"is {written(value)}, needs min, mid or max", why=why, mend=lambda: nearest(str(value), _ENDS))


def _origin(value: object) -> Literal["origin"]:
    if value == "origin":
        return "origin"
    needed = "needs origin, or min, mid or max for each of x, y, z, such as [mid, mid, min]"
    raise Wrong(f"is {written(value)}, {needed}")


_EndSlot: TypeAlias = Annotated[End, PlainValidator(_end)]
AnchorSlot: TypeAlias = Annotated[
    Annotated[Literal["origin"], PlainValidator(_origin), Tag("origin")]
    | Annotated[tuple[_EndSlot, _EndSlot, _EndSlot], row("x, y, z"), Tag("ends")],
    Discriminator(lambda value: "ends" if isinstance(value, list) else "origin"),
    WithJsonSchema(
        {
            "anyOf": [
                {"const": "origin"},
                {"type": "array", "items": {"enum": list(_ENDS)}, "minItems": 3, "maxItems": 3},
            ]
        }
    ),
]


class Solid(Strict):
    """One solid: exactly one shape, and where it stands."""

    # A default of None marks a key that was not written; writing null there is still refused.
    box: Maybe[
        Annotated[
            Annotated[Sizes, Tag("as a list")] | Annotated[Bar, Tag("as a map")],
            either("from", "to", "section"),
        ]
    ] = Field(
        default=None,
        description="Full sizes along its own x, y, z; or a bar from one point to another. "
        "The word faces for a size that two opposite faces give.",
    )
    cylinder: Maybe[Cylinder] = Field(default=None)
    sphere: Maybe[Sphere] = Field(default=None)
    capsule: Maybe[Capsule] = Field(default=None)
    cone: Maybe[Cone] = Field(default=None)
    tube: Maybe[Tube] = Field(default=None)
    pipe: Maybe[Pipe] = Field(default=None)
    extrude: Maybe[Extrude] = Field(default=None)
    strip: Maybe[Strip] = Field(default=None)
    skin: Maybe[Skin] = Field(default=None)
    mesh: Maybe[Mesh] = Field(default=None)
    at: Point = Field(default=(0.0, 0.0, 0.0), description="Where its anchor sits.")
    turn: Turn = Field(
        default=(0.0, 0.0, 0.0),
        description="Degrees about x, then y, then z; fixed axes, right-handed; or in words.",
    )
    anchor: Maybe[AnchorSlot] = Field(default=None, description="The point of its own box that `at` places.")


def shape_of(solid: Solid) -> tuple[str, Shape, Anchor]:
    """The key, the shape and the anchor of a solid that has exactly one shape."""
    (key,) = (key for key in SHAPES if getattr(solid, key) is not None)
    given: Any = getattr(solid, key)
    shape = model.Box(cast(Triple, given)) if isinstance(given, tuple) else given.shape()
    return key, shape, solid.anchor or _default_anchor(key, solid)


def _default_anchor(key: str, solid: Solid) -> Anchor:
    if key in OWN_ZERO:
        return "origin"
    return ("mid", "mid", "min") if ends_of(solid) else ("mid", "mid", "mid")


def ends_of(solid: Solid) -> Ends | None:
    """The two ends (3,) mm of a solid that is given by them."""
    for key in ENDED:
        given = getattr(solid, key)
        if isinstance(given, (Ended, Bar)):
            return given.ends
    return None
