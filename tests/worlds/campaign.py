"""Draw worlds by the thousand and say which lie outside of what the package says.

python -m tests.worlds.campaign --seed 1 --worlds 20000 [--only "rest"]
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from tests.worlds.asked import bounds_of, report_of, written
from tests.worlds.broken import Bound, Outside, Tally, look
from tests.worlds.generate import KINDS, MAKERS, Made, made
from tests.worlds.roles import Role, table
from tests.worlds.scene import read

__all__ = ["Campaign", "run", "tasks"]

EACH = 200
"""Worlds of the pair that a scene was made for."""

LEAST = 200
"""How often every role is met, at least."""

SCENES = 20_000
"""However few worlds they have."""

OTHERS = 6
"""Worlds of every other pair of it."""


@dataclass(slots=True, eq=False)
class Campaign:
    """All that a campaign has found."""

    tally: Tally = field(default_factory=Tally)
    failing: list[tuple[Made, str, list[Outside]]] = field(default_factory=list)
    scenes: int = 0
    crashed: list[tuple[Made, str]] = field(default_factory=list)
    by_role: Counter[str] = field(default_factory=Counter)

    @property
    def worst(self) -> float:
        return max((outside.excess for outside in self.tally.outside), default=0.0)

    def missing(self, least: int) -> list[str]:
        """Roles that were met less often."""
        return [f"{role}: {self.tally.roles[role]}" for role in table() if self.tally.roles[role] < least]


def tasks(only: str = "") -> list[tuple[tuple[str, ...], str]]:
    """What scenes are made for: a place or surface, and the kind of the carrier."""
    found = []
    for what in MAKERS:
        kinds = KINDS[: {"surface": 1, "shifting": 2}.get(what[0] if what[0] == "surface" else what[1], 4)]
        found += [(what, kind) for kind in kinds if only in f"{what} {kind}"]
    return found


def run(seed: int, worlds: int, only: str = "", each: int = EACH, least: int = 0) -> Campaign:
    """Scenes for the role that was met least so far, until so many pair-worlds were looked at.

    Every role is met `least` times, unless twice as many worlds do not suffice for that.
    """
    found = Campaign()
    asked: Counter[tuple[tuple[str, ...], str]] = Counter()
    while found.tally.worlds < worlds or (found.tally.worlds < 2 * worlds and found.missing(least)):
        what, kind = min(tasks(only), key=lambda task: (asked[task] > 0, _met(found, *task), asked[task]))
        asked[what, kind] += 1
        rng = np.random.default_rng([seed, found.scenes])
        _one(found, made(what, kind, rng), f"{what[0]}, {what[1]}: {kind}", rng, each)
        if found.scenes > SCENES:
            break
    return found


def _met(found: Campaign, what: tuple[str, ...], kind: str) -> int:
    if what[0] == "surface":
        return found.tally.roles[Role("shape", (what[1],), "rest" if what[1] == "rest" else "nothing")]
    return found.tally.roles[Role(kind, tuple(sorted(what[0].split(" + "))), what[1])]


def _one(found: Campaign, scene: Made, named: str, rng: np.random.Generator, each: int) -> None:
    found.scenes += 1
    read_scene = read(scene.tree)
    try:
        bounds = bounds_of(read_scene, report_of(written(scene.tree)))
    except Exception as error:
        found.crashed.append((scene, f"{named}: {type(error).__name__}: {error}"))
        return
    before = len(found.tally.outside)
    for bound in bounds:
        look(read_scene, [bound], rng, each if _meant(bound, scene) else OTHERS, found.tally)
    if len(found.tally.outside) > before:
        found.failing.append((scene, named, found.tally.outside[before:]))
        found.by_role[named] += 1


def _meant(bound: Bound, scene: Made) -> bool:
    return {bound.a, bound.b} == {scene.a, scene.b}


def _size(scene: Made) -> tuple[int, int]:
    tree = scene.tree
    return sum(len(tree.get(key, {})) for key in ("frames", "parts", "motions")), len(written(tree))


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--worlds", type=int, default=20000)
    parser.add_argument("--only", default="", help="roles and kinds whose name holds this")
    parser.add_argument("--all", action="store_true", help="print every failing scene")
    asked = parser.parse_args(arguments)
    found = run(asked.seed, asked.worlds, asked.only, least=0 if asked.only else LEAST)
    sys.stdout.write("\n".join(report(found, everything=asked.all)) + "\n")
    return 1 if found.tally.outside or found.crashed else 0


def report(found: Campaign, *, everything: bool = False) -> Iterator[str]:
    """What a campaign found, line by line."""
    tally = found.tally
    yield "role: pair-worlds where its effect is over 0.1 mm"
    for role in table():
        yield f"  {role}: {tally.roles[role]}"
    for role, count in sorted(tally.roles.items()):
        if role not in table():
            yield f"  (beside the table) {role}: {count}"
    outside = f"{len(tally.outside)} outside, worst by {found.worst:.3f} mm"
    yield f"{found.scenes} scenes, {tally.worlds} pair-worlds, {outside}"
    if tally.reached:
        middle = np.percentile(tally.reached, [10, 50, 90])
        yield f"worst world found over bound, 10th, 50th and 90th of 100: {np.round(middle, 3).tolist()}"
    for named, count in found.by_role.most_common():
        yield f"  failing: {named}: {count} scenes"
    for _, what in found.crashed[:5]:
        yield f"  crashed: {what}"
    failing = sorted(found.failing, key=lambda one: _size(one[0]))
    for one in failing if everything else failing[:1]:
        yield from _told(*one)


def _told(scene: Made, named: str, outside: list[Outside]) -> Iterator[str]:
    yield f"--- {named}: {len(outside)} worlds outside"
    yield written(scene.tree)
    for one in sorted(outside, key=lambda o: -o.excess)[:2]:
        bound = one.bound
        yield f"# {bound.a} - {bound.b}: said {bound.low} to {bound.high}, motions {list(bound.motions)}"
        yield f"#   gap {one.gap:.4f} at {dict(one.settings)} {one.missed and 'misses ' + one.missed}"
        for node, move in one.world.moves.items():
            turn = np.degrees(move.turn).round(3).tolist()
            yield f"#   {node}: shift {move.shift.round(3).tolist()}, turn {turn} deg"
        for node, skin in one.world.skins.items():
            yield f"#   surface of {node}: shift {skin.shift.round(3).tolist()}, grown {skin.grow:.3f}"


if __name__ == "__main__":
    sys.exit(main())
