"""What a gap comes to, in a word of the trade."""

from __future__ import annotations

from dataclasses import replace

from packcheck.findings import Finding, Verdict
from packcheck.tolerances import CONTACT_BAND

__all__ = ["worded"]


def worded(finding: Finding, joint: bool) -> Finding:
    """The finding with the word of the trade for what it comes to."""
    return replace(finding, word=_joint_word(finding) if joint else _word(finding))


def _word(finding: Finding) -> str:
    assert finding.value is not None
    verdict = finding.verdict
    if verdict is Verdict.UNSURE:
        return "may clash" if finding.low is None or finding.low < -CONTACT_BAND else "may be tight"
    if abs(finding.value) <= CONTACT_BAND:
        return "touching"
    if verdict is Verdict.FAIL:
        return "clash" if finding.value < 0 else "tight"
    return "close" if verdict is Verdict.CLOSE else "clear"


def _joint_word(finding: Finding) -> str:
    assert finding.value is not None
    most = finding.limit.most
    if finding.verdict is Verdict.PASS:
        return "touching"
    if most is not None and finding.value > most:
        return "not seated"
    return "clash" if finding.verdict is Verdict.FAIL else "may clash"
