"""Is the room that must stay free free, and what stands nearest to it?

Method
------
Room is every part of kind `access` or `keep_out`, and every volume of air that a part `needs`. Each is held against
every other part as in `packcheck explain gaps`; one line tells what comes of all of them: free, not free or
undecided, by the worst, and the part that may stand nearest. Its gap is the low end, tolerances taken off, rounded
down. Room that is used `with` something held open is asked of what that moves at this setting, or all over the
range, and not at rest.

Limits
------
What the room itself may overlap is not asked: other room, a hand, and the part that needs the air. Nearest is told
up to 300 mm. Parts that the file does not hold may stand in the room.

Example
-------
    packcheck check scenes/hillclimb_rear_bay.yaml --part fuel_pump
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

import numpy as np

from packcheck.assembly.assembly import Assembly
from packcheck.assembly.boxes import box_distances
from packcheck.assembly.moving_pairs import moving_pairs
from packcheck.assembly.telling import held_words
from packcheck.errors import QueryError
from packcheck.findings import Cell, Finding, Report, Table, Verdict, worst
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
    rows = tuple(_row(assembly, session, name) for name in kept)
    columns = ("room", "is", "nearest", "gap, mm, at least")
    tables = (Table(ID, "Room that must stay free", columns, rows),) if rows else ()
    return Report(assembly.scene.path, tables=tables)


def _row(assembly: Assembly, session: Session, room: str) -> tuple[Cell, ...]:
    """What the worst of its gaps comes to, and the part that may stand nearest."""
    verdicts, nearest, least = [Verdict.PASS], "", MOVE_REACH
    said = room
    if held := assembly.scene.parts[room].held:
        said = f"{room}, with {held_words(assembly, held)}"
        for one in _held_open(assembly, session, room):
            verdicts.append(one.verdict)
            low = -np.inf if one.low is None else one.low
            if low < least:
                (nearest,), least = [name for name in one.subjects if name != room], low
    for other, apart in _around(assembly, room):
        asked = assembly.rules.limit(room, other).reach + assembly.beyond.between(room, other)
        if apart > max(least, asked):
            continue
        finding = pair_finding(assembly, session, room, other)
        if finding is not None:
            verdicts.append(finding.verdict)
        low = _low(assembly, session, room, other, least)
        if low < least:
            nearest, least = other, low
    if not nearest:
        return said, _SAID[worst(verdicts)], f"nothing within {MOVE_REACH:g}", None
    told = float(np.floor(least * 10 + 1e-6) / 10) if np.isfinite(least) and least > 0 else None
    return said, _SAID[worst(verdicts)], nearest, told


def _held_open(assembly: Assembly, session: Session, room: str) -> list[Finding]:
    """What comes of the room and what is held open for it."""
    pairs = [pair for pair in moving_pairs(assembly) if pair.act.of == room and room in (pair.a, pair.b)]
    return [finding for pair in pairs for finding in findings_of(assembly, session, [pair])]


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
