"""Clearance rules as plain rows, whether packaged or written in the scene."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

import yaml

from packcheck.errors import SourceMark
from packcheck.placing.carriers import Relation
from packcheck.scene.model.scene import Rule, Scene

__all__ = ["PUBLISHED_NOTE", "WHEN", "Labels", "Row", "default_row", "packaged", "scene_row"]

Labels = frozenset[str]
"""What a rule may call a part by: its name and its kinds."""

PUBLISHED_NOTE = "published figure, not a statement of compliance"

COMMON = "common practice"

SCENE_RULE = "scene rule"

HALF = "common practice: half of what must be at rest"

UNSTATED_DEFAULT = 10.0
"""mm. The default of a scene that uses no packaged rules and states none: what the packaged table asks across
carriers."""

WHEN: Mapping[str, frozenset[Relation]] = {
    "always": frozenset(Relation),
    "one_part": frozenset({Relation.ONE_PART}),
    "one_frame": frozenset({Relation.ONE_FRAME}),
    "apart": frozenset({Relation.APART}),
    "not_one_part": frozenset({Relation.ONE_FRAME, Relation.APART}),
}


@dataclass(frozen=True, slots=True)
class Row:
    """One clearance rule, each figure with its source.

    Gaps in mm. `moving` is None where the same is asked in motion as at rest. `spare` are the kinds that `*` does
    not reach in this row.
    """

    id: str
    between: tuple[str, str]
    must: float
    want: float | None = None
    moving: float | None = None
    when: frozenset[Relation] = WHEN["always"]
    why: str = ""
    source: str = ""
    want_source: str = ""
    moving_source: str = ""
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
        """Gap that must remain at the worst pose of a motion, mm."""
        return self.must if self.moving is None else self.moving

    @property
    def remains_source(self) -> str:
        """Where `remains` comes from."""
        return self.source if self.moving is None else self.moving_source

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
    moving, moving_source = _moving(entry)
    return Row(
        id=entry["id"],
        between=(first, second),
        must=float(entry["must"]),
        want=float(entry["want"]) if "want" in entry else None,
        moving=moving,
        when=WHEN[entry.get("when", "always")],
        why=entry["why"],
        source=_source(entry, ""),
        want_source=_source(entry, "want_") if "want" in entry else "",
        moving_source=moving_source,
        spare=frozenset(entry.get("spare", ())),
    )


def _moving(entry: Mapping[str, Any]) -> tuple[float | None, str]:
    """What remains in motion, mm, and where that comes from; None where it is what must be at rest.

    Half of it is enough for what is common practice about touching, and for nothing else.
    """
    if "moving" in entry:
        return float(entry["moving"]), _source(entry, "moving_")
    if entry["about"] == "touching" and entry["standing"] == COMMON:
        return entry["must"] / 2, HALF
    return None, ""


def _source(entry: Mapping[str, Any], figure: str) -> str:
    """Where a figure of a row comes from, in words: `figure` is "" for `must`, "want_" or "moving_"."""
    standing = entry.get(f"{figure}standing", COMMON)
    text = entry.get(f"{figure}source", standing)
    if standing == "published":
        return f"{text}; {PUBLISHED_NOTE}"
    return standing if text == standing else f"{standing}: {text}"


def scene_row(rule: Rule, index: int) -> Row:
    """A rule of the scene as a row. It is in force however the parts hang together.

    Whether its reason is heat or touching is not known: in motion it asks the same, unless it states `moving`.
    """
    return Row(
        id=f"scene rule {index + 1}",
        between=rule.between,
        must=rule.must,
        want=rule.want,
        moving=rule.moving,
        why=rule.why,
        source=rule.source or SCENE_RULE,
        want_source=rule.source or SCENE_RULE,
        moving_source=rule.source or SCENE_RULE,
        lower=rule.lower,
        of_scene=True,
        mark=rule.mark,
    )


def default_row(scene: Scene) -> Row:
    """The default as a row. It speaks of touching alone, so that half of it is enough in motion."""
    stated = scene.clearances.default
    must, source = (UNSTATED_DEFAULT, "packcheck default") if stated is None else (stated, "scene default")
    return Row(
        id="default",
        between=("*", "*"),
        must=must,
        moving=must / 2 if must > 0 else must,
        source=source,
        moving_source=f"half of the {source}" if must > 0 else source,
        of_scene=stated is not None,
        mark=scene.clearances.default_mark,
    )
