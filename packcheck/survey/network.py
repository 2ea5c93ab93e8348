"""A network of points, bodies and readings, and its residuals as the unknowns move.

Unknown are free points (three lengths each) and free bodies (a shift and a turn about their own zero each). Turns
are counted in mm at `ARM`, so that all unknowns are lengths and none outweighs the others by its unit.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final, Literal

import numpy as np
import numpy.typing as npt

from packcheck.arrays import Floats, Points, Vector, frozen
from packcheck.errors import SourceMark
from packcheck.frames import Pose, cross_matrix, rotation_of
from packcheck.scene.model.scene import CAR
from packcheck.survey.rows import Kind, gradients, values

__all__ = ["ARM", "CAR", "Network", "Reading", "Row", "Spot", "State"]

ARM: Final = 300.0
"""mm. A turn is counted by how far it carries a point this far from the zero of its body."""


@dataclass(frozen=True, slots=True, eq=False)
class Spot:
    """A point. `body` None: itself unknown; else fixed at `local` (3,) mm in a body; `car` stands still."""

    name: str
    body: str | None = None
    local: Vector = field(default_factory=lambda: frozen(np.zeros(3)))


@dataclass(frozen=True, slots=True)
class Row:
    """One equation of a reading: its kind, its points by number, what was read, mm or degrees."""

    kind: Kind
    spots: tuple[int, ...]
    value: float
    standard: float


@dataclass(frozen=True, slots=True)
class Reading:
    """One thing measured, as it can be right or wrong as a whole; `rows` are its equations.

    `role` is `reading` for what was read at the car, `matched` for a mark of a part laid on a point, and `defining`
    for what only says how a frame is to lie, which no reading can contradict.
    """

    label: str
    rows: tuple[Row, ...]
    unit: Literal["mm", "deg"] = "mm"
    role: Literal["reading", "matched", "defining"] = "reading"
    mark: SourceMark | None = None
    note: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class State:
    """Where everything is: free points (f, 3) mm, and the poses of the free bodies."""

    points: Points
    poses: tuple[Pose, ...]


@dataclass(frozen=True, eq=False)
class Network:
    """Points, free bodies by name, and readings."""

    spots: tuple[Spot, ...]
    bodies: tuple[str, ...]
    readings: tuple[Reading, ...]

    @cached_property
    def free(self) -> tuple[int, ...]:
        """The free points, by number."""
        return tuple(k for k, spot in enumerate(self.spots) if spot.body is None)

    @property
    def unknowns(self) -> int:
        return 3 * len(self.free) + 6 * len(self.bodies)

    @cached_property
    def rows(self) -> tuple[Row, ...]:
        return tuple(row for reading in self.readings for row in reading.rows)

    @cached_property
    def owner(self) -> npt.NDArray[np.intp]:
        """Which reading each row belongs to (m,)."""
        counts = [len(reading.rows) for reading in self.readings]
        return np.repeat(np.arange(len(self.readings)), counts)

    @cached_property
    def standards(self) -> Floats:
        return np.array([row.standard for row in self.rows])

    @cached_property
    def _read(self) -> Floats:
        return np.array([row.value for row in self.rows])

    @cached_property
    def _groups(self) -> Mapping[Kind, tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]]:
        """Rows and their points, by kind."""
        kinds = dict.fromkeys(row.kind for row in self.rows)
        rows = {kind: [k for k, row in enumerate(self.rows) if row.kind == kind] for kind in kinds}
        return {
            kind: (np.array(which), np.array([self.rows[k].spots for k in which])) for kind, which in rows.items()
        }

    def columns(self, name: str) -> slice:
        """The unknowns of the free point or body `name`."""
        if name in self.bodies:
            first = 3 * len(self.free) + 6 * self.bodies.index(name)
            return slice(first, first + 6)
        place = next(place for place, spot in enumerate(self.free) if self.spots[spot].name == name)
        return slice(3 * place, 3 * place + 3)

    def place(self, state: State) -> Points:
        """Every point (s, 3) in the car, mm."""
        placed = np.empty((len(self.spots), 3))
        placed[list(self.free)] = state.points
        poses = dict(zip(self.bodies, state.poses, strict=True))
        for k, spot in enumerate(self.spots):
            if spot.body is not None:
                placed[k] = poses[spot.body].apply(spot.local) if spot.body in poses else spot.local
        return placed

    def expected(self, state: State) -> Floats:
        """What every row would read (m,)."""
        return self._expected(self.place(state))

    def _expected(self, placed: Points) -> Floats:
        expected = np.empty(len(self.rows))
        for kind, (rows, spots) in self._groups.items():
            expected[rows] = values(kind, placed[spots])
        return expected

    def evaluate(self, state: State) -> tuple[Floats, Floats]:
        """Expected less read, over the standard uncertainty (m,); and how it changes with the unknowns (m, n)."""
        placed = self.place(state)
        motions = self.motions(state)
        jacobian = np.empty((len(self.rows), self.unknowns))
        for kind, (rows, spots) in self._groups.items():
            slopes = gradients(kind, placed[spots])
            jacobian[rows] = np.einsum("mki,mkin->mn", slopes, motions[spots])
        residuals = (self._expected(placed) - self._read) / self.standards
        return residuals, jacobian / self.standards[:, None]

    def motions(self, state: State) -> Floats:
        """How every point moves with the unknowns (s, 3, n)."""
        motions = np.zeros((len(self.spots), 3, self.unknowns))
        for place, free in enumerate(self.free):
            motions[free, :, 3 * place : 3 * place + 3] = np.eye(3)
        for name, pose in zip(self.bodies, state.poses, strict=True):
            first = self.columns(name).start
            for k, spot in enumerate(self.spots):
                if spot.body == name:
                    motions[k, :, first : first + 3] = np.eye(3)
                    motions[k, :, first + 3 : first + 6] = -cross_matrix(pose.rotate(spot.local)) / ARM
        return motions

    def moved(self, state: State, step: Floats) -> State:
        """The state shifted by a step (n,), mm."""
        points = state.points + step[: state.points.size].reshape(-1, 3)
        steps = step[state.points.size :].reshape(-1, 6)
        poses = [
            Pose(
                frozen(rotation_of(by[3:] / ARM) @ pose.rotation),
                frozen(pose.translation + by[:3]),
            )
            for pose, by in zip(state.poses, steps, strict=True)
        ]
        return State(points, tuple(poses))

    def without(self, readings: frozenset[int]) -> Network:
        """The same network, some readings (by number) left out."""
        kept = tuple(reading for k, reading in enumerate(self.readings) if k not in readings)
        return Network(self.spots, self.bodies, kept)
