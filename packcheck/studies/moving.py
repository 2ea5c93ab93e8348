"""Which parts come too near each other while something moves, where on its way, and how surely not?

Method
------
The `motions` of the scene say what swings, slides, rocks or turns. Motions of one state act at the same time, in
every combination; those of the other state stand at 0 meanwhile, as a lid is shut while driving. For every pair of
parts that a motion moves against each other, boxes swept over the whole motion tell whether they can come near. If
they can, a search by halves asks whether the limit holds everywhere, and where not, how small the gap gets: to
within 0.05 mm, with proof, since no part travels farther between two settings than its distance from the line it
turns about allows. Nothing thin is jumped over. The limit is the rule's `moving` gap. Tolerances widen intervals;
those by axis (three numbers) only along the gap, where both parts are convex and a single motion moves them.

A pair that falls short also says on what part of the way it does; outside that it is proven clear. Where several
motions act, that is told for one of them, the others held as at the worst setting. Where nothing but rocks moves,
it says within which share of all ranges at once it is proven clear.

Limits
------
Parts joined by `bolted_to` are not searched, nor is what `goes_into` another; the table of motions counts them.
What bends (hoses, looms) is carried or stays as drawn. The line of a motion is as sure as the frame it is given in,
all over the reach of the part: what that adds is told. Ranges are as stated. Where shapes that are not convex
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
from packcheck.assembly.boxed import boxed_parts
from packcheck.assembly.line_slack import Courses, LineSlack, line_slack
from packcheck.assembly.motion_table import motion_table
from packcheck.assembly.moved_pair import MovedPair
from packcheck.assembly.moving_pairs import MovingPair, Sweeps, moving_pairs, the_pair
from packcheck.assembly.telling import pose_data, setting_words
from packcheck.datums import length_words
from packcheck.errors import QueryError
from packcheck.findings import Finding, Limit, PairCount, Report, Verdict
from packcheck.proximity import Separation, Session
from packcheck.search import Answer, Outcome, Problem, least
from packcheck.studies.moving_way import Way, proven_share, share_words
from packcheck.tolerances import BOX_SLACK, CONTACT_BAND, LIMIT_SLACK, SEARCH_BUDGET

__all__ = ["ID", "findings_of", "run"]

ID = "moving"

CLOSEST_PASSING = 3
"""Passing pairs whose least gap is found and told; of the others only that their limit holds is known."""

CLASH_BUDGET = 300
"""Gaps asked to close in on how deep parts overlap, once it is known that they do."""

PASSING_BUDGET = 100
"""Gaps asked to close in on a pair that is known to pass."""

TELLING_SLACK = 0.05
"""mm. Less than this, for lines that are not sure, is not worth a word."""

LEAST_SHARE = 0.01
"""Of the ranges of what rocks: less that is proven clear is not worth a word."""

BOXED_BUDGET = 300
"""Gaps asked of a pair once more with tolerances by axis laid on its parts."""

UNREAD_BUDGET = 100
"""Gaps asked to show that a pair stays far from a skin that was not read to its edges."""


def run(assembly: Assembly, session: Session, only: Collection[str] = ()) -> Report:
    """Search every pair that a motion can bring near its limit; `only` keeps pairs that hold one of these parts."""
    if not assembly.scene.motions:
        return Report(assembly.scene.path)
    look = _Look(assembly, session, Sweeps(assembly))
    for pair in moving_pairs(assembly):
        if not only or {pair.a, pair.b} & set(only):
            look.at(pair)
    return Report(
        assembly.scene.path,
        findings=(*look.findings, *look.closest()),
        moving=look.count,
        tables=(motion_table(assembly, look.searched, look.apart, look.joints),),
    )


def findings_of(assembly: Assembly, session: Session, pairs: Iterable[MovingPair]) -> list[Finding]:
    """The findings of these pairs: those that fall short, and of the others the few that come closest."""
    look = _Look(assembly, session, Sweeps(assembly))
    for pair in pairs:
        look.at(pair)
    return [*look.findings, *look.closest()]


@dataclass(frozen=True, slots=True, eq=False)
class _Case:
    """A pair under search: its problem, what is asked of it, and how much its tolerances may take off.

    `lines` is what of the slack comes from lines that are not sure. `out` says why it may come near what was not
    read of a skin.
    """

    pair: MovingPair
    moved: MovedPair
    problem: Problem
    blank: Finding
    slack: float
    lines: LineSlack
    out: str = ""

    @property
    def limit(self) -> float:
        """What the gap as drawn must keep, mm; parts that are not convex prove nothing below 0."""
        must = self.blank.limit.must
        assert must is not None
        asked = must + self.slack - LIMIT_SLACK
        return asked if self.moved.convex else max(asked, 0.0)


@dataclass(slots=True, eq=False)
class _Look:
    """What comes of looking at one pair after the other; counts are by motion."""

    assembly: Assembly
    session: Session
    sweeps: Sweeps
    findings: list[Finding] = field(default_factory=list)
    passing: list[tuple[_Case, Outcome]] = field(default_factory=list)
    searched: Counter[str] = field(default_factory=Counter)
    apart: Counter[str] = field(default_factory=Counter)
    joints: Counter[str] = field(default_factory=Counter)
    courses: Courses = field(default_factory=dict)
    count: PairCount = field(default_factory=PairCount)

    def at(self, pair: MovingPair) -> None:
        rules = self.assembly.rules
        if rules.joint(pair.a, pair.b) or rules.unasked.enters(pair.a, pair.b):
            self.joints.update(pair.motions)
            return
        if rules.unasked.between(pair.a, pair.b):
            return
        asked = rules.limit(pair.a, pair.b)
        lines = line_slack(self.assembly, pair, self.courses)
        slack = self.assembly.slack(pair.a, pair.b).most + lines.most
        unread = self.assembly.beyond.between(pair.a, pair.b)
        if self.sweeps.apart(pair) > asked.moving + slack + unread + BOX_SLACK:
            self.apart.update(pair.motions)
            self.count += PairCount(1, culled=1)
            return
        self.searched.update(pair.motions)
        self.count += PairCount(1, measured=1)
        parts = self.assembly.scene.parts
        blank = Finding(
            ID,
            (pair.a, pair.b),
            "",
            limit=Limit(must=asked.moving),
            rule=asked.rule,
            mark=self.assembly.scene.motions[pair.motions[0]].mark,
            envelope=any(parts[name].fit != "exact" for name in (pair.a, pair.b)),
        )
        try:
            moved = the_pair(self.assembly, self.session, pair)
            out = self._reaching_out(moved, pair, asked.moving + slack) if unread else ""
            self._searched(_Case(pair, moved, moved.problem(), blank, slack, lines, out))
        except QueryError as error:
            self.findings.append(replace(blank, word="not checked", skipped=str(error)))

    def _reaching_out(self, moved: MovedPair, pair: MovingPair, needed: float) -> str:
        """Why the pair cannot be called clear of what was not read of a skin; empty far from all of it."""
        out = self.sweeps.reaching_out(pair, needed)
        if not out:
            return ""
        far = moved.decided(needed + self.assembly.beyond.margin, UNREAD_BUDGET)
        return "" if far.answer is Answer.ABOVE else out

    def _searched(self, case: _Case) -> None:
        decided = case.moved.decided(case.limit)
        if decided.answer is Answer.ABOVE and not case.out:
            self.passing.append((case, decided))
        else:
            self.findings.append(self._told(case, self._closed_in(case, decided)))

    def _closed_in(self, case: _Case, decided: Outcome, budget: int = SEARCH_BUDGET) -> Outcome:
        """The least gap of a pair, or the interval that `budget` queries reach."""
        if decided.sample.low == -np.inf or decided.queries >= SEARCH_BUDGET:
            return decided
        clash = decided.sample.witness.value <= 0
        found = case.moved.closed_in(decided.at, min(budget, CLASH_BUDGET) if clash else budget)
        return replace(found, low=max(found.low, decided.low))

    def closest(self) -> list[Finding]:
        """The passing pairs that may come nearest, with their least gaps."""
        self.passing.sort(key=lambda passed: (passed[1].high, passed[0].pair.a, passed[0].pair.b))
        return [
            self._told(case, self._closed_in(case, decided)) for case, decided in self.passing[:CLOSEST_PASSING]
        ]

    def _told(self, case: _Case, found: Outcome) -> Finding:
        """The finding of a pair whose search has ended."""
        low: float | None = found.low - case.slack
        if case.out or found.low == -np.inf or (found.low < 0 and not case.moved.convex):
            low = None
        short = found.low < case.limit
        clash = short and found.sample.witness.value <= 0
        way = Way.of(case.problem, case.pair, found.at)
        spans = self._spans(case, way, CONTACT_BAND if clash else case.limit) if short and way else []
        setting, separation = self._deepest(case, found.at, way.settings(spans) if way and clash else [])
        proven = np.inf if separation.high is None else separation.high
        # the search goes by shapes as drawn, also where a piece of one only encloses the true one
        high = (proven if case.moved.encloses else min(found.high, proven)) + case.slack
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
            note="; ".join(filter(None, [separation.doubt, case.out, self._lines_words(case)])),
        )
        if low is not None and finding.verdict is Verdict.UNSURE:
            finding = replace(finding, low=self._along(case, found, low))
        finding = replace(finding, word=_word(finding))
        if finding.verdict is Verdict.PASS:
            return finding
        if spans and way is not None:
            return replace(finding, when=f"{finding.when}; {_VERBS[finding.word]} {way.words(spans)}")
        share = self._share(case, CONTACT_BAND if clash else case.limit) if short and way is None else 0.0
        if share < LEAST_SHARE:
            return finding
        return replace(finding, when=f"{finding.when}; {share_words(share, case.pair, clash=clash)}")

    def _along(self, case: _Case, found: Outcome, low: float) -> float:
        """The least gap where tolerances by axis count along it alone, if that proves more than diagonals do."""
        boxed = boxed_parts(self.assembly, case.pair)
        if boxed is None or found.low - case.slack + boxed[1] < (case.blank.limit.must or 0.0) - LIMIT_SLACK:
            return low
        grown = the_pair(self.assembly, self.session, case.pair, boxed[0])
        least_grown = least(grown.problem(), budget=BOXED_BUDGET, start=[found.at]).low
        return max(low, least_grown - case.slack + boxed[1])

    def _share(self, case: _Case, limit: float) -> float:
        """The share of the ranges of what rocks that is proven to keep `limit`; 0 where that is not known."""
        if len(case.problem.roots) != 1:
            return 0.0
        return self.session.once((case.moved.mark, "share", limit), lambda: proven_share(case.problem, limit))

    def _spans(self, case: _Case, way: Way, limit: float) -> list[tuple[float, float]]:
        question = (case.moved.mark, "spans", limit, way.mark)
        return self.session.once(question, lambda: way.spans(limit))

    def _lines_words(self, case: _Case) -> str:
        """How much of the slack is that of the lines, and whose."""
        if case.lines.most < TELLING_SLACK:
            return ""
        of = " and of ".join(case.lines.motions)
        far = length_words(case.lines.most, self.assembly.scene.units)
        return f"of what it may be off by, {far} is for the line of {of}"

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
