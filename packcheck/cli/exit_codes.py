"""Exit codes: what a script may rely on."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from packcheck.findings import Report

__all__ = ["FAILED", "INTERRUPTED", "PASSED", "REFUSED", "UNDECIDED", "exit_code"]

PASSED: Final = 0
FAILED: Final = 1
REFUSED: Final = 2  # the command or the scene cannot be used
UNDECIDED: Final = 3
INTERRUPTED: Final = 130  # what shells use for ctrl-C


def exit_code(report: Report, *, strict: bool = False) -> int:
    """0 when everything passes (close included, unless `strict`), 1 when something fails, else 3."""
    from packcheck.findings import Verdict

    counts = report.counts
    if counts[Verdict.FAIL] or (strict and counts[Verdict.CLOSE]):
        return FAILED
    return UNDECIDED if report.verdict in (Verdict.UNSURE, Verdict.NOT_CHECKED) else PASSED
