"""What is likely: of a hundred true worlds the gap is in [low, high] in 95 or more, for every hard world."""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np
import pytest

from tests.worlds import scenes
from tests.worlds.asked import bounds_of, report_of, written
from tests.worlds.broken import Bound
from tests.worlds.evaluate import Drawn, MissedError, Settings
from tests.worlds.gap import gap
from tests.worlds.generate import made
from tests.worlds.roles import PLACES, roles_of
from tests.worlds.scene import Scene, read
from tests.worlds.settings import at_ends
from tests.worlds.sources import Source, World
from tests.worlds.worlds import Choice, Space

Tree: TypeAlias = dict[str, Any]

DRAWS = 1200
BORED = 300
"""Draws where a gap takes many sectors of a tube."""

FEW = 100
"""Draws for each of many scenes."""

COVERED = 0.95


def counting(draws: int) -> float:
    """Three standard errors of a share that is counted."""
    return 3 * float(np.sqrt(COVERED * (1 - COVERED) / draws))


SHIFTS = {"standard": 2}
TILTS = {"standard": 0.5, "turn_standard": 0.6}


def _scene(parts: Tree, frames: Tree | None = None, motions: Tree | None = None) -> Tree:
    found: Tree = {"packcheck": 1, "clearances": {"use": "none", "default": "10 m"}, "list_within": "20 m"}
    return found | {k: v for k, v in (("frames", frames), ("parts", parts), ("motions", motions)) if v}


def _over(shape: Tree, doubt: Tree, **more: Any) -> Tree:
    """Something 10 mm over a table, whose height is half of 20."""
    return _scene({"a": {**shape, "uncertainty": doubt, **more}, "b": {"at": [0, 0, 0], "box": [400, 400, 20]}})


HINGE = {"through": [-200, 0, 0], "axis": "y", "from": -60, "to": 20}

SCENES: dict[str, Tree] = {
    "point: a ball over a face": _over({"at": [0, 0, 40], "sphere": {"diameter": 40}}, SHIFTS),
    "point: ball and ball": _scene(
        {
            "a": {"at": [12, 0, 0], "sphere": {"diameter": 20}, "uncertainty": {"standard": 4}},
            "b": {"at": [0, 18, 0], "sphere": {"diameter": 10}},
        }
    ),
    "point: a corner over a face": _over({"at": [0, 0, 54.64], "turn": [45, 35.2644, 0], "box": [40] * 3}, TILTS),
    "edge: over a face": _over({"at": [0, 0, 48.2843], "turn": [45, 0, 0], "box": [300, 40, 40]}, TILTS),
    "edge: across an edge": _scene(
        {
            "a": {"at": [0, 0, 60], "turn": [45, 0, 0], "box": [200, 30, 30], "uncertainty": TILTS},
            "b": {"at": [0, 0, 0], "turn": [0, 45, 0], "box": [30, 200, 30]},
        }
    ),
    "face: over a face": scenes.plates(),
    "face: shifted alone": _over({"at": [0, 0, 30], "box": [100, 100, 20]}, SHIFTS),
    "ring: over a face": _over({"at": [0, 0, 40], "cylinder": {"diameter": 200, "length": 40}}, TILTS),
    "bore: a shaft": scenes.bore(),
    "bore: a tilted shaft": _scene(
        {
            "a": {
                "at": [0, 0, 0],
                "cylinder": {"diameter": 40, "length": 400, "along": "x"},
                "uncertainty": {"standard": 1, "turn_standard": 1},
            },
            "b": {"at": [0, 0, 0], "tube": {"outer": 80, "inner": 60, "length": 80, "along": "x"}},
        }
    ),
    "face: part and image": scenes.mirror_in_a_likely_frame(),
    "face: what rests on a likely rail": _scene(
        {
            "rail": {"at": [0, 0, 0], "box": [200, 100, 40], "uncertainty": {"standard": 2}},
            "a": {"box": [50, 50, 50], "faces": {"front": 0, "bottom": {"above": "rail"}}},
            "b": {"box": [300, 300, 2], "faces": {"bottom": "90 up"}},
        }
    ),
    "face: hard and likely": _over({"at": [0, 0, 35], "box": [100, 100, 20]}, TILTS, tolerance=3),
    "motion: a line": _scene(
        {"a": {"at": [0, 0, 40], "box": [400, 300, 4]}, "b": {"at": [100, 0, -60], "box": [40, 40, 40]}},
        {"f": {"uncertainty": {"standard": 1.5, "turn_standard": 0.3}}},
        {"m": {"carries": ["a"], "in": "f", "hinge": HINGE}},
    ),
    "motion: a part": _scene(
        {
            "a": {"at": [0, 0, 40], "box": [400, 300, 4], "uncertainty": TILTS},
            "b": {"at": [100, 0, -60], "box": [40, 40, 40]},
        },
        motions={"m": {"carries": ["a"], "hinge": HINGE}},
    ),
}


