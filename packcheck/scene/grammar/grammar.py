"""The grammar of the scene file, version 1: what may be written where."""

from __future__ import annotations

from typing import Annotated, Any, Final, Literal, TypeAlias, cast, get_args

from pydantic import (
    BeforeValidator,
    ConfigDict,
    Field,
    PlainValidator,
    ValidationInfo,
    WithJsonSchema,
    model_validator,
)

from packcheck.scene.grammar.copying import Copies
from packcheck.scene.grammar.knowing import KnownSection, KnownSlot, KnownTolerances, Spread, StageSlot, Tolerance
from packcheck.scene.grammar.measuring import Measure
from packcheck.scene.grammar.moving import Motion
from packcheck.scene.grammar.reserving import Reserving
from packcheck.scene.grammar.sides import check_sides
from packcheck.scene.grammar.sureness import Uncertainty
from packcheck.scene.grammar.surveying import Check, Survey
from packcheck.scene.grammar.weights import Mass, Material, Wheels
from packcheck.scene.model.directions import OPPOSITE
from packcheck.scene.model.scene import CAR, Direction, Fit
from packcheck.scene.quantities.placement import Faces, Point, Strict, Turn
from packcheck.scene.quantities.resting import Names
from packcheck.scene.quantities.slots import (
    Context,
    Flag,
    Length,
    Maybe,
    Name,
    Prose,
    UnitSlot,
    Wrong,
    choice,
    many,
    row,
    words,
    written,
)
from packcheck.scene.solids.shapes import SHAPES, Solid
from packcheck.scene.solids.sizing import sized_by_faces
from packcheck.scene.text.nodes import Number

__all__ = [
    "FORMAT",
    "ROOT_ONLY",
    "SECTIONS",
    "Clearances",
    "Frame",
    "Gap",
    "Layout",
    "Part",
    "Rule",
    "SceneFile",
]

FORMAT: Final = 1
"""The one version of the scene format there is."""

SECTIONS: Final = ("params", "frames", "parts", "motions")
"""Maps of named things; those of all files are read as one."""

ROOT_ONLY: Final = ("default", "use", "seat")
"""Keys of `clearances` that only the root file may hold."""


_LENGTH_SCHEMA: Final = {"type": ["number", "string"]}


class Frame(Strict):
    """A datum to measure from."""

    in_: Name = Field(default=CAR, alias="in", description="The frame or part it is placed in.")
    at: Point = Field(default=(0.0, 0.0, 0.0), description="Where its zero sits, in that frame.")
    turn: Turn = Field(
        default=(0.0, 0.0, 0.0), description="Degrees about x, then y, then z of that frame; or in words."
    )
    tolerance: Tolerance = Field(
        default=Spread(), description="How far off it may be; shared by all that hangs on it."
    )
    known: Maybe[KnownSlot] = Field(default=None, description="How its place is known: a tolerance goes with it.")
    centreline: Flag = Field(
        default=False, description="Its zero stands on the car's centreline: mirror images are taken across it."
    )
    uncertainty: Maybe[Uncertainty] = Field(default=None, description="How far off it is likely to be.")
    datum: Flag = Field(
        default=True, description="false: not a point one can tape from, so no place is ever told from it."
    )


_FITS: Final = get_args(Fit)


