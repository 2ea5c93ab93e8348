"""Which readings, taken again, would settle most of what is undecided?

Method
------
A gap is undecided when its limit lies between its two ends, and the tolerances in the file make up most of the way
between them. Every part and frame whose tolerance counts in an undecided pair is tried as if it were known by a
calliper: the pair is reckoned anew, and settled when its interval then lies on one side of the limit. Where one
reading does not settle a pair, all that count in it are tried together. The best is kept, the others are tried
beside it, up to three readings in all. Each is given the coarsest tolerance that still settles as many.

A frame is read once for all that hangs on it: between two parts of the engine its tolerance cancels.

Pairs that no reading settles are counted, and joined parts that do not meet as measured are named to be measured
again: the tape or the file is wrong there.

Limits
------
It is reckoned as if everything will be found where the file has it. A reading that moves the part may settle less,
or more. Either way of settling counts: pass and fail.

Example
-------
    measure again  to within  settles
    fuel_pump      2 mm             4
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import chain

from packcheck.assembly.assembly import Assembly
from packcheck.datums import MM_PER_INCH, length_words
from packcheck.findings import Finding, Table, Verdict
from packcheck.proximity import Session
from packcheck.studies import gaps

__all__ = ["ID", "readings"]

ID = "readings"

MOST_READINGS = 3

_GRADES = {
    "mm": (10.0, 5.0, 3.0, 2.0, 1.0),
    "in": (MM_PER_INCH / 4, MM_PER_INCH / 8, MM_PER_INCH / 16, MM_PER_INCH / 32),
}
"""Tolerances, mm, that one can ask of a reading: coarsest first, all coarser than a calliper's."""


def readings(assembly: Assembly, session: Session, findings: Iterable[Finding]) -> Table | None:
    """The readings that would settle most of what is undecided in `findings`; None where nothing is."""
    listed = list(findings)
    undecided = [finding for finding in listed if _by_tolerance(finding)]
    contradicting = [said for finding in listed if (said := _contradiction(finding, assembly.scene.units))]
    if not undecided and not contradicting:
        return None
    search = _Search(assembly, session, undecided)
    rows = search.rows()
    notes = [_note(len(undecided), bool(rows), search.beyond())] if undecided else []
    if contradicting:
        besides = " as well" if undecided else ""
        notes.append(f"Measure these again{besides}: {'; '.join(contradicting)}.")
    columns = ("measure again", "to within", "settles")
    return Table(ID, "Readings that would settle most", columns, tuple(rows), " ".join(notes))


def _note(count: int, some: bool, beyond: int) -> str:
    """Of how many undecided pairs the readings are, and how many of them no reading settles, and why."""
    if not some:
        return f"No three readings would settle any of the {count} undecided: give them more room."
    said = f"Of {count} undecided, if all is found where it is drawn."
    if not beyond:
        return said
    why = "as drawn, nearer to the limit than a calliper would tell, or open by its shape: give it more room"
    return f"{said} No reading settles {beyond} of them: {why}."


def _contradiction(finding: Finding, units: str) -> str:
    """Where two parts that are joined on purpose do not meet as measured: which, and how far off; else empty."""
    if finding.study != gaps.ID or finding.limit.most is None or finding.verdict is not Verdict.FAIL:
        return ""
    if finding.note:  # such as a layout that takes the joint apart: no reading is wrong
        return ""
    assert finding.value is not None
    off = "sunk by {}" if finding.value < 0 else "{} apart"
    a, b = finding.subjects
    return f"{a} and {b}: joined, but {off.format(length_words(abs(finding.value), units))} as measured"


def _by_tolerance(finding: Finding) -> bool:
    """Whether hard tolerances leave a gap undecided; what is only likely is settled by `packcheck survey`."""
    return finding.study == gaps.ID and finding.verdict is Verdict.UNSURE and not finding.standard_uncertainty


class _Search:
    """The undecided findings, and which of them better readings would settle."""

    def __init__(self, assembly: Assembly, session: Session, undecided: Sequence[Finding]) -> None:
        self._assembly, self._session = assembly, session
        self._finest = assembly.scene.known.get("calliper", 0.5)
        self._nodes = {
            finding: tuple(
                name for name, most in assembly.account.counting(*finding.subjects) if most > self._finest
            )
            for finding in undecided
        }
        self._memo: dict[tuple[Finding, tuple[tuple[str, float], ...]], bool] = {}

    def rows(self) -> list[tuple[str, str, int]]:
        """The readings found best, each with its tolerance and how many more findings it settles."""
        taken: dict[str, float] = {}
        rows = []
        while best := self._best(taken):
            gain = self._settled({**taken, **dict.fromkeys(best, self._finest)}) - self._settled(taken)
            tolerance = self._coarsest(best, taken)
            taken |= dict.fromkeys(best, tolerance)
            rows.append((" and ".join(best), self._said(tolerance), gain))
        return rows

    def _best(self, taken: Mapping[str, float]) -> tuple[str, ...]:
        """The parts and frames to read next: most settled for each reading, and none when nothing more would be."""
        left = MOST_READINGS - len(taken)
        missing = {nodes: tuple(name for name in nodes if name not in taken) for nodes in self._nodes.values()}
        singles = [(name,) for name in dict.fromkeys(chain.from_iterable(missing.values()))]
        groups = [group for group in dict.fromkeys([*singles, *missing.values()]) if 0 < len(group) <= left]
        before = self._settled(taken)

        def gain(group: Collection[str]) -> float:
            return (self._settled({**taken, **dict.fromkeys(group, self._finest)}) - before) / len(group)

        best = max(groups, key=gain, default=())
        return best if best and gain(best) > 0 else ()

    def _coarsest(self, group: Collection[str], taken: Mapping[str, float]) -> float:
        """The coarsest tolerance, mm, that settles as many as a calliper's would."""
        most = self._settled({**taken, **dict.fromkeys(group, self._finest)})
        grades = _GRADES["in" if self._assembly.scene.units == "in" else "mm"]
        coarser = (grade for grade in grades if grade > self._finest)
        return next(
            (grade for grade in coarser if self._settled({**taken, **dict.fromkeys(group, grade)}) == most),
            self._finest,
        )

    def _settled(self, known: Mapping[str, float]) -> int:
        return sum(self._settles(finding, nodes, known) for finding, nodes in self._nodes.items())

    def _settles(self, finding: Finding, nodes: Collection[str], known: Mapping[str, float]) -> bool:
        better = tuple((name, known[name]) for name in nodes if name in known)
        if better and (finding, better) not in self._memo:
            account = self._assembly.account.known_to(dict(better))
            a, b = finding.subjects
            anew = gaps.pair_finding(replace(self._assembly, account=account), self._session, a, b)
            settled = anew is None or anew.verdict not in (Verdict.UNSURE, Verdict.NOT_CHECKED)
            self._memo[finding, better] = settled
        return bool(better) and self._memo[finding, better]

    def beyond(self) -> int:
        """How many stay open even were all that counts in them known by a calliper."""
        return sum(
            not self._settles(finding, nodes, dict.fromkeys(nodes, self._finest))
            for finding, nodes in self._nodes.items()
        )

    def _said(self, tolerance: float) -> str:
        return length_words(tolerance, self._assembly.scene.units)
