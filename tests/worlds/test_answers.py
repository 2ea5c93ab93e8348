"""What a move, a place or a size promises holds in any world of the scene drawn as promised."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
import pytest

import packcheck
from packcheck.places.asked import Asked as AskedPlace
from packcheck.sizing.growth import Varied
from packcheck.sizing.sizes import Asked as AskedSize
from packcheck.sizing.sizes import size_of
from tests.worlds.asked import written
from tests.worlds.broken import Tally, look
from tests.worlds.evaluate import Drawn, MissedError
from tests.worlds.generate import made
from tests.worlds.led import shifted
from tests.worlds.scene import read
from tests.worlds.test_led import asked, bounds, kept
from tests.worlds.worlds import Space

Tree: TypeAlias = dict[str, Any]

TOUCHED = 0.02
"""mm; within which both sides find what a part rests on."""

QUICK = (("part", "nothing"), ("mirrored", "mirror"))
SLOW = (("line", "turning"), ("rest", "rest"))
MADE = [*QUICK, *(pytest.param(what, marks=pytest.mark.campaign) for what in SLOW)]


def scenes(what: tuple[str, ...], kind: str) -> Iterator[Tree]:
    """Scenes made for a role, one after the other."""
    for seed in range(60):
        tree = asked(made(what, kind, np.random.default_rng([seed, 78])).tree)
        if "rail" in tree["parts"]:
            tree["parts"]["a"]["bolted_to"] = ["rail"]
        yield tree


def holds(tree: Tree, pairs: set[frozenset[str]]) -> None:
    tally = Tally()
    scene = read(tree)
    look(scene, list(bounds(scene, pairs)), np.random.default_rng(2), 20, tally)
    worst = max(tally.outside, key=lambda one: one.excess, default=None)
    assert worst is None, (worst.bound.a, worst.bound.b, worst.excess, worst.missed)


def saved(tree: Tree, folder: Path) -> Path:
    path = folder / "scene.yaml"
    path.write_text(written(tree), encoding="utf-8")
    return path


@pytest.mark.parametrize("what", MADE, ids="; ".join)
def test_what_a_move_mends_is_mended_in_any_world(what: tuple[str, ...], tmp_path: Path) -> None:
    """Oracle: the tests' own worlds, of the scene with the part drawn where the move takes it (2 moves)."""
    seen = 0
    for tree in scenes(what, "part box"):
        for finding in packcheck.load(saved(tree, tmp_path)).check().findings:
            move = finding.move
            if move is None or "not proven" in move.text or "at" not in tree["parts"][move.part]:
                continue
            seen += 1
            there = shifted(tree, move.part, move.by)
            holds(there, kept(tree) | {frozenset(finding.subjects)})
            break
        if seen == 2:
            return
    raise AssertionError("no move was offered")


@pytest.mark.parametrize("what", MADE, ids="; ".join)
def test_what_is_placed_keeps_its_limits_in_any_world(what: tuple[str, ...], tmp_path: Path) -> None:
    """Oracle: the tests' own worlds, of the scene with a part drawn at a place proposed."""
    for tree in scenes(what, "part box"):
        at = tree["parts"]["b"].get("at")
        if at is None or tree["parts"]["b"].get("in", "car") != "car":
            continue
        box = ", ".join(str(x - 60) for x in at) + " to " + ", ".join(str(x + 60) for x in at)
        place = AskedPlace(str(saved(tree, tmp_path)), "b", within=box, cell="15 mm")
        found = place.answer()
        if not found.spots:
            continue
        here = place.bay.assembly.parts["b"].pose.translation
        there = shifted(tree, "b", found.spots[0].pose.translation - here)
        holds(there, {frozenset({"b", other}) for other in tree["parts"] if other != "b"})
        return
    raise AssertionError("no place was found")


@pytest.mark.parametrize("what", MADE, ids="; ".join)
def test_what_a_size_allows_keeps_its_limits_in_any_world(what: tuple[str, ...], tmp_path: Path) -> None:
    """Oracle: the tests' own worlds, of the scene with the param at the value said to be the largest."""
    for tree in scenes(what, "part box"):
        part = tree["parts"]["b"]
        if not isinstance(part.get("at"), list) or part["at"][2] <= 0:
            continue
        grown = {**tree, "params": {"h": f"{part['at'][2]} mm"}}
        grown["parts"] = {**tree["parts"], "b": {**part, "at": [*part["at"][:2], "h"]}}
        wanted = AskedSize(str(saved(grown, tmp_path)), "h")
        found = size_of(Varied(wanted.written, "h", None), wanted.scene.params["h"])
        if found.value is None or found.value <= part["at"][2] + 1 or found.unproven:
            continue
        there = {**tree["parts"], "b": {**part, "at": [*part["at"][:2], found.value]}}
        holds({**tree, "parts": there}, kept(tree))
        return
    raise AssertionError("no size was found")


@pytest.mark.parametrize("kind", ["part box", "part ball", "frame box", "frame ball"])
@pytest.mark.parametrize(
    "what", [("part", "nothing"), ("mirrored", "mirror"), ("across", "mirror"), ("rest", "rest")]
)
def test_a_measure_holds_in_any_world(what: tuple[str, ...], kind: str, tmp_path: Path) -> None:
    """Oracle: the tests' own worlds, of the points of two parts (200 of each of 3 scenes)."""
    rng = np.random.default_rng(7)
    for seed in range(3):
        one = made(what, kind, np.random.default_rng([seed, 79]))
        distance = {"distance": {"from": one.a, "to": one.b}, "must": 1}
        report = packcheck.load(saved({**one.tree, "measures": {"d": distance}}, tmp_path)).check(moves=False)
        (found,) = [finding for finding in report.findings if finding.study == "measures"]
        space = Space(read(one.tree))
        assert found.low is not None and found.high is not None
        for _ in range(200):
            drawn = Drawn(read(one.tree), space.world(space.random(rng)))
            try:
                apart = drawn.stand(one.a).translation - drawn.stand(one.b).translation
            except MissedError:
                continue
            assert found.low - TOUCHED <= np.linalg.norm(apart) <= found.high + TOUCHED
