"""The verdict of a report in one line."""

from __future__ import annotations

from collections import Counter
from typing import Final

from packcheck.findings import Report, Verdict
from packcheck.report.text.printable import printable
from packcheck.report.text.tally import besides, by_pair

__all__ = ["common_part", "counted", "headline"]

MANY: Final = 5
"""Shortfalls of one part from which on it is named before them."""

PLURALS = {
    "body": "bodies",
    "check": "checks",
    "clash": "clashes",
    "pair": "pairs",
    "shortfall": "shortfalls",
    "triangle": "triangles",
}


def counted(count: int, word: str) -> str:
    """ "1 pair", "2 pairs", "2 tight"."""
    return f"{count} {word if count == 1 else PLURALS.get(word, word)}"


def headline(report: Report) -> str:
    """What the whole report comes to. A clean one says only that nothing was found, and where it looked."""
    counts, pairs = report.counts, counted(report.pairs.total, "pair")
    open_ends = [(Verdict.UNSURE, "undecided"), (Verdict.NOT_CHECKED, "not checked"), (Verdict.CLOSE, "close")]
    others = [f"{counts[verdict]} {word}" for verdict, word in open_ends if counts[verdict]]
    verdict = report.verdict
    if verdict is Verdict.FAIL:
        found = counted(counts[Verdict.FAIL], "shortfall")
        also = f"; also {', '.join(others)}" if others else ""
        words = ", ".join(_failing_words(report))
        return f"{found} found{_among(report)}: {words}{also}{_joints(report)}{_left_out(report)}"
    if not sum(counts.values()):
        return f"nothing was checked in {pairs}, which is not a pass{_left_out(report)}"
    if verdict in (Verdict.UNSURE, Verdict.NOT_CHECKED):
        first, *more = others
        count, word = first.split(" ", 1)
        left = ", ".join([f"{counted(int(count), 'check')} {word}", *more])
        undecided = f"no shortfall proven in {pairs}; {left}"
        return f"{undecided}{_joints(report)}{_left_out(report)}"
    clean = f"no shortfall found in {pairs}, as described in this file"
    return f"{clean}; {', '.join(others)}{_left_out(report)}" if others else f"{clean}{_left_out(report)}"


def _among(report: Report) -> str:
    """Where the shortfalls are: pairs count once, in however many states they fall short; others apart."""
    pairs = counted(report.pairs.total, "pair")
    short = by_pair(report)[Verdict.FAIL]
    others = [
        f"{tally[Verdict.FAIL]} of the {study}" for study, tally in besides(report).items() if tally[Verdict.FAIL]
    ]
    if not others and short == report.counts[Verdict.FAIL]:
        return f" in {pairs}"
    among = [f"{short} of {pairs}"] if short else []
    return f", in {' and '.join([*among, *others])}"


def common_part(report: Report) -> str:
    """The part that is in most of the shortfalls, where those are many, and what it is worst with; else empty."""
    short = sorted((f for f in report.findings if f.verdict is Verdict.FAIL), key=lambda finding: finding.sort_key)
    counts = Counter(name for finding in short for name in finding.subjects)
    name, count = next(iter(counts.most_common(1)), ("", 0))
    if count < MANY:
        return ""
    others = (other for f in short if name in f.subjects for other in f.subjects if other != name)
    worst = next(others, "")
    return f"{name} is in {count} of them{f', worst with {worst}' if worst else ''}"


def _left_out(report: Report) -> str:
    count = len(report.unmeasured)
    return f"; {counted(count, 'pair')} not measured on purpose" if count else ""


def _joints(report: Report) -> str:
    likely = sum(bool(finding.looks_joined) for finding in report.findings)
    looks = "looks like a joint" if likely == 1 else "look like joints"
    return f"; {likely} of them {looks}" if likely else ""


def _failing_words(report: Report) -> list[str]:
    words = Counter(finding.word for finding in report.findings if finding.verdict is Verdict.FAIL)
    first = ("clash", "tight")
    order = sorted(words, key=lambda word: (first.index(word) if word in first else len(first), word))
    return [counted(words[word], printable(word)) for word in order]
