"""How many pairs of parts fall short, and in how many states? Each count adds up to what was looked at.

A pair stands once at rest, and once more for each set of motions that act together and move its parts against each
other. `by_pair` counts it once, by the worst of these; `at_rest` and `in_motion` count the states; what was
measured besides (distances, checks) is in `besides`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Final, TypeAlias

from packcheck.findings import Finding, Report, Verdict, worst

__all__ = ["Tally", "at_rest", "besides", "by_pair", "in_motion", "tally_words"]

Tally: TypeAlias = Mapping[Verdict, int]

_AT_REST: Final = "gaps"
_IN_MOTION: Final = "moving"

_SAID: Final = {
    Verdict.FAIL: ("fails", "fail"),
    Verdict.UNSURE: ("undecided", "undecided"),
    Verdict.NOT_CHECKED: ("not checked", "not checked"),
    Verdict.CLOSE: ("close", "close"),
    Verdict.PASS: ("passes", "pass"),
}


def at_rest(report: Report) -> Tally:
    """Pairs as they stand; those without a finding of their own pass."""
    return _filled(_of(report, _AT_REST), report.pairs.total)


def in_motion(report: Report) -> Tally:
    """Pairs that motions move against each other, once for each state; those without a finding pass."""
    return _filled(_of(report, _IN_MOTION), report.moving.total)


def by_pair(report: Report) -> Tally:
    """Each pair of parts once, by the worst of its states."""
    states: dict[frozenset[str], list[Verdict]] = {}
    for finding in (*_of(report, _AT_REST), *_of(report, _IN_MOTION)):
        states.setdefault(frozenset(finding.subjects), []).append(finding.verdict)
    return _counts(map(worst, states.values()), report.pairs.total)


def besides(report: Report) -> Mapping[str, Tally]:
    """By the study, what was measured that is no gap of a pair."""
    studies = dict.fromkeys(finding.study for finding in report.findings)
    others = (study for study in studies if study not in (_AT_REST, _IN_MOTION))
    return {study: _filled(_of(report, study), 0) for study in others}


def _of(report: Report, study: str) -> list[Finding]:
    return [finding for finding in report.findings if finding.study == study]


def _filled(findings: Iterable[Finding], total: int) -> Tally:
    return _counts((finding.verdict for finding in findings), total)


def _counts(verdicts: Iterable[Verdict], total: int) -> Tally:
    """How many of each verdict; what is left of `total` passes."""
    seen = Counter(verdicts)
    seen[Verdict.PASS] += max(0, total - seen.total())
    return {verdict: seen[verdict] for verdict in Verdict}


def tally_words(tally: Tally) -> str:
    """The counts in words, worst first.

    Examples
    --------
    >>> tally_words({Verdict.FAIL: 1, Verdict.PASS: 9})
    '1 fails, 9 pass'
    """
    counts = ((verdict, tally.get(verdict, 0)) for verdict in Verdict)
    return ", ".join(f"{count} {_SAID[verdict][count != 1]}" for verdict, count in counts if count)
