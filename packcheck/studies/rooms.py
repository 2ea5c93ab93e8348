"""Is the room that must stay free free, and what stands nearest to it?

Method
------
Room is every part of kind `access` or `keep_out`, and every volume of air that a part `needs`. Each is held against
every other part as in `packcheck explain gaps`, and against what motions sweep past it as in `packcheck explain
moving`; one line tells what comes of all of them: free, not free or undecided, by the worst, whether at rest or
while something moves, and the part that may stand nearest. Its gap is the low end, tolerances taken off, rounded
down. Room that is used `with` something held open is asked of what that moves at this setting, or all over the
range, and not at rest.

Limits
------
What the room itself may overlap is not asked: other room, a hand, and the part that needs the air. Nearest is told
up to 300 mm. Parts that the file does not hold may stand in the room.

Example
-------
    packcheck check scenes/hillclimb_rear_bay.yaml --part oil_filter
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from packcheck.assembly.assembly import Assembly
from packcheck.errors import QueryError
from packcheck.findings import Cell, Report, Table, Verdict, worst
from packcheck.moving.moving_pairs import MovingPair, Sweeps, doubt_of, is_asked, moving_pairs
from packcheck.moving.telling import held_words
from packcheck.placing.boxes import box_distances
from packcheck.proximity import Session
from packcheck.studies.gaps import pair_finding
from packcheck.studies.moving import findings_of
from packcheck.tolerances import MOVE_REACH

__all__ = ["ID", "run"]

ID = "rooms"

_SAID = {
    Verdict.FAIL: "not free",
    Verdict.UNSURE: "undecided",
    Verdict.NOT_CHECKED: "not checked",
    Verdict.CLOSE: "free",
    Verdict.PASS: "free",
}


def run(assembly: Assembly, session: Session, only: Collection[str] = ()) -> Report:
    """A line for each room of the scene; `only` keeps those of these parts."""
    rooms = [name for name in assembly.parts if name in assembly.rules.rooms.names]
    kept = [name for name in rooms if not only or name in only]
    moved: dict[str, list[MovingPair]] = {name: [] for name in kept}
    for pair in moving_pairs(assembly) if kept else ():
        for name in moved.keys() & {pair.a, pair.b}:
            moved[name].append(pair)
    sweeps = Sweeps(assembly)
    rows = tuple(_row(assembly, session, name, pairs, sweeps) for name, pairs in moved.items())
    columns = ("room", "is", "nearest", "gap, mm, at least")
    tables = (Table(ID, "Room that must stay free", columns, rows),) if rows else ()
    return Report(assembly.scene.path, tables=tables)


@dataclass(slots=True)
class _Nearest:
    """The worst of what was found so far, in which state, and the part that may stand nearest."""

    verdict: Verdict = Verdict.PASS
    moving: bool = False
    name: str = ""
    least: float = MOVE_REACH

    def take(self, verdict: Verdict, *, moving: bool = False) -> None:
        if worst([self.verdict, verdict]) is not self.verdict:
            self.verdict, self.moving = verdict, moving

    def near(self, name: str, low: float) -> None:
        if low < self.least:
            self.name, self.least = name, low

    def row(self, room: str) -> tuple[Cell, ...]:
        said = _SAID[self.verdict] + (" in motion" if self.moving and _SAID[self.verdict] != "free" else "")
        if not self.name:
            return room, said, f"nothing within {MOVE_REACH:g}", None
        told = float(np.floor(self.least * 10 + 1e-6) / 10)
        return room, said, self.name, told if np.isfinite(self.least) and told > 0 else None


def _row(
    assembly: Assembly, session: Session, room: str, moved: Sequence[MovingPair], sweeps: Sweeps
) -> tuple[Cell, ...]:
    """What the worst of its gaps comes to, at rest and in motion, and the part that may stand nearest."""
    found = _Nearest()
    _at_rest(assembly, session, room, found)
    for pair in moved:
        _in_motion(assembly, session, pair, sweeps, room, found)
    held = assembly.scene.parts[room].held
    return found.row(f"{room}, with {held_words(assembly, held)}" if held else room)


def _in_motion(
    assembly: Assembly, session: Session, pair: MovingPair, sweeps: Sweeps, room: str, found: _Nearest
) -> None:
    """What a pair comes to that motions move against each other; no search where swept boxes tell enough."""
    if not is_asked(assembly, pair):
        return
    (other,) = {pair.a, pair.b} - {room}
    apart = sweeps.apart(pair) - doubt_of(assembly, pair).most
    asked = assembly.rules.limit(pair.a, pair.b).moving + assembly.beyond.between(pair.a, pair.b)
    if apart > max(found.least, asked):
        return
    swept = findings_of(assembly, session, [pair])
    for finding in swept:
        found.take(finding.verdict, moving=pair.act.of != room)
    lows = [-np.inf if finding.low is None else finding.low for finding in swept]
    found.near(f"{other}, moved by {' and '.join(pair.motions)}", min(lows, default=apart))


def _at_rest(assembly: Assembly, session: Session, room: str, found: _Nearest) -> None:
    for other, apart in _around(assembly, room):
        asked = assembly.rules.limit(room, other).reach + assembly.beyond.between(room, other)
        if apart > max(found.least, asked):
            continue
        finding = pair_finding(assembly, session, room, other)
        if finding is not None:
            found.take(finding.verdict)
        found.near(other, _low(assembly, session, room, other, found.least))


def _around(assembly: Assembly, room: str) -> Iterator[tuple[str, float]]:
    """Every part that must stay out of the room, and how far their boxes surely stay apart, mm; nearest first."""
    names = list(assembly.parts)
    here = names.index(room)
    apart = box_distances(assembly.boxes[here : here + 1], assembly.boxes)[0]
    rules = assembly.rules
    others = [name for name in names if not (name == room or rules.rooms.unasked(room, name))]
    others = [name for name in others if not rules.unasked.held_open(room, name)]
    sure = {name: float(apart[names.index(name)]) - _slack(assembly, room, name) for name in others}
    return iter(sorted(sure.items(), key=lambda one: one[1]))


def _slack(assembly: Assembly, room: str, other: str) -> float:
    return assembly.doubt(room, other).most


def _low(assembly: Assembly, session: Session, room: str, other: str, reach: float) -> float:
    """The least that the gap of a room and a part may be, mm; -inf where nothing is sure, inf beyond `reach`."""
    slack = _slack(assembly, room, other)
    try:
        bounds = session.bounds(assembly.parts[room], assembly.parts[other], reach + slack)
    except QueryError:
        return -np.inf
    return bounds.low - slack
