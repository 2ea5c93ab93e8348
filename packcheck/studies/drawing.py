"""Gaps drawn at random: does the reckoning by first derivatives hold where several places could be the nearest?

Everything that is only likely is drawn many times, all at once and with its correlations, and the gap measured anew
each time (JCGM 101:2008). The same seed gives the same draws.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from packcheck.arrays import Floats
from packcheck.assembly.assembly import Assembly
from packcheck.errors import QueryError
from packcheck.findings import Finding
from packcheck.proximity import Session
from packcheck.studies.gaps import ID
from packcheck.survey.propagate import root_of

__all__ = ["Drawn", "drawn_gaps", "with_draws"]

AGREE: Final = 0.05
"""Share by which what is drawn may differ from what is reckoned and still agree with it."""

FEWEST: Final = 200
"""Draws below which a spread says little: its own uncertainty is then 5 %."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """What many draws of a gap come to: their standard deviation, mm, and the ends that hold 95 in 100."""

    standard: float
    low: float
    high: float

    @staticmethod
    def of(gaps: Floats) -> Drawn:
        low, high = np.quantile(gaps, [0.025, 0.975])
        return Drawn(float(gaps.std(ddof=1)), float(low), float(high))


def drawn_gaps(assembly: Assembly, session: Session, a: str, b: str, *, draws: int, seed: int) -> Floats:
    """The gap of two parts (draws,), mm, each time with everything uncertain off by one draw."""
    account = assembly.account
    root = root_of(account.sources.likely.covariance)
    normal = np.random.default_rng(seed).standard_normal((draws, len(root)))
    first, second = assembly.parts[a], assembly.parts[b]
    gaps = np.empty(draws)
    for k, drawn in enumerate(normal):
        one, other = (account.pose_drawn(name, root @ drawn) for name in (a, b))
        gaps[k] = session.bounds(first.at(one), second.at(other)).value
    return gaps


def with_draws(
    assembly: Assembly, session: Session, findings: Iterable[Finding], *, draws: int, seed: int
) -> tuple[Finding, ...]:
    """The findings, each gap that is only likely drawn, and widened where draws spread farther than reckoned."""
    return tuple(
        _drawn(assembly, session, finding, draws, seed) if _is_likely(finding) else finding for finding in findings
    )


def _is_likely(finding: Finding) -> bool:
    return finding.study == ID and bool(finding.standard_uncertainty) and finding.value is not None


def _drawn(assembly: Assembly, session: Session, finding: Finding, draws: int, seed: int) -> Finding:
    try:
        found = Drawn.of(drawn_gaps(assembly, session, *finding.subjects, draws=draws, seed=seed))
    except QueryError as error:
        return replace(finding, note="; ".join(filter(None, [finding.note, f"could not be drawn: {error}"])))
    value, reckoned = finding.value, finding.standard_uncertainty
    assert value is not None and reckoned is not None
    agrees = abs(found.standard / reckoned - 1) <= AGREE and finding.hard != (None, None) and _holds(finding, found)
    unread = [name for name in finding.subjects if assembly.beyond.unread(name)]
    of = f" from what was read of {' and of '.join(unread)}" if unread else ""
    said = f"drawn {draws} times: {found.low:.1f} to {found.high:.1f} mm (95 %){of}"
    said += ", as reckoned" if agrees else ", which is not as reckoned: the nearest points move about"
    wider = finding if _holds(finding, found) else _widened(finding, value - found.low, found.high - value)
    return replace(wider, note="; ".join(filter(None, [finding.note, said])))


def _holds(finding: Finding, found: Drawn) -> bool:
    """Whether the ends of a finding hold what was drawn, to what so many draws can tell."""
    low, high = finding.low, finding.high
    spare = AGREE * found.standard
    return (low is None or low <= found.low + spare) and (high is None or high >= found.high - spare)


def _widened(finding: Finding, below: float, above: float) -> Finding:
    """The finding with ends as far from the hard ones as draws are from what is drawn in the file."""
    low, high = finding.hard
    return replace(
        finding,
        low=None if low is None or finding.low is None else min(finding.low, low - below),
        high=None if high is None or finding.high is None else max(finding.high, high + above),
    )
