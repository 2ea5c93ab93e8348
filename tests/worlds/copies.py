"""Which parts does a scene hold once its copies are written out? `like`, templates and rows."""

from __future__ import annotations

from typing import Any, TypeAlias

from tests.worlds.numbers import Axes, point

__all__ = ["Tree", "expanded"]

Tree: TypeAlias = dict[str, Any]

SHAPES = ("box", "cylinder", "sphere", "capsule", "tube", "solids")
PLACES = ("at", "faces")


def expanded(parts: Tree, axes: Axes) -> Tree:
    """Parts by name: those that are `like` others with all their keys, rows as parts of their own."""
    whole = {name: _like(name, parts) for name in parts}
    kept = {name: given for name, given in whole.items() if not given.pop("template", False)}
    return _rows(kept, axes)


def _like(name: str, parts: Tree) -> Tree:
    own = dict(parts[name])
    pattern = own.pop("like", None)
    if pattern is None:
        return own
    inherited = _like(pattern, parts)
    inherited.pop("template", None)
    for group in (SHAPES, PLACES):
        if set(group) & set(own):
            inherited = {key: value for key, value in inherited.items() if key not in group or key in own}
    return _merged(inherited, own)


def _merged(below: Tree, above: Tree) -> Tree:
    found = dict(below)
    for key, value in above.items():
        both = isinstance(value, dict) and isinstance(found.get(key), dict)
        found[key] = _merged(found[key], value) if both else value
    return found


def _rows(parts: Tree, axes: Axes) -> Tree:
    """Every row as its members; what stands in a row, and the image of a row, is repeated with it."""
    counts = {name: given["repeat"]["count"] for name, given in parts.items() if "repeat" in given}
    while more := {
        name: counts[hung] for name, given in parts.items() if name not in counts and (hung := _hung(given, counts))
    }:
        counts |= more
    found: Tree = {}
    for name, given in parts.items():
        if name not in counts:
            found[name] = given
            continue
        for place in range(counts[name]):
            found[f"{name}.{place + 1}"] = _member(given, place, counts, axes)
    return found


def _hung(given: Tree, counts: dict[str, int]) -> str:
    """The row that a part stands in or is the image of, or an empty name."""
    mirrored = given.get("mirror_of")
    of = mirrored["part"] if isinstance(mirrored, dict) else mirrored
    return next((name for name in (given.get("in"), of) if name in counts), "")


def _member(given: Tree, place: int, counts: dict[str, int], axes: Axes) -> Tree:
    own = {key: value for key, value in given.items() if key != "repeat"}
    if "repeat" in given:
        start = point(own.get("at", [0, 0, 0]), axes) / axes.unit
        step = point(given["repeat"]["step"], axes) / axes.unit
        own["at"] = [float(value) for value in start + place * step]
    if own.get("in") in counts:
        own["in"] = f"{own['in']}.{place + 1}"
    mirrored = own.get("mirror_of")
    if isinstance(mirrored, dict) and mirrored["part"] in counts:
        own["mirror_of"] = {**mirrored, "part": f"{mirrored['part']}.{place + 1}"}
    elif isinstance(mirrored, str) and mirrored in counts:
        own["mirror_of"] = f"{mirrored}.{place + 1}"
    return own
