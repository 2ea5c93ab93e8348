"""Where chains end, and what each source does to that: against an evaluator that knows neither words nor steps."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
import pytest

import packcheck
from packcheck.arrays import Floats
from packcheck.notknown.account import Account
from packcheck.notknown.chains import Setting
from packcheck.notknown.contacts import _flat
from packcheck.notknown.field import by_node, occurrences
from tests.oracles.shapes import Pose
from tests.worlds.asked import written
from tests.worlds.evaluate import Drawn
from tests.worlds.generate import MAKERS, Made, made
from tests.worlds.scene import Scene, read
from tests.worlds.sources import Move, World

Tree: TypeAlias = dict[str, Any]

STEP = 1e-3
"""mm, and a thousandth of it radians: half the width of a central difference."""


TOUCH = 1e-3
"""mm; how near two ways of finding a contact come to each other."""


def account_of(folder: Path, tree: Tree) -> Account:
    (folder / "bay.yaml").write_text(written(tree), encoding="utf-8")
    return packcheck.load(folder / "bay.yaml").assembly.account


def a_scene(what: tuple[str, ...], seed: int) -> tuple[Made, Scene]:
    found = made(what, "frame box", np.random.default_rng(seed))
    return found, read(found.tree)


def settings_of(found: Made, scene: Scene) -> Setting:
    """Where motions stand that are no paths."""
    stands = {name: np.array(values) for name, values in found.settings.items()}
    return {name: (values, 0) for name, values in stands.items() if scene.motions[name].kind != "path"}


def plain(setting: Setting) -> Mapping[str, tuple[float, ...]]:
    return {name: tuple(values) for name, (values, _) in setting.items()}


@pytest.mark.parametrize("what", sorted(MAKERS), ids="; ".join)
def test_a_chain_ends_where_its_part_stands(tmp_path: Path, what: tuple[str, ...]) -> None:
    """Oracle: the tests' own evaluator, at rest and at a setting of the motions."""
    found, scene = a_scene(what, 5)
    chains, drawn = account_of(tmp_path, found.tree).chains, Drawn(scene)
    for setting in ({}, settings_of(found, scene)):
        for name in found.tree["parts"]:
            said = chains.pose(chains.word(name, tuple(setting)), setting)
            truth = drawn.pose(name, plain(setting))
            assert said.rotation == pytest.approx(truth.rotation, abs=1e-9), name
            assert said.translation == pytest.approx(truth.translation, abs=TOUCH), name


@pytest.mark.parametrize("what", sorted(what for what in MAKERS if "rest" not in " ".join(what)), ids="; ".join)
def test_what_a_source_does_is_its_derivative(tmp_path: Path, what: tuple[str, ...]) -> None:
    """Oracle: central differences of the tests' own evaluator: shift and turn of every node, seen from B."""
    found, scene = a_scene(what, 6)
    account, setting = account_of(tmp_path, found.tree), settings_of(found, scene)
    chains, acting = account.chains, tuple(setting)
    word, start = chains.relative(found.a, found.b, acting), chains.pose(chains.word(found.b, acting), setting)
    point = Drawn(scene).pose(found.a, plain(setting)).translation + np.array([13.0, -7.0, 29.0])
    places = by_node(list(occurrences(chains, word, start, setting, account.contact)))
    for node in scene.nodes:
        said = sum((one.linear.at(point) for one in places.get(node, [])), np.zeros((3, 6)))
        truth = derivative(scene, (found.a, found.b), plain(setting), node, point)
        assert said == pytest.approx(truth, rel=1e-5, abs=1e-5), node


def derivative(
    scene: Scene, pair: tuple[str, str], setting: Mapping[str, tuple[float, ...]], node: str, point: Floats
) -> Floats:
    """How a point (3,) of A moves, seen from B, with a shift and a turn of a node: (3, 6)."""
    columns = []
    for axis in range(6):
        step = np.eye(6)[axis] * (STEP if axis < 3 else STEP / 1000)
        moved = [seen(scene, pair, setting, node, sign * step, point) for sign in (1, -1)]
        columns.append((moved[0] - moved[1]) / (2 * step[axis]))
    return np.array(columns).T


def seen(
    scene: Scene,
    pair: tuple[str, str],
    setting: Mapping[str, tuple[float, ...]],
    node: str,
    off: Floats,
    point: Floats,
) -> Floats:
    here = Drawn(scene)
    there = Drawn(scene, World({node: Move(off[:3], off[3:])}))
    a, b = ((here.pose(name, setting), there.pose(name, setting)) for name in pair)
    found: Floats = onto(b[0], back(b[1], onto(a[1], back(a[0], point))))
    return found


def onto(pose: Pose, point: Floats) -> Floats:
    found: Floats = pose.rotation @ point + pose.translation
    return found


def back(pose: Pose, point: Floats) -> Floats:
    found: Floats = pose.rotation.T @ (point - pose.translation)
    return found


def test_what_is_flat_keeps_all_its_area(tmp_path: Path) -> None:
    """Oracle: closed form: a regular hexagon of radius 10 has 150 sqrt 3, each triangle of its fan a sixth."""
    tree = {"packcheck": 1, "parts": {"a": {"at": [0, 0, 0], "box": [1, 1, 1]}}}
    (solid,) = account_of(tmp_path, tree).parts["a"].solids
    angles = np.radians([0, 120, 240, 60, 180, 300])
    points = 10 * np.column_stack([np.cos(angles), np.sin(angles), np.zeros(6)])
    flat = _flat(replace(solid), points)
    edges = flat.vertices[flat.faces]
    areas = np.linalg.norm(np.cross(edges[:, 1] - edges[:, 0], edges[:, 2] - edges[:, 0]), axis=1) / 2
    assert areas == pytest.approx(np.full(6, 25 * np.sqrt(3)))
