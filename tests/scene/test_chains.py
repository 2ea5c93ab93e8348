"""Chains of names: loops, depths, and that neither a long text nor a knotted one takes long."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from random import Random

import numpy as np
import pytest
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import connected_components

from packcheck.errors import SceneError
from packcheck.scene import load_scene
from packcheck.scene.expand.loops import DEEPEST, chained, way

LOT = 1500
"""Things in a scene that must be read, or refused, in no time: a car has a hundred."""

PATIENCE = 6.0
"""s of work. Some 0.5 s are taken; what grows with the square of the number took 20 s and more."""


def randomly(random: Random, count: int, edges: int) -> dict[str, list[str]]:
    names = [f"n{k}" for k in range(count)]
    leads: dict[str, list[str]] = {name: [] for name in names}
    for _ in range(edges):
        leads[random.choice(names)].append(random.choice(names))
    return leads


@pytest.mark.parametrize("seed", range(200))
def test_knots_are_the_strongly_connected_groups(seed: int) -> None:
    """Oracle: scipy's strong components; loops on oneself by looking."""
    random = Random(seed)
    leads = randomly(random, random.randint(1, 12), random.randint(0, 18))
    names = list(leads)
    matrix = np.zeros((len(names), len(names)))
    for name, onward in leads.items():
        for other in onward:
            matrix[names.index(name), names.index(other)] = 1
    _, labels = connected_components(csr_matrix(matrix), connection="strong")
    groups = {frozenset(np.array(names)[labels == label].tolist()) for label in set(labels.tolist())}
    knots = {
        group for group in groups if len(group) > 1 or matrix[names.index(min(group)), names.index(min(group))]
    }
    found = chained(leads)
    assert {frozenset(knot) for knot in found.knots} == knots
    assert sorted(found.order) == sorted(names)


@pytest.mark.parametrize("seed", range(100))
def test_depth_is_the_longest_way_onward(seed: int) -> None:
    """Oracle: every way followed, one after the other (no loops: names lead to later ones only)."""
    random = Random(seed)
    names = [f"n{k}" for k in range(random.randint(1, 10))]
    leads = {name: [other for other in names[k + 1 :] if random.random() < 0.4] for k, name in enumerate(names)}

    def longest(name: str) -> int:
        return max((1 + longest(other) for other in leads[name]), default=0)

    found = chained(leads)
    assert dict(found.depth) == {name: longest(name) for name in names}
    place = {name: k for k, name in enumerate(found.order)}
    assert all(place[other] < place[name] for name in names for other in leads[name])


def test_a_way_takes_the_fewest_steps() -> None:
    leads = {"a": ["b", "c"], "b": ["d"], "c": ["e"], "d": ["e"], "e": []}
    assert way(leads, "a", "e") == ["a", "c", "e"]
    assert way(leads, "e", "a") == []
    assert way(leads, "a", "a") == ["a"]


def parts(count: int, said: Callable[[int], str]) -> str:
    return "packcheck: 1\nparts:\n" + "".join(f"  p{k}: {{{said(k)}}}\n" for k in range(count))


def plain(count: int) -> str:
    return parts(count, lambda k: f"box: [1, 1, 1], at: [0, {k}, 0]")


def chain_or_box(count: int, said: Callable[[int], str]) -> str:
    return parts(count, lambda k: said(k) if k else "box: [1, 1, 1]")


def params(count: int, said: Callable[[int], str]) -> str:
    return plain(1) + "params:\n" + "".join(f"  a{k}: {said(k)}\n" for k in range(count))


def layouts(count: int, said: Callable[[int], str]) -> str:
    return plain(1) + "layouts:\n" + "".join(f"  l{k}: {{{said(k)}}}\n" for k in range(count))


def taped(count: int) -> str:
    points = "".join(f"    d{k}: {{near: [30, 30, 90]}}\n" for k in range(count))
    tapes = "".join(f"    - {{tape: [{a}, d{k}], reads: 99.5}}\n" for k in range(count) for a in "abc")
    known = "    a: {at: [0, 0, 0]}\n    b: {at: [100, 0, 0]}\n    c: {at: [0, 100, 0]}\n"
    head = "survey:\n  instruments: {tape: {accuracy: 1}}\n  points:\n"
    return f"{plain(1)}{head}{known}{points}  observations:\n{tapes}"


