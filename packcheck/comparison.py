"""Arrangements side by side: what each comes to, what changes against the first, and which is best and why.

Pure functions of reports. A finding is the same one in two reports when study, parts, rule and what moves agree.

The order is that of the worst margins. Where something was not measured, or is undecided with no lower end, the
worst margin is not known and the arrangement gets no place: it stands behind those that pass, and before those that
surely do not if nothing of it does. One with a clash of unknown depth stands behind those whose margins are known.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import count

import numpy as np

from packcheck.arrays import Point
from packcheck.findings import Finding, Report, Verdict

__all__ = ["Alternative", "Change", "Comparison", "Kind", "Rank", "compared"]

TELLING = 0.05
"""mm or degrees. A margin that changes by less has not changed: it would not show in a printed tenth."""


class Kind(StrEnum):
    """How a finding differs from the first arrangement's."""

    APPEARS = "appears"  # falls short, is undecided or close, and was not before
    VANISHES = "vanishes"
    WORSE = "worse"
    BETTER = "better"
    OTHERWISE = (
        "otherwise"  # falls short, is undecided or close as before, not as it did; which is worse is not known
    )


@dataclass(frozen=True, slots=True, eq=False)
class Alternative:
    """One arrangement: its report, and what its parts with a mass come to, kg, at `centre` (3,) mm, car frame.

    `look` finds the finding of two parts that the report does not list: None where they are surely farther apart
    than anything asked, or one of them is not there. `unweighed` counts the parts without a mass.
    """

    name: str
    report: Report
    look: Callable[[tuple[str, ...]], Finding | None]
    mass: float | None = None
    centre: Point | None = None
    unweighed: int = 0

    alike: frozenset[int] = frozenset()  # findings, by id, that are the same in all that is compared

    @property
    def worst(self) -> Finding | None:
        """The finding with the least margin that is known, of those that are not alike in all that is compared.

        Of a clash whose depth has no lower end, it is the depth proven that counts.
        """
        known = [finding for finding in self._telling if _known(finding) is not None]
        return min(known, key=lambda finding: (_known(finding), finding.sort_key), default=None)

    @property
    def open(self) -> tuple[Finding, ...]:
        """The findings, of the same, of which nobody can say how bad they are, nor that they fall short."""
        return tuple(f for f in self._telling if f.skipped or (f.margin is None and f.verdict is not Verdict.FAIL))

    @property
    def depthless(self) -> tuple[Finding, ...]:
        """Those, of the same, that surely fall short with no lower end."""
        return tuple(f for f in self._telling if not f.skipped and f.margin is None and f.verdict is Verdict.FAIL)

    @property
    def standing(self) -> float:
        """What it is ranked by, mm or degrees: the worst margin; while something is open, no better than none."""
        worst = None if self.worst is None else _known(self.worst)
        least = np.inf if worst is None else worst
        return min(least, -TELLING) if self.open or self._nothing_checked else least

    @property
    def placed(self) -> bool:
        """Whether its worst margin is known, so that it can have a place."""
        return not self.open and not self._nothing_checked

    @property
    def _nothing_checked(self) -> bool:
        return self.report.verdict is Verdict.NOT_CHECKED and not self._telling

    @property
    def _telling(self) -> list[Finding]:
        return [f for f in self.report.findings if _is_asked(f) and id(f) not in self.alike]


@dataclass(frozen=True, slots=True, eq=False)
class Change:
    """A finding `before` and `after`; None: not there, or farther apart than anything asked. `by` is how much its
    margin grew, negative when it shrank, None when one of the two has none."""

    kind: Kind
    study: str
    subjects: tuple[str, ...]
    before: Finding | None
    after: Finding | None
    by: float | None


@dataclass(frozen=True, slots=True)
class Rank:
    """A place in the order, best first, and the reason in words; None for one whose worst margin is not known."""

    name: str
    reason: str
    place: int | None


@dataclass(frozen=True, slots=True, eq=False)
class Comparison:
    """Arrangements, the first being what the others are held against; `changes` by name, of all but the first."""

    alternatives: tuple[Alternative, ...]
    changes: dict[str, tuple[Change, ...]]
    ranking: tuple[Rank, ...]


