"""Motions to be played: from a slider's place to a pose, and where on its way a motion comes nearest.

The way of a motion is a straight line through its parameters. With one parameter it is its range. With several it
runs from the corner of their ranges that lies farthest from the worst setting through that setting, and on as far
as the ranges allow. What else moves in the worst setting is held as it is there, so that the pose at that place is
the very pose that decides the finding.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from packcheck.arrays import Floats, frozen
from packcheck.assembly.assembly import Assembly
from packcheck.findings import Finding, Verdict
from packcheck.kinematics.motions import Drive
from packcheck.moving.telling import pose_data, setting_words

__all__ = ["Player", "Way", "way_of"]

WHOLE_WAY: Final = 5.0
"""s that a motion takes from one end to the other."""

SNAP: Final = 0.012
"""Of the way: a slider let go this near the worst place is there."""


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """How `motion` is led through its parameters, from `start` (k,) to `end` (k,); `held` is the pose of all else.

    `worst` is the share of the way, 0 to 1, at which `finding` is decided; None where nothing is known of it.
    """

    motion: str
    drives: tuple[Drive, ...]
    start: Floats
    end: Floats
    held: Mapping[str, object]
    worst: float | None = None
    finding: Finding | None = None

    def setting(self, share: float) -> Floats:
        """The parameters (k,) at a share of the way."""
        setting: Floats = self.start + (self.end - self.start) * share
        return setting

    def pose(self, share: float) -> Mapping[str, object]:
        """The pose at a share of the way, as findings tell theirs; at the worst place the finding's own."""
        if self.finding is not None and share == self.worst:
            return self.finding.pose
        return {**self.held, **pose_data(self.drives, self.setting(share))}

    def words(self, assembly: Assembly, share: float) -> str:
        """Where the motion is then, in words."""
        return setting_words(assembly, self.drives, self.setting(share))


def way_of(assembly: Assembly, motion: str, findings: Sequence[Finding]) -> Way:
    """The way of a motion, through the worst of `findings` (report order) that it has part in."""
    drives = assembly.motions.drives[motion]
    low, high = (frozen(np.array([getattr(drive, end) for drive in drives])) for end in ("low", "high"))
    listed = [finding for finding in findings if motion in finding.pose]
    worst = next((finding for finding in listed if finding.verdict is not Verdict.PASS), next(iter(listed), None))
    if worst is None:
        return Way(motion, drives, low, high, {})
    held = {name: told for name, told in worst.pose.items() if name != motion}
    at = _setting(drives, worst.pose[motion])
    start = low if len(drives) == 1 else np.where(at - low >= high - at, low, high)
    end, share = _through(start, at, low, high)
    return Way(motion, drives, start, end, held, share, worst)


def _setting(drives: Sequence[Drive], told: Any) -> Floats:
    """The parameters (k,) of one motion from the pose of a finding."""
    if not drives[0].word:
        return np.array([float(told)])
    named = (drive.word.split() for drive in drives)
    return np.array([float(told[word]["xyz".index(axis)]) for word, axis in named])


def _through(start: Floats, at: Floats, low: Floats, high: Floats) -> tuple[Floats, float]:
    """Where the line from `start` through `at` leaves the ranges, and the share of it at which `at` lies."""
    along = at - start
    if not along.any():
        return np.where(start == low, high, low), 0.0
    room = np.where(along > 0, high - start, start - low)
    reach = float(np.min(room[along != 0] / np.abs(along[along != 0])))
    return start + along * max(reach, 1.0), 1.0 / max(reach, 1.0)


@dataclass(slots=True)
class Player:
    """A motion at a share of its way, running or not. It stops of itself at the worst place and at the end."""

    way: Way
    share: float = 0.0
    running: bool = False

    @property
    def at_worst(self) -> bool:
        return self.share == self.way.worst

    def press(self) -> None:
        """Start or stop; from the end it begins anew."""
        self.running = not self.running
        if self.running and self.share >= 1.0:
            self.share = 0.0

    def slide(self, share: float, *, snap: bool = True) -> None:
        """Go to a share of the way by hand; with `snap`, near the worst place, to that place."""
        worst, self.running = self.way.worst, False
        near = snap and worst is not None and abs(share - worst) < SNAP
        self.share = worst if near and worst is not None else float(np.clip(share, 0.0, 1.0))

    def advance(self, seconds: float) -> None:
        """Run on for so long, no farther than the next place to stop at."""
        if self.running:
            then, worst = min(self.share + seconds / WHOLE_WAY, 1.0), self.way.worst
            if worst is not None and self.share < worst <= then:
                then = worst
            self.share = then
            self.running = then < 1.0 and then != worst
