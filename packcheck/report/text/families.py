"""Repeated parts in a report for people: of findings that differ only in the member, the worst speaks for all."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import replace

from packcheck.findings import Finding, Report

__all__ = ["worst_of_rows"]


def worst_of_rows(report: Report) -> Report:
    """The report with one finding for each row of parts against the same other, which notes how many it speaks for.

    Its counts are no longer those of the report it was made from.
    """
    groups: dict[object, list[Finding]] = {}
    for finding in sorted(report.findings, key=lambda finding: finding.sort_key):
        groups.setdefault(_key(finding, report.families), []).append(finding)
    return replace(report, findings=tuple(_spoken(worst, others) for worst, *others in groups.values()))


def _key(finding: Finding, families: Mapping[str, str]) -> object:
    if families.keys().isdisjoint(finding.subjects):
        return id(finding)
    return finding.study, finding.looks_joined, tuple(families.get(name, name) for name in finding.subjects)


def _spoken(worst: Finding, others: Iterable[Finding]) -> Finding:
    words = Counter(finding.word or finding.verdict.value for finding in others)
    if not words:
        return worst
    listed = ", ".join(f"{count} {word}" for word, count in words.items())
    alike = f"{words.total()} more of this row, none worse: {listed}"
    return replace(worst, note="; ".join(filter(None, [worst.note, alike])))
