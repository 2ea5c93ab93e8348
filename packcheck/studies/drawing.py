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
from packcheck.tolerances import COVERAGE

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
    spreads = assembly.spreads
    root = root_of(spreads.covariance)
    normal = np.random.default_rng(seed).standard_normal((draws, len(root)))
    first, second = assembly.parts[a], assembly.parts[b]
    gaps = np.empty(draws)
    for k, drawn in enumerate(normal):
        one, other = spreads.poses_drawn((a, b), root @ drawn)
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
    reach = max(value - found.low, found.high - value) / COVERAGE
    agrees = abs(found.standard / reckoned - 1) <= AGREE and abs(reach / reckoned - 1) <= 2 * AGREE
    unread = [name for name in finding.subjects if assembly.beyond.unread(name)]
    of = f" from what was read of {' and of '.join(unread)}" if unread else ""
    said = f"drawn {draws} times: {found.low:.1f} to {found.high:.1f} mm (95 %){of}"
    said += ", as reckoned" if agrees else ", which is not as reckoned: the nearest points move about"
    wider = finding if agrees else _widened(finding, max(reach, reckoned))
    return replace(wider, note="; ".join(filter(None, [finding.note, said])))


def _widened(finding: Finding, standard: float) -> Finding:
    """The finding with a larger standard uncertainty; its hard ends stay."""
    low, high = finding.hard
    expanded = COVERAGE * standard
    return replace(
        finding,
        standard_uncertainty=standard,
        low=None if low is None else low - expanded,
        high=None if high is None else high + expanded,
    )
