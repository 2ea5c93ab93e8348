"""What a change would leave short that was not short before: a move or a place that is offered is held to this."""

from __future__ import annotations

from collections.abc import Collection, Iterator

import numpy as np

from packcheck.assembly.assembly import Assembly
from packcheck.findings import Finding, Verdict
from packcheck.proximity import Session
from packcheck.studies.gaps import pair_finding

__all__ = ["changed", "newly_short"]

_SHORT = (Verdict.FAIL, Verdict.UNSURE, Verdict.NOT_CHECKED)

_WORSE = 0.01
"""mm. A margin that is less by more than this is worse."""


def newly_short(
    before: Assembly, after: Assembly, session: Session, besides: Collection[str] = ()
) -> Finding | None:
    """A pair that falls short, or may, at rest after a change, and did not before, or not as much; else None.

    Pairs of two parts `besides`, and joined ones, are not asked.
    """
    for a, b in _touched(before, after, besides):
        finding = pair_finding(after, session, a, b)
        if finding is not None and finding.verdict in _SHORT and _is_worse(before, session, finding):
            return finding
    return None


def _touched(before: Assembly, after: Assembly, besides: Collection[str]) -> Iterator[tuple[str, str]]:
    """Every pair of which the change has shifted a part, or made one."""
    names, new = list(after.parts), set(changed(before, after))
    for i, a in enumerate(names):
        for b in names[i + 1 :]:
            if new & {a, b} and not {a, b} <= set(besides) and not after.rules.joint(a, b):
                yield a, b


def changed(before: Assembly, after: Assembly) -> list[str]:
    """The parts that a change has shifted, turned, made, or made anew."""
    return [name for name in after.parts if _is_changed(before, after, name)]


def _is_changed(before: Assembly, after: Assembly, name: str) -> bool:
    if name not in before.parts:
        return True
    one, other = before.parts[name], after.parts[name]
    still = np.allclose(one.pose.translation, other.pose.translation, atol=1e-6)
    same = np.allclose(np.array(one.box()), np.array(other.box()), atol=1e-6)
    return not (still and same and np.allclose(one.pose.rotation, other.pose.rotation, atol=1e-9))


def _is_worse(before: Assembly, session: Session, finding: Finding) -> bool:
    a, b = finding.subjects
    if a not in before.parts or b not in before.parts:
        return True
    was = pair_finding(before, session, a, b)
    if was is None or was.verdict not in _SHORT:
        return True
    return finding.margin is None or (was.margin is not None and finding.margin < was.margin - _WORSE)
