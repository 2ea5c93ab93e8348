"""The scene as plain frozen facts: what the file says, in mm and degrees, every name resolved.

Nothing here computes geometry. Collections keep the order of the file; `mark` says where a thing was written.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Literal, TypeAlias

from packcheck.errors import SourceMark
from packcheck.scene.model.features import Measure
from packcheck.scene.model.motion import Held, Motion
from packcheck.scene.model.shapes import (
    AxisName,
    Box,
    Capsule,
    Cone,
    Cylinder,
    Extrude,
    LengthUnit,
    Mesh,
    Pipe,
    Shape,
    Side,
    SignedAxis,
    Skin,
    Sphere,
    Strip,
    Tape,
    Triple,
    Tube,
)
from packcheck.scene.model.standing import Mirror, Rest

if TYPE_CHECKING:
    from packcheck.scene.model.survey import Check, Survey, Uncertainty

__all__ = [
    "CAR",
    "Anchor",
    "Axes",
    "AxisName",
    "Box",
    "Capsule",
    "Clearances",
    "Cone",
    "Cylinder",
    "Extrude",
    "Face",
    "FaceName",
    "Fit",
    "Frame",
    "LengthUnit",
    "Lining",
    "Mesh",
    "Mirror",
    "Need",
    "Part",
    "Pipe",
    "Rest",
    "Rule",
    "Scene",
    "Shape",
    "Side",
    "SignedAxis",
    "Skin",
    "SolidSpec",
    "Sphere",
    "Strip",
    "Tape",
    "Triple",
    "Tube",
    "Wheels",
]

CAR = "car"
"""Name of the root frame."""

Direction: TypeAlias = Literal["fore", "aft", "left", "right", "up", "down"]
FaceName: TypeAlias = Literal["front", "rear", "left", "right", "top", "bottom"]
End: TypeAlias = Literal["min", "mid", "max"]
Anchor: TypeAlias = Literal["origin"] | tuple[End, End, End]
Fit: TypeAlias = Literal["exact", "encloses", "about"]
Known: TypeAlias = Literal["guess", "tape", "calliper", "drawing"]
Stage: TypeAlias = Literal["mockup", "roller", "final"]


@dataclass(frozen=True, slots=True)
class Axes:
    """What the positive x, y and z of the file point to, seen by someone seated facing forward."""

    x: Direction = "aft"
    y: Direction = "right"
    z: Direction = "up"


@dataclass(frozen=True, slots=True)
class Lining:
    """A layer on the flat face of a shape that looks up (`sign` 1) or down its own `axis` (0, 1, 2); mm."""

    axis: int
    sign: int
    thickness: float


@dataclass(frozen=True, slots=True)
class Need:
    """Air `depth` mm deep, on the `side` that looks up (`sign` 1) or down an own `axis` (0, 1, 2).

    Own axes are those of the part's one shape, or of the part that has several, before a mirror reflects them.
    `held` are the motions that stand at a setting while that air is used.
    """

    side: FaceName
    axis: int
    sign: int
    depth: float
    held: tuple[Held, ...] = ()


@dataclass(frozen=True, slots=True)
class SolidSpec:
    """One shape of a part: its anchor is put at `at` after `turn`, in the part's own frame."""

    shape: Shape
    anchor: Anchor
    at: Triple = (0.0, 0.0, 0.0)
    turn: Triple = (0.0, 0.0, 0.0)
    mark: SourceMark | None = None
    lining: Lining | None = None


@dataclass(frozen=True, slots=True)
class Frame:
    """A datum to measure from; `tolerance` (per axis of `parent`, mm) is shared by all that hangs on it.

    `tolerance_is_ball` says that one number was given: a distance in any direction. Where `datum` is off it only
    places others: nobody can tape from it, so no place is told from it.
    """

    name: str
    parent: str = CAR
    at: Triple = (0.0, 0.0, 0.0)
    turn: Triple = (0.0, 0.0, 0.0)
    tolerance: Triple = (0.0, 0.0, 0.0)
    tolerance_is_ball: bool = True
    note: str = ""
    mark: SourceMark | None = None
    known: Known | None = None
    centreline: bool = False
    uncertainty: Uncertainty | None = None
    datum: bool = True


