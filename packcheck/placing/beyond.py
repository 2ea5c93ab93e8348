r"""What is not known beyond the readings of a skin, and how near a part may come to it.

A skin was read on a grid; the true panel goes on past it, nobody said where. All that is sure is that it
stands outside what was read, seen along the heights:

      unknown :  what was read   : unknown          a part inside keeps at least `inside` from whatever
              :   +------+       :                  stands out there; one that reaches out keeps nothing
              :   | part |<----->:
              :   +------+ inside:

What stands farther from the readings than its limit and `margin` is left out: it would be every part of the car.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from packcheck.arrays import Floats, Point
from packcheck.datums import length_words
from packcheck.findings import Finding
from packcheck.frames import Pose
from packcheck.placing.placing import SolidMaker
from packcheck.proximity import Placed
from packcheck.scene.model.scene import Scene, Skin
from packcheck.tolerances import BEYOND_READINGS

__all__ = ["Beyond"]


@dataclass(frozen=True, slots=True, eq=False)
class _Read:
    """One grid: `pose` carries its own coordinates to those of its part; `plan` its two axes, stations first.

    `stations` (n,) rise; `low` and `high` (n,) are how far each was read along the other axis, mm.
    """

    pose: Pose
    plan: tuple[int, int]
    stations: Floats
    low: Floats
    high: Floats

    @staticmethod
    def of(shape: Skin, pose: Pose) -> _Read:
        grid = np.asarray(shape.grid)
        first, second = (k for k in range(3) if k != shape.up[0])
        if np.ptp(grid[0, :, first]) > 0:  # stations are the lines along which their own coordinate stands still
            first, second = second, first
        places = grid[..., second]
        order = np.argsort(grid[:, 0, first])
        stations = grid[order, 0, first]
        return _Read(pose, (first, second), stations, places.min(axis=1)[order], places.max(axis=1)[order])

    def inside(self, skin: Placed, other: Placed) -> float:
        """How far `other` stays inside of what was read, mm; negative: how far it reaches out."""
        return self._within(other.at(self._own(skin) @ other.pose).box())

    def inside_box(self, skin: Placed, box: Floats) -> float:
        """The same for a box (2, 3), car frame."""
        corners = self._own(skin).apply(np.array(list(product(*box.T))))
        return self._within((corners.min(axis=0), corners.max(axis=0)))

    def _own(self, skin: Placed) -> Pose:
        """What carries the car's coordinates to those of the grid."""
        return (skin.pose @ self.pose).inverse()

    def _within(self, extents: tuple[Point, Point]) -> float:
        (low, high), first = extents, self.plan[0]
        ends = np.searchsorted(self.stations, [low[first], high[first]])
        beside = slice(max(int(ends[0]) - 1, 0), int(ends[1]) + 1)  # the stations the part stands between
        rows = beside if len(self.low[beside]) else slice(None)
        second = self.plan[1]
        along = min(low[first] - self.stations[0], self.stations[-1] - high[first])
        across = min(low[second] - self.low[rows].max(), self.high[rows].min() - high[second])
        return float(min(along, across))


