"""Where else could a part go? Every place in a box where it fits, proven, and the best of them.

Method
------
The part, with all that hangs on it, is shifted about in a box, turned in each of the ways asked for. A place is
where the middle of its own box stands, along the car's axes. The box of places is cut into cells no larger than
`--cell`:

    fits            wherever in the cell its middle stands, no gap of it comes under its limit, nor under the moving
                    limit of whatever moves past it, all over the motion
    does not fit    wherever it stands in the cell, a limit is missed, or tolerances leave it unsure
    undecided       neither is proven for the whole cell: smaller cells tell more

Nothing is sampled. A fin thinner than a cell keeps the cell from fitting. Cells that fit and touch by their faces
make a pocket; pockets are told largest first.

Where nothing fits and something is undecided, cells are halved by themselves until something fits, or half a
million of them are reached. That it fits nowhere is said only where every cell is proven.

The part is first tried where it stands. Out of the cells that fit come places to choose from, each a way off the
others: the one with the most margin (what is left of the tightest limit), the one nearest to where the part
stands, and others. Each is then checked wholly, as `packcheck check` would with the part drawn there: motions,
measures, room to be kept free. What that finds short is not proposed, and counted. They are ranked by margin, then
by how far the part moves, and can be written into the scene as layouts, comments kept.

What the part is bolted to may lose its joint but not be sunk into; joints that come undone are named. Hoses and
looms bolted to it are led anew and ask nothing.

With `--beside FRAME` or `--face PART` only places count where the part comes within `--stand-off` of the zero of
that frame, or of that part's surface: as far as a bracket is to reach.

Limits
------
Measures, and motions of the part itself, count for the places proposed but not for the cells. How the part would
get there is not asked.

Example
-------
    packcheck place scenes/hillclimb_rear_bay.yaml breather_box --within "0, 0, 300 up to 400 aft, 400, 450 up"
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from packcheck.arrays import Floats, Point, Vector, frozen
from packcheck.assembly.assembly import Assembly
from packcheck.bay import Bay
from packcheck.findings import Finding
from packcheck.frames import Pose
from packcheck.places.refining import refined
from packcheck.places.spots import Search, Spot
from packcheck.proximity import Placed
from packcheck.search import FITS, NOT
from packcheck.studies.mapping import Margins, Region, most_margin, region
from packcheck.trial.barriers import Shifted
from packcheck.trial.elsewhere import stands_in
from packcheck.trial.trial import Trial

__all__ = ["Places", "Spot", "places"]

LISTED = 5
"""Places proposed, besides the nearest."""

APART = 60.0
"""mm. Places proposed for one turn of the part are at least that far from each other."""

LOOKED_AT = 16
"""Places of each turn whose margin is asked, likeliest first."""

BOUNDED = 40
"""Cells of each turn that are asked to tell how much margin there can be at the most."""

TRIED = 12
"""Places checked wholly, some seconds each in a large bay."""

AS_IT_STANDS = "as it stands"

ROUNDINGS = sorted(product((0, -1, 1), repeat=3), key=lambda ways: sum(map(abs, ways)))
"""To the nearest round figure first, then to those beside it."""

STEP = 1.0
"""mm. Places are rounded to this where they then still fit; in inches to a sixteenth."""


@dataclass(frozen=True, slots=True, eq=False)
class Places:
    """The answer: the map of each turn, the places proposed, best first, and those that a whole check refused.

    `box` holds the places looked at. `short` tells of each place that was refused what is short there. Nowhere in
    the box is there more margin than `most`, mm; beyond `MOVE_REACH` it was not looked at.
    """

    part: str
    here: Point
    box: tuple[Vector, Vector]
    regions: tuple[Region, ...]
    spots: tuple[Spot, ...]
    short: tuple[Finding, ...]
    most: float


def places(
    bay: Bay,
    part: str,
    box: tuple[Vector, Vector],
    turns: Sequence[tuple[str, Pose | None]] = (("now", None),),
    cell: float = 10.0,
    near: Sequence[tuple[Placed, float]] = (),
) -> Places:
    """The map of `part` in a box of places for its middle (two corners (3,) mm), turned in each of `turns`.

    Each turn is how it is said, and the part's own frame so turned in what it is placed in; None as it stands. Of
    each part in `near` it must stand within that distance, mm.
    """
    assembly = bay.assembly
    trial = Trial(assembly, bay.session, part)
    low, high = assembly.parts[part].box()
    search = Search(bay, trial, frozen((low + high) / 2))
    makers = [_making(trial, said, _rotation(assembly, part, turn), box, near) for said, turn in turns]
    regions = refined(makers, box, cell)
    unturned = [one for one, (_, turn) in zip(regions, turns, strict=True) if turn is None]
    here = _here(search, unturned[0], near=bool(near)) if unturned else None
    ranked = sorted((spot for one in regions for spot in _spots(search, one)), key=_rank)
    found = _accepted(search, ranked, LISTED)
    nearest = here or _nearest(search, regions)
    most = max(most_margin(one, BOUNDED) for one in regions)
    return Places(part, search.here, box, regions, tuple(_noted(found, nearest)), tuple(search.short), most)


def _making(
    trial: Trial, said: str, turned: Floats, box: tuple[Vector, Vector], near: Sequence[tuple[Placed, float]]
) -> Callable[[float], Region]:
    return lambda cell: region(said, Shifted(trial, turned, cell), box, near)


def _rotation(assembly: Assembly, part: str, turn: Pose | None) -> Floats:
    if turn is None:
        return assembly.poses[part].rotation
    return (assembly.carrier(part) @ turn).rotation


def _rank(spot: Spot) -> tuple[float, float, str]:
    return -round(spot.margin, 1), spot.moved, spot.said


def _spots(search: Search, one: Region) -> Iterator[Spot]:
    """Places of one turn, each with its margin: where the nearest place that does not fit is farthest, first."""
    margins = Margins(one.shifted)
    reach = np.minimum(one.reach(), 1e4)
    cells = np.argwhere(one.states == FITS)
    middles = one.grid.middles(cells)
    moved = np.linalg.norm(middles - search.here, axis=1)
    order = np.lexsort((moved, -np.round(reach[tuple(cells.T)], 3)))
    left = np.ones(len(cells), dtype=bool)
    for _ in range(LOOKED_AT):
        free = order[left[order]]
        if not len(free):
            return
        middle = middles[free[0]]
        left &= np.linalg.norm(middles - middle, axis=1) >= APART
        spot = _spot(search, one, margins, _climbed(one, margins, middle))
        if spot is not None:
            yield spot


def _climbed(one: Region, margins: Margins, middle: Point) -> Point:
    """A place near by with more margin, in steps along the axes that get shorter; it surely fits as well."""
    best, step = margins.at(middle)[0], float(one.grid.cell.min()) / 2
    for _ in range(3):
        for way in np.vstack([np.eye(3), -np.eye(3)]):
            there = middle + way * step
            if one.fits_at(there) and (more := margins.at(there, best)[0]) > best:
                middle, best = there, more
        step /= 2
    return middle


def _spot(search: Search, one: Region, margins: Margins, middle: Point) -> Spot | None:
    """A place with its margin, on round figures where those fit too; None where the kernel finds a limit missed."""
    middle = _rounded(search, one, middle)
    margin, whose = margins.at(middle)
    if margin < 0:
        return None
    moved = float(np.linalg.norm(middle - search.here))
    pose = one.shifted.pose(middle)
    ask, trial = margins.decided, one.shifted.trial
    unsure = () if ask is None else trial.contributors(ask, one.shifted.displaced(middle))
    return Spot(one.said, frozen(middle), pose, margin, whose, moved, one.pocket_at(middle), contributors=unsure)


def _rounded(search: Search, one: Region, middle: Point) -> Point:
    """The place with round figures as the file would have them, where it surely fits there, too."""
    assembly, part = search.bay.assembly, search.trial.part
    step = 25.4 / 16 if assembly.scene.units == "in" else STEP
    pose = one.shifted.pose(middle)
    parent = assembly.carrier(part)
    at = np.array(stands_in(assembly, part, pose)[0])
    for ways in ROUNDINGS:
        there: Point = middle + parent.apply(np.floor(at / step + 0.5 + np.array(ways)) * step) - pose.translation
        if one.fits_at(there):
            return there
    return middle


def _accepted(search: Search, ranked: Sequence[Spot], most: int) -> list[Spot]:
    """The best of them that a whole check finds nothing against."""
    found: list[Spot] = []
    for spot in ranked:
        if len(found) == most or search.tried >= TRIED:
            break
        beside = any(spot.said == other.said and _apart(spot, other) < APART for other in found)
        if not beside and (checked := search.checked(spot)) is not None:
            found.append(checked)
    return found


def _apart(a: Spot, b: Spot) -> float:
    return float(np.linalg.norm(a.middle - b.middle))


def _nearest(search: Search, regions: Sequence[Region]) -> Spot | None:
    """The nearest place that a whole check finds nothing against; a few are tried, each a way off the last."""
    waiting = []
    for one in regions:
        tried: list[Point] = []
        for moved, middle in one.nearest(search.here):
            if all(np.linalg.norm(middle - other) >= APART / 2 for other in tried):
                tried.append(middle)
                waiting.append((moved, one.said, middle, one))
            if len(tried) == 4:
                break
    for _, _, middle, one in sorted(waiting, key=lambda each: each[:2]):
        spot = _spot(search, one, Margins(one.shifted), middle)
        if spot is not None and (checked := search.checked(spot)) is not None:
            return checked
    return None


def _here(search: Search, one: Region, *, near: bool) -> Spot | None:
    """Where the part stands, where the map does not exclude that and a whole check finds nothing against it.

    Of what must stand near something only cells that fit are known to.
    """
    state = one.state_at(search.here)
    if state == NOT or (near and state != FITS):
        return None
    spot = _spot(search, one, Margins(one.shifted), search.here)
    checked = None if spot is None else search.checked(spot)
    return None if checked is None else replace(checked, notes=(AS_IT_STANDS,))


def _noted(found: Sequence[Spot], nearest: Spot | None) -> Iterator[Spot]:
    """Best first, the nearest among them, each with what it is."""
    ranked = sorted([*found, *([nearest] if nearest else [])], key=_rank)
    most = ranked[0] if ranked else None
    for spot in ranked:
        notes = (["most margin"] if spot is most else []) + (["nearest"] if spot is nearest else [])
        yield replace(spot, notes=(*notes, *spot.notes))
