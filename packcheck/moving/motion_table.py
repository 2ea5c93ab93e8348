"""What moves, what each motion does, and how many pairs were looked at for it: a table beside the findings."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from packcheck.assembly.assembly import Assembly
from packcheck.findings import Table
from packcheck.kinematics.joints import spread
from packcheck.kinematics.motions import Act
from packcheck.moving.telling import deed, held_words
from packcheck.proximity.hulls import hull_of
from packcheck.search import Cell

__all__ = ["motion_bound", "motion_table"]


def motion_table(
    assembly: Assembly, searched: Mapping[str, int], apart: Mapping[str, int], joints: Mapping[str, int]
) -> Table:
    """One row a motion; the counts are of the pairs that were searched, that stay apart, and that are joined."""
    columns = (
        "motion",
        "what it does",
        "parts",
        "moves by up to, mm",
        "while",
        "pairs searched",
        "cleared by swept box",
        "joined, skipped",
    )
    rows = []
    for name, motion in assembly.scene.motions.items():
        moved = [part for part in assembly.parts if name in assembly.motions.carrying(part)]
        bound = max((motion_bound(assembly, name, part) for part in moved), default=0.0)
        state = motion.during if motion.together else f"{motion.during}, alone"
        counts = (searched.get(name, 0), apart.get(name, 0), joints.get(name, 0))
        rows.append((name, deed(assembly, motion), len(moved), round(bound, 1), state, *counts))
    told = "; ".join(_act_words(assembly, act) for act in assembly.motions.acts)
    held = "Other motions are held at 0. Joined pairs are not searched: check that the joint can flex."
    note = f"Together: {told}. {held}"
    return Table("motions", "Motions", columns, tuple(rows), note)


def _act_words(assembly: Assembly, act: Act) -> str:
    held = held_words(assembly, act.held)
    return f"{act.state}: {act.of} with {held}" if held else f"{act.state}: {', '.join(act.motions)}"


def motion_bound(assembly: Assembly, motion: str, part: str) -> float:
    """How far from where it rests any point of a part can get by one motion, mm: never less than it truly does.

    The largest true distance of the part from the line it turns about counts, not that of its box.
    """
    placed, drives = assembly.parts[part], assembly.motions.drives[motion]
    hull = hull_of(placed.solids)
    rest = placed.pose.apply(hull.points)
    farthest = 0.0
    for cell, piece in assembly.motions.roots(drives):
        chain = assembly.motions.chain(part, (motion,), drives, piece)
        seen = spread(chain, rest, cell if piece else _about_rest(cell), hull.error + hull.greatest_radius)
        moved = np.linalg.norm(seen.points - rest, axis=1) + seen.travel.sum(axis=0)
        farthest = max(farthest, float(moved.max()))
    return farthest


def _about_rest(cell: Cell) -> Cell:
    """A cell that holds another and has its middle at rest."""
    widest = np.maximum(np.abs(cell.low), np.abs(cell.high))
    return Cell.of(-widest, widest)
