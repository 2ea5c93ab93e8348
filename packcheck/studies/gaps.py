"""Which parts clash, and which stand nearer together than they should?

Method
------
Every pair of parts is looked at. Pairs whose boxes are farther apart than anything asked of them (limit, wanted
gap and tolerances) are culled; the rest are measured. The gap is signed: negative when parts overlap, and then
minus the shortest way out. Its interval [low, high] holds the kernel's error and the tolerances stated in the
scene; what two parts share by hanging on one frame cancels.

Where places are only likely to be right (`uncertainty`, or found by a survey), the gap has a standard uncertainty
at its nearest points, printed as +- 1.96 of them. The interval is wider where the nearest points may move to
another corner or side: it holds the true gap 95 times in 100, or more, whatever hard tolerances come to. Both are
added, and shown apart. What both parts share cancels, through frames, mirrors, hinges and what parts rest on.

A gap passes when its low end meets the limit, fails when its high end misses it, and is undecided in between.
Parts joined by `bolted_to` should touch: an overlap up to `seat`, or a gap up to 0.5 mm, beyond their tolerances,
is a joint; more overlap is a clash, more air is "not seated". How deep a part is sunk in an envelope nobody knows:
as drawn too deep, it "may clash". A part placed `in` another that touches it in this
way as drawn is a joint too, where nothing but a default asks for air between them.

What falls short and looks like a joint that the file does not state is listed apart, with the evidence, and counts
as a shortfall all the same.

Of a part that `goes_into` another nothing is asked towards that one, but that the two meet: touch, overlap, or
stand one in the other's hull, as in a hole. Apart it "does not reach". Else the pair is no pass, and the report
names it.
So is what is joined to a part and may stand in the air which that part `needs`.

A part with `fit: encloses` or `fit: about` is only an envelope: the true part may be farther away, so its gaps are
at least what is measured, and an overlap only "may clash".

Limits
------
Only what the file holds is compared, as drawn and at rest. Overlapping shapes that are not convex get the shortest
way out that was found and verified; a shorter one may exist.

Example
-------
    packcheck check scenes/hillclimb_rear_bay.yaml --part vacuum_tank
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

import numpy as np

from packcheck.arrays import Floats
from packcheck.assembly.assembly import Assembly
from packcheck.assembly.likely import looks_joined
from packcheck.clearance.guesses import Guesses
from packcheck.clearance.rules import Asked
from packcheck.errors import QueryError, SourceMark
from packcheck.findings import Finding, Limit, PairCount, Report, RuleNote, Verdict
from packcheck.notknown.contributors import contributors
from packcheck.notknown.doubt import NOTHING, Doubt
from packcheck.notknown.planes import least_over_planes
from packcheck.placing.boxes import Indices, near_pairs
from packcheck.proximity import Placed, Separation, Session
from packcheck.studies.entering import entering, unmeasured
from packcheck.studies.gap_words import worded
from packcheck.studies.unstated import tape_doubt
from packcheck.tolerances import BOX_SLACK, JOINT_GAP

__all__ = ["ID", "pair_finding", "run", "with_contributors"]

ID = "gaps"

LISTING_MARGIN = 10.0
"""mm. Gaps up to this much over all that is asked are measured, so that the closest passing can be listed."""

CLOSEST_PASSING = 5
"""How many passing gaps are listed where the scene does not say `list_within`."""


def run(assembly: Assembly, session: Session, only: Collection[str] = ()) -> Report:
    """Measure every pair that could matter; `only` keeps the pairs that hold one of these parts."""
    names = list(assembly.parts)
    wanted = [names.index(name) for name in only] if only else range(len(names))
    pairs = [(names[i], names[j]) for i, j in _near_pairs(assembly, names, set(wanted))]
    found = (pair_finding(assembly, session, a, b) for a, b in pairs)
    findings = [_with_evidence(assembly, finding) for finding in found if finding is not None]
    unasked = assembly.rules.unasked.pairs(names, {names[k] for k in wanted})
    apart = list(entering(assembly, session, ID, {names[k] for k in wanted}))
    total = _pair_count(len(names), len(set(wanted))) - len(unasked)
    listed = [with_contributors(assembly, finding) for finding in _listed(assembly, findings)]
    passing = [finding for finding in findings if finding.verdict is Verdict.PASS]
    return Report(
        scene=assembly.scene.path,
        findings=(*listed, *apart),
        pairs=PairCount(total + len(apart), total - len(pairs), len(pairs) + len(apart)),
        unlisted=total - len(listed),
        envelope_passes=sum(finding.envelope for finding in passing),
        guess_passes=_guess_passes(assembly, findings, wanted, unasked),
        lowered=assembly.rules.lowered(),
        missing=_missing(assembly),
        unmeasured=tuple(unmeasured(assembly, {names[k] for k in wanted}, unasked, apart)),
        tape=tape_doubt(assembly, findings, pairs, {names[k] for k in wanted}),
    )


def _pair_count(parts: int, wanted: int) -> int:
    """Pairs among `parts` of which at least one is wanted."""
    others = parts - wanted
    return parts * (parts - 1) // 2 - others * (others - 1) // 2


def _guess_passes(
    assembly: Assembly, findings: Sequence[Finding], wanted: Sequence[int], unasked: Sequence[tuple[str, str]]
) -> int:
    """How many of all passing pairs rest on what is known by guess only; `unasked` ones are none."""
    names = list(assembly.parts)
    kept = set(wanted)
    others = [name for at, name in enumerate(names) if at not in kept]
    guesses = Guesses(assembly.scene)
    short = [finding.subjects for finding in findings if finding.verdict is not Verdict.PASS]
    left_out = sum(guesses.between(a, b) for a, b in (*short, *unasked))
    return guesses.pairs(names) - guesses.pairs(others) - left_out


def _near_pairs(assembly: Assembly, names: Sequence[str], wanted: set[int]) -> Iterator[tuple[int, int]]:
    """Pairs whose boxes come within what is asked of them, and every joint, in scene order."""
    off = np.array([assembly.account.total(name) for name in names])
    listed = max(assembly.scene.list_within or 0.0, assembly.rules.furthest) + assembly.beyond.margin
    widest = listed + 2 * float(off.max(initial=0.0)) + BOX_SLACK
    place = {name: k for k, name in enumerate(names)}
    near = {
        (min(k, place[other]), max(k, place[other]))
        for k, name in enumerate(names)
        for other in assembly.scene.parts[name].bolted_to
        if other in place
    }

    def reach(places: Indices) -> Floats:
        those = [names[k] for k in places]
        asked = np.maximum(assembly.rules.reach_matrix(those), assembly.scene.list_within or 0.0)
        found: Floats = asked + assembly.beyond.reach(those) + off[places][:, None] + off[places][None] + BOX_SLACK
        return found

    for i, j in sorted(near | near_pairs(assembly.boxes, widest, reach)):
        if (i in wanted or j in wanted) and not assembly.rules.unasked.between(names[i], names[j]):
            yield i, j


def pair_finding(
    assembly: Assembly, session: Session, a: str, b: str, farther: float = LISTING_MARGIN
) -> Finding | None:
    """The finding for one pair of parts, whatever its verdict. Moves are sought elsewhere.

    None when the parts are surely more than `farther` mm over anything asked of them or to be listed, or nothing is
    asked.
    """
    if assembly.rules.unasked.between(a, b):
        return None
    asked, doubt = assembly.rules.limit(a, b), assembly.doubt(a, b)
    joint = assembly.rules.joint(a, b)
    blank = Finding(
        ID,
        (a, b),
        "",
        limit=asked.limit,
        rule=RuleNote((a, b), "bolted together", "bolted_to") if joint else asked.rule,
        mark=_mark(assembly, asked, a, b, joint),
        envelope=_envelope(assembly, a, b),
    )
    try:
        further = max(farther, assembly.beyond.between(a, b))
        separation = _separation(assembly, session, blank, joint, asked.reach + doubt.most + further)
    except QueryError as error:
        return replace(blank, word="not checked", skipped=str(error))
    if separation is None:
        return None
    if joint:
        blank = replace(blank, limit=_joint_limit(assembly, doubt, separation))
    seat = Limit(must=-assembly.scene.clearances.seat, most=JOINT_GAP)  # as drawn: nobody said that they are joined
    if not joint and _rests_in(assembly, asked, a, b) and _seated(separation, seat):
        joint, note = True, RuleNote((a, b), "placed in one another, and touching", "in")
        blank = replace(blank, limit=seat, rule=note)
    if joint and not _sunk(blank, separation):
        blank = replace(blank, envelope=False)  # a joint is drawn where it was measured, envelope or not
    found = _measured(blank, assembly, separation, NOTHING if joint else doubt)
    first, second = assembly.parts[a], assembly.parts[b]
    return worded(assembly.beyond.told(found, first, second, doubt.most, joint=joint), joint)


def with_contributors(assembly: Assembly, finding: Finding) -> Finding:
    """The finding of a pair at rest with what, of all that is not known, takes most off its gap."""
    a, b = finding.subjects
    if finding.skipped or finding.limit.most is not None or assembly.doubt(a, b).nothing:
        return finding
    convex = assembly.convex(a, b)
    found = contributors(assembly.account, (a, b), finding.direction, convex=convex)
    return replace(finding, contributors=found)


def _with_evidence(assembly: Assembly, finding: Finding) -> Finding:
    evidence = looks_joined(assembly, finding)
    return replace(finding, looks_joined=evidence) if evidence else finding


def _separation(
    assembly: Assembly, session: Session, blank: Finding, joint: bool, reach: float
) -> Separation | None:
    first, second = (assembly.parts[name] for name in blank.subjects)
    if joint:
        return session.joint_gap(first, second, assembly.scene.clearances.seat)
    return session.gap_within(first, second, max(reach, assembly.scene.list_within or 0.0))


def _measured(blank: Finding, assembly: Assembly, separation: Separation, doubt: Doubt) -> Finding:
    a, b = (assembly.parts[name] for name in blank.subjects)
    points = separation.points
    spread = doubt.chance(separation.direction, points, convex=a.convex and b.convex)
    low, high = _ends(blank, separation, doubt, (a, b))
    return replace(
        blank,
        value=separation.value,
        low=low,
        high=high,
        hard_ends=None if spread is None else _ends(blank, separation, doubt.hard, (a, b)),
        standard_uncertainty=None if spread is None else spread.standard,
        spread=spread,
        points=points,
        direction=separation.direction,
        where=None if points is None else assembly.datums.place(points.mean(axis=0)),
        note="; ".join(filter(None, [separation.doubt, doubt.lost])),
    )


def _ends(
    blank: Finding, separation: Separation, doubt: Doubt, pair: tuple[Placed, Placed]
) -> tuple[float | None, float | None]:
    """Least and greatest gap, mm; None where there is no end."""
    low, high, way = separation.low, None if blank.envelope else separation.high, separation.direction
    convex = pair[0].convex and pair[1].convex
    least = None if low is None else doubt.least_gap(low, way, convex=convex)
    if least is not None and convex and way is not None and separation.value > 0 and len(doubt.boxes):
        least = least_over_planes(doubt, least, way, *pair)
    most = None if high is None else doubt.greatest_gap(high, way, separation.points)
    return None if least == -np.inf else least, None if most == np.inf else most


def _sunk(blank: Finding, separation: Separation) -> bool:
    """Whether a joint may be sunk too deep as drawn: in an envelope, where the true part may be smaller."""
    low, must = separation.low, blank.limit.must
    return must is not None and (low is None or low < must)


def _rests_in(assembly: Assembly, asked: Asked, a: str, b: str) -> bool:
    """Whether one part is placed in the other and nothing but a default asks for air between them."""
    parts = assembly.scene.parts
    return set(asked.rule.between) == {"*"} and (parts[a].parent == b or parts[b].parent == a)


def _seated(separation: Separation, seat: Limit) -> bool:
    low, high = separation.low, separation.high
    assert seat.must is not None and seat.most is not None
    return low is not None and high is not None and seat.must <= low and high <= seat.most


def _joint_limit(assembly: Assembly, doubt: Doubt, separation: Separation) -> Limit:
    """What counts as touching; what is not known widens it, since a joint is drawn where it was measured."""
    off = doubt.most if separation.direction is None else doubt.reading(separation.direction, separation.points)
    return Limit(must=-assembly.scene.clearances.seat - off, most=JOINT_GAP + off)


def _mark(assembly: Assembly, asked: Asked, a: str, b: str, joint: bool) -> SourceMark | None:
    parts = assembly.scene.parts
    if joint:
        return parts[a].mark if b in parts[a].bolted_to else parts[b].mark
    return asked.mark or parts[b].mark


def _envelope(assembly: Assembly, a: str, b: str) -> bool:
    return any(assembly.scene.parts[name].fit != "exact" for name in (a, b))


def _listed(assembly: Assembly, findings: Sequence[Finding]) -> list[Finding]:
    """All that falls short or is close, and the passing ones the reader asked for, or the nearest few.

    What stays out of room kept free is not worth a line.
    """
    within = assembly.scene.list_within
    passing = [
        finding
        for finding in findings
        if finding.verdict is Verdict.PASS
        and finding.word != "touching"
        and not assembly.rules.rooms.between(*finding.subjects)
    ]
    nearest = sorted(passing, key=_value)
    shown = [f for f in nearest if _value(f) <= within] if within is not None else nearest[:CLOSEST_PASSING]
    return [finding for finding in findings if finding.verdict is not Verdict.PASS] + shown


def _value(finding: Finding) -> float:
    return np.inf if finding.value is None else finding.value


def _missing(assembly: Assembly) -> tuple[str, ...]:
    """What an engine bay holds and this file does not."""
    kinds = {kind for part in assembly.scene.parts.values() for kind in part.kinds}
    looked_for = {"hoses": "hose", "loom": "loom"}
    absent = [word for word, kind in looked_for.items() if kind not in kinds]
    return (*absent, "fasteners")
