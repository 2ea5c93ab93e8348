"""What is looked at and what is being done to it: the viewer without its window."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import numpy as np

from packcheck.arrays import Point, Vector
from packcheck.assembly.restraint import restraints_with
from packcheck.bay import Bay
from packcheck.errors import Fault, SceneError
from packcheck.findings import Finding, Report, Verdict
from packcheck.report.pictures.eye import Eye, Onlooker
from packcheck.report.pictures.view import way
from packcheck.report.text.measured import Measured
from packcheck.scene.editing import Plan
from packcheck.scene.model.scene import LengthUnit
from packcheck.surfaces import Model
from packcheck.viewer.nudging import Glance, Nudge, gaps_of, planned_nudge
from packcheck.viewer.picks import MOST_PICKS, pick_lines
from packcheck.viewer.playing import Player, way_of
from packcheck.watching import Look, Watcher

__all__ = ["Desk"]

MOST_GAPS: Final = 6
"""Gaps of the nudged part that are told, worst first."""

EMPTY: Final = (np.full(3, -100.0), np.full(3, 100.0))
"""Corners, mm, of what is looked at in a bay without parts."""


@dataclass(slots=True)
class Desk:
    """One scene on the desk: findings to step through, points picked, a part nudged, a motion played.

    `layout` as in `packcheck.load`. Unless `patient`, what moves is not searched to begin with: `searching` tells
    that, and `search` and `found` do it later; and of a nudge the depths of overlaps may be `open` until `finish`.
    `corners` are the least and greatest of the bay, mm. Raises SceneError when there is nothing to begin with.
    """

    path: Path
    layout: str | None = None
    patient: bool = True
    watcher: Watcher = field(init=False)
    report: Report = field(init=False)
    model: Model = field(init=False)
    onlooker: Onlooker = field(init=False)
    corners: tuple[Point, Point] = field(init=False)
    searching: bool = False
    open: bool = False
    at: int | None = None
    picks: list[Point] = field(default_factory=list)
    nudge: Nudge | None = None
    plan: Plan | None = None
    player: Player | None = None
    said: list[str] = field(default_factory=list)
    _gaps: tuple[Finding, ...] = ()
    _eyes: dict[int, Eye] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.watcher = Watcher(self.path, self.layout)
        look = self.watcher.look()
        if look.report is None:
            raise SceneError(look.faults)
        self.searching = look.at_rest
        self._take(look.report)
        if self.patient and self.searching:
            self.found(self.search())
            self.said = []

    def _take(self, report: Report) -> None:
        looked_at = self.finding if self.at is not None else None
        self.report = report
        self.model = self.bay.model(report)
        self.onlooker = Onlooker(self.model)
        ends = [(s.vertices.min(axis=0), s.vertices.max(axis=0)) for s in self.model.surfaces] or [EMPTY]
        self.corners = np.min([low for low, _ in ends], axis=0), np.max([high for _, high in ends], axis=0)
        self._eyes.clear()
        same = [k for k, f in enumerate(self.findings) if looked_at is not None and _same(f, looked_at)]
        self.at = same[0] if same else None
        self.player = None

    def search(self) -> Look:
        """Search what moves, which takes its time. Meanwhile nothing else may be asked but what is shown."""
        return self.watcher.motions()

    def found(self, look: Look) -> None:
        """Take what a search came to."""
        assert look.report is not None
        self.searching = False
        self._take(look.report)
        self.said = [f"{change.kind}: {' - '.join(change.subjects)}" for change in look.changes]

    def give_up(self) -> None:
        """A search has failed: what moves stays unknown until the next save, and is said to be."""
        self.searching = False
        self.said = ["what moves could not be searched: packcheck check tells why"]

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

    def number(self, finding: Finding) -> int:
        """What a finding is counted as in every report, from 1."""
        return next(k for k, one in enumerate(self.report.findings, 1) if one is finding)

    def step(self, by: int) -> None:
        """To the next finding, or the one before; round from the last to the first."""
        count = len(self.findings)
        if count:
            start = self.at if self.at is not None else (-1 if by > 0 else count)
            self.at, self.player = (start + by) % count, None

    def go_to(self, number: int) -> None:
        """To finding `number`, counted from 1 as every report does. Raises SceneError when it has no place."""
        listed = self.report.findings
        if not 1 <= number <= len(listed) or listed[number - 1].points is None:
            what = f"there is no finding {number} to look at"
            raise SceneError([Fault(None, what, mend=f"the report has {len(listed)}; choose one with a place")])
        self.at, self.player = self.findings.index(listed[number - 1]), None

    def whole(self) -> None:
        self.at = self.player = None

    def eye(self) -> Eye | None:
        """From where the finding is seen, and what is hidden for that."""
        if self.finding is None or self.at is None:
            return None
        if self.at not in self._eyes:
            posed = self.model.at(self.finding.pose)
            onlooker = self.onlooker if posed is self.model else Onlooker(posed)
            self._eyes[self.at] = onlooker.eye(self.finding)
        return self._eyes[self.at]

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
        self.nudge, self.plan, self._gaps, self.open = Nudge(part), None, (), False

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
        if self.searching:
            self.said = ["what moves is still being searched; then it can be nudged"]
            return
        if held := [how for _, how in restraints_with(self.bay.assembly, nudge.part)]:
            self.said = [f"{how}: none is moved here" for how in held]
            return
        self.nudge, self.plan = nudge, None
        hurry = None if self.patient else Glance(whole=self.bay.session)
        self._gaps = gaps_of(self.bay.assembly, hurry or self.bay.session, nudge)
        self.open = hurry is not None and hurry.left_open
        self.said = list(self._nudge_lines(nudge))

    def finish(self) -> None:
        """Measure what was left open of the gaps of the nudged part."""
        if self.nudge is not None and self.open:
            self._gaps = gaps_of(self.bay.assembly, self.bay.session, self.nudge)
            self.said = list(self._nudge_lines(self.nudge))
        self.open = False

    @property
    def nudging(self) -> bool:
        """Whether a part stands elsewhere than the file has it. Everything is shown at rest then."""
        return self.nudge is not None and not self.nudge.still

    @property
    def live(self) -> tuple[Finding, ...]:
        """The gaps that the nudged part has now, worst first, as far as they are told."""
        told = [f for f in self._gaps if f.verdict is not Verdict.PASS or f.word != "touching"]
        return tuple(told[:MOST_GAPS]) if self.nudging else ()

    def _nudge_lines(self, nudge: Nudge) -> Iterator[str]:
        words = self.bay.assembly.datums.words.shift_words(nudge.shift) or "not shifted"
        turned = "" if nudge.only_shifts else ", turned"
        yield f"{nudge.part}: {words}{turned}; Enter shows what would be written"
        for finding in self.live:
            others = " - ".join(name for name in finding.subjects if name != nudge.part)
            yield f"{finding.word} {others}: {Measured(finding, self.report_units).line() or finding.skipped}"
        if self.bay.assembly.scene.motions:
            yield "at rest; what moves is searched once it is written"

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
        """Read the scene again, as it is saved now; whether it could be read. The finding looked at stays.

        What moves is not in the report until it has been searched.
        """
        look = self.watcher.look()
        if look.report is None:
            self.said = [str(fault).splitlines()[0] for fault in look.faults]
            return False
        self.searching = look.at_rest
        self._take(look.report)
        self.said = [f"{change.kind}: {' - '.join(change.subjects)}" for change in look.changes] or ["read again"]
        if self.nudge is not None:
            part, self.nudge = self.nudge.part, None
            if part in self.bay.assembly.parts:
                self.select(part)
        return True

    def play(self, motion: str | None = None) -> None:
        """Start or stop a motion: the one named, or the one that was played last, or the first of the scene."""
        chosen = motion or (self.player.way.motion if self.player else next(iter(self.motions), None))
        if chosen is not None:
            self._choose(chosen).press()

    def play_next(self) -> None:
        """Start the motion after the one that was played last."""
        names = list(self.motions)
        if names:
            last = names.index(self.player.way.motion) if self.player else -1
            self.play(names[(last + 1) % len(names)])

    def slide(self, motion: str, share: float) -> None:
        """Put a motion to a share of its way, 0 to 1."""
        self._choose(motion).slide(share)
        self._tell_motion()

    def _choose(self, motion: str) -> Player:
        if self.player is None or self.player.way.motion != motion:
            self.at = None
            self.player = Player(way_of(self.bay.assembly, motion, self.report.findings))
        return self.player

    def advance(self, seconds: float) -> bool:
        """Let time pass; whether a motion ran in it."""
        if self.player is None or not self.player.running:
            return False
        self.player.advance(seconds)
        self._tell_motion()
        return True

    def _tell_motion(self) -> None:
        assert self.player is not None
        way, share = self.player.way, self.player.share
        self.said = [f"{way.motion}: {way.words(self.bay.assembly, share)}"]
        if way.finding is not None and self.player.at_worst:
            finding = way.finding
            self.said.append(f"worst here: {finding.word} {' - '.join(finding.subjects)}, {finding.when}")
            self.said.append(Measured(finding, self.report_units).line())

    @property
    def motions(self) -> tuple[str, ...]:
        return tuple(self.bay.assembly.scene.motions)


def _same(one: Finding, other: Finding) -> bool:
    return one.study == other.study and one.subjects == other.subjects
