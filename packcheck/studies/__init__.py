"""One question per module. A study has an `ID`, a docstring that `packcheck explain` prints, and `run`."""

from types import ModuleType

from packcheck.studies import gaps, meshes

__all__ = ["STUDIES"]

STUDIES: dict[str, ModuleType] = {study.ID: study for study in (gaps, meshes)}
