"""What is looked at and what is being done to it: the viewer without its window."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import numpy as np

from packcheck.arrays import Point, Vector
from packcheck.assembly.looks import surfaces
from packcheck.bay import Bay
from packcheck.errors import Fault, SceneError
from packcheck.findings import Finding, Report, Verdict
from packcheck.report.headline import headline
from packcheck.report.measured import Measured
from packcheck.report.pictures.eye import Eye, Onlooker
from packcheck.report.pictures.overview import striking
from packcheck.report.pictures.view import way
from packcheck.scene.editing import Plan
from packcheck.scene.model import LengthUnit
from packcheck.surfaces import Colour, Model, Surface
from packcheck.viewer.nudging import Nudge, gaps_of, nudged, planned_nudge
from packcheck.viewer.picks import MOST_PICKS, pick_lines
from packcheck.watching import Look, Watcher

__all__ = ["Desk"]

MOST_GAPS: Final = 6
"""Gaps of the nudged part that are told, worst first."""

DIRECTIONS: Final = ("fore", "aft", "left", "right", "up", "down")


@dataclass(slots=True)
class Desk:
    """One scene on the desk: findings to step through, points picked, a part nudged.

    `layout` as in `packcheck.load`. Raises SceneError when the scene cannot be read to begin with.
    """

    path: Path
    layout: str | None = None
    watcher: Watcher = field(init=False)
    report: Report = field(init=False)
    model: Model = field(init=False)
    onlooker: Onlooker = field(init=False)
    at: int | None = None
    picks: list[Point] = field(default_factory=list)
    nudge: Nudge | None = None
    plan: Plan | None = None
    said: list[str] = field(default_factory=list)
    _gaps: tuple[Finding, ...] = ()

    def __post_init__(self) -> None:
        self.watcher = Watcher(self.path, self.layout)
        look = self.watcher.look()
        if look.report is None:
            raise SceneError(look.faults)
        self._take(self._whole_report(look))

    def _whole_report(self, look: Look) -> Report:
        """The report of a look, what moves included."""
        report = self.watcher.motions().report if look.at_rest else look.report
        assert report is not None
        return report

    def _take(self, report: Report) -> None:
        self.report = report
        self.model = self.bay.model(report)
        self.onlooker = Onlooker(self.model)

    @property
    def bay(self) -> Bay:
        assert self.watcher.bay is not None
        return self.watcher.bay

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What can be stepped through: every finding that has a place, report order."""
        return tuple(finding for finding in self.report.findings if finding.points is not None)

    @property
    def finding(self) -> Finding | None:
        return None if self.at is None or self.at >= len(self.findings) else self.findings[self.at]

    def step(self, by: int) -> None:
        """To the next finding, or the one before; round from the last to the first."""
        count = len(self.findings)
        if count:
            start = self.at if self.at is not None else (-1 if by > 0 else count)
            self.at = (start + by) % count

    def go_to(self, number: int) -> None:
        """To finding `number`, counted from 1 as every report does. Raises SceneError when it has no place."""
        listed = self.report.findings
        if not 1 <= number <= len(listed) or listed[number - 1].points is None:
            what = f"there is no finding {number} to look at"
            raise SceneError([Fault(None, what, mend=f"the report has {len(listed)}; choose one with a place")])
        self.at = self.findings.index(listed[number - 1])

    def whole(self) -> None:
        self.at = None

    def eye(self) -> Eye | None:
        """From where the finding is seen, and what is hidden for that."""
        if self.finding is None:
            return None
        posed = self.model.at(self.finding.pose)
        return (self.onlooker if posed is self.model else Onlooker(posed)).eye(self.finding)

    def pick(self, point: Point, part: str) -> None:
        """A point was picked on a part: the part is selected, and a fourth point begins anew."""
        self.picks = [point] if len(self.picks) == MOST_PICKS else [*self.picks, point]
        self.said = pick_lines(self.picks, self.bay.assembly.datums, self.report_units)
        if self.nudge is None or self.nudge.part != part:
            self.select(part)

    @property
    def report_units(self) -> LengthUnit:
        return self.bay.assembly.scene.units

    def select(self, part: str) -> None:
        """Choose the part that nudges move; a nudge of another that was not written is undone."""
        self.nudge, self.plan, self._gaps = Nudge(part), None, ()

    def shift(self, word: str, mm: float) -> None:
        """Move the selected part `mm` towards fore, aft, left, right, up or down."""
        self._nudged(None if self.nudge is None else self.nudge.shifted(self._way(word) * mm))

    def turn(self, word: str, degrees: float) -> None:
        """Turn the selected part about the car's axis that points to `word`, right-handed."""
        self._nudged(None if self.nudge is None else self.nudge.turned(self._way(word) * degrees))

    def _way(self, word: str) -> Vector:
        axes = self.bay.assembly.scene.axes
        return way((axes.x, axes.y, axes.z), word)

    def _nudged(self, nudge: Nudge | None) -> None:
        if nudge is None:
            self.said = ["no part is selected: click on one first"]
            return
        self.nudge, self.plan = nudge, None
        self._gaps = gaps_of(self.bay.assembly, self.bay.session, nudge)
        self.said = list(self._nudge_lines(nudge))

    def _nudge_lines(self, nudge: Nudge) -> Iterator[str]:
        words = self.bay.assembly.datums.words.shift_words(nudge.shift) or "not shifted"
        turned = "" if nudge.only_shifts else ", turned"
        yield f"{nudge.part}: {words}{turned}; Enter shows what would be written"
        told = [f for f in self._gaps if f.verdict is not Verdict.PASS or f.word != "touching"]
        for finding in told[:MOST_GAPS]:
            others = " - ".join(name for name in finding.subjects if name != nudge.part)
            yield f"{finding.word} {others}: {Measured(finding, self.report_units).line() or finding.skipped}"

    def undo(self) -> None:
        """Put the part back, forget the picks."""
        if self.nudge is not None:
            self.select(self.nudge.part)
        self.picks, self.said = [], []

    def enter(self) -> None:
        """First time: show what would be written. Second time, with nothing changed between: write it."""
        if self.nudge is None or self.nudge.still:
            self.said = ["nothing was nudged, so there is nothing to write"]
            return
        try:
            if self.plan is None:
                self.plan = planned_nudge(self.bay.assembly, self.nudge)
                self.said = [*self.plan.lines(), "Enter again writes it, Escape does not"]
            else:
                self.plan.write()
                self.select(self.nudge.part)
                self.refresh()
                self.said = ["written", *self.said]
        except SceneError as error:
            self.plan = None
            self.said = [line for fault in error.faults for line in str(fault).splitlines()]

    def changed(self) -> bool:
        """Whether a file of the scene was saved since it was read."""
        return self.watcher.changed()

    def refresh(self) -> bool:
        """Read the scene again, as it is saved now; whether it could be read. The finding looked at stays."""
        looked_at = self.finding
        look = self.watcher.look()
        if look.report is None:
            self.said = [str(fault).splitlines()[0] for fault in look.faults]
            return False
        self._take(self._whole_report(look))
        same = [k for k, f in enumerate(self.findings) if looked_at and f.subjects == looked_at.subjects]
        self.at = same[0] if same else None
        self.said = [f"{change.kind}: {' - '.join(change.subjects)}" for change in look.changes] or ["read again"]
        if self.nudge is not None and self.nudge.part not in self.bay.assembly.parts:
            self.nudge = None
        return True

    def shown(self) -> tuple[Surface, ...]:
        """The surfaces of all parts: nudged ones where they are now, moving ones in the pose of the finding."""
        stance = None if self.finding is None else self.model.stance(self.finding.pose)
        if self.nudge is None or self.nudge.still:
            rest = self.model.surfaces
        else:
            rest = surfaces(nudged(self.bay.assembly, self.nudge))
        return rest if stance is None else tuple(stance.carry(surface) for surface in rest)

    @property
    def striking(self) -> Mapping[str, tuple[Colour, Colour | None]]:
        """Colour and stripes of the parts that fall short."""
        return striking(self.report.findings)

    def title(self) -> str:
        """The finding in two lines, or the verdict of the whole."""
        finding = self.finding
        if finding is None:
            return headline(self.report)
        number = self.report.findings.index(finding) + 1
        first = f"{number} of {len(self.report.findings)}  {finding.word}: {' - '.join(finding.subjects)}"
        return f"{first}\n{Measured(finding, self.report_units).line()}"

    def extent(self) -> tuple[Point, float]:
        """Middle (3,) and half height, mm, of what the camera should hold: the spot, or the whole bay."""
        if self.finding is not None and self.finding.points is not None:
            from packcheck.report.pictures.finding import spot_height

            of_pair = [surface for surface in self.model.surfaces if surface.name in self.finding.subjects]
            return self.finding.points.mean(axis=0), spot_height(self.finding, of_pair) / 2
        if not self.model.surfaces:
            return np.zeros(3), 100.0
        corners = np.vstack(
            [np.vstack([s.vertices.min(axis=0), s.vertices.max(axis=0)]) for s in self.model.surfaces]
        )
        low, high = corners.min(axis=0), corners.max(axis=0)
        return (low + high) / 2, float(np.linalg.norm(high - low)) * 0.4
