"""Points, lines and planes that stand on frames and parts, and what is measured between them: frozen facts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from packcheck.errors import SourceMark

__all__ = ["ANGLES", "PULLEYS", "AxisEnd", "Feature", "Line", "Measure", "Plane", "Sort", "Spot"]

AxisEnd: TypeAlias = Literal["x", "y", "z"]
Sort: TypeAlias = Literal[
    "distance",
    "to_line",
    "to_plane",
    "between_lines",
    "between_planes",
    "height",
    "angle",
    "incline",
    "slope",
    "restraint",
    "pulley_offset",
    "pulley_parallel",
]

ANGLES: tuple[Sort, ...] = ("angle", "incline", "slope", "restraint", "pulley_parallel")
"""What comes in degrees; all else is in mm."""

PULLEYS: tuple[Sort, ...] = ("pulley_offset", "pulley_parallel")


@dataclass(frozen=True, slots=True)
class Spot:
    """A point at `at` (mm) in the frame or part `node`; or the middle of a `face` of the part, as it stands."""

    node: str
    at: tuple[float, float, float] = (0.0, 0.0, 0.0)
    face: str = ""


@dataclass(frozen=True, slots=True)
class Line:
    """A straight through `start` and `end`; or along an axis of the node, `start` being its middle.

    `length` mm; None: as long as the part is along that axis. `ends`: distances count to no farther than its ends.
    `centred`: its middle is that of the part, for the file gives no other.
    """

    start: Spot
    end: Spot | None = None
    along: AxisEnd | None = None
    length: float | None = None
    ends: bool = False
    centred: bool = False


@dataclass(frozen=True, slots=True)
class Plane:
    """The plane through `spot`, square to an axis of its node."""

    spot: Spot
    normal: AxisEnd


Feature: TypeAlias = Spot | Line | Plane


@dataclass(frozen=True, slots=True)
class Measure:
    """One thing measured, and its limits: mm, or degrees for angles."""

    name: str
    sort: Sort
    features: tuple[Feature, ...]
    must: float | None = None
    want: float | None = None
    most: float | None = None
    why: str = ""
    source: str = ""
    note: str = ""
    mark: SourceMark | None = None