class Part(Copies, Reserving, Solid):
    """A named thing: one solid, or several rigidly joined."""

    kind: Names = Field(default=[], description="What it is: drives the clearance rules.")
    in_: Name = Field(default=CAR, alias="in", description="The frame or part it is placed in, and moves with.")
    solids: Maybe[Annotated[list[Solid], many(1)]] = Field(
        default=None, description="Several solids, one rigid part."
    )
    faces: Maybe[Faces] = Field(
        default=None, description="Where faces of the part stand, as it lies after its turn; in place of at."
    )
    fixed: Flag = Field(default=False, description="No suggested move ever moves it.")
    wrap: Length = Field(default=0.0, description="Thickness of a layer all round: insulation, sleeve.")
    tolerance: Tolerance = Field(
        default=Spread(), description="Its surface may be this far from where this file says."
    )
    uncertainty: Maybe[Uncertainty] = Field(default=None, description="How far off its place is likely to be.")
    fit: Annotated[Fit, choice(*_FITS), words(*_FITS)] = Field(
        default="exact", description="encloses: the true part lies inside; about: a rough envelope."
    )
    bolted_to: Names = Field(default=[], description="Parts it is joined to on purpose.")
    mass: Maybe[Mass] = Field(default=None, description="What it weighs: 2.4 kg, 850 g, 5 lb; a bare number is kg.")
    material: Maybe[Material] = Field(
        default=None, description="What it is made of: its weight follows from its volume."
    )
    wall: Maybe[Length] = Field(
        default=None, description="It is hollow, and its walls are so thick; its shape is their outside."
    )
    known: Maybe[KnownSlot] = Field(default=None, description="How it is known: a tolerance goes with it.")
    stage: StageSlot = Field(default="final", description="The last stage that it is in the car for.")

    @model_validator(mode="before")
    @classmethod
    def _sized(cls, value: object, info: ValidationInfo) -> object:
        return sized_by_faces(value, info)

    @model_validator(mode="after")
    def _sided(self, info: ValidationInfo) -> Part:
        ways = cast(Context, info.context).axes
        shaped = self.solids is not None or any(getattr(self, key) is not None for key in SHAPES)
        if ways and shaped:
            check_sides(self, self, ways)
        return self

    @model_validator(mode="after")
    def _zero_of_several(self) -> Part:
        if self.solids is not None and self.anchor not in (None, "origin"):
            raise Wrong(
                f"is [{', '.join(self.anchor)}], needs origin",
                why="a part of several solids is placed by its own zero",
                mend="leave anchor out, and shift the solids",
                key=("anchor",),
            )
        return self


def _gap(value: object) -> object:
    if isinstance(value, list):
        raise Wrong("is a list, needs a length or {must, want}")
    return value if isinstance(value, dict) else {"must": value}


class Gap(Strict):
    """The limit at rest: under `must` it fails, from there to `want` it is close."""

    must: Length
    want: Maybe[Length] = Field(default=None)

    @model_validator(mode="after")
    def _ordered(self) -> Gap:
        if self.want is not None and self.want < self.must:
            raise Wrong(f"is {self.want:g} mm, needs at least must, {self.must:g} mm", key=("want",))
        return self


class Rule(Strict):
    """A clearance between two names: parts, kinds or *."""

    between: Annotated[tuple[Name, Name], row("a, b")] = Field(
        description="Two of: a part, a kind, or * for any part."
    )
    gap: Annotated[Gap, BeforeValidator(_gap)] = Field(description="A length, or {must, want}.")
    moving: Maybe[Length] = Field(
        default=None, description="What must remain at the worst pose of a motion; default must."
    )
    lower: Flag = Field(default=False, description="Allows going under another rule, for two named parts.")
    why: Prose = Field(default="", description="The reason, printed with the result.")
    source: Prose = Field(default="", description="Where the figure comes from.")

    @model_validator(mode="after")
    def _lowered_for_a_reason(self) -> Rule:
        if self.lower and not self.why:
            raise Wrong("needs why", why="a rule is only gone under for a stated reason", key=("lower",))
        return self


def _none_is_empty(value: object) -> object:
    return {} if value is None else value


def _none_is_no_item(value: object) -> object:
    return [] if value is None else value


class Clearances(Strict):
    """How much air is asked for."""

    default: Maybe[Length] = Field(default=None, description="Every pair without a rule of its own.")
    use: Annotated[Literal["common", "none"], choice("common", "none"), words("common", "none")] = "common"
    seat: Length = Field(default=1.0, description="Overlap or gap still called touching for parts bolted together.")
    rules: Annotated[list[Rule], BeforeValidator(_none_is_no_item)] = Field(default=[])


_DIRECTIONS: Final = get_args(Direction)
Way: TypeAlias = Annotated[Direction, choice(*_DIRECTIONS), words(*_DIRECTIONS)]
_VECTORS: Final = {"aft": (0, 1), "fore": (0, -1), "right": (1, 1), "left": (1, -1), "up": (2, 1), "down": (2, -1)}


