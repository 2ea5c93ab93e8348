"""Random motions against dense sampling: 100 000 poses in all. Run with ``-m campaign``."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from packcheck.arrays import frozen
from packcheck.frames import Pose
from packcheck.kinematics.joints import Chain, Joint
from packcheck.moving.moved_pair import MovedPair
from packcheck.proximity import Placed, Session
from packcheck.scene.model.scene import Mesh
from packcheck.search import Answer, Cell, decide, least
from packcheck.solids.core.solid import Solid
from packcheck.solids.meshes.files import read_mesh
from tests.assembly.moving_shapes import DEGREE, a_part, a_tube, settings_in, unit

MESHES = Path(__file__).parents[2] / "meshes_demo"
POSES = 1000


@cache
def a_mesh(file: str) -> Solid:
    return read_mesh(Mesh(MESHES / file, 1.0, "mm")).solid


def one_part(rng: np.random.Generator, name: str, sort: str) -> Placed:
    if sort == "mesh" and rng.random() < 0.7:
        solid = a_mesh(str(rng.choice(["alternator.obj", "air_filter.ply", "head_cover.off"])))
        return Placed(name, (solid,), Pose.of(rng.uniform(-120, 120, 3), rng.uniform(-180, 180, 3)))
    return a_part(rng, name, a_tube(rng) if sort == "bore" and name == "a" else None, 120)


def one_motion(rng: np.random.Generator, sort: str) -> tuple[Cell, Chain]:
    about = frozen(rng.uniform(-250, 250, 3))
    if sort == "hinge":
        return Cell.of([0], [float(rng.uniform(10, 120))]), (Joint(0, unit(rng), DEGREE, about),)
    if sort == "slide":
        return Cell.of([float(rng.uniform(-90, 0))], [float(rng.uniform(1, 90))]), (Joint(0, unit(rng), 1.0),)
    turns = [Joint(k, frozen(np.eye(3)[k]), DEGREE, about) for k in (1, 0)]
    widest = np.array([3.0, 2.0, 6.0]) * rng.uniform(0.3, 1, 3)
    return Cell.of(-widest, widest), (Joint(2, frozen(np.eye(3)[2]), 1.0), *turns)


@pytest.mark.campaign
@pytest.mark.parametrize("seed", range(100))
def test_no_pose_of_a_thousand_is_below_what_the_search_proves(seed: int) -> None:
    """Oracle: brute force. 1000 poses of each of 100 random motions, ends and corners among them; hinges, slides
    and rocks of three parameters; plain shapes, bores and meshes."""
    rng = np.random.default_rng(seed)
    parts = ("plain", "bore", "mesh")[seed % 3]
    cell, chain = one_motion(rng, ("hinge", "slide", "rock")[seed // 3 % 3])
    pair = MovedPair(Session(), one_part(rng, "a", parts), one_part(rng, "b", parts), ((cell, chain, ()),))
    outcome = least(pair.problem(), budget=1500)
    limit = float(rng.uniform(0, 25))
    decided = decide(pair.problem(), limit, 1500)
    lows = [pair.gap(setting, np.inf) for setting in settings_in(rng, cell, POSES)]
    sampled = min(one.high for one in lows)
    if pair.convex or outcome.low > 0:
        assert outcome.low <= sampled + 1e-6
    if outcome.answer is Answer.FOUND:
        width = max(one.high - one.low for one in lows if np.isfinite(one.low))
        assert sampled >= outcome.high - 0.0501 - width
    assert (sampled >= limit) or decided.answer is not Answer.ABOVE
    if decided.answer is Answer.BELOW:
        assert pair.gap(decided.at, np.inf).low < limit
