"""A finding's numbers in words: what was measured, what is needed, and by how much it falls short."""

from __future__ import annotations

from dataclasses import dataclass, replace

from packcheck.findings import Finding, Verdict
from packcheck.report.text.figures import Toward, length, plain, rounded
from packcheck.tolerances import EXACT_WIDTH

__all__ = ["Measured"]

TELLING = 0.05
"""mm. A gap or margin smaller than this would vanish in figures of a tenth of a mm, so thousandths are printed."""


@dataclass(frozen=True, slots=True)
class Measured:
    """The words for the numbers of `finding` in a scene written in `units`."""

    finding: Finding
    units: str

    @property
    def of_gap(self) -> bool:
        """Whether the number is a gap between two parts, so that less than nothing is an overlap."""
        return self.finding.unit == "mm" and len(self.finding.subjects) == 2

    @property
    def _fine(self) -> bool:
        telling = [abs(x) for x in (self.finding.value, self.finding.margin) if x]
        return min(telling, default=1.0) < TELLING

    def _said(self, value: float, toward: Toward = Toward.NEAREST) -> str:
        if self.finding.unit != "mm":
            return f"{rounded(value, 1, toward):.1f} {self.finding.unit}"
        return length(value, self.units, toward, fine=self._fine)

    def _span(self, least: float, most: float, word: str = "and") -> str:
        """Two figures with one unit where the unit is short: "9.0 and 13.0 mm"."""
        first, second = self._said(least, Toward.DOWN), self._said(most, Toward.UP)
        return f"{first.removesuffix(f' {self.finding.unit}')} {word} {second}"

    def _typed(self, value: float) -> str:
        if self.finding.unit != "mm":
            return f"{plain(value)} {self.finding.unit}"
        return length(value, self.units, typed=True)

    def _signed(self, value: float, toward: Toward = Toward.NEAREST) -> str:
        """A signed gap: "gap 3.0 mm" or "overlap 3.0 mm", never a minus sign."""
        if not self.of_gap:
            return self._said(value, toward)
        if value < 0:
            back = {Toward.DOWN: Toward.UP, Toward.UP: Toward.DOWN}.get(toward, toward)
            return f"overlap {self._said(-value, back)}"
        return f"gap {self._said(value, toward)}"

    def number(self) -> str:
        """The number with its bound: "gap 8.2 mm", "gap between 9.0 mm and 13.0 mm, 11.0 mm as drawn"."""
        finding = self.finding
        if finding.bound == "unknown":
            return "" if finding.value is None else f"{self._signed(finding.value)} as drawn"
        if finding.standard_uncertainty and finding.value is not None:
            return self._unsure(finding.value)
        if finding.bound in ("exact", "as_typed"):
            value = finding.low if finding.value is None else finding.value
            return "" if value is None else self._signed(value)
        return self._interval() + self._drawn()

    def _unsure(self, value: float) -> str:
        """The nominal number with what is likely, and hard tolerances beside it, where there are any."""
        said = f"{self._signed(value)} +- {self._said(self.finding.expanded, Toward.UP)} (95 %)"
        said = said.replace(f" {self.finding.unit} +- ", " +- ") if self.units != "in" else said
        low, high = self.finding.hard
        if low is not None and high is not None and high - low <= EXACT_WIDTH + 1e-9:
            plain = self.finding.spread is None or (self.finding.spread.numbers == 1 and self.finding.spread.even)
            return said if plain else f"{said} at the nearest points; {self._interval()} in all"
        hard = replace(self.finding, standard_uncertainty=None, low=low, high=high)
        return (
            f"{said} where drawn, {Measured(hard, self.units)._interval()} by tolerance; {self._interval()} in all"
        )

    def _interval(self) -> str:
        low, high = self.finding.low, self.finding.high
        if high is None:
            return self._one_end(low, Toward.DOWN, "at least", "at most")
        if low is None:
            return self._one_end(high, Toward.UP, "at most", "at least")
        if self.of_gap and low < 0 <= high:
            return f"between {self._signed(low, Toward.DOWN)} and {self._signed(high, Toward.UP)}"
        if self.of_gap and high < 0:
            return f"overlap between {self._span(-high, -low)}"
        return f"{'gap ' if self.of_gap else ''}between {self._span(low, high)}"

    def _one_end(self, end: float | None, toward: Toward, apart: str, overlapping: str) -> str:
        assert end is not None
        if not self.of_gap:
            return f"{apart} {self._said(end, toward)}"
        word, figure = self._signed(end, toward).split(" ", 1)
        return f"{word} {overlapping if end < 0 else apart} {figure}"

    def _drawn(self) -> str:
        value, low, high = self.finding.value, self.finding.low, self.finding.high
        if value is None or value in (low, high):
            return ""
        if self.of_gap and (low is None or low < 0) and (high is None or high >= 0):
            return f", {self._signed(value)} as drawn"
        drawn = self._said(abs(value) if self.of_gap else value)
        return f", {drawn.removesuffix(f' {self.finding.unit}')} as drawn"

    def needed(self) -> str:
        """What is asked: "needs 10 mm", with "wanted 20 mm" where the want is what is missed."""
        if self.finding.value is None and self.finding.bound == "unknown":
            return ""  # a question of yes or no, not of a number
        must, want, most = self.finding.limit.must, self.finding.limit.want, self.finding.limit.most
        if self._of_joint:
            return self._allowed()
        asked = [] if must is None else [self._least(must)]
        if want is not None and self.finding.verdict is not Verdict.PASS:
            asked.append(f"wanted {self._typed(want)}")
        if most is not None:
            asked.append(f"at most {self._typed(most)}")
        return ", ".join(asked)

    def _least(self, must: float) -> str:
        return f"{'needs' if self.of_gap else 'needs at least'} {self._typed(must)}"

    @property
    def _of_joint(self) -> bool:
        """Whether some overlap is allowed, or no more than some gap."""
        limit = self.finding.limit
        return self.of_gap and (limit.most is not None or (limit.must is not None and limit.must < 0))

    def _allowed(self) -> str:
        """What a joint may be: "allowed: overlap up to 1 mm, gap up to 0.5 mm"."""
        must, most = self.finding.limit.must, self.finding.limit.most
        ends = [] if must is None else [f"overlap up to {self._typed(-must)}" if must < 0 else self._least(must)]
        ends += [] if most is None else [f"gap up to {self._typed(most)}"]
        return f"allowed: {', '.join(ends)}"

    def shortfall(self) -> str:
        """By how much the limit is missed: "short by 6.8 mm", "may be short by up to 1.0 mm"."""
        limit, low, high = self.finding.limit, self.finding.low, self.finding.high
        if self.finding.verdict not in (Verdict.FAIL, Verdict.UNSURE) or self.finding.bound == "unknown":
            return ""
        below = _missed(limit.must, low, high, 1)
        above = _missed(limit.most, high, low, -1)
        if below and above and high is None:  # nothing is known of that side: it would only say "may be"
            above = None
        said = [self._missed(below, "over" if self._of_joint else "short"), self._missed(above, "over")]
        return ", ".join(filter(None, said))

    def _missed(self, missed: tuple[float, float | None] | None, word: str) -> str:
        if missed is None:
            return ""
        least, most = missed
        if least <= 0:
            return f"may be {word}" if most is None else f"may be {word} by up to {self._said(most, Toward.UP)}"
        if most is None:
            return f"{word} by at least {self._said(least, Toward.DOWN)}"
        if self.finding.bound in ("exact", "as_typed"):
            return f"{word} by {self._said(most)}"
        return f"{word} by {self._span(least, most, 'to')}"

    def chance(self) -> str:
        """The chance that the limit is missed: "12 % that it is under 10 mm"."""
        most, near, limit = self.finding.chance, self.finding.chance_near, self.finding.limit
        if most is None or near is None:
            return ""
        share = _share(near)
        if _share(max(near, most)) != share:
            share = f"{share} at the nearest points, up to {_share(most) if most <= 0.999 else '100 %'} in all,"
        under = [] if limit.must is None else [f"under {self._typed(limit.must)}"]
        under += [] if limit.most is None else [f"over {self._typed(limit.most)}"]
        low, high = self.finding.hard
        worst = (
            ""
            if low is not None and high is not None and high - low <= EXACT_WIDTH + 1e-9
            else ", tolerances at their worst"
        )
        return f"{share} that it is {' or '.join(under)}{worst}"

    def line(self) -> str:
        """The numbers in one line."""
        asked = ("; " if self._of_joint else ", ").join(filter(None, [self.needed(), self.shortfall()]))
        return ", ".join(filter(None, [self.number(), asked]))


def _missed(
    limit: float | None, worse: float | None, better: float | None, sign: int
) -> tuple[float, float | None] | None:
    """Least and greatest amount by which a limit is missed; None when it is not asked or surely met."""
    if limit is None or (worse is not None and sign * (limit - worse) <= 0):
        return None
    least = 0.0 if better is None else max(0.0, sign * (limit - better))
    return least, None if worse is None else sign * (limit - worse)


def _share(chance: float) -> str:
    """A chance as a share; near certainty to a tenth of a percent."""
    if chance < 0.001:
        return "under 0.1 %"
    if chance > 0.999:
        return "over 99.9 %"
    return f"{100 * chance:.1f} %" if chance > 0.99 else f"{100 * chance:.2g} %"