def compared(alternatives: Sequence[Alternative]) -> Comparison:
    """Hold all but the first against the first, and rank all by their worst margin."""
    alternatives = _without_alike(alternatives)
    first, *others = alternatives
    return Comparison(
        tuple(alternatives),
        {other.name: tuple(_changes(first, other)) for other in others},
        tuple(_ranking(alternatives)),
    )


def _without_alike(alternatives: Sequence[Alternative]) -> list[Alternative]:
    """The alternatives, each knowing which of its findings all others have just so: they decide nothing."""
    keyed = [_by_key(one.report.findings) for one in alternatives]
    shared = set.intersection(*(set(findings) for findings in keyed))
    alike = {key for key in shared if _are_alike([findings[key] for findings in keyed])}
    return [
        replace(one, alike=frozenset(id(findings[key]) for key in alike))
        for one, findings in zip(alternatives, keyed, strict=True)
    ]


def _are_alike(findings: Sequence[Finding]) -> bool:
    return not any(_differ(findings[0], finding) for finding in findings[1:])


def _differ(was: Finding, now: Finding) -> bool:
    """Whether two findings differ in verdict, margin or, where there is none, in what is told instead."""
    if was.verdict is not now.verdict or (was.margin is None) != (now.margin is None):
        return True
    if was.margin is not None and now.margin is not None:
        return abs(now.margin - was.margin) >= TELLING
    told = zip((_drawn(was), *_margins(was)), (_drawn(now), *_margins(now)), strict=True)
    return any(a != b and abs(b - a) >= TELLING for a, b in told)


def _drawn(finding: Finding) -> float:
    return np.inf if finding.value is None else finding.value


def _is_asked(finding: Finding) -> bool:
    limit = finding.limit
    return bool(finding.skipped) or limit.must is not None or limit.most is not None


def _margin(finding: Finding) -> float:
    margin = finding.margin
    return -np.inf if margin is None or finding.skipped else margin


def _margins(finding: Finding) -> tuple[float, float]:
    """The least and the most that the margin of a finding may be; endless where it has no such end."""
    must, high = finding.limit.must, finding.high
    if must is None or high is None or finding.limit.most is not None or finding.skipped:
        return _margin(finding), np.inf
    return _margin(finding), high - must


def _known(finding: Finding) -> float | None:
    """The margin of a finding, or of one that surely falls short with no lower end what is proven to be missing."""
    if finding.skipped:
        return None
    must, high = finding.limit.must, finding.high
    if finding.margin is None and finding.verdict is Verdict.FAIL and must is not None and high is not None:
        return high - must
    return finding.margin


def _changes(first: Alternative, other: Alternative) -> Iterator[Change]:
    """Everything that differs, worst first."""
    before, after = _by_key(first.report.findings), _by_key(other.report.findings)
    changes = []
    for key in {**before, **after}:
        told = before.get(key) or after[key]
        was = before.get(key) or _looked(first, told)
        now = after.get(key) or _looked(other, told)
        change = _change(told, was, now)
        if change is not None:
            changes.append(change)
    order = list(Kind)
    yield from sorted(changes, key=lambda change: (order.index(change.kind), _urgency(change), change.subjects))


def _by_key(findings: Iterable[Finding]) -> dict[tuple[Hashable, ...], Finding]:
    """Findings by what makes them the same one in another report."""
    made: dict[tuple[Hashable, ...], Finding] = {}
    for finding in findings:
        between = finding.rule.between if finding.rule and finding.study != "gaps" else ()
        key = (finding.study, tuple(sorted(finding.subjects)), between, tuple(finding.pose))
        count = 0
        while (*key, count) in made:
            count += 1
        made[*key, count] = finding
    return made


def _looked(alternative: Alternative, told: Finding) -> Finding | None:
    """What became of a shortfall elsewhere; passing gaps that one report lists and another does not are no news."""
    asked = told.study == "gaps" and len(told.subjects) == 2 and _concerns(told)
    return alternative.look(told.subjects) if asked else None


