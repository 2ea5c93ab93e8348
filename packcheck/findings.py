"""The shared language of studies and reports: findings, tables, reports.

A `Finding` states the law its fields obey: ``points[0] - points[1] == value * direction``, with `points[0]` on
the first subject and `direction` the unit vector from the second towards the first along which the gap grows
fastest. `value` is nominal; the true number lies in [`low`, `high`], where None means no bound on that side.
The verdict is derived from those and the limit, never stored. Where places are only likely to be right, `low` and
`high` hold the truth 95 times in 100, or more, whatever hard tolerances come to.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TypeAlias

from packcheck.arrays import Points, Vector
from packcheck.errors import SourceMark
from packcheck.limits import NO_LIMIT, Chance, Limit
from packcheck.tolerances import COVERAGE, EXACT_WIDTH

__all__ = [
    "Cell",
    "Chance",
    "Contributor",
    "Finding",
    "Limit",
    "Move",
    "PairCount",
    "Place",
    "Report",
    "RuleNote",
    "SourceMark",
    "Table",
    "TapeDoubt",
    "Verdict",
    "worst",
]

Cell: TypeAlias = str | float | int | None


class Verdict(StrEnum):
    """What a finding comes to, worst first."""

    FAIL = "fail"
    UNSURE = "unsure"
    NOT_CHECKED = "not_checked"
    CLOSE = "close"
    PASS = "pass"


_ORDER = {verdict: place for place, verdict in enumerate(Verdict)}


@dataclass(frozen=True, slots=True)
class RuleNote:
    """Which rule asked: the names it stands between, its reason, and where its figures come from.

    `source` is of what must be, `want_source` of what is wanted.
    """

    between: tuple[str, str] = ("*", "*")
    why: str = ""
    source: str = ""
    lowered: str = ""  # "lowered from 10 to 3, line 31" when a rule was gone under on purpose
    want_source: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Place:
    """A point in the builder's own words: `by` (3,) mm from datum `datum`, along the car's axes of the file."""

    datum: str
    by: Vector
    text: str


@dataclass(frozen=True, slots=True, eq=False)
class Move:
    """Shift `part` by `by` (3,) mm, car frame; `carries` are the parts that hang on it and go along."""

    part: str
    by: Vector
    text: str
    carries: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Contributor:
    """A frame or part whose place or surface is not known, and what that alone takes off a gap, mm."""

    name: str
    takes: float


@dataclass(frozen=True, slots=True, eq=False)
class Finding:
    """One answer of one study. See the module docstring for the laws its fields obey."""

    study: str
    subjects: tuple[str, ...]
    word: str
    value: float | None = None
    unit: str = "mm"
    low: float | None = None
    high: float | None = None
    limit: Limit = NO_LIMIT
    points: Points | None = None  # (2, 3), mm, car frame
    direction: Vector | None = None
    when: str = ""
    pose: Mapping[str, object] = field(default_factory=dict)
    standard_uncertainty: float | None = None
    spread: Chance | None = None  # of likely errors, where more than the nearest points count
    hard_ends: tuple[float | None, float | None] | None = None  # `low` and `high` without likely errors
    contributors: tuple[Contributor, ...] = ()  # to what is not known, largest first; of what is listed
    rule: RuleNote | None = None
    mark: SourceMark | None = None
    where: Place | None = None
    move: Move | None = None
    no_move: str = ""  # why `move` is None although the finding falls short
    note: str = ""  # anything else the reader must know, in words
    skipped: str = ""  # why nothing was measured; makes the verdict not_checked
    judge: str = ""  # who must judge it, since no limit decides here; makes the verdict unsure
    looks_joined: str = ""  # the evidence that both are joined on purpose, where the file does not say so
    as_typed: bool = False  # about a part of which nobody said how well it is known
    envelope: bool = False  # rests on a shape that is only an envelope (fit: encloses, about)

    @property
    def verdict(self) -> Verdict:
        if self.skipped:
            return Verdict.NOT_CHECKED
        if self.judge:
            return Verdict.UNSURE
        if self.limit.misses(self.low, self.high):
            return Verdict.FAIL
        if not self.limit.keeps(self.low, self.high):
            return Verdict.UNSURE
        return Verdict.PASS if self.limit.satisfies(self.low) else Verdict.CLOSE

    @property
    def spare(self) -> float:
        """What is surely left of the limit, in its unit; -inf where that is not known."""
        return self.limit.spare(self.low, self.high)

    @property
    def margin(self) -> float | None:
        """How far inside the limit the worse end of the interval lies, mm; negative is bad."""
        must, most = self.limit.must, self.limit.most
        margins = []
        if must is not None and self.low is not None:
            margins.append(self.low - must)
        if most is not None and self.high is not None:
            margins.append(most - self.high)
        return min(margins, default=None)

    @property
    def expanded(self) -> float:
        """What likely errors come to at the nearest points, to each side, 95 times in 100."""
        return COVERAGE * (self.standard_uncertainty or 0.0)

    @property
    def hard(self) -> tuple[float | None, float | None]:
        """The ends without likely errors: hard tolerances and the error of the solver alone."""
        if self.hard_ends is not None:
            return self.hard_ends
        low = None if self.low is None else self.low + self.expanded
        return low, None if self.high is None else self.high - self.expanded

    @property
    def chance(self) -> float | None:
        """The chance, at the most, that the number is under `must`, or over `most`, hard tolerances at their worst.

        None where no standard uncertainty, no limit, or no hard end on that side is known; and of an envelope, as
        the true part may leave any room.
        """
        unsure = self.standard_uncertainty
        return self._chance(self.spread or Chance(unsure, unsure, 1)) if unsure else None

    @property
    def chance_near(self) -> float | None:
        """The same were the nearest points as drawn to stay the nearest ones."""
        unsure = self.standard_uncertainty
        return self._chance(Chance(unsure, unsure, 1)) if unsure else None

    def _chance(self, spread: Chance) -> float | None:
        (low, high), limit = self.hard, self.limit
        if self.envelope:
            return None
        chances = []
        if limit.must is not None and low is not None:
            chances.append(spread.beyond(low - limit.must))
        if limit.most is not None and high is not None:
            chances.append(spread.beyond(limit.most - high))
        return min(sum(chances), 1.0) if chances else None

    @property
    def bound(self) -> str:
        """exact, as_typed, between, at_least (no upper end), at_most (no lower end) or unknown.

        as_typed: exact, if a part stands exactly as the file has it, of which nobody said how well it is known.
        """
        if self.low is None:
            return "unknown" if self.high is None else "at_most"
        if self.high is None:
            return "at_least"
        if self.high - self.low > EXACT_WIDTH + 1e-9:
            return "between"
        return "as_typed" if self.as_typed else "exact"

    @property
    def sort_key(self) -> tuple[int, float, tuple[str, ...], str]:
        """Verdict, then margin, then names: the one order of every report."""
        margin = self.margin
        return _ORDER[self.verdict], 0.0 if margin is None else round(margin, 6), self.subjects, self.study


@dataclass(frozen=True, slots=True)
class Table:
    """A plain table: `columns` name each cell of every row; units stand in the column names."""

    id: str
    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class PairCount:
    """Pairs of parts in the scene, those culled by their boxes, and those measured."""

    total: int = 0
    culled: int = 0
    measured: int = 0

    def __add__(self, other: PairCount) -> PairCount:
        return PairCount(self.total + other.total, self.culled + other.culled, self.measured + other.measured)


@dataclass(frozen=True, slots=True)
class TapeDoubt:
    """What hangs on the `parts` of which nobody said how well they are known.

    `undecided` of the limits met at rest would be undecided, were each of them known to `accuracy` mm, as with a
    tape; `at_most` counts those as well whose boxes alone do not tell.
    """

    parts: tuple[str, ...]
    accuracy: float
    undecided: int
    at_most: int


@dataclass(frozen=True, slots=True)
class Report:
    """Findings in report order, plain tables, and what the numbers do not cover.

    `pairs` are those of parts as they stand; `moving` those that motions move against each other, once for each
    state. `unlisted` counts passing pairs at rest that have no finding of their own; `envelope_passes` how many of
    all passes rest on an envelope, `guess_passes` how many on what is known by guess only; `lowered` the rules gone
    under on purpose; `missing` what the model does not hold; `unmeasured` the pairs not measured on purpose,
    in words: they are in no count.
    """

    scene: str
    title: str = ""
    layout: str | None = None
    findings: tuple[Finding, ...] = ()
    tables: tuple[Table, ...] = ()
    pairs: PairCount = PairCount()
    moving: PairCount = PairCount()
    unlisted: int = 0
    envelope_passes: int = 0
    guess_passes: int = 0
    lowered: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    unmeasured: tuple[str, ...] = ()
    tape: TapeDoubt | None = None  # None: every part says how well it is known
    notes: tuple[str, ...] = ()
    units: str = "mm"
    families: Mapping[str, str] = field(default_factory=dict)  # of each repeated part, the name of its row

    @property
    def counts(self) -> dict[Verdict, int]:
        seen = Counter(finding.verdict for finding in self.findings)
        seen[Verdict.PASS] += self.unlisted
        return {verdict: seen[verdict] for verdict in Verdict}

    @property
    def verdict(self) -> Verdict:
        """The worst verdict; with nothing checked at all, not_checked: zero pairs is not a pass."""
        if not self.findings and not self.unlisted:
            return Verdict.NOT_CHECKED
        return worst(verdict for verdict, count in self.counts.items() if count)


def worst(verdicts: Iterable[Verdict]) -> Verdict:
    """The worst of several verdicts."""
    return min(verdicts, key=_ORDER.__getitem__)