LONG: dict[str, Callable[[int], str]] = {
    "like": lambda n: chain_or_box(n, lambda k: f"like: p{k - 1}, at: [0, {k}, 0]"),
    "like, round": lambda n: parts(n, lambda k: f"like: p{(k + 1) % n}"),
    "rests": lambda n: chain_or_box(n, lambda k: f"box: [1, 1, 1], faces: {{bottom: {{above: p{k - 1}}}}}"),
    "rests, round": lambda n: parts(n, lambda k: f"box: [1, 1, 1], faces: {{bottom: {{above: p{(k + 1) % n}}}}}"),
    "mirrors": lambda n: chain_or_box(
        n, lambda k: f"box: [1, 1, 1], in: p{k - 1}" if k % 2 else f"mirror_of: p{k - 1}"
    ),
    "in": lambda n: chain_or_box(n, lambda k: f"box: [1, 1, 1], in: p{k - 1}"),
    "in, round": lambda n: parts(n, lambda k: f"box: [1, 1, 1], in: p{(k + 1) % n}"),
    "in, two and two": lambda n: parts(n, lambda k: f"box: [1, 1, 1], in: p{k ^ 1}"),
    "strangers": lambda n: parts(n, lambda k: f"box: [1, 1, 1], in: q{k}"),
    "params": lambda n: params(n, lambda k: f"a{k - 1} + 1" if k else "1"),
    "params, round": lambda n: params(n, lambda k: f"a{(k + 1) % n} + 1"),
    "params, two and two": lambda n: params(n, lambda k: f"a{k ^ 1} + 1"),
    "layouts": lambda n: layouts(n, lambda k: f"from: l{k - 1}" if k else ""),
    "layouts, round": lambda n: layouts(n, lambda k: f"from: l{(k + 1) % n}"),
    "layouts, many": lambda n: layouts(n, lambda k: f"parts: {{p0: {{at: [0, {k}, 0]}}}}"),
    "bolted": lambda n: parts(n, lambda k: f"box: [1, 1, 1], bolted_to: p{(k + 1) % n}"),
    "motions": lambda n: (
        plain(n)
        + "motions:\n"
        + "".join(f"  m{k}: {{carries: p{k}, travel: {{by: z, from: 0, to: 1}}}}\n" for k in range(n))
    ),
    "measures": lambda n: (
        plain(n)
        + "measures:\n"
        + "".join(f"  m{k}: {{distance: {{from: p{k}, to: p{(k + 1) % n}}}, most: 1}}\n" for k in range(n))
    ),
    "rules": lambda n: (
        plain(n)
        + "clearances:\n  rules:\n"
        + "".join(f"  - {{between: [p{k}, p{(k + 1) % n}], gap: 3}}\n" for k in range(n))
    ),
    "survey": taped,
}


@pytest.mark.parametrize("sort", LONG)
def test_long_texts_are_read_or_refused_in_no_time(sort: str, tmp_path: Path) -> None:
    """Oracle: the clock of the processor, with a wide margin against what grows with the square."""
    scene = tmp_path / "scene.yaml"
    scene.write_text(LONG[sort](LOT), encoding="utf-8")
    began = time.process_time()
    try:
        load_scene(scene)
    except SceneError as error:
        assert all(fault.mark for fault in error.faults[:-1])
    assert time.process_time() - began < PATIENCE


@pytest.mark.parametrize("sort", ["like", "rests", "in", "layouts"])
def test_chains_are_cut_at_one_depth(sort: str, tmp_path: Path) -> None:
    scene = tmp_path / "scene.yaml"
    scene.write_text(LONG[sort](DEEPEST), encoding="utf-8")
    load_scene(scene)
    scene.write_text(LONG[sort](DEEPEST + 3), encoding="utf-8")
    with pytest.raises(SceneError) as refused:
        load_scene(scene)
    told = [fault for fault in refused.value.faults if f"{DEEPEST} deep" in fault.what]
    assert len(told) == len(refused.value.faults) == 1
    assert told[0].mark is not None
