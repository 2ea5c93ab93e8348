"""A place that is proposed, and the whole check that it must stand up to."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from packcheck.arrays import Floats, Point
from packcheck.bay import Bay
from packcheck.data import FLEXIBLE
from packcheck.findings import Contributor, Finding, Verdict
from packcheck.frames import Pose
from packcheck.places.layout import written_there
from packcheck.studies import entering
from packcheck.studies.promised import changed, newly_short
from packcheck.trial.elsewhere import put_elsewhere
from packcheck.trial.trial import Trial

__all__ = ["Search", "Spot"]

UNASKED = ("lengths", "meshes", "bends")
"""Studies that no place changes."""


@dataclass(frozen=True, slots=True, eq=False)
class Spot:
    """A place proposed: the part's middle at `middle` (3,) mm, its own frame at `pose`, car frame.

    `margin` mm is left there of the tightest limit, that with `decided_by`; `moved` mm is how far its middle goes.
    `contributors` take most off that gap, of what is not known. `undone` are joints that are not made there;
    `notes` what else it is ("most margin", "nearest").
    """

    said: str
    middle: Point
    pose: Pose
    margin: float
    decided_by: str
    moved: float
    pocket: int
    undone: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    contributors: tuple[Contributor, ...] = ()


@dataclass(slots=True, eq=False)
class Search:
    """Places of a part under trial, each checked wholly; `short` tells of those refused what is short there."""

    bay: Bay
    trial: Trial
    here: Point
    short: list[Finding] = field(default_factory=list)
    tried: int = 0

    def checked(self, spot: Spot) -> Spot | None:
        """The place with what comes undone there, or None when anything else falls short or stays unsure."""
        self.tried += 1
        assembly, session = self.bay.assembly, self.bay.session
        there = put_elsewhere(assembly, self.trial.part, spot.pose)
        names = list(dict.fromkeys([*self.trial.members, *changed(assembly, there)]))
        report = Bay(there, session, self.bay.stock).check(names, moves=False, without=UNASKED)
        worst = next((finding for finding in report.findings if self._counts(finding)), None)
        if worst is None and not np.array_equal(there.poses[self.trial.part].rotation, self._turned):
            written = written_there(assembly, self.trial.part, spot.pose)  # what is made anew once it is turned
            worst = None if written is None else newly_short(there, written, session)
        if worst is not None:
            self.short.append(worst)
            return None
        undone = self.trial.undone(spot.pose @ self.bay.assembly.poses[self.trial.part].inverse())
        return replace(spot, undone=undone)

    @property
    def _turned(self) -> Floats:
        return self.bay.assembly.poses[self.trial.part].rotation

    def _counts(self, finding: Finding) -> bool:
        """Whether a finding speaks against a place: a shortfall that is no joint come undone."""
        if finding.verdict not in (Verdict.FAIL, Verdict.UNSURE, Verdict.NOT_CHECKED) or finding.judge:
            return False
        rules = self.bay.assembly.rules
        joined = len(finding.subjects) == 2 and (
            rules.joint(*finding.subjects) or rules.unasked.enters(*finding.subjects)
        )
        return not (joined and self._may_part(finding))

    def _may_part(self, finding: Finding) -> bool:
        kinds = {kind for name in finding.subjects for kind in self.bay.assembly.scene.parts[name].kinds}
        return finding.word in ("not seated", entering.WORD) or bool(FLEXIBLE & kinds)
