"""The scene as plain frozen facts: what the file says, in mm and degrees, every name resolved.

Nothing here computes geometry. Collections keep the order of the file; `mark` says where a thing was written.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal, TypeAlias

from packcheck.errors import SourceMark
from packcheck.scene.features import Measure

__all__ = [
    "CAR",
    "Anchor",
    "Axes",
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
    "Mesh",
    "Mirror",
    "Part",
    "Pipe",
    "Rule",
    "Scene",
    "Shape",
    "SignedAxis",
    "SolidSpec",
    "Sphere",
    "Tape",
    "Triple",
    "Tube",
    "Wheels",
]

CAR = "car"
"""Name of the root frame."""

Triple: TypeAlias = tuple[float, float, float]
AxisName: TypeAlias = Literal["x", "y", "z"]
SignedAxis: TypeAlias = Literal["x", "y", "z", "-x", "-y", "-z"]
Direction: TypeAlias = Literal["fore", "aft", "left", "right", "up", "down"]
FaceName: TypeAlias = Literal["front", "rear", "left", "right", "top", "bottom"]
End: TypeAlias = Literal["min", "mid", "max"]
Anchor: TypeAlias = Literal["origin"] | tuple[End, End, End]
Fit: TypeAlias = Literal["exact", "encloses", "about"]
Side: TypeAlias = Literal["outer", "inner", "middle"]
Known: TypeAlias = Literal["guess", "tape", "calliper", "drawing"]
Stage: TypeAlias = Literal["mockup", "roller", "final"]
LengthUnit: TypeAlias = Literal["mm", "cm", "m", "in"]


@dataclass(frozen=True, slots=True)
class Axes:
    """What the positive x, y and z of the file point to, seen by someone seated facing forward."""

    x: Direction = "aft"
    y: Direction = "right"
    z: Direction = "up"


@dataclass(frozen=True, slots=True)
class Box:
    size: Triple


@dataclass(frozen=True, slots=True)
class Cylinder:
    diameter: float
    length: float
    along: AxisName = "z"


@dataclass(frozen=True, slots=True)
class Sphere:
    diameter: float


@dataclass(frozen=True, slots=True)
class Capsule:
    """`length` is overall, rounded ends included; at least `diameter`."""

    diameter: float
    length: float
    along: AxisName = "z"


@dataclass(frozen=True, slots=True)
class Cone:
    """Diameters `bottom` at the low end of `along`, `top` at the high end; one of them may be zero."""

    bottom: float
    top: float
    length: float
    along: AxisName = "z"


@dataclass(frozen=True, slots=True)
class Tube:
    """A pipe cut square at both ends with a through bore: diameters `outer` and `inner`."""

    outer: float
    inner: float
    length: float
    along: AxisName = "z"


@dataclass(frozen=True, slots=True)
class Pipe:
    """A round bar of diameter `outside` through points; corners bent to centreline radius `bend` (0: mitred)."""

    outside: float
    through: tuple[Triple, ...]
    bend: float = 0.0


@dataclass(frozen=True, slots=True)
class Extrude:
    """A flat outline (simple polygon, mm) swept from 0 to `thickness` along `along`.

    The outline's two coordinates are the other two axes in cyclic order: y, z for x; z, x for y; x, y for z.
    """

    outline: tuple[tuple[float, float], ...]
    thickness: float
    along: AxisName = "z"


@dataclass(frozen=True, slots=True)
class Tape:
    """A length of the part, mm: as the file has it, and by tape to within `tolerance` (over zero)."""

    in_file: float
    by_tape: float
    tolerance: float


@dataclass(frozen=True, slots=True)
class Mesh:
    """A geometry file. `unit` is mm per file unit (10 for cm); `thickness` and `side` make an open skin a sheet.

    `axes` are those of the file, with a sign, that become the part's own x, y and z. `bodies` are names or numbers,
    none for all. `crop` keeps what reaches into a box (least and greatest corner, own frame, mm); `least_piece`
    drops connected pieces smaller than that, mm; `simplify` is how far fewer triangles may stray, mm.
    """

    file: Path
    unit: float
    unit_name: LengthUnit
    thickness: float | None = None
    side: Side | None = None
    scale: float = 1.0
    mirror: AxisName | None = None
    axes: tuple[SignedAxis, SignedAxis, SignedAxis] = ("x", "y", "z")
    bodies: tuple[str, ...] = ()
    crop: tuple[Triple, Triple] | None = None
    least_piece: float = 0.0
    tape: Tape | None = None
    simplify: float = 0.0


Shape: TypeAlias = Box | Cylinder | Sphere | Capsule | Cone | Tube | Pipe | Extrude | Mesh


@dataclass(frozen=True, slots=True)
class SolidSpec:
    """One shape of a part: its anchor is put at `at` after `turn`, in the part's own frame."""

    shape: Shape
    anchor: Anchor
    at: Triple = (0.0, 0.0, 0.0)
    turn: Triple = (0.0, 0.0, 0.0)
    mark: SourceMark | None = None


@dataclass(frozen=True, slots=True)
class Frame:
    """A datum to measure from; `tolerance` (per axis of `parent`, mm) is shared by all that hangs on it.

    `tolerance_is_ball` says that one number was given: a distance in any direction.
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


@dataclass(frozen=True, slots=True)
class Face:
    """A face of a part, put `at` a coordinate of its parent, mm; `sign` 1: it looks up the `axis` (0, 1, 2).

    With `on` it rests: it comes from far out, against the way it looks, until it meets one of these parts, and then
    stands off that by `at`.
    """

    name: FaceName
    axis: int
    sign: int
    at: float
    mark: SourceMark | None = None
    on: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Mirror:
    """A part is the image of part `of`, across the middle, left to right, of frame `across`.

    `axis` (0, 1, 2) is the one that runs left or right. `placed`, `turned`, `shaped`, `known`: whether its place,
    its turn, its solids and its tolerance are those of the image; what is not stands in the file.
    """

    of: str
    across: str
    axis: int
    placed: bool = True
    turned: bool = True
    shaped: bool = True
    known: bool = True


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
    `tolerance` follows from that where the file states none. `stage` is the last one it is in the car for.
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

    `path` is the root file as the user named it; `files` every file read, root first; `digests` tell by file
    whether its content is still the one that was read. `stage` is the one to be checked (None: whatever there is),
    `known` the tolerance, mm, of each way of knowing. `layout` is the named alternative this is (None: as
    written), `layouts` all that the file holds.
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
    digests: Mapping[Path, str] = field(default_factory=dict, compare=False, repr=False)
