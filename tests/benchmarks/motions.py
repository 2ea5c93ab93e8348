"""How many gaps does a certified search ask? On random motions and on those of the demo.

``python -m tests.benchmarks.motions`` prints the tables. Random motions bring the parts near each other and mostly
clear; each is searched for its least gap to 0.05 mm from nothing. "Uniform" is what sampling one parameter at equal
steps would take for the same guarantee: the whole travel over twice the tolerance.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from math import ceil
from pathlib import Path
from typing import TypeAlias

import numpy as np

import packcheck
from packcheck.arrays import frozen
from packcheck.findings import Limit
from packcheck.frames import Pose
from packcheck.kinematics.joints import Chain, Joint
from packcheck.moving.moved_pair import MovedPair
from packcheck.moving.moving_pairs import Sweeps, doubt_of, moving_pairs, the_pair
from packcheck.proximity import Placed, Session
from packcheck.scene.model.scene import Box, Capsule, Cone, Cylinder, Mesh, Shape, Sphere
from packcheck.search import Answer, Cell, decide, least
from packcheck.solids.meshes.files import read_mesh
from packcheck.solids.primitives import build_shape
from packcheck.tolerances import SEARCH_BUDGET, SEARCH_WIDTH
from tests.benchmarks import tables

__all__ = ["demo_motions", "random_motions"]

ROOT = Path(__file__).parents[2]
DEGREE = np.pi / 180
COLUMNS = (
    "motion",
    "pairs",
    "median",
    "nine in ten below",
    "largest",
    "at the cap",
    "uniform / ours, median",
    "aim",
)
Random: TypeAlias = np.random.Generator


def random_motions(count: int = 40) -> str:
    """Searches for the least gap, by number of parameters and kind of parts; fewer of what takes long."""
    kinds: list[tuple[str, int, int, Callable[[Random], Placed], str]] = [
        ("1 parameter, convex", count, 1, _convex, "60 / 300"),
        ("3 parameters, convex", count, 3, _convex, "150 / 500"),
        ("5 parameters, convex", count // 2, 5, _convex, "400 / 1500"),
        ("1 parameter, meshes", count // 2, 1, _mesh, "60 / 300"),
        ("3 parameters, meshes", count // 5, 3, _mesh, "1500 / 3000"),
    ]
    rows = [_row(name, list(_searched(many, drives, part)), aim) for name, many, drives, part, aim in kinds]
    return tables.table("Gaps asked to find the least one to 0.05 mm, random motions", COLUMNS, rows)


def _row(name: str, asked: Sequence[tuple[int, bool, float]], aim: str) -> tuple[str | float, ...]:
    queries = np.array([queries for queries, _, _ in asked])
    capped = sum(capped for _, capped, _ in asked) / len(asked)
    ratios = [uniform / queries for queries, _, uniform in asked if uniform]
    ratio = f"{np.median(ratios):.0f}" if ratios else ""
    nine = float(np.quantile(queries, 0.9))
    return name, len(asked), float(np.median(queries)), nine, int(queries.max()), f"{capped:.0%}", ratio, aim


def _searched(count: int, drives: int, part: Callable[[Random], Placed]) -> Iterator[tuple[int, bool, float]]:
    """Queries, whether the budget ended it, and what uniform sampling would take (one parameter only)."""
    rng = np.random.default_rng(drives)
    done = 0
    while done < count:
        pair = _pair(rng, drives, part)
        if not 0.5 < pair.gap(pair.roots[0][0].centre, np.inf).low < 60:
            continue
        problem = pair.problem()
        if decide(problem, 0.2, 500).answer is not Answer.ABOVE:
            continue  # what overlaps on the way is decided, and its depth is another question
        found = least(problem)
        travel = float(problem.travel(problem.roots[0]).sum())
        done += 1
        yield found.queries, found.queries >= SEARCH_BUDGET, ceil(travel / SEARCH_WIDTH) if drives == 1 else 0.0


def _pair(rng: Random, drives: int, part: Callable[[Random], Placed]) -> MovedPair:
    """Two parts side by side; one swings up to 60 degrees about one line, or rocks as an engine does."""
    a, b = part(rng), part(rng)
    way = rng.normal(size=3)
    a = a.at(Pose(a.pose.rotation, frozen(way / np.linalg.norm(way) * rng.uniform(60, 220))))
    if drives == 1:
        width = float(rng.uniform(20, 60))
        cell, chain = Cell.of([0], [width]), (_turn(rng, 0, 300.0),)
        return MovedPair(Session(), a, b, ((cell, chain, ()),))
    turns = 2 if drives == 3 else 3
    shifts = [Joint(turns + k, frozen(np.eye(3)[2 - k]), 1.0) for k in range(drives - turns)]
    about = frozen(rng.uniform(-150, 150, 3))
    rock: Chain = (*shifts, *(Joint(k, frozen(np.eye(3)[k]), DEGREE, about) for k in reversed(range(turns))))
    widest = np.array([3.0] * turns + [6.0] * (drives - turns)) * rng.uniform(0.5, 1, drives)
    return MovedPair(Session(), a, b, ((Cell.of(-widest, widest), rock, ()),))


def _turn(rng: Random, drive: int, spread: float) -> Joint:
    axis = rng.normal(size=3)
    return Joint(drive, frozen(axis / np.linalg.norm(axis)), DEGREE, frozen(rng.uniform(-spread, spread, 3)))


def _convex(rng: Random) -> Placed:
    a, b, c = (float(x) for x in rng.uniform(20, 160, 3))
    shapes: list[Shape] = [Box((a, b, c)), Sphere(a), Cylinder(a, b), Cone(a, b / 2, c)]
    shape = [*shapes, Capsule(min(a, b), max(a, b) + 1)][rng.integers(5)]
    return Placed("convex", build_shape(shape), Pose.of(turn=rng.uniform(-180, 180, 3)))


MESHES = (("alternator.obj", "mm", 1.0), ("air_filter.ply", "mm", 1.0), ("head_cover.off", "mm", 1.0))


def _mesh(rng: Random) -> Placed:
    file, unit, size = MESHES[rng.integers(len(MESHES))]
    solid = read_mesh(Mesh(ROOT / "meshes_demo" / file, size, unit)).solid  # type: ignore[arg-type]
    return Placed(file, (solid,), Pose.of(turn=rng.uniform(-180, 180, 3)))


def demo_motions() -> str:
    """What each pair of the demo asks: to be decided, and to be closed in on where it falls short."""
    bay = packcheck.load(ROOT / "scenes" / "hillclimb_rear_bay.yaml")
    assembly, sweeps = bay.assembly, Sweeps(bay.assembly)
    decided: dict[int, list[tuple[int, bool, float]]] = {}
    closed: dict[int, list[tuple[int, bool, float]]] = {}
    for pair in moving_pairs(assembly):
        limit, doubt = Limit(assembly.rules.limit(pair.a, pair.b).moving), doubt_of(assembly, pair)
        joined = assembly.rules.joint(pair.a, pair.b) or assembly.rules.unasked.enters(pair.a, pair.b)
        if joined or sweeps.apart(pair) > max(limit.floor, 0.0) + doubt.most:
            continue
        problem = the_pair(assembly, bay.session, pair, doubt).problem()
        drives = len(pair.drives)
        answer = decide(problem, limit.floor)
        decided.setdefault(drives, []).append((answer.queries, answer.queries >= SEARCH_BUDGET, 0.0))
        if answer.answer is not Answer.ABOVE and answer.sample.low > 0:
            found = least(problem, start=[answer.at])
            closed.setdefault(drives, []).append((found.queries, found.queries >= SEARCH_BUDGET, 0.0))
    rows = [_row(f"decided, {drives} parameters", asked, "") for drives, asked in sorted(decided.items())]
    rows += [_row(f"closed in, {drives} parameters", asked, "") for drives, asked in sorted(closed.items())]
    return tables.table("Gaps asked for the motions of hillclimb_rear_bay.yaml", COLUMNS, rows)


if __name__ == "__main__":
    tables.show(random_motions())
    tables.show(demo_motions())
