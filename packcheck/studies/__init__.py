"""One question per module. A study has an `ID`, a docstring that `packcheck explain` prints, and `run`."""

from types import ModuleType

from packcheck.studies import bends, gaps, leeway, lengths, measures, meshes, moving, rooms, weigh
from packcheck.studies.surveys import checks, survey

__all__ = ["ON_REQUEST", "STUDIES"]

STUDIES: dict[str, ModuleType] = {
    study.ID: study for study in (gaps, rooms, moving, bends, lengths, meshes, measures, checks)
}
"""Run by `packcheck check`, in this order."""

ON_REQUEST: dict[str, ModuleType] = {study.ID: study for study in (weigh, leeway, survey)}
"""Asked by commands of their own."""