@dataclass(frozen=True, slots=True)
class Face:
    """A face of a part, put `at` a coordinate of its parent, mm; `sign` 1: it looks up the `axis` (0, 1, 2).

    The middle between two faces has `sign` 0.
    With `on` it rests: it comes from far out, against the way it looks, until it meets one of these parts, and then
    stands off that by `at`.
    """

    name: FaceName | Literal["middle"]
    axis: int
    sign: int
    at: float
    mark: SourceMark | None = None
    on: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Part:
    """A named thing. `at` and `turn` place its own frame in `parent` (a frame or a part).

    The part's own frame has its origin at the anchor of a single solid, so what is placed `in` this part is
    measured from there. `tolerance` is per axis of `parent`; all three equal when one number was given, and
    then `tolerance_is_ball` says it is a distance in any direction. `placed` is False when the file gives no place,
    neither `at` nor coordinates in the solid itself: then it stands at the zero of `parent`. Where `faces` are
    given, `at` is what the coordinates of the faces count from, and the part's own place is not known before the
    solids are: the assembly settles it, and where a `mirror` image stands. `family` is the row it is one of. `mass`
    kg; `wall` mm: hollow, with walls of that thickness inside its shape. `known` says how it was measured;
    `tolerance` follows from that where the file states none, and `stated` is False where it says nothing of the
    two. `stage` is the last one it is in the car for. `air_of` is the part that needs this one's room, where it is
    nothing but that. `rest` is how it was put where it is, once a face that rests is settled. `held` are motions
    that stand at a setting while this room is used: it is asked then and not otherwise.
    """

    name: str
    solids: tuple[SolidSpec, ...]
    kinds: tuple[str, ...] = ()
    parent: str = CAR
    at: Triple = (0.0, 0.0, 0.0)
    turn: Triple = (0.0, 0.0, 0.0)
    wrap: float = 0.0
    tolerance: Triple = (0.0, 0.0, 0.0)
    tolerance_is_ball: bool = True
    fit: Fit = "exact"
    fixed: bool = False
    bolted_to: tuple[str, ...] = ()
    goes_into: tuple[str, ...] = ()
    placed: bool = True
    note: str = ""
    mark: SourceMark | None = None
    faces: tuple[Face, ...] = ()
    mass: float | None = None
    material: str | None = None
    wall: float | None = None
    known: Known | None = None
    stage: Stage = "final"
    family: str = ""
    mirror: Mirror | None = None
    needs: tuple[Need, ...] = ()
    air_of: str = ""
    uncertainty: Uncertainty | None = None
    stated: bool = True
    held: tuple[Held, ...] = ()
    rest: Rest | None = None


@dataclass(frozen=True, slots=True)
class Wheels:
    """Where the tyres touch the ground, (3,) mm, car frame."""

    front_left: Triple
    front_right: Triple
    rear_left: Triple
    rear_right: Triple


@dataclass(frozen=True, slots=True)
class Rule:
    """One clearance rule of the scene. `between` holds part names, kinds or `*`; gaps in mm."""

    between: tuple[str, str]
    must: float
    want: float | None = None
    moving: float | None = None
    lower: bool = False
    why: str = ""
    source: str = ""
    mark: SourceMark | None = None


@dataclass(frozen=True, slots=True)
class Clearances:
    """`default` is None when the file states none; then the packaged defaults (if used) or 10 mm apply."""

    default: float | None = None
    use: Literal["common", "none"] = "common"
    seat: float = 1.0
    rules: tuple[Rule, ...] = ()
    default_mark: SourceMark | None = None


@dataclass(frozen=True, slots=True)
class Scene:
    """A whole scene.

    `path` is the root file as the user named it; `files` every file read, root first; `named` every file that any
    layout names; `digests` tell by file whether its content is still the one that was read. `stage` is the one to
    be checked (None: whatever there is), `known` the tolerance, mm, of each way of knowing. `layout` is the named
    alternative this is (None: as written), `layouts` all that the file holds; `as_written` makes a layout's scene
    without it, of the same reading.
    """

    path: str
    title: str = ""
    units: LengthUnit = "mm"
    axes: Axes = Axes()
    list_within: float | None = None
    params: Mapping[str, float] = field(default_factory=dict)
    frames: Mapping[str, Frame] = field(default_factory=dict)
    parts: Mapping[str, Part] = field(default_factory=dict)
    clearances: Clearances = Clearances()
    note: str = ""
    files: tuple[Path, ...] = ()
    wheels: Wheels | None = None
    stage: Stage | None = None
    known: Mapping[Known, float] = field(default_factory=dict)
    measures: tuple[Measure, ...] = ()
    layout: str | None = None
    layouts: tuple[str, ...] = ()
    survey: Survey | None = None
    checks: tuple[Check, ...] = ()
    digests: Mapping[Path, str] = field(default_factory=dict, compare=False, repr=False)
    named: tuple[Path, ...] = field(default=(), compare=False, repr=False)
    motions: Mapping[str, Motion] = field(default_factory=dict)
    as_written: Callable[[], Scene] | None = field(default=None, compare=False, repr=False)

    @property
    def sources(self) -> tuple[Path, ...]:
        """Every file that the scene is made from, or could be in another layout."""
        return tuple(dict.fromkeys([*self.files, *self.named]))
