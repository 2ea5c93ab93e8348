"""What does the package say of a scene? The one module here, beside the tests, that asks it."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import yaml

import packcheck
from packcheck.findings import Finding, Report
from tests.worlds.broken import Bound
from tests.worlds.motions import Motion, Setting
from tests.worlds.scene import Scene

__all__ = ["bounds_of", "leeway_of", "report_of", "written"]


def report_of(text: str, beside: Mapping[str, str] | None = None) -> Report:
    """The report of a scene, without moves; `beside` are the texts of files that it includes."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "scene.yaml"
        for name, other in {**(beside or {}), path.name: text}.items():
            (Path(folder) / name).write_text(other, encoding="utf-8")
        return packcheck.load(path).check(moves=False)


def leeway_of(text: str, part: str) -> list[tuple[str, float]]:
    """How far a part is said to be free each way: mm along the car, degrees about its own axes."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "scene.yaml"
        path.write_text(text, encoding="utf-8")
        (table,) = packcheck.load(path).leeway(part).tables
    rows = [dict(zip(table.columns, row, strict=True)) for row in table.rows]
    return [(str(row["way"]), float(str(row["free"]).removeprefix("over "))) for row in rows if row["free"]]


def bounds_of(scene: Scene, report: Report) -> list[Bound]:
    """What is said of every pair at rest, and of every pair in motion."""
    return [_bound(scene, finding) for finding in report.findings if finding.study in ("gaps", "moving")]


def _bound(scene: Scene, finding: Finding) -> Bound:
    a, b = finding.subjects
    high = None if finding.envelope else finding.high
    if finding.study == "gaps":
        return Bound(a, b, finding.low, high)
    motions = tuple(name for name in finding.pose if name in scene.motions)
    at = {name: _setting(scene.motions[name], finding.pose[name]) for name in motions}
    return Bound(a, b, finding.low, high, motions, at)


def _setting(motion: Motion, given: Any) -> Setting:
    if isinstance(given, dict):
        both = [*given["turn"], *given["shift"]]
        return tuple(float(both[which]) for which in motion.axes)
    return (float(given),)


class _Plain(yaml.SafeDumper):
    """Writes a value out wherever it stands, never as a reference to another place."""

    def ignore_aliases(self, data: Any) -> bool:  # noqa: ARG002
        return True


def written(tree: dict[str, Any]) -> str:
    """The YAML text of a scene."""
    return yaml.dump(tree, Dumper=_Plain, sort_keys=False, default_flow_style=None, width=110)
