"""Motions as plain frozen facts: who is carried, how, and in which state of the car."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from packcheck.errors import SourceMark

__all__ = ["FullTurn", "Held", "Hinge", "Motion", "Movement", "Path", "Rock", "State", "Stop", "Travel"]

State: TypeAlias = Literal["driving", "service"]
_Triple: TypeAlias = tuple[float, float, float]
Range: TypeAlias = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Hinge:
    """A turn about the line through `point` (mm) along the unit vector `axis`, right-handed, `range` in degrees."""

    point: _Triple
    axis: _Triple
    range: Range


@dataclass(frozen=True, slots=True)
class Travel:
    """A straight shift along the unit vector `by`, `range` in mm."""

    by: _Triple
    range: Range


@dataclass(frozen=True, slots=True)
class Rock:
    """Turns about x, then y, then z of its frame through `about` (mm), then shifts, all at once.

    `turn` (degrees) and `shift` (mm) hold a range for x, y and z each, or None where there is none.
    """

    about: _Triple
    turn: tuple[Range | None, Range | None, Range | None]
    shift: tuple[Range | None, Range | None, Range | None]


@dataclass(frozen=True, slots=True)
class Stop:
    """A pose on a path: offset from where the parts are placed, mm, and turn, degrees about x, then y, then z."""

    at: _Triple = (0.0, 0.0, 0.0)
    turn: _Triple = (0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Path:
    """From stop to stop, straight and turning evenly about one axis. Turns are about the point `about`.

    `about` is None where the file gives none: then it is the zero of the first thing carried.
    """

    stops: tuple[Stop, ...]
    about: _Triple | None = None


@dataclass(frozen=True, slots=True)
class FullTurn:
    """All the way round the line through `point` (mm) along the unit vector `axis`."""

    point: _Triple
    axis: _Triple


Movement: TypeAlias = Hinge | Travel | Rock | Path | FullTurn


@dataclass(frozen=True, slots=True)
class Held:
    """Another motion, of one parameter, that stands anywhere in `range` meanwhile: degrees or mm, least first."""

    motion: str
    range: Range


@dataclass(frozen=True, slots=True)
class Motion:
    """One motion of the scene.

    `carries` are the parts and frames it moves, kinds resolved; all that hangs on them goes along. Coordinates of
    the `movement` are those of `frame`, as placed. `placed_at` is where on a hinge (degrees) or travel (mm) the
    parts stand in the file. `together` says whether it acts at the same time as others of its state `during`.
    `held` are other motions that stand at a setting meanwhile, or anywhere in a range; then it acts without the
    rest.
    """

    name: str
    carries: tuple[str, ...]
    movement: Movement
    frame: str = "car"
    during: State = "driving"
    together: bool = True
    placed_at: float = 0.0
    held: tuple[Held, ...] = ()
    note: str = ""
    mark: SourceMark | None = None