def _change(told: Finding, was: Finding | None, now: Finding | None) -> Change | None:
    by = None if was is None or now is None else _grown(was, now)
    kind = _kind(was, now, by)
    return None if kind is None else Change(kind, told.study, told.subjects, was, now, by)


def _grown(was: Finding, now: Finding) -> float | None:
    """How much the margin grew; nothing when one has no number."""
    if was.margin is None or now.margin is None:
        return None
    return now.margin - was.margin


def _kind(was: Finding | None, now: Finding | None, by: float | None) -> Kind | None:
    short, shorter = _concerns(was), _concerns(now)
    if short != shorter:
        return Kind.APPEARS if shorter else Kind.VANISHES
    if by is None:
        return _otherwise(was, now) if was and now and shorter and _differ(was, now) else None
    if abs(by) < TELLING:
        return None
    return Kind.BETTER if by > 0 else Kind.WORSE


def _otherwise(was: Finding, now: Finding) -> Kind:
    """How two findings that differ do so, of which at least one has no margin."""
    (was_least, was_most), (least, most) = _margins(was), _margins(now)
    if was_most < least:
        return Kind.BETTER
    return Kind.WORSE if most < was_least else Kind.OTHERWISE


def _concerns(finding: Finding | None) -> bool:
    return finding is not None and finding.verdict is not Verdict.PASS


def _urgency(change: Change) -> float:
    told = change.after or change.before
    assert told is not None
    return _margin(told)


def _ranking(alternatives: Sequence[Alternative]) -> Iterator[Rank]:
    ordered = sorted(
        alternatives, key=lambda one: (bool(one.depthless), -one.standing, one.report.counts[Verdict.FAIL])
    )
    places = count(1)
    for alternative in ordered:
        yield Rank(alternative.name, _reason(alternative), next(places) if alternative.placed else None)


def _reason(alternative: Alternative) -> str:
    """Why it stands where it does: its worst finding, and how many of each verdict there are."""
    report, worst = alternative.report, alternative.worst
    if report.verdict is Verdict.NOT_CHECKED and not report.findings:
        return "nothing was checked, which is not a pass, so it has no place"
    counts = [(Verdict.FAIL, "fall short"), (Verdict.UNSURE, "unsure"), (Verdict.NOT_CHECKED, "not checked")]
    counts.append((Verdict.CLOSE, "close"))
    tally = ", ".join(f"{report.counts[verdict]} {word}" for verdict, word in counts if report.counts[verdict])
    decides = "every gap is larger than all that is asked of it" if worst is None else _decider(worst)
    if alternative.open:
        decides = f"no place, since {_unknown(alternative.open)}{'' if worst is None else f'; else {decides}'}"
    elif alternative.depthless and worst not in alternative.depthless:
        decides = f"{_unknown(alternative.depthless)}; else {decides}"
    return f"{decides}; {tally or 'nothing falls short, as described in this file'}"


def _unknown(findings: Sequence[Finding]) -> str:
    """That it is not known how bad something is, in a few words."""
    first = min(findings, key=lambda finding: finding.sort_key)
    more = f", and {len(findings) - 1} more," if len(findings) > 1 else ""
    return f"how far {' - '.join(first.subjects)} ({first.word or first.verdict}){more} falls short is not known"


def _decider(worst: Finding) -> str:
    """The worst finding in a few words."""
    subjects, word = " - ".join(worst.subjects), worst.word or worst.verdict
    known = _known(worst)
    assert known is not None
    if worst.margin is None:
        return f"{subjects} decides: {word}, {-known:.1f} {worst.unit} short of its limit or more"
    inside = np.floor(known * 10 + 1e-6) / 10  # never rounded to look better
    amount = f"{abs(inside):.1f} {worst.unit} {'within' if worst.margin >= 0 else 'short of'} its limit"
    return f"{subjects} decides: {word}, {'up to ' if worst.verdict is Verdict.UNSURE else ''}{amount}"