class Axes(Strict):
    """Where positive x, y and z point, for someone seated facing forward."""

    x: Way = "aft"
    y: Way = "right"
    z: Way = "up"

    @model_validator(mode="after")
    def _right_handed(self) -> Axes:
        ways = {"x": self.x, "y": self.y, "z": self.z}
        pairs = [_VECTORS[way][0] for way in ways.values()]
        if len(set(pairs)) < 3:
            raise Wrong("needs one each of fore or aft, left or right, up or down")
        # An even permutation of aft, right, up is right-handed; each opposite way turns the hand round.
        turned = 1 if pairs in ([0, 1, 2], [1, 2, 0], [2, 0, 1]) else -1
        for way in ways.values():
            turned *= _VECTORS[way][1]
        if turned < 0:
            (axis,) = (axis for axis, way in ways.items() if _VECTORS[way][0] == 1)
            mend = f"turn one of them round, such as {axis}: {OPPOSITE[ways[axis]]}"
            raise Wrong("is left-handed, needs to be right-handed", mend=mend)
        return self


def _version(value: object) -> int:
    if isinstance(value, Number) and float(value) == FORMAT:
        return FORMAT
    raise Wrong(f"is {written(value)}, needs {FORMAT}, the version of the scene format")


Version: TypeAlias = Annotated[int, PlainValidator(_version), WithJsonSchema({"const": FORMAT})]
Expression: TypeAlias = Annotated[Any, WithJsonSchema(_LENGTH_SCHEMA)]


class Layout(Strict):
    """What one alternative changes. `packcheck.scene.expand.layouts` applies it to the scene as written."""

    model_config = ConfigDict(extra="allow")
    from_: Maybe[Name] = Field(default=None, alias="from", description="The layout it builds on.")


class SceneFile(Strict):
    """A packcheck scene."""

    packcheck: Version = Field(default=FORMAT, description="Version of the scene format.")
    title: Prose = ""
    units: UnitSlot = Field(default="mm", description="Unit of bare numbers.")
    axes: Axes = Axes()
    stage: Maybe[StageSlot] = Field(
        default=None, description="The stage to be checked: parts that are gone by then are left out."
    )
    known: KnownSection = Field(
        default=KnownTolerances(),
        description="How what does not say is known: tape; and how far off what is known in each way may be.",
    )
    list_within: Maybe[Length] = Field(default=None, description="List passing gaps up to this.")
    include: Names = Field(
        default=[], description="Other files with frames, parts and rules, from the folder of this one."
    )
    parts_from: Names = Field(default=[], description="Tables of parts (.csv), from the folder of this file.")
    params: Annotated[dict[str, Expression], BeforeValidator(_none_is_empty)] = Field(default={})
    frames: Annotated[dict[str, Frame], BeforeValidator(_none_is_empty)] = Field(default={})
    parts: Annotated[dict[str, Part], BeforeValidator(_none_is_empty)] = Field(default={})
    motions: Annotated[dict[str, Motion], BeforeValidator(_none_is_empty)] = Field(
        default={}, description="What moves, and how."
    )
    clearances: Annotated[Clearances, BeforeValidator(_none_is_empty)] = Clearances()
    measures: Annotated[dict[str, Measure], BeforeValidator(_none_is_empty)] = Field(
        default={}, description="Named distances and angles, with limits."
    )
    wheels: Maybe[Wheels] = Field(default=None, description="Where the four wheels touch the ground.")
    survey: Maybe[Survey] = Field(default=None, description="What was measured at the car, and what it places.")
    checks: Annotated[list[Check], BeforeValidator(_none_is_no_item)] = Field(
        default=[], description="Gaps measured on the finished car, to hold beside the predicted ones."
    )
    layouts: Annotated[dict[str, Layout], BeforeValidator(_none_is_empty)] = Field(
        default={}, description="Named alternatives: what changes. Maps merge, lists replace, null deletes."
    )
