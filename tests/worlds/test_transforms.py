"""A scene told in another way is the same scene: by the tests' own evaluator, then by what the package says."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeAlias

import numpy as np
import pytest

from tests.worlds import transforms
from tests.worlds.asked import bounds_of, report_of, written
from tests.worlds.broken import Bound
from tests.worlds.evaluate import gap_in
from tests.worlds.generate import MAKERS, Made, made
from tests.worlds.scene import read
from tests.worlds.sources import World

Tree: TypeAlias = dict[str, Any]

SAME: dict[str, Callable[[Tree], Tree]] = {
    "another frame": lambda tree: transforms.in_frame(tree, [310.0, -95.0, 60.0], [20.0, -35.0, 130.0]),
    "inches": transforms.in_inches,
    "mirrored": transforms.mirrored,
    "reordered": lambda tree: transforms.reordered(tree, np.random.default_rng(5)),
    "swapped": lambda tree: {**tree, "parts": dict(reversed(tree["parts"].items()))},
    "with a bystander": transforms.with_bystander,
}

REST = 1e-5
"""mm; what two ways of telling a scene may change of a gap at rest, by rounding alone."""

MOVED = 0.11
"""mm; and of the least gap in motion, which a search closes in on to 0.05 on either side."""


def scene(what: tuple[str, ...]) -> Made:
    kind = "frame box" if what[1] in ("rest", "mirror") else "frame ball"
    return made(what, kind, np.random.default_rng([len(what[0]), 21]))


@pytest.mark.parametrize("how", SAME)
@pytest.mark.parametrize("what", sorted(MAKERS), ids="; ".join)
def test_the_evaluator_finds_the_same(what: tuple[str, ...], how: str) -> None:
    """Oracle: invariance. Settings are kept, since the axis of a mirrored line points the other way."""
    one = scene(what)
    other = SAME[how](one.tree)
    settings = backwards(one, dict(one.settings)) if how == "mirrored" else one.settings
    first = gap_in(read(one.tree), World(), one.a, one.b, one.settings)
    second = gap_in(read(other), World(), one.a, one.b, settings)
    assert second.value == pytest.approx(first.value, abs=first.error)


def backwards(one: Made, settings: dict[str, Any]) -> dict[str, Any]:
    """Of a rock the turns about x and z and the shift along y go the other way."""
    found = dict(settings)
    for name, motion in read(one.tree).motions.items():
        if motion.kind == "rock":
            signs = [-1.0 if which in (0, 2, 4) else 1.0 for which in motion.axes]
            found[name] = tuple(sign * value for sign, value in zip(signs, settings[name], strict=True))
    return found


EACH = [(what, how) for k, what in enumerate(sorted(MAKERS)) for j, how in enumerate(SAME) if (k + j) % 6 == 0]
"""Every way of telling on some scenes, every scene told in some way."""


@pytest.mark.parametrize("what, how", EACH, ids=lambda given: given if isinstance(given, str) else "; ".join(given))
def test_the_package_says_the_same(what: tuple[str, ...], how: str) -> None:
    """Oracle: invariance."""
    tree = scene(what).tree
    agree(said(tree), said(SAME[how](tree)))


@pytest.mark.parametrize("what", sorted(MAKERS)[1::6], ids="; ".join)
def test_the_package_says_the_same_of_split_files(what: tuple[str, ...]) -> None:
    """Oracle: invariance."""
    tree = scene(what).tree
    above, below = transforms.split(tree)
    parted = report_of(written(above), {"below.yaml": written(below)})
    agree(said(tree), by_pair(bounds_of(read(tree), parted)))


def said(tree: Tree) -> dict[tuple[frozenset[str], bool], Bound]:
    return by_pair(bounds_of(read(tree), report_of(written(tree))))


def by_pair(bounds: list[Bound]) -> dict[tuple[frozenset[str], bool], Bound]:
    return {(frozenset({bound.a, bound.b}), bool(bound.motions)): bound for bound in bounds}


def agree(
    first: dict[tuple[frozenset[str], bool], Bound], second: dict[tuple[frozenset[str], bool], Bound]
) -> None:
    """Both say the same of every pair of the first; but of a part sunk into its own image, which are as deep along
    one face of either, each may say how deep along the other.
    """
    assert first
    for key, one in first.items():
        other = second[key]
        near = MOVED if key[1] else REST
        for end, same in ((one.low, other.low), (one.high, other.high)):
            assert (end is None) == (same is None), sorted(key[0])
            if end is not None and not (end < 0 and key[0] == {"a", "src"}):
                assert same == pytest.approx(end, abs=near), sorted(key[0])