@pytest.mark.parametrize("name", SCENES)
def test_ninety_five_worlds_in_a_hundred_are_inside(name: str) -> None:
    """Oracle: Monte Carlo over the tests' own evaluator. A few hard worlds, the worst of the axes among them."""
    scene = read(SCENES[name])
    space, draws = Space(scene), BORED if name.startswith("bore") else DRAWS
    for bound in bounds_of(scene, report_of(written(SCENES[name]))):
        for hard in hard_worlds(space):
            share = covered(space, bound, hard, draws)
            assert share >= COVERED - counting(draws), (bound.a, bound.b, bool(bound.motions))


@pytest.mark.campaign
@pytest.mark.parametrize("kind", ["frame likely", pytest.param("part likely", marks=pytest.mark.campaign)])
@pytest.mark.parametrize("what", PLACES, ids="; ".join)
def test_what_is_likely_is_covered_in_every_role(what: tuple[str, str], kind: str) -> None:
    """Oracle: Monte Carlo over the tests' own evaluator, in random scenes with the source in that role."""
    scene = likely_only(made(what, kind, np.random.default_rng([5, len(what[0])])).tree)
    space = Space(read(scene))
    for bound in bounds_of(space.scene, report_of(written(scene))):
        if roles_of(space.scene, bound.a, bound.b, bound.motions):
            share = covered(space, bound, {}, FEW)
            assert share >= COVERED - counting(FEW), (bound.a, bound.b, bool(bound.motions), share)


def likely_only(tree: Tree) -> Tree:
    """Without the tolerances."""

    def bare(given: Tree) -> Tree:
        return {key: value for key, value in given.items() if key != "tolerance"}

    found = {key: {name: bare(given) for name, given in tree.get(key, {}).items()} for key in ("frames", "parts")}
    return {**tree, **{key: value for key, value in found.items() if value}}


def hard_worlds(space: Space) -> list[Choice]:
    """As drawn, and every hard source shifted up or down along z."""
    found: list[Choice] = [{}]
    for key in space.hard:
        for sign in (-1.0, 1.0):
            values = np.zeros(space.length(key))
            values[2] = sign
            found.append({key: values})
    return found


def covered(space: Space, bound: Bound, hard: Choice, draws: int) -> float:
    """The share of draws whose gap is inside; in motion, at the ends and where the least gap is said to be.

    There alone it is held against the high end: the least gap is no more than that.
    """
    rng = np.random.default_rng(8)
    stops: list[Settings] = [dict(bound.at), *at_ends(space.scene, bound.motions)] if bound.motions else [{}]
    inside = 0
    for _ in range(draws):
        drawn = {key: rng.normal(size=6) for key in space.soft}
        inside += holds(space.scene, space.world({**hard, **drawn}), bound, stops)
    return inside / draws


def holds(scene: Scene, world: World, bound: Bound, stops: list[Settings]) -> bool:
    drawn = Drawn(scene, world)
    try:
        found = [gap(drawn.solid(bound.a, stop), drawn.solid(bound.b, stop)) for stop in stops]
    except MissedError:
        return bound.low is None
    low = bound.low is None or min(one.value + one.error for one in found) >= bound.low
    high = bound.high is None or not found[0].exact or found[0].value - found[0].error <= bound.high
    return low and high


@pytest.mark.parametrize("name", ["face: shifted alone", "face: part and image"])
def test_where_one_number_counts_it_is_ninety_five_and_no_more(name: str) -> None:
    """Oracle: closed form. A plane that shifts alone: 1.96 standard deviations, 95.0 % of all draws."""
    scene = read(SCENES[name])
    space = Space(scene)
    (bound,) = bounds_of(scene, report_of(written(SCENES[name])))
    assert abs(covered(space, bound, {}, DRAWS) - COVERED) <= counting(DRAWS)


def test_the_standard_uncertainty_of_part_and_image() -> None:
    """Oracle: closed form. A frame off by y changes the gap by 2 y: 4 mm of 2, and 1.96 of those to each side."""
    bound = bounds_of(read(scene := scenes.mirror_in_a_likely_frame()), report_of(written(scene)))[0]
    assert bound.low == pytest.approx(10 - 1.96 * 4, abs=0.01)
    assert bound.high == pytest.approx(10 + 1.96 * 4, abs=0.01)


def test_sources_that_are_likely_have_a_covariance() -> None:
    """Oracle: the scene. Limits count over the root of three; turns in radians."""
    (source,) = Space(read(SCENES["motion: a line"])).sources
    assert isinstance(source, Source)
    assert source.size == pytest.approx([1.5] * 3 + [np.radians(0.3)] * 3)
