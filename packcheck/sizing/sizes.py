"""How big can it be? The largest (or least) value of a param for which all that rests on it keeps its limits.

Method
------
From the value in the file the param grows (with `--least`: shrinks), and every pair of parts and every measure
that rests on it is followed. Where the param only places things, or is a plain size, and evenly so, each gap
changes by no more than a known rate for each mm of it; so one value is asked after the other and nothing between is
left out: the answer is proven, and 0.1 mm behind it something is missed. What moves is led through all its settings
at each value asked: a gap changes no faster than the parts, and the lines they turn about, are shifted. Otherwise
values are tried at even steps, the crossing is halved in on, and the report says that what lies between was not
proven, and why.

More is not always worse: where the values that pass form several stretches, the first from the value in the file is
the answer, and the others are told. A stretch narrower than the step in which failing values are passed over (a
hundredth of the way looked at, 0.1 mm at the least) may be missed. If the value in the file fails, the nearest
stretch in the other direction is looked for first.

Limits
------
Only what rests on the param is asked. What falls short anyway is counted and named as such. Moves of parts that the
builder would make to suit are not tried; give two params to see what they allow each other.

Example
-------
    packcheck size scenes/plenum_under_body.yaml plenum_height
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from packcheck.errors import Fault, SceneError
from packcheck.findings import Finding, Report
from packcheck.placing.placing import Stock
from packcheck.proximity import Session
from packcheck.scene.build import Written
from packcheck.scene.model.scene import Scene
from packcheck.scene.text.expressions import evaluate
from packcheck.scene.text.hints import nearest
from packcheck.search.march import Ended, March, closed_in, first_kept, kept_until
from packcheck.sizing.growth import Probe, Varied
from packcheck.sizing.tables import frontier_table, size_report
from packcheck.units import QuantityError, to_mm

__all__ = ["Asked", "Size", "Stretch", "frontier", "one_size", "size_of"]

RESOLUTION = 0.1
"""mm. How near the ends of a stretch are found."""

STEPS = 100
"""Into how many steps the way is cut where values fail, or are only tried."""

MOST_VALUES = 150
"""Values of the param that are tried on one way; some tenths of a second each."""

ENOUGH = 20.0
"""mm. How far a stretch is followed that was found on the way back."""

ROUND = (1.0, 2.0, 5.0, 10.0)
"""mm. Grids of the rounder values told beside the answer."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """Values of the param that pass, mm, nearest to the start first; `by` stops it there ("": the way ends)."""

    start: float
    end: float
    by: str


@dataclass(frozen=True, slots=True)
class Size:
    """The answer for one param.

    Parameters
    ----------
    param : str
    begun : float
        The value looked from, mm.
    value : float or None
        The last value that passes; None when none was found.
    stopped_by : str
        The pair or measure that stops it; empty when the way looked at ended first.
    stretches : tuple of Stretch
        All that were found, the one that gives `value` first.
    unproven : str
        Why what lies between was not proven; empty when it was.
    rounder : tuple
        Rounder values within the stretch, each with its worst finding.
    beside : int
        Shortfalls that do not rest on the param.
    refused : str
        Why the scene does not load beyond the last value looked at.
    at_rest : float or None
        The answer with everything at rest, where it is another.
    """

    param: str
    begun: float
    value: float | None
    stopped_by: str
    stretches: tuple[Stretch, ...]
    unproven: str
    rounder: tuple[tuple[float, Finding | None], ...] = ()
    beside: int = 0
    refused: str = ""
    at_rest: float | None = None


def size_of(varied: Varied, begun: float, *, least: bool = False, to: float | None = None) -> Size:
    """The largest value of the param (the least, if `least`) that passes, on the way from `begun` `to` a value, mm.

    Without `to`, three times as far as the value itself, 100 mm on at the least.

    Raises
    ------
    SceneError
        The scene does not load at the value it begins with.
    """
    varied.prepare(begun)
    sign = -1.0 if least else 1.0
    reach = max(100.0, 2 * abs(begun)) if to is None else max(0.0, sign * (to - begun))
    ahead, refused = _stretches(varied, begun, sign, reach)
    found = ahead
    if not ahead or ahead[0].start != begun:  # it fails as it stands: look the other way first
        back, _ = _stretches(varied, begun, -sign, max(100.0, abs(begun)), ENOUGH)
        found = [Stretch(one.end, one.start, one.by) for one in back[:1]] + ahead
    first = found[0] if found else None
    if first is None:
        return Size(varied.param, begun, None, varied.probe(begun, begun).by, (), varied.unproven, refused=refused)
    answer = first.end
    rounder = tuple((value, varied.worst(value)) for value in _rounder(first, sign))
    behind = answer + sign * RESOLUTION
    stopped = first.by if first in ahead else varied.probe(behind, behind).by
    beside = varied.untouched_shortfalls(answer)
    return Size(varied.param, begun, answer, stopped, tuple(found), varied.unproven, rounder, beside, refused)


@dataclass(slots=True)
class _Way:
    """The values of a param from `begun` on, s mm up (`sign` 1) or down (-1), no farther than `reach` mm."""

    varied: Varied
    begun: float
    sign: float
    reach: float
    stride: float = field(init=False)  # mm; between values only tried, and the least way past one that fails
    refused: str = ""
    _known: dict[float, Probe] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.stride = max(RESOLUTION, self.reach / STEPS)

    @property
    def left(self) -> int:
        """How many more values may be tried."""
        return max(0, MOST_VALUES - len(self._known))

    def value(self, s: float) -> float:
        return self.begun + self.sign * s

    def probe(self, s: float) -> Probe:
        if s not in self._known:
            self._known[s] = self.varied.probe(self.value(s), self.value(self.reach))
        return self._known[s]

    def step(self, s: float) -> tuple[float, float]:
        """How much farther it passes, or fails; of values only tried, one that passes speaks up to the next."""
        probe = self.probe(s)
        if probe.refused:
            self.refused = f"at {self.value(s):g} mm: {probe.refused}"
            return -1.0, np.inf
        if probe.free < 0:
            return -1.0, probe.missing
        return (self.stride if self.varied.unproven else probe.free), 0.0

    def kept_from(self, opened: float) -> tuple[float, March]:
        """Where what passes from `opened` on ends: as far as that is proven, and the scene loads."""
        kept = kept_until(self.step, opened, self.reach, self.left)
        end = kept.proven
        if self.varied.unproven and kept.ended is Ended.END and self.step(end)[0] < 0:
            kept = replace(kept, ended=Ended.MISSED)
        if kept.at is not None and kept.ended is Ended.MISSED and (self.varied.unproven or self.refused):
            end = closed_in(lambda s: (self.step(s)[0], 0.0), kept.proven, kept.at, RESOLUTION / 2).kept
        return end, kept

    def stopped_by(self, end: float, kept: March) -> str:
        """What stops it there; nothing where the way ends, or the scene does not load."""
        if self.refused or kept.ended in (Ended.END, Ended.SPENT):
            return ""
        return self.probe(kept.proven if kept.ended is Ended.MISSED else end + RESOLUTION).by


def _stretches(
    varied: Varied, begun: float, sign: float, reach: float, enough: float = np.inf
) -> tuple[list[Stretch], str]:
    """The stretches that pass, outward from `begun`, and why the way ended early if it did.

    With `enough` only the first one is looked for, and followed for no more than so many mm.
    """
    way, stretches, s = _Way(varied, begun, sign, reach), [], 0.0
    while s <= way.reach:
        opened = first_kept(way.step, s, way.reach, way.stride, RESOLUTION / 2, way.left)
        if opened.at is None:
            break
        way.reach = min(way.reach, opened.at + enough)
        end, kept = way.kept_from(opened.at)
        by = way.stopped_by(end, kept)
        stretches.append(Stretch(way.value(opened.at), way.value(end), by))
        if way.refused or np.isfinite(enough):
            break
        s = kept.proven + (RESOLUTION if kept.ended is Ended.KEPT else 0.0)
        if kept.ended in (Ended.END, Ended.SPENT):
            break
    spent = "" if way.left else f"{MOST_VALUES} values were tried and no more"
    return stretches, way.refused or spent


def _rounder(stretch: Stretch, sign: float) -> Iterator[float]:
    """The answer on a tenth, then values on ever rounder grids, each within the stretch and farther in."""
    low, high = sorted((stretch.start, stretch.end))
    last: float | None = None
    for grid in (RESOLUTION, *ROUND):
        value = round(float(sign * np.floor(sign * stretch.end / grid + 1e-9) * grid), 6)
        while last is not None and sign * value >= sign * last:
            value = round(value - sign * grid, 6)
        if low <= value <= high:
            yield value
        last = value


@dataclass(slots=True)
class Asked:
    """What the command line asks of a scene file.

    Raises
    ------
    SceneError
        The file cannot be understood, or holds no such param, or `to` is no length.
    """

    path: str
    param: str
    layout: str | None = None
    least: bool = False
    to: str | None = None
    written: Written = field(init=False)
    scene: Scene = field(init=False)

    def __post_init__(self) -> None:
        self.written = Written(self.path)
        self.scene = self.written.scene(self.layout)
        self.refuse_stranger(self.param)

    @property
    def sources(self) -> tuple[Path, ...]:
        return self.scene.sources

    @property
    def end(self) -> float | None:
        """The value to look up to, mm."""
        if self.to is None:
            return None
        try:
            return to_mm(evaluate(self.to, {}), self.scene.units)
        except QuantityError as error:
            raise SceneError([Fault(None, f"--to {self.to!r} {error.what}", mend=str(error.mend))]) from error

    def refuse_stranger(self, param: str) -> None:
        """Refuse what is no param of the scene."""
        if param not in self.scene.params:
            known = ", ".join(self.scene.params) or "none"
            mend = nearest(param, self.scene.params) or f"the scene's params are {known}"
            raise SceneError([Fault(None, f"{self.path}: there is no param {param!r} in this scene", mend=mend)])


def one_size(asked: Asked) -> Report:
    """The answer for one param as a report."""
    varied = Varied(asked.written, asked.param, asked.layout)
    begun = asked.scene.params[asked.param]
    size = size_of(varied, begun, least=asked.least, to=asked.end)
    if asked.scene.motions:
        still = Varied(asked.written, asked.param, asked.layout, {}, varied.session, varied.stock, still=True)
        alone = size_of(still, begun, least=asked.least, to=asked.end).value
        size = replace(size, at_rest=None if alone is None or alone == size.value else alone)
    return size_report(size, asked.scene, least=asked.least)


def frontier(asked: Asked, second: str, points: int) -> Report:
    """For each of some values of one param, the largest (least) value of a second one that passes."""
    asked.refuse_stranger(second)
    here = asked.scene.params[asked.param]
    end = asked.end if asked.end is not None else here + (-1.0 if asked.least else 1.0) * max(50.0, abs(here)) / 2
    session, stock = Session(), Stock()
    found: list[tuple[float, Size]] = []
    for value in np.round(np.linspace(here, end, points), 3).tolist():
        fixed = {asked.param: value}
        varied = Varied(asked.written, second, asked.layout, fixed, session, stock)
        try:
            size = size_of(varied, asked.scene.params[second], least=asked.least)
        except SceneError as error:
            size = Size(second, asked.scene.params[second], None, error.faults[0].what, (), "")
        found.append((value, size))
    scene = asked.scene
    table = frontier_table(asked.param, second, found)
    return Report(scene.path, scene.title, scene.layout, tables=(table,), units=scene.units)
