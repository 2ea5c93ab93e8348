"""Clearance rules as plain rows, whether packaged or written in the scene."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

import yaml

from packcheck.assembly.carriers import Relation
from packcheck.errors import SourceMark
from packcheck.scene.model import Rule

__all__ = ["PUBLISHED_NOTE", "WHEN", "Labels", "Row", "packaged", "scene_row"]

Labels = frozenset[str]
"""What a rule may call a part by: its name and its kinds."""

PUBLISHED_NOTE = "published figure, not a statement of compliance"

WHEN: Mapping[str, frozenset[Relation]] = {
    "always": frozenset(Relation),
    "one_part": frozenset({Relation.ONE_PART}),
    "one_frame": frozenset({Relation.ONE_FRAME}),
    "apart": frozenset({Relation.APART}),
    "not_one_part": frozenset({Relation.ONE_FRAME, Relation.APART}),
}


@dataclass(frozen=True, slots=True)
class Row:
    """One clearance rule. Gaps in mm; `spare` are the kinds that `*` does not reach in this row."""

    id: str
    between: tuple[str, str]
    must: float
    want: float | None = None
    moving: float | None = None
    when: frozenset[Relation] = WHEN["always"]
    why: str = ""
    source: str = ""
    spare: frozenset[str] = frozenset()
    lower: bool = False
    of_scene: bool = False
    mark: SourceMark | None = None

    @property
    def reach(self) -> float:
        """Gap beyond which this row has nothing to say, mm."""
        return self.must if self.want is None else max(self.must, self.want)

    @property
    def remains(self) -> float:
        """Gap that must remain at the worst pose of a motion, mm: half of `must` where not stated."""
        if self.moving is not None:
            return self.moving
        return self.must / 2 if self.must > 0 else self.must

    def reaches(self, side: int, labels: Labels) -> bool:
        """Whether the first (0) or second (1) name of `between` means a part with these labels."""
        name = self.between[side]
        return not (self.spare & labels) if name == "*" else name in labels

    def applies(self, a: Labels, b: Labels) -> bool:
        """Whether the row stands between two parts, in either order."""
        return (self.reaches(0, a) and self.reaches(1, b)) or (self.reaches(0, b) and self.reaches(1, a))


@cache
def packaged() -> tuple[tuple[Row, ...], tuple[Row, ...]]:
    """The packaged rules and the packaged defaults, file order."""
    text = (files("packcheck.data") / "common.yaml").read_text(encoding="utf-8")
    data = yaml.load(text, getattr(yaml, "CSafeLoader", yaml.SafeLoader))
    return tuple(map(_packaged_row, data["rules"])), tuple(map(_packaged_row, data["defaults"]))


def _packaged_row(entry: Mapping[str, Any]) -> Row:
    first, second = entry["between"]
    return Row(
        id=entry["id"],
        between=(first, second),
        must=float(entry["must"]),
        want=_number(entry, "want"),
        moving=_number(entry, "moving"),
        when=WHEN[entry.get("when", "always")],
        why=entry["why"],
        source="; ".join(_source(entry)),
        spare=frozenset(entry.get("spare", ())),
    )


def _number(entry: Mapping[str, Any], key: str) -> float | None:
    return float(entry[key]) if key in entry else None


def _source(entry: Mapping[str, Any]) -> Iterator[str]:
    """The source in words: standing, where `must` comes from, where `want` does."""
    standing, source = entry["standing"], entry["source"]
    if standing == "published":
        yield source
        yield PUBLISHED_NOTE
    else:
        yield standing if source == standing else f"{standing}: {source}"
    if "want_source" in entry:
        yield f"wanted figure: {entry['want_source']}"


def scene_row(rule: Rule, index: int) -> Row:
    """A rule of the scene as a row. It is in force however the parts hang together."""
    return Row(
        id=f"scene rule {index + 1}",
        between=rule.between,
        must=rule.must,
        want=rule.want,
        moving=rule.moving,
        why=rule.why,
        source=rule.source or "scene rule",
        lower=rule.lower,
        of_scene=True,
        mark=rule.mark,
    )
