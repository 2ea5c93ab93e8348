"""Which parts come too near each other while something moves, where on its way, and how surely not?

Method
------
The `motions` of the scene say what swings, slides, rocks or turns. Motions of one state act at the same time, in
every combination; those of the other state stand at 0 meanwhile, as a lid is shut while driving. For every pair of
parts that a motion moves against each other, boxes swept over the whole motion tell whether they can come near. If
they can, a search by halves asks whether the limit holds everywhere, and where not, how small the gap gets: to
within 0.05 mm, with proof, since no part travels farther between two settings than its distance from the line it
turns about allows. Nothing thin is jumped over. The limit is the rule's `moving` gap. What is not known is
taken off at each setting, of the parts and of the lines they turn about; three numbers and likely errors only along
the gap, where both parts are convex.

A pair that falls short also says on what part of the way it does; outside that it is proven clear. Where several
motions act, that is told for one of them, the others held as at the worst setting. Where nothing but rocks moves,
it says within which share of all ranges at once it is proven clear.

Limits
------
Parts joined by `bolted_to` are not searched, nor is what `goes_into` another; the table of motions counts them.
What bends (hoses, looms) is carried or stays as drawn. Ranges are as stated. Where shapes that are not convex
overlap, the deepest overlap is not proven; the least one is.

Sources: Mirtich, "Impulse-based dynamic simulation of rigid body systems", 1996, and Tang, Kim and Manocha, "C2A:
controlled conservative advancement", 2009, for motion bounds; Piyavskii 1972 and Shubert 1972 for the search.

Example
-------
    motions:
      deck_opens:
        carries: [rear_deck]
        hinge: {through: [1180, 0, 640], axis: y, from: 0, to: 62}
        during: service
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field, replace

import numpy as np

from packcheck.arrays import Floats
from packcheck.assembly.assembly import Assembly
from packcheck.budget import Budget
from packcheck.errors import QueryError
from packcheck.findings import Contributor, Finding, Limit, PairCount, Report, Verdict
from packcheck.moving.motion_table import motion_table
from packcheck.moving.moved_pair import MovedPair
from packcheck.moving.moving_pairs import MovingPair, Sweeps, doubt_of, moving_pairs, the_pair
from packcheck.moving.telling import pose_data, setting_words
from packcheck.notknown.contributors import contributors
from packcheck.notknown.moving import InMotion
from packcheck.proximity import Separation, Session
from packcheck.search import Answer, Outcome, Problem
from packcheck.studies.moving_way import Way, proven_share, share_words
from packcheck.tolerances import BOX_SLACK, CONTACT_BAND, SEARCH_BUDGET

__all__ = ["ID", "findings_of", "run"]

ID = "moving"

CLOSEST_PASSING = 3
"""Passing pairs whose least gap is found and told; of the others only that their limit holds is known."""

CLASH_BUDGET = 300
"""Gaps asked to close in on how deep parts overlap, once it is known that they do."""

LEAST_SHARE = 0.01
"""Of the ranges of what rocks: less that is proven clear is not worth a word."""

UNREAD_BUDGET = 100
"""Gaps asked to show that a pair stays far from a skin that was not read to its edges."""


def run(assembly: Assembly, session: Session, only: Collection[str] = (), budget: Budget | None = None) -> Report:
    """Search every pair that a motion can bring near its limit; `only` keeps pairs that hold one of these parts.

    Those whose swept boxes fall short by most come first; what `budget` does not reach is told as not checked.
    """
    if not assembly.scene.motions:
        return Report(assembly.scene.path)
    look = _Look(assembly, session, Sweeps(assembly), Budget() if budget is None else budget)
    look.at(pair for pair in moving_pairs(assembly) if not only or {pair.a, pair.b} & set(only))
    return Report(
        assembly.scene.path,
        findings=(*look.findings, *look.closest()),
        moving=look.count,
        tables=(motion_table(assembly, look.searched, look.apart, look.joints),),
    )


def findings_of(assembly: Assembly, session: Session, pairs: Iterable[MovingPair]) -> list[Finding]:
    """The findings of these pairs: those that fall short, and of the others the few that come closest."""
    look = _Look(assembly, session, Sweeps(assembly))
    look.at(pairs)
    return [*look.findings, *look.closest()]


@dataclass(frozen=True, slots=True, eq=False)
class _Case:
    """A pair under search: its problem, what is required of it, and what is not known of it.

    `out` says why it may come near what was not read of a skin.
    """

    pair: MovingPair
    moved: MovedPair
    problem: Problem
    blank: Finding
    doubt: InMotion
    out: str = ""

    @property
    def limit(self) -> float:
        """What the least that the gap can be must keep, mm."""
        return self.blank.limit.floor


@dataclass(slots=True, eq=False)
class _Look:
    """What comes of looking at one pair after the other; counts are by motion."""

    assembly: Assembly
    session: Session
    sweeps: Sweeps
    budget: Budget = field(default_factory=Budget)
    findings: list[Finding] = field(default_factory=list)
    passing: list[tuple[_Case, Outcome]] = field(default_factory=list)
    searched: Counter[str] = field(default_factory=Counter)
    apart: Counter[str] = field(default_factory=Counter)
    joints: Counter[str] = field(default_factory=Counter)
    count: PairCount = field(default_factory=PairCount)

    def at(self, pairs: Iterable[MovingPair]) -> None:
        """Look at pairs, first those whose swept boxes come nearest, beside what is asked."""
        near = [(room, pair) for pair in pairs if (room := self._room(pair)) is not None]
        for _, pair in sorted(near, key=lambda one: one[0]):
            self._look_at(pair)

    def _room(self, pair: MovingPair) -> float | None:
        """What swept boxes leave over the limit, mm, at most nothing; None where no search is needed."""
        rules = self.assembly.rules
        if rules.joint(pair.a, pair.b) or rules.unasked.enters(pair.a, pair.b):
            self.joints.update(pair.motions)
            return None
        if rules.unasked.in_motion(pair.a, pair.b, pair.act.of):
            return None
        needed = rules.limit(pair.a, pair.b).moving + doubt_of(self.assembly, pair).most
        room = self.sweeps.apart(pair) - needed - self.assembly.beyond.between(pair.a, pair.b) - BOX_SLACK
        if room > 0:
            self.apart.update(pair.motions)
            self.count += PairCount(1, culled=1)
            return None
        return room

    def _look_at(self, pair: MovingPair) -> None:
        blank = self._blank(pair)
        if self.budget.spent:
            self.count += PairCount(1)
            told = f"not checked within {self.budget.said()}"
            self.findings.append(replace(blank, word="not checked", skipped=told))
            return
        self.searched.update(pair.motions)
        self.count += PairCount(1, measured=1)
        doubt = doubt_of(self.assembly, pair)
        unread = self.assembly.beyond.between(pair.a, pair.b)
        try:
            moved = the_pair(self.assembly, self.session, pair, doubt)
            out = self._reaching_out(moved, pair, blank.limit.floor + doubt.most) if unread else ""
            self._searched(_Case(pair, moved, moved.problem(), blank, doubt, out))
        except QueryError as error:
            self.findings.append(replace(blank, word="not checked", skipped=str(error)))

    def _blank(self, pair: MovingPair) -> Finding:
        asked = self.assembly.rules.limit(pair.a, pair.b)
        parts = self.assembly.scene.parts
        return Finding(
            ID,
            (pair.a, pair.b),
            "",
            limit=Limit(must=asked.moving),
            rule=asked.moving_rule,
            mark=self.assembly.scene.motions[pair.motions[0]].mark,
            envelope=any(parts[name].fit != "exact" for name in (pair.a, pair.b)),
        )

    def _reaching_out(self, moved: MovedPair, pair: MovingPair, needed: float) -> str:
        """Why the pair cannot be called clear of what was not read of a skin; empty far from all of it."""
        out = self.sweeps.reaching_out(pair, needed)
        if not out:
            return ""
        far = moved.drawn.decided(needed + self.assembly.beyond.margin, UNREAD_BUDGET)
        return "" if far.answer is Answer.ABOVE else out

    def _searched(self, case: _Case) -> None:
        decided = case.moved.decided(case.limit, self.budget.left(SEARCH_BUDGET))
        self.budget.take(decided.queries)
        if decided.answer is Answer.ABOVE and not case.out:
            self.passing.append((case, decided))
        else:
            self.findings.append(self._told(case, self._closed_in(case, decided)))

    def _closed_in(self, case: _Case, decided: Outcome, budget: int = SEARCH_BUDGET) -> Outcome:
        """The least gap of a pair, or the interval that `budget` queries reach."""
        if decided.sample.low == -np.inf or decided.queries >= SEARCH_BUDGET:
            return decided
        clash = decided.sample.witness.value <= 0
        allowed = self.budget.left(min(budget, CLASH_BUDGET) if clash else budget)
        if not allowed:
            return decided
        found = case.moved.closed_in(decided.at, allowed)
        self.budget.take(found.queries)
        return replace(found, low=max(found.low, decided.low))

    def closest(self) -> list[Finding]:
        """The passing pairs that may come nearest, with their least gaps."""
        self.passing.sort(key=lambda passed: (passed[1].sample.witness.high, passed[0].pair.a, passed[0].pair.b))
        return [
            self._told(case, self._closed_in(case, decided)) for case, decided in self.passing[:CLOSEST_PASSING]
        ]

    def _told(self, case: _Case, found: Outcome) -> Finding:
        """The finding of a pair whose search has ended."""
        low: float | None = found.low
        if case.out or found.low == -np.inf or (found.low < 0 and not case.moved.convex):
            low = None
        short = found.low < case.limit
        clash = short and found.sample.witness.value <= 0
        searched = case.moved.drawn if clash else case.moved
        problem, limit = searched.problem(), CONTACT_BAND if clash else case.limit
        way = Way.of(problem, case.pair, found.at)
        short = short and not self.budget.spent
        spans = self._spans(searched, way, limit) if short and way else []
        setting, separation = self._deepest(case, found.at, way.settings(spans) if way and clash else [])
        high = self._high(case, found, setting, separation)
        points = separation.points
        finding = replace(
            case.blank,
            value=separation.value,
            low=low,
            high=None if case.blank.envelope or np.isinf(high) else high,
            points=points,
            direction=separation.direction,
            where=None if points is None else self.assembly.datums.place(points.mean(axis=0)),
            when=setting_words(self.assembly, case.pair.drives, setting),
            pose=pose_data(case.pair.drives, setting),
            note="; ".join(filter(None, [separation.doubt, case.out, case.doubt.at(setting).lost])),
        )
        finding = replace(finding, word=_word(finding), contributors=self._contributors(case, setting, separation))
        if finding.verdict is Verdict.PASS:
            return finding
        if spans and way is not None:
            return replace(finding, when=f"{finding.when}; {_VERBS[finding.word]} {way.words(spans)}")
        share = self._share(searched, problem, limit) if short and way is None else 0.0
        if share < LEAST_SHARE:
            return finding
        return replace(finding, when=f"{finding.when}; {share_words(share, case.pair, clash=clash)}")

    def _contributors(self, case: _Case, setting: Floats, separation: Separation) -> tuple[Contributor, ...]:
        """What, of all that is not known, takes most off the gap in the deciding pose."""
        if case.doubt.at(setting).nothing:
            return ()
        pair, convex = (case.pair.a, case.pair.b), case.moved.convex
        where = case.doubt.setting(setting)
        return contributors(self.assembly.account, pair, separation.direction, convex=convex, setting=where)

    def _high(self, case: _Case, found: Outcome, setting: Floats, separation: Separation) -> float:
        """The most that the least gap can be, mm: no more than what it can be at one setting."""
        ends = [separation.high] if separation.high is not None else []
        most = [case.doubt.at(setting).greatest_gap(end, separation.direction, separation.points) for end in ends]
        witness = found.sample.witness
        if not case.moved.encloses:  # what encloses the true shape says nothing of how far off that is
            most.append(case.doubt.at(found.at).greatest_gap(witness.high, witness.direction))
        return min(most, default=np.inf)

    def _share(self, moved: MovedPair, problem: Problem, limit: float) -> float:
        """The share of the ranges of what rocks that is proven to keep `limit`; 0 where that is not known."""
        if len(problem.roots) != 1:
            return 0.0
        return self.session.once((moved.mark, "share", limit), lambda: proven_share(problem, limit))

    def _spans(self, moved: MovedPair, way: Way, limit: float) -> list[tuple[float, float]]:
        question = (moved.mark, "spans", limit, way.mark)
        return self.session.once(question, lambda: way.spans(limit))

    def _deepest(self, case: _Case, at: Floats, others: list[Floats]) -> tuple[Floats, Separation]:
        """The setting with the least gap, measured in full, of the one the search found and some others.

        The search cannot tell how deep parts that are not convex overlap, so that a few settings are compared.
        """
        tried = [at, *([] if case.moved.convex else others)]
        measured = [(setting, self.session.gap(*case.moved.placed(setting))) for setting in tried]
        return min(measured, key=lambda one: round(one[1].value, 6))


_VERBS = {
    "clash": "clashes",
    "tight": "falls short",
    "may clash": "may clash",
    "may be tight": "may fall short",
}


def _word(finding: Finding) -> str:
    assert finding.value is not None
    verdict = finding.verdict
    if verdict is Verdict.UNSURE:
        return "may clash" if finding.low is None or finding.low < -CONTACT_BAND else "may be tight"
    if verdict is Verdict.FAIL:
        return "clash" if finding.value < -CONTACT_BAND else "tight"
    return "clear"
