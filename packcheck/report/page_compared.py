"""Arrangements side by side, as a section of the page: the order, the figures, a picture of each, what changes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from packcheck.comparison import Change, Comparison
from packcheck.findings import Finding, Verdict
from packcheck.report.compared import TITLES, change_words, order_words, said, side_by_side
from packcheck.report.pictures.arrangements import arrangement_pictures, changed
from packcheck.report.text.printable import printable
from packcheck.report.text.tables import cell_text
from packcheck.surfaces import Model

__all__ = ["SideBySide", "compared_section"]

MOST_NAMED: Final = 8
"""Changed parts named under a picture; the others are counted."""


@dataclass(frozen=True, slots=True, eq=False)
class SideBySide:
    """Arrangements compared, and what can be seen of each, in the same order."""

    comparison: Comparison
    models: tuple[Model, ...]


def compared_section(side: SideBySide) -> dict[str, Any]:
    """What the page shows of a comparison."""
    comparison = side.comparison
    first, table = comparison.alternatives[0], side_by_side(comparison)
    return {
        "order": printable(order_words(first)),
        "ranking": [
            {"place": "?" if rank.place is None else f"{rank.place}.", "name": rank.name, "reason": rank.reason}
            for rank in comparison.ranking
        ],
        "columns": table.columns,
        "rows": [[cell_text(cell) for cell in row] for row in table.rows],
        "note": printable(table.note),
        "pictures": _pictured(side),
        "against": first.name,
        "changes": [
            {"name": name, "rows": [_row(change, first.report.units) for change in changes]}
            for name, changes in comparison.changes.items()
        ],
    }


def _pictured(side: SideBySide) -> list[dict[str, str]]:
    alternatives = side.comparison.alternatives
    drawn = arrangement_pictures(
        side.models,
        [sorted(one.report.findings, key=lambda finding: finding.sort_key) for one in alternatives],
        [one.name for one in alternatives],
        alternatives[0].report.units,
    )
    return [
        {
            "name": one.name,
            "svg": svg,
            "short": _short(one.report.findings),
            "moved": "" if k == 0 else _moved(side.models[0], model),
        }
        for k, (one, model, svg) in enumerate(zip(alternatives, side.models, drawn, strict=True))
        if svg
    ]


def _short(findings: Sequence[Finding]) -> str:
    count = sum(finding.verdict is Verdict.FAIL for finding in findings)
    return f"{count} fall short" if count else "none falls short"


def _moved(first: Model, other: Model) -> str:
    """Which parts are different there, and which are gone."""
    here = {surface.name for surface in other.surfaces}
    gone = [surface.name for surface in first.surfaces if surface.name not in here]
    words = [_few("changed: ", changed(first, other)), _few("gone: ", gone)]
    return "; ".join(filter(None, words)) or "no part stands elsewhere"


def _few(lead: str, names: Sequence[str]) -> str:
    left = len(names) - MOST_NAMED
    more = f" and {left} more" if left > 0 else ""
    return f"{lead}{', '.join(names[:MOST_NAMED])}{more}" if names else ""


def _row(change: Change, units: str) -> dict[str, str]:
    return {
        "kind": TITLES[change.kind],
        "word": change.kind.value,
        "subjects": " \u2013 ".join(change.subjects),
        "by": change_words(change, units),
        "before": said(change.before, units),
        "after": said(change.after, units),
    }
