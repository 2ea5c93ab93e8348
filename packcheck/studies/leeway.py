"""How far may a part travel, and turn, before something stands in its way; and what stops it?

Method
------
The part, with all that hangs on it, is led along the six directions of the car, and turned both ways about its own
three axes through its own zero. The margin at one place says how far it may surely go on: no gap shrinks faster
than the part travels, a turn carries no point farther than its distance from the axis, and a plane between two
convex parts holds until the part has travelled to it. So one place is asked after the other and nothing between is
left out. The figure printed is proven: at no place within it is a limit missed, by the same rules and tolerances as
in `packcheck check`. Just behind it (0.1 mm, 0.1 degrees) something is missed, or may be.

Where the part falls short as it stands, the nearest place along the way is sought where it does not: stretches are
ruled out by what is surely missing, at least 0.1 mm at a time, so that a place narrower than that may be passed by.

What moves is led through its motions all along the way: for each pair that a motion moves against each other, one
search over the way and the settings of the motions together tells how far its `moving` limit is kept at every
setting, and that within 0.05 mm or degrees behind that it is not proven to be.

Measures that stand on the part count as well. What it is bolted to may lose its joint but not be sunk into; joints
that come undone are named. Hoses and looms bolted to it are led anew and ask nothing.

Limits
------
Straight ways and turns about one axis at a time. A way that is free is free of the shapes in the file, as described
there. Measures count at rest.

Example
-------
    packcheck leeway scenes/hillclimb_rear_bay.yaml vacuum_tank
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from math import ceil, floor, radians

import numpy as np

from packcheck.arrays import Vector, frozen
from packcheck.assembly.assembly import Assembly
from packcheck.datums import AxisWords, inch_figure, length_words
from packcheck.findings import Contributor, Report, Table
from packcheck.frames import IDENTITY, Pose
from packcheck.kinematics.joints import Joint
from packcheck.moving.sliding import MovingGroup, Slide
from packcheck.proximity import Session
from packcheck.scene.model.scene import Capsule, Cone, Cylinder, Sphere, Tube
from packcheck.search.march import Ended, Step, all_kept, first_kept, kept_until
from packcheck.studies.going import MOST_QUERIES, STEP, Way, in_play
from packcheck.tolerances import MOVE_REACH
from packcheck.trial.elsewhere import is_followed
from packcheck.trial.trial import Trial

__all__ = ["ID", "TURN_REACH", "Leeway", "contributor_words", "leeways", "run"]

ID = "leeway"

TURN_REACH = 90.0
"""deg. A part turned farther is another layout."""

MOVING_STEP = 0.05
"""mm or deg. How near the end of a way is found that a moving pair stops."""

_MOST_NAMED = 3
"""Names in one cell of the table; the others are counted."""


@dataclass(frozen=True, slots=True)
class Leeway:
    """How far one way goes.

    Parameters
    ----------
    way : str
        The direction in words, or the axis and the sense of the turn.
    unit : str
        mm or deg.
    free : float
        Proven: nothing is missed up to here. inf: as far as was looked. Zero when something is missed already.
    stopped_by : tuple of str
        The other part (with the motion, if it is moved), or the measure, that stops it there.
    passes_at : float or None
        Where the part falls short as it stands: the nearest place along the way where it does not.
    open_end : bool
        The way may go on: it was proven no farther.
    contributors : tuple of Contributor
        To what is not known of the gap at rest that stops it there, largest first.
    undone : tuple of str
        Joints that are not made any more at the end of the way.
    """

    way: str
    unit: str
    free: float
    stopped_by: tuple[str, ...] = ()
    passes_at: float | None = None
    short_now: bool = False
    open_end: bool = False
    undone: tuple[str, ...] = ()
    contributors: tuple[Contributor, ...] = ()


def run(assembly: Assembly, session: Session, only: Collection[str] = ()) -> Report:
    """The leeway of each part of `only`, as tables."""
    tables = [_table(assembly, part, tuple(leeways(assembly, session, part))) for part in only]
    scene = assembly.scene
    return Report(scene.path, scene.title, scene.layout, tables=tuple(tables), units=scene.units)


def leeways(assembly: Assembly, session: Session, part: str, reach: float = MOVE_REACH) -> Iterator[Leeway]:
    """The six ways of the car, then both turns about each of the part's own axes; `reach` mm."""
    trial = Trial(assembly, session, part)
    if is_followed(assembly, part):
        yield from _followed(assembly)
        return
    group = MovingGroup(assembly, session, part)
    axes = assembly.scene.axes
    words = AxisWords(axes.x, axes.y, axes.z)
    for axis in range(3):
        for sign in (1.0, -1.0):
            yield _along(trial, group, words, sign * np.eye(3)[axis], reach)
    for axis, letter in enumerate("xyz"):
        if _is_round(assembly, part, letter):
            yield Leeway(f"turn about its {letter}", "deg", np.inf)
            continue
        for sign, sense in ((1.0, "+"), (-1.0, "-")):
            yield _about(trial, group, f"turn {sense} about its {letter}", axis, sign)


