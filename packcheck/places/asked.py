"""What the command line asks of `packcheck place`, in the words of the scene file, and the answer in every form."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from packcheck.arrays import Floats, frozen
from packcheck.assembly.restraint import refuse_restrained
from packcheck.bay import Bay, load
from packcheck.drawing.looks import surfaces
from packcheck.drawing.place_looks import exported_places
from packcheck.errors import Fault, SceneError
from packcheck.findings import Report
from packcheck.frames import IDENTITY, Pose
from packcheck.places.layout import planned_layout
from packcheck.places.places import Places, Spot, places
from packcheck.places.refining import MOST_CELLS
from packcheck.places.tables import place_report
from packcheck.proximity import Placed
from packcheck.scene.asking import asked_box, asked_heights, asked_length, asked_turns, vertical
from packcheck.scene.editing import Plan
from packcheck.scene.text.hints import nearest
from packcheck.solids.core.solid import POINT
from packcheck.surfaces import MapSlice

__all__ = ["STAND_OFF", "Asked"]

STAND_OFF: Final = 50.0
"""mm. How far a bracket reaches, where nobody says."""


@dataclass(slots=True, eq=False)
class Asked:
    """What is asked, as it was typed.

    Raises
    ------
    SceneError
        The scene cannot be understood, holds no such part or frame, or something asked is malformed or too much.
    """

    path: str
    part: str
    layout: str | None = None
    within: str | None = ""
    turns: str | None = "now"
    cell: str | None = "10 mm"
    beside: str | None = None
    face: str | None = None
    stand_off: str | None = None
    bay: Bay = field(init=False)

    def __post_init__(self) -> None:
        self.bay = load(self.path, layout=self.layout)
        scene = self.bay.assembly.scene
        self._refuse_stranger(self.part, "part")
        if scene.parts[self.part].fixed:
            mark, what = (
                scene.parts[self.part].mark,
                f"part {self.part!r}: is fixed, so that no place is sought for it",
            )
            raise SceneError([Fault(mark, what, mend="leave out fixed: true to let it move")])
        refuse_restrained(self.bay.assembly, self.part)
        self._refuse_too_many()

    def answer(self) -> Places:
        """The map and the places to choose from."""
        scene = self.bay.assembly.scene
        poses = [
            (said, None if turn is None else Pose.of((0, 0, 0), turn))
            for said, turn in asked_turns(self.turns or "", scene)
        ]
        return places(self.bay, self.part, self._box(), poses, self._size(), self._near())

    def report(self, found: Places) -> Report:
        return place_report(found, self.bay.assembly)

    def layout_of(self, spot: Spot, name: str) -> Plan:
        """The change of the scene's files that puts the part there in a new layout; nothing is written yet."""
        note = f"{self.part} where packcheck place found room"
        return planned_layout(self.bay.assembly, self.bay.session, self.part, spot.pose, name, note)

    def exported(self, found: Places) -> bytes:
        """The bay with the pockets and the places, as GLB."""
        pockets = {
            f"pocket {pocket.number} ({one.said})": (one.grid, one.pocket == pocket.number)
            for one in found.regions
            for pocket in one.pockets[:20]
        }
        spots = [(f"place {number}", spot.pose) for number, spot in enumerate(found.spots, start=1)]
        return exported_places(self.bay.assembly, self.part, pockets, spots)

    def heights(self, text: str | None) -> tuple[float, ...]:
        """The heights to draw the map at, mm along the axis that runs up; three spread over the box without."""
        low, high = (corner[vertical(self.bay.assembly.scene.axes)] for corner in self._box())
        if text is None:
            return tuple(float(low + share * (high - low)) for share in (1 / 6, 1 / 2, 5 / 6))
        return asked_heights(text, self.bay.assembly.scene)

    def pictures(self, found: Places, heights: tuple[float, ...]) -> Iterator[tuple[str, MapSlice]]:
        """The map of each turn at each height, to be drawn, with what to put into the name of its file."""
        axes = self.bay.assembly.scene.axes
        up = vertical(axes)
        order = [*(k for k in range(3) if k != up), up]
        x, y, z = ((axes.x, axes.y, axes.z)[k] for k in order)
        standing = tuple(
            replace(surface, vertices=frozen(surface.vertices[:, order]))
            for surface in surfaces(self.bay.assembly)
            if surface.name != self.part
        )
        spots = tuple(frozen(spot.middle[order]) for spot in found.spots)
        for number, one in enumerate(found.regions, start=1):
            box = np.stack([one.grid.low, one.grid.low + one.grid.counts * one.grid.cell])[:, order]
            for height in heights:
                turn = f"-turn{number}" if len(found.regions) > 1 else ""
                states = one.states.transpose(order)
                drawn = MapSlice(states, box, (x, y, z), height, standing, frozen(found.here[order]), spots)
                yield f"{turn}-{height:.0f}", drawn

    def _box(self) -> tuple[Floats, Floats]:
        low, high = asked_box(self.within or "", self.bay.assembly.scene)
        return frozen(low), frozen(high)

    def _size(self) -> float:
        return asked_length(self.cell or "", "--cell", self.bay.assembly.scene)

    def _near(self) -> list[tuple[Placed, float]]:
        """What the part is to stand near, and how near."""
        assembly, reach = self.bay.assembly, STAND_OFF
        if self.stand_off is not None:
            reach = asked_length(self.stand_off, "--stand-off", assembly.scene)
            if self.beside is None and self.face is None:
                raise SceneError(
                    [Fault(None, "--stand-off says how near, but not what", mend="add --beside or --face")]
                )
        found = []
        if self.beside is not None:
            self._refuse_stranger(self.beside, "frame")
            found.append((Placed(self.beside, (POINT,), assembly.poses.get(self.beside, IDENTITY)), reach))
        if self.face is not None:
            self._refuse_stranger(self.face, "part")
            if self.face in (self.part, *assembly.carried_by(self.part)):
                raise SceneError(
                    [Fault(None, f"--face {self.face!r} goes along with {self.part}, so is always as near")]
                )
            found.append((assembly.parts[self.face], reach))
        return found

    def _refuse_stranger(self, name: str, sort: str) -> None:
        scene = self.bay.assembly.scene
        known = [*scene.parts] if sort == "part" else ["car", *scene.frames]
        if name not in known:
            mend = nearest(name, known) or f"the scene's {sort}s are {', '.join(known) or 'none'}"
            raise SceneError([Fault(None, f"{scene.path}: there is no {sort} {name!r} in this scene", mend=mend)])

    def _refuse_too_many(self) -> None:
        """Refuse more cells than are told in reasonable time, and a box that cannot be read, before any work."""
        low, high = self._box()
        size = self._size()
        asked_turns(self.turns or "", self.bay.assembly.scene)
        self._near()
        sides = np.maximum(1.0, np.ceil((high - low) / size))
        if float(np.prod(sides)) > MOST_CELLS:
            least = float((np.prod(high - low) / MOST_CELLS) ** (1 / 3))
            what = f"--cell {self.cell!r} cuts the box into {np.prod(sides):.3g} cells, more than {MOST_CELLS:.3g}"
            mend = f"ask for a smaller box, or for cells of {np.ceil(least * 1.05 * 10) / 10:g} mm or more"
            raise SceneError([Fault(None, what, mend=mend)])
