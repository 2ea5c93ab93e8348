"""Every pair of parts with the limit it is held to, as a plain table."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from packcheck.clearance.rules import RuleBook
from packcheck.findings import Cell, Table

__all__ = ["rules_table"]

COLUMNS = (
    "part",
    "other part",
    "must, mm",
    "want, mm",
    "moving, mm",
    "rule between",
    "why",
    "source",
    "want source",
    "moving rule",
    "moving source",
    "written at",
    "lowered",
)

SCENE = "this scene"


def rules_table(book: RuleBook, names: Sequence[str], only: Sequence[str] = ()) -> Table:
    """Which limit applies to which pair of parts, and why?

    Parameters
    ----------
    book : RuleBook
    names : part names, scene order
    only : part names; when given, pairs without any of them are left out

    Returns
    -------
    Table
        A row for each pair, scene order; gaps in mm. Joined pairs (`bolted_to`) have no `must`.
    """
    wanted = set(only)
    pairs = [pair for pair in combinations(names, 2) if not wanted or wanted & set(pair)]
    return Table(
        id="rules",
        title="Which limit applies to which parts",
        columns=COLUMNS,
        rows=tuple(_row(book, a, b) for a, b in pairs),
        note="moving: what must remain at the worst pose of a modelled motion",
    )


def _row(book: RuleBook, a: str, b: str) -> tuple[Cell, ...]:
    if (special := _unlimited(book, a, b)) is not None:
        why, source = special
        return a, b, None, None, None, f"{a} - {b}", why, source, "", "", "", "", ""
    asked = book.limit(a, b)
    rule, moving = asked.rule, asked.moving_rule
    return (
        a,
        b,
        asked.limit.must,
        asked.limit.want,
        asked.moving,
        " - ".join(rule.between),
        rule.why,
        rule.source,
        rule.want_source,
        " - ".join(moving.between),
        moving.source,
        "" if asked.mark is None else str(asked.mark),
        asked.lowered,
    )


def _unlimited(book: RuleBook, a: str, b: str) -> tuple[str, str] | None:
    """Why two parts have no limit between them, and who says so; None where they have one."""
    if book.joint(a, b):
        return f"joined on purpose (bolted_to): touching, up to seat {book.seat:g} mm; rules by kind are off", SCENE
    if book.unasked.enters(a, b):
        return "one goes into the other (goes_into): nothing is asked, nothing is measured", SCENE
    if found := book.unasked.air_beside(a, b):
        return f"{found[1]} is joined to {found[2]}, and may stand in the air it needs", "packcheck"
    if book.rooms.unasked(a, b):
        return "room kept free may overlap other room", "packcheck"
    return None
