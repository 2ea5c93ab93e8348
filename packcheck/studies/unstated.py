"""Of which parts did nobody say how well they are known, and what hangs on that?

Such a part is taken as typed: its gaps are exact only if it stands, and is shaped, exactly as the file has it. How
many limits that are met at rest would be undecided, were each of these parts only known as a tape on two faces
tells it, is reckoned from what is measured anyway: the low end of each gap, less what that accuracy adds to the
doubt of the pair. What both parts of a pair hang on cancels, as it does for stated tolerances.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

import numpy as np

from packcheck.arrays import Floats
from packcheck.assembly.assembly import Assembly
from packcheck.data import RESERVED
from packcheck.findings import Finding, TapeDoubt, Verdict
from packcheck.notknown.account import Account
from packcheck.placing.boxes import Indices, box_distance, near_pairs
from packcheck.tolerances import KNOWN_TOLERANCES

__all__ = ["as_typed", "tape_doubt", "unstated"]


MET = (Verdict.PASS, Verdict.CLOSE)


def unstated(assembly: Assembly) -> tuple[str, ...]:
    """The parts of which neither `known`, a tolerance, an uncertainty nor a survey says how well they are known."""
    likely, parts = assembly.account.sources.likely.columns, assembly.scene.parts
    return tuple(
        name
        for name, part in parts.items()
        if not (part.stated or part.air_of or name in likely or {"hand", *RESERVED}.intersection(part.kinds))
        and not assembly.account.sources.at(name)
    )


def as_typed(assembly: Assembly, findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """The findings; those about a part of which nobody said how well it is known are marked."""
    typed = frozenset(unstated(assembly))
    return tuple(replace(one, as_typed=True) if typed.intersection(one.subjects) else one for one in findings)


def tape_doubt(
    assembly: Assembly, findings: Sequence[Finding], near: Collection[tuple[str, str]], wanted: Collection[str]
) -> TapeDoubt | None:
    """How many limits met would be undecided at the accuracy of a tape; None where every part says how it is known.

    `findings` are all that were measured at rest, `near` the pairs not told apart by their boxes; of the others
    those count that hold a part of `wanted`.
    """
    names = unstated(assembly)
    if not names:
        return None
    accuracy = assembly.scene.known.get("tape", KNOWN_TOLERANCES["tape"])
    taped = assembly.account.known_to(dict.fromkeys(names, accuracy))
    met = [one for one in findings if one.verdict in MET and not assembly.rules.joint(*one.subjects)]
    measured = sum(_undecided(assembly, taped, one) for one in met)
    others = _by_boxes(assembly, taped, set(near), set(wanted))
    return TapeDoubt(names, accuracy, measured, measured + sum(others))


def _undecided(assembly: Assembly, taped: Account, finding: Finding) -> bool:
    low = finding.low
    return low is not None and low - _more(assembly, taped, *finding.subjects) < finding.limit.floor


def _more(assembly: Assembly, taped: Account, a: str, b: str) -> float:
    """How much more, mm, is not known of a pair at that accuracy."""
    return taped.between(a, b).most - assembly.doubt(a, b).most


def _by_boxes(
    assembly: Assembly, taped: Account, near: Collection[tuple[str, str]], wanted: Collection[str]
) -> Iterator[bool]:
    """Of each pair told apart by its boxes, and near enough that this accuracy could matter: whether it does."""
    names = list(assembly.parts)
    total = np.array([taped.total(name) for name in names])

    def reach(places: Indices) -> Floats:
        asked = assembly.rules.reach_matrix([names[k] for k in places])
        found: Floats = asked + total[places][:, None] + total[places][None]
        return found

    widest = assembly.rules.furthest + 2 * float(total.max(initial=0.0))
    for i, j in near_pairs(assembly.boxes, widest, reach):
        a, b = names[i], names[j]
        if (a, b) in near or not (a in wanted or b in wanted) or assembly.rules.unasked.between(a, b):
            continue
        limit = assembly.rules.limit(a, b).limit
        apart = box_distance(assembly.boxes[i], assembly.boxes[j])
        yield apart - taped.between(a, b).most < limit.floor
