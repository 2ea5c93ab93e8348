"""What can go wrong, said so that it can be put right.

A `Fault` is one mistake in the user's input: where, what, why, mend. A `PackcheckError` carries one or
several of them. A shortfall found in the car is never an error: that is a `Finding`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

__all__ = ["Fault", "MeshError", "PackcheckError", "QueryError", "SceneError", "SourceMark"]


@dataclass(frozen=True, slots=True, order=True)
class SourceMark:
    """A place in a text file. Line and column count from 1; line 0 means the file as a whole."""

    file: str
    line: int = 0
    column: int = 0

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}" if self.line else self.file


@dataclass(frozen=True, slots=True)
class Fault:
    """One mistake, as the user reads it: `mark: what`, then `why`, then `mend` (either may be empty)."""

    mark: SourceMark | None
    what: str
    why: str = ""
    mend: str = ""

    def __str__(self) -> str:
        first = f"{self.mark}: {self.what}" if self.mark else self.what
        rest = [f"  {label}: {text}" for label, text in (("why", self.why), ("mend", self.mend)) if text]
        return "\n".join([first, *rest])


class PackcheckError(Exception):
    """Root of everything packcheck raises on purpose; carries every fault found in one go."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(map(str, self.faults)))


class SceneError(PackcheckError):
    """The scene file, or a file it includes, cannot be understood as written."""


class MeshError(PackcheckError):
    """A mesh file is missing, broken, hostile or not what its name says."""


class QueryError(PackcheckError):
    """The proximity kernel was handed something that is not a valid solid or pose."""
