"""Shapes as plain frozen facts, in mm."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal, TypeAlias

__all__ = [
    "AxisName",
    "Box",
    "Capsule",
    "Cone",
    "Cylinder",
    "Extrude",
    "LengthUnit",
    "Mesh",
    "Pipe",
    "Shape",
    "Side",
    "SignedAxis",
    "Skin",
    "Sphere",
    "Strip",
    "Tape",
    "Triple",
    "Tube",
]

Triple: TypeAlias = tuple[float, float, float]
AxisName: TypeAlias = Literal["x", "y", "z"]
SignedAxis: TypeAlias = Literal["x", "y", "z", "-x", "-y", "-z"]
Side: TypeAlias = Literal["outer", "inner", "middle"]
LengthUnit: TypeAlias = Literal["mm", "cm", "m", "in"]


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


@dataclass(frozen=True, slots=True)
class Strip:
    """A flat bar, `width` by `thickness`, through points; bent flatwise to centreline radius `bend` (0: mitred).

    `flat` (3,) is the unit vector along its width, square to all of its legs.
    """

    width: float
    thickness: float
    through: tuple[Triple, ...]
    flat: Triple
    bend: float = 0.0


@dataclass(frozen=True, slots=True)
class Skin:
    """A sheet through a grid of points: `grid` has rows (stations) of equally many points, own frame, mm.

    `up` is the axis and the sign along which the heights count, and in which its outside lies. Between the points
    the true surface may stray by `between` along that axis. `to_edges`: beyond the outermost points there is
    nothing; else the panel may go on, nobody knows where.
    """

    grid: tuple[tuple[Triple, ...], ...]
    up: tuple[int, int]
    thickness: float
    side: Side
    between: float
    to_edges: bool = False


Shape: TypeAlias = Box | Cylinder | Sphere | Capsule | Cone | Tube | Pipe | Extrude | Mesh | Strip | Skin