def _followed(assembly: Assembly) -> Iterator[Leeway]:
    """Of a part whose images, or what rests on it, would follow it: nothing is proven, since these are not led."""
    words = AxisWords(assembly.scene.axes.x, assembly.scene.axes.y, assembly.scene.axes.z)
    for axis in range(3):
        for sign in (1.0, -1.0):
            said = words.shift_words(sign * np.eye(3)[axis]).split(" ", 2)[2]
            yield Leeway(said, "mm", 0.0, ("what rests on it, or is its image",), open_end=True)


def _is_round(assembly: Assembly, part: str, axis: str) -> bool:
    """Whether turning the part about one of its own axes changes nothing: one round shape on that axis, alone."""
    scene = assembly.scene.parts[part]
    if len(scene.solids) != 1 or assembly.carried_by(part):
        return False
    (spec,) = scene.solids
    if isinstance(spec.shape, Sphere):
        return spec.anchor == ("mid", "mid", "mid")
    if not isinstance(spec.shape, Cylinder | Capsule | Cone | Tube) or spec.shape.along != axis:
        return False
    across = [end for end, other in zip(spec.anchor, "xyz", strict=True) if other != axis]
    return across == ["mid", "mid"] and not any(spec.turn)


def _along(trial: Trial, group: MovingGroup, words: AxisWords, direction: Vector, reach: float) -> Leeway:
    slide = Slide(group, Joint(None, frozen(direction), 1.0))
    way = Way(trial, lambda s: Pose(IDENTITY.rotation, frozen(direction * s)), 1.0, reach, slide, direction)
    return _gone(way, words.shift_words(direction).split(" ", 2)[2], "mm")


def _about(trial: Trial, group: MovingGroup, said: str, axis: int, sign: float) -> Leeway:
    pose = trial.assembly.poses[trial.part]
    thumb = pose.rotation[:, axis]

    def at(s: float) -> Pose:
        own = np.zeros(3)
        own[axis] = sign * s
        return pose @ Pose.of((0, 0, 0), own) @ pose.inverse()

    speed = radians(max(trial.radius(thumb, pose.translation), 1e-3))
    slide = Slide(group, Joint(None, frozen(thumb), sign * radians(1.0), pose.translation))
    return _gone(Way(trial, at, speed, TURN_REACH, slide), said, "deg")


