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
    packcheck size scenes/hillclimb_rear_bay.yaml plenum_height
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from packcheck.assembly.placing import Stock
from packcheck.errors import Fault, SceneError
from packcheck.findings import Finding, Report
from packcheck.proximity import Session
from packcheck.scene.build import Written
from packcheck.scene.expressions import evaluate
from packcheck.scene.hints import nearest
from packcheck.scene.model import Scene
from packcheck.sizing.growth import Varied
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


def _stretches(
    varied: Varied, begun: float, sign: float, reach: float, enough: float = np.inf
) -> tuple[list[Stretch], str]:
    """The stretches that pass, outward from `begun`, and why the way ended early if it did.

    Once one has begun, it is followed for no more than `enough` mm, and no other is looked for.
    """
    stretches: list[Stretch] = []
    opened: float | None = None
    s, loaded, passed, failed, step = 0.0, 0.0, 0.0, 0.0, max(RESOLUTION, reach / STEPS)
    for _ in range(MOST_VALUES):
        probe = varied.probe(begun + sign * s, begun + sign * reach)
        if probe.refused:
            end = _crossing(varied, begun, sign, s, loaded)
            return _closed(stretches, begun, sign, opened, end), f"at {begun + sign * s:g} mm: {probe.refused}"
        loaded = s
        if probe.free >= 0:
            opened = _crossing(varied, begun, sign, failed, s) if opened is None else opened
            reach = min(reach, opened + enough)
            passed = s if varied.unproven else min(reach, s + probe.free)
            s += step if varied.unproven else max(probe.free, RESOLUTION if probe.free == 0 else 1e-6)
        else:
            if opened is not None:
                end = _crossing(varied, begun, sign, s, passed) if varied.unproven else passed
                stretches.append(_stretch(begun, sign, opened, end, probe.by))
            opened, failed = None, s
            s += max(probe.missing, step)
            failed = s - step if probe.missing > step else failed
        if s > reach:
            return _closed(stretches, begun, sign, opened, reach), ""
    return _closed(stretches, begun, sign, opened, passed), f"{MOST_VALUES} values were tried and no more"


def _closed(stretches: list[Stretch], begun: float, sign: float, opened: float | None, end: float) -> list[Stretch]:
    """The stretches, with one that was open at the end of the way."""
    return stretches if opened is None else [*stretches, _stretch(begun, sign, opened, end, "")]


def _stretch(begun: float, sign: float, start: float, end: float, by: str) -> Stretch:
    return Stretch(begun + sign * start, begun + sign * end, by)


def _crossing(varied: Varied, begun: float, sign: float, fails: float, passes: float) -> float:
    """Where passing begins between a way that fails and one that passes, from the passing side."""
    while abs(passes - fails) > RESOLUTION / 2:
        middle = (passes + fails) / 2
        if varied.probe(begun + sign * middle, begun + sign * middle).free >= 0:
            passes = middle
        else:
            fails = middle
    return passes


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
