"""A scene checked again each time one of its files is saved, and what that save changed.

Solids and gaps are remembered: only what the edit touched is measured again. A file that is half saved or broken
is told as such, and what was known of the scene before is kept for the next time it can be read.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final

from packcheck.assembly.assembly import assemble
from packcheck.bay import Bay
from packcheck.comparison import Alternative, Change, compared
from packcheck.errors import Fault, PackcheckError
from packcheck.findings import Finding, Report
from packcheck.moves import with_moves
from packcheck.placing.placing import Stock
from packcheck.proximity import Session
from packcheck.replacing import Stamp, stamp
from packcheck.scene import load_scene
from packcheck.scene.model.scene import Stage
from packcheck.studies import moving

__all__ = ["Look", "Watcher", "next_save"]

STRIDE: Final = 0.05
"""s between looks at the files."""

GRACE: Final = 0.3
"""s in which a file that cannot be read may still become whole: an editor or a sync is at work."""

MOST_REPLACED: Final = 200
"""Meshes read anew before everything remembered is let go, so that a long day of edits does not fill the memory."""

Pause = Callable[[float], None]


@dataclass(frozen=True, slots=True, eq=False)
class Look:
    """What a look at the scene gave: a report and what changed since the last one, or faults and no report.

    `first` when there was no report to hold it against; `seconds` from noticing the save to having the answer.
    `at_rest`: something moves, and only gaps at rest are in the report; `Watcher.motions` has the others.
    """

    report: Report | None = None
    changes: tuple[Change, ...] = ()
    faults: tuple[Fault, ...] = ()
    first: bool = False
    seconds: float = 0.0
    at_rest: bool = False


@dataclass(slots=True)
class Watcher:
    """Looks at one scene again and again."""

    path: Path
    layout: str | None = None
    stage: Stage | None = None
    bay: Bay | None = None
    session: Session = field(default_factory=Session)
    _files: tuple[Path, ...] = ()
    _folders: tuple[Path, ...] = ()
    _seen: dict[Path, Stamp] = field(default_factory=dict)
    _last: Alternative | None = None
    _last_whole: Alternative | None = None
    _stock: Stock = field(default_factory=Stock)
    _replaced: int = 0

    def look(self) -> Look:
        """Read and check the scene as it is now."""
        self._forget()
        self._seen = _stamps(self.files)
        try:
            scene = load_scene(self.path, self.layout)
            scene = replace(scene, stage=self.stage) if self.stage else scene
            bay = Bay(assemble(scene, stock=self._stock), self.session, self._stock)
        except PackcheckError as error:
            self._keep_an_eye_on(self._files, {file.absolute().parent for file in (self.path, *self._files)})
            return Look(faults=error.faults)
        report = bay.check(moves=False, without=(moving.ID,))
        now = Alternative("now", report, bay.pair)
        seen = Look(report, _held(now, self._last), first=self._last is None, at_rest=bool(scene.motions))
        self.bay, self._last = bay, now
        self._keep_an_eye_on(bay.sources)
        return seen

    def motions(self) -> Look:
        """The last look once more, with what comes too near while something moves: that takes its time."""
        assert self.bay is not None
        begun = time.monotonic()
        report = self.bay.check(moves=False)
        now, last = Alternative("now", report, self.bay.pair), self._last_whole
        changes = tuple(change for change in _held(now, last) if change.study == moving.ID)
        self._last_whole = now
        return Look(report, changes, first=last is None, seconds=time.monotonic() - begun)

    def changed(self) -> bool:
        """Whether a file has been saved since the last look."""
        return any(stamp(file) != seen for file, seen in self._seen.items())

    def move(self, finding: Finding) -> Finding:
        """The same finding with the move that mends it, or the reason why there is none."""
        assert self.bay is not None
        return with_moves(self.bay.assembly, self.bay.session, (finding,))[0]

    @property
    def files(self) -> tuple[Path, ...]:
        """What to keep an eye on: every file of the scene; while it cannot be read, their folders as well."""
        return tuple(dict.fromkeys([self.path, *self._files, *self._folders]))

    def _keep_an_eye_on(self, files: Iterable[Path], folders: Iterable[Path] = ()) -> None:
        self._files, self._folders = tuple(files), tuple(folders)
        self._seen = {file: self._seen.get(file, stamp(file)) for file in self.files}

    def _forget(self) -> None:
        self._replaced += self._stock.drop_changed()
        if self._replaced > MOST_REPLACED:
            self._stock, self.session, self._replaced = Stock(), Session(), 0


def _held(now: Alternative, last: Alternative | None) -> tuple[Change, ...]:
    return compared([last, now]).changes["now"] if last else ()


def next_save(watcher: Watcher, pause: Pause, told: Look) -> Look:
    """Wait until a file of the scene is saved and stays as it is for a moment, then look.

    Faults are looked at once more when the files change within the grace. The same faults as `told` are not
    news, so the wait goes on.
    """
    while True:
        while not watcher.changed():
            pause(STRIDE)
        look = _look_when_whole(watcher, pause)
        if look.report is not None or look.faults != told.faults:
            return look


def _look_when_whole(watcher: Watcher, pause: Pause) -> Look:
    while True:
        noticed = time.monotonic()
        _settle(watcher, pause)
        look = replace(watcher.look(), seconds=time.monotonic() - noticed)
        if look.report is not None or not _changes_within_grace(watcher, pause):
            return look


def _settle(watcher: Watcher, pause: Pause) -> None:
    """Wait until the files are the same in two looks."""
    now = _stamps(watcher.files)
    while True:
        pause(STRIDE / 2)
        then, now = now, _stamps(watcher.files)
        if then == now:
            return


def _changes_within_grace(watcher: Watcher, pause: Pause) -> bool:
    for _ in range(round(GRACE / STRIDE)):
        pause(STRIDE)
        if watcher.changed():
            return True
    return False


def _stamps(files: Iterable[Path]) -> dict[Path, Stamp]:
    return {file: stamp(file) for file in files}