def _gone(way: Way, said: str, unit: str) -> Leeway:
    """Every limit followed along the way; the first to be missed stops it."""
    asks, measures = in_play(way)
    steps: list[Step] = [partial(way.gap_free, ask) for ask in asks]
    steps += [partial(way.measure_free, measure) for measure in measures]
    names = [*(ask.pair[1] for ask in asks), *(measure.name for measure in measures)]
    short = [name for name, step in zip(names, steps, strict=True) if step(0.0)[0] < 0]
    moving = way.slide.group
    short += [moving.said(pair) for pair in moving.short_now]
    if short:
        steps += [partial(way.moving_free, pair) for pair in moving.pairs]
        passes_at = first_kept(all_kept(steps, STEP), 0.0, way.reach, STEP).at
        return Leeway(said, unit, 0.0, tuple(dict.fromkeys(short)), passes_at, short_now=True)
    best, by, open_end, stop = way.reach, "", False, len(asks)
    for place, (step, name) in enumerate(zip(steps, names, strict=True)):
        kept = kept_until(step, 0.0, best, MOST_QUERIES)
        if kept.proven < best:
            best, by, open_end, stop = kept.proven, name, kept.ended is Ended.SPENT, place
    for pair in moving.pairs:
        first = way.slide.first_short(pair, best, MOVING_STEP)
        if first.kept < best:
            best, by, open_end = first.kept, moving.said(pair), first.missed > first.kept + MOVING_STEP
            stop = len(asks)
    undone = way.trial.undone(way.at(best))
    if not by:
        return Leeway(said, unit, np.inf, undone=undone)
    unsure = way.trial.contributors(asks[stop], way.at(best)) if stop < len(asks) else ()
    return Leeway(said, unit, best, (by,), open_end=open_end, undone=undone, contributors=unsure)


def _table(assembly: Assembly, part: str, ways: tuple[Leeway, ...]) -> Table:
    rows = [_row(way, assembly.scene.units) for way in ways]
    columns = ("way", "free", "unit", "stopped by", "passes after", "joints undone", "note")
    title = f"Leeway of {part}" + _along_with(assembly, part)
    note = "Proven: within what is free no limit is missed."
    if any(way.short_now for way in ways):
        note = "It falls short as it stands. The way to where it passes may lead through other parts."
    return Table("leeway", title, columns, tuple(rows), note)


def _along_with(assembly: Assembly, part: str) -> str:
    carried = assembly.carried_by(part)
    return f", with {_few(carried)}" if carried else ""


def _few(names: Sequence[str]) -> str:
    """Names in a row, and how many more there are."""
    left = len(names) - _MOST_NAMED
    return f"{', '.join(names[:_MOST_NAMED])} and {left} others" if left > 1 else ", ".join(names)


def _row(way: Leeway, units: str) -> tuple[str | float | None, ...]:
    endless = not np.isfinite(way.free)
    unit = "in" if units == "in" and way.unit == "mm" else way.unit
    looked = _down(MOVE_REACH if way.unit == "mm" else TURN_REACH, unit)
    said = f"{looked:g}" if isinstance(looked, float) else looked
    free: str | float = f"over {said}" if endless else _down(way.free, unit)
    notes = ["proven no farther"] if way.open_end else []
    note = "; ".join([*notes, *contributor_words(way.contributors, units)])
    passes = None if way.passes_at is None else _up(way.passes_at, unit)
    if way.short_now and passes is None:
        note = f"nowhere within {said}"
    if endless and way.way.startswith("turn about"):
        free, note = "any", "round: changes nothing"
    return way.way, free, unit, _few(way.stopped_by), passes, _few(way.undone), note


def contributor_words(found: Sequence[Contributor], units: str) -> list[str]:
    """What takes most of what is not known off a gap, in words; nothing where all is known."""
    return [f"{length_words(found[0].takes, units)} of it not known: {found[0].name}"] if found else []


def _down(figure: float, unit: str) -> str | float:
    """A proven figure, mm or deg, to tenths or in sixteenths of an inch: never more than it is."""
    return inch_figure(figure, floor) if unit == "in" else float(np.floor(figure * 10 + 1e-6) / 10)


def _up(figure: float, unit: str) -> str | float:
    """The same, never less than it is."""
    return inch_figure(figure, ceil) if unit == "in" else float(np.ceil(figure * 10 - 1e-6) / 10)
