"""What do the readings come to: where is everything, how sure is that, and which reading is wrong?

Method
------
All readings are one network: the known points stand still, the found ones and every frame and part set in place by
them are shifted until the readings agree as well as they can, each weighed by how good it is (least squares). What
is left of each reading, beside how much it should be, shows the wrong ones (data snooping, Baarda 1968): one is set
aside when the others contradict it and no other reading could be the wrong one instead. The alarm is so set that
one sound survey in a hundred raises it. Where all together scatter more than one sound survey in a hundred would
(chi-square), though none stands out, that is said, here and in `packcheck check`; nothing is widened by itself.

A bare accuracy is a limit: within it surely, and no place likelier (its standard uncertainty is the limit over the
root of three, GUM 4.3.7). A tape of a class may err as 2014/32/EU, annex X, allows; 0.5 mm each for its hook and
for reading it, and sag, are added by common practice. Repeats are averaged: their scatter shrinks, what the
instrument may be off by does not.

Places are told with what holds the truth 95 times in 100, 1.96 standard uncertainties to each side. `checked` is
the share of a mistake that would show in that reading's own residual: a reading that is not checked at all could be
wrong by any amount, and nobody would notice.

Limits
------
The numbers are as good as the stated accuracies. Errors are taken as independent: a tape that is wrong in all its
readings by the same amount is wrong in the result. Points that are known are taken at their word, unless they have
an accuracy. A frame is as square as its definition says.

Example
-------
    packcheck survey scenes/measured_bay.yaml
"""

from __future__ import annotations

from collections.abc import Collection

from packcheck.assembly.assembly import Assembly
from packcheck.findings import Report
from packcheck.proximity import Session
from packcheck.studies.surveys.survey_tables import (
    measure_next,
    points_table,
    readings_table,
    rocks_table,
    standing_table,
)
from packcheck.studies.surveys.survey_words import account, suspicions, warnings
from packcheck.surveying.survey_faults import survey_faults

__all__ = ["ID", "run"]

ID = "survey"


def run(assembly: Assembly, session: Session, only: Collection[str] = ()) -> Report:
    """The survey as tables, with what is wrong and weak in it in words; `only` keeps what concerns these parts."""
    scene, surveyed = assembly.scene, assembly.surveyed
    if surveyed is None:
        return Report(scene=scene.path, title=scene.title, notes=("This file holds no survey.",), units=scene.units)
    faults = tuple(str(fault).replace("\n", "; ") for fault in survey_faults(surveyed))
    tables = [points_table(surveyed), standing_table(surveyed), readings_table(surveyed), *rocks_table(surveyed)]
    if not faults:
        tables += measure_next(assembly, session, only)
    notes = (*faults, *account(surveyed), *suspicions(surveyed), *(() if faults else warnings(surveyed)))
    return Report(scene=scene.path, title=scene.title, tables=tuple(tables), notes=notes, units=scene.units)
