"""What was measured at the car, as plain frozen facts: lengths in mm, angles in degrees, every name as written.

Every accuracy is a standard uncertainty here; limits were turned into one on the way in (GUM 4.3.7).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from packcheck.errors import SourceMark
from packcheck.scene.model.scene import Direction, FaceName, Triple

__all__ = [
    "Check",
    "Instrument",
    "Match",
    "Observation",
    "ObservationKind",
    "Place",
    "Rock",
    "Stance",
    "Survey",
    "SurveyPoint",
    "Uncertainty",
]

ObservationKind: TypeAlias = Literal["tape", "offset", "level", "angle", "plumb", "lies_on", "gap"]


@dataclass(frozen=True, slots=True)
class Uncertainty:
    """How far off something may be: standard uncertainties along x, y, z of its parent, mm, and about them, deg."""

    shift: Triple = (0.0, 0.0, 0.0)
    turn: Triple = (0.0, 0.0, 0.0)

    @property
    def nothing(self) -> bool:
        return not any((*self.shift, *self.turn))


@dataclass(frozen=True, slots=True)
class Instrument:
    """What readings are taken with: a tape of a class with its allowances, or a stated standard uncertainty.

    `standard` is mm or degrees, as `of_angles` says; None for a tape of a class. `hook` is mm, `sag` sag over
    span; None: the usual allowance.
    """

    name: str
    standard: float | None = None
    of_angles: bool = False
    tape: str = ""
    hook: float | None = None
    sag: float | None = None


@dataclass(frozen=True, slots=True)
class Stance:
    """How the car stands: its turn, degrees about x, y, z, from level, and how sure that is."""

    turn: Triple = (0.0, 0.0, 0.0)
    standard: float = 0.0
    mark: SourceMark | None = None


@dataclass(frozen=True, slots=True)
class SurveyPoint:
    """A point. Known when `at` is given: in `on`, to `standard` along each axis. Else wanted; `near` and `way` are
    the builder's hints."""

    name: str
    on: str = ""
    at: Triple | None = None
    standard: float = 0.0
    near: Triple | None = None
    way: Direction | None = None
    mark: SourceMark | None = None


@dataclass(frozen=True, slots=True)
class Observation:
    """One thing to be read.

    `names` are points, frames or parts; `values` what was read, none before the sheet is filled in; `standard` that
    of one reading. `along` is the direction counted in, of frame `axes`; `step` the height of what the tape rested
    on. `to` is what an angle is taken to; `face`, `of`, and the length of `names` say what a point lies on.
    """

    kind: ObservationKind
    label: str
    names: tuple[str, ...]
    values: tuple[float, ...] = ()
    standard: float | None = None
    instrument: str = ""
    origin: tuple[str, ...] = ()
    along: Direction | None = None
    axes: str = "car"
    step: float = 0.0
    to: Direction | Literal["level"] | None = None
    face: FaceName | Literal["side"] | None = None
    of: str = ""
    mark: SourceMark | None = None


@dataclass(frozen=True, slots=True)
class Match:
    """A point known on a part, and the measured point it was found at."""

    mark_on_part: str
    point: str


@dataclass(frozen=True, slots=True)
class Place:
    """How a frame or part is set in place: by three points, a plane, an axis, matched marks, a hinge, or readings.

    `points` are those of the origin, the direction and the side; of the plane; of the axis. `ways` are the frame's
    own directions that lead to the second and the third. `dots` of a hinge: for each dot its places, opening by
    opening. `standard` is how well marks, flatness or dots can be trusted, mm.
    """

    name: str
    how: Literal["points", "plane", "axis", "matched", "hinge", "readings"]
    points: tuple[str, ...] = ()
    ways: tuple[Direction, ...] = ()
    matches: tuple[Match, ...] = ()
    dots: tuple[tuple[str, ...], ...] = ()
    standard: float = 0.0
    mark: SourceMark | None = None


@dataclass(frozen=True, slots=True)
class Rock:
    """How far something rocks about an axis of two points, from how far a third is seen to move, mm end to end."""

    name: str
    axis: tuple[str, str]
    point: str
    moves: float
    standard: float
    mark: SourceMark | None = None


@dataclass(frozen=True, slots=True)
class Survey:
    """Everything measured. `sheet` is the file the readings were filled in, as written, empty without one."""

    points: Mapping[str, SurveyPoint] = field(default_factory=dict)
    observations: tuple[Observation, ...] = ()
    instruments: Mapping[str, Instrument] = field(default_factory=dict)
    stance: Stance = Stance()
    places: Mapping[str, Place] = field(default_factory=dict)
    rocks: tuple[Rock, ...] = ()
    sheet: str = ""
    mark: SourceMark | None = None


@dataclass(frozen=True, slots=True)
class Check:
    """A gap measured on the finished car, to be held beside the predicted one. `standard` mm; `tool` in words."""

    between: tuple[str, str]
    measured: float
    standard: float
    tool: str = ""
    mark: SourceMark | None = None