class Beyond:
    """The skins of a scene whose readings do not reach the edges of the real panel, and what that leaves unsure."""

    def __init__(self, scene: Scene, maker: SolidMaker) -> None:
        self.margin = max(BEYOND_READINGS, scene.list_within or 0.0)
        self._units = scene.units
        self._read: dict[str, tuple[_Read, ...]] = {}
        for name, part in scene.parts.items():
            if any(isinstance(spec.shape, Skin) and not spec.shape.to_edges for spec in part.solids):
                self._read[name] = tuple(
                    _Read.of(spec.shape, pose)
                    for spec, pose, _ in maker.shapes(part)
                    if isinstance(spec.shape, Skin) and not spec.shape.to_edges
                )

    def unread(self, name: str) -> bool:
        """Whether a part is a skin that was not read to its edges."""
        return name in self._read

    def between(self, a: str, b: str) -> float:
        """How much nearer two parts must be looked at, mm: `margin` where one is such a skin, else nothing."""
        return self.margin if self.unread(a) or self.unread(b) else 0.0

    def reach(self, names: Sequence[str]) -> Floats:
        """The same for all pairs of n names, (n, n) mm."""
        such = np.array([self.unread(name) for name in names], dtype=bool)
        return np.where(such[:, None] | such[None], self.margin, 0.0)

    def least(self, low: float, must: float, a: Placed, b: Placed, slack: float) -> float:
        """The least gap of two parts, mm, of which that to what was read is `low` or more.

        `slack` is how far they may stand off their places. It changes no faster than one of them travels.
        """
        if not self.between(a.name, b.name) or low >= must + self.margin:
            return low
        return min(low, max(self.inside(a, b) - slack, low - self.margin))

    def keeps_open(self, finding: Finding, a: Placed, b: Placed, slack: float) -> bool:
        """Whether what was not read leaves a gap undecided, however well all the rest were known."""
        must, high = finding.limit.must, finding.hard[1]
        if must is None or finding.value is None or (high is not None and high < must):
            return False
        return self.least(max(finding.value, must), must, a, b, slack) < must

    def inside(self, a: Placed, b: Placed) -> float:
        """How far one part stays inside of what was read of the other, mm; negative: how far it reaches out."""
        rooms = [read.inside(skin, other) for skin, other in ((a, b), (b, a)) for read in self._of(skin)]
        return min(rooms, default=np.inf)

    def swept_out(self, skin: Placed, other: str, box: Floats, needed: float) -> str:
        """Why `other`, which moves in `box` (2, 3), car frame, may come nearer to a still skin than `needed` mm.

        Empty where it cannot: all of the box stays that far inside of what was read.
        """
        room = min((read.inside_box(skin, box) for read in self._of(skin)), default=np.inf)
        return (
            "" if room >= needed else f"{other} moves out beyond what was read of {skin.name}, or close to its end"
        )

    def _of(self, skin: Placed) -> tuple[_Read, ...]:
        return self._read.get(skin.name, ())

    def told(self, finding: Finding, a: Placed, b: Placed, slack: float, *, joint: bool) -> Finding:
        """The finding of the gap to what was read, with what the rest of the skin does to it.

        What rests on a skin or is bolted to it stays so: there it is the note alone that tells.
        """
        low, must = finding.low, finding.limit.must
        if must is None or finding.value is None or not self.between(a.name, b.name):
            return finding
        found = finding.value if low is None else low
        sure = self.least(found, must, a, b, slack)
        if sure >= found or found >= must + self.margin:
            return finding
        room = self.inside(a, b)
        note = "; ".join(filter(None, [finding.note, self._note(a, b)]))
        if joint:
            return replace(finding, note=note) if room < 0 else finding
        least = None if low is None or room < 0 else min(low, room - slack)
        return replace(finding, low=least, note=note)

    def _note(self, a: Placed, b: Placed) -> str:
        skin, other = min(
            ((s, o) for s, o in ((a, b), (b, a)) if self._of(s)),
            key=lambda pair: min(read.inside(*pair) for read in self._of(pair[0])),
        )
        room = min(read.inside(skin, other) for read in self._of(skin))
        far = length_words(abs(round(room, 1)), self._units)
        if room < 0:
            return f"{other.name} reaches {far} beyond what was read of {skin.name}"
        return f"{skin.name} was read to only {far} beyond {other.name}"

    def notes(self) -> Iterator[str]:
        """What the passes of each such skin leave out."""
        far = length_words(self.margin, self._units)
        for name in self._read:
            yield (
                f"{name} was not read to its edges: what stands over {far} beyond its limit from the readings is"
                " not judged against the rest of it (to_edges: true says that there is no rest)"
            )
