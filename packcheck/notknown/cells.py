"""What is not known all over a cell of settings, from what it is in the middle of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TypeAlias

import numpy as np

from packcheck.arrays import Floats, Points
from packcheck.frames import Pose
from packcheck.notknown.chains import Chains, Setting, Word
from packcheck.notknown.doubt import Doubt
from packcheck.notknown.field import Occurrence

__all__ = ["all_over", "farthest"]

Chain: TypeAlias = tuple[Word, Pose, Setting]
"""A word, where it starts, and the setting in the middle of the cell."""


def all_over(
    doubt: Doubt,
    found: Sequence[tuple[Occurrence, float, float]],
    chains: Chains,
    chain: Chain,
    halves: Mapping[str, Floats],
    points: Points,
) -> Doubt:
    """A doubt in the middle of a cell of settings, as it is at the most anywhere in it.

    Along a fixed direction what is linear changes, for each radian of a joint, by its shift, and by its turn times
    its arm and how far the joint takes the part; for each mm of a travel by its turn. `found` are the occurrences,
    each with the greatest shift and turn of what is linear in it; `points` (n, 3) hold both parts.
    """
    joints, more = list(_joints(chains, chain, halves, points)), 0.0
    turned, gone = sum(wide for wide, _, _ in joints), _gone(joints)
    for one, shift, turn in found:
        if shift + turn == 0.0:
            continue
        arm = farthest(points, one.pose.translation) + gone if turn else 0.0
        more += sum(wide * (shift + turn * (arm + reach + gone)) + far * turn for wide, far, reach in joints)
    rounds = tuple(one.widened(turned, gone) for one in doubt.rounds)
    return replace(doubt, ball=doubt.ball + more, rounds=rounds)


def _gone(joints: Sequence[tuple[float, float, float]]) -> float:
    """How far, mm, joints that follow one another take any point of the parts within a cell."""
    gone = 0.0
    for wide, far, reach in joints:
        gone += min(wide, 2.0) * (reach + gone) + far
    return gone


def farthest(points: Points, centre: Floats) -> float:
    """How far the farthest of points (n, 3) lies from another, mm."""
    return float(np.linalg.norm(points - centre, axis=1).max())


def _joints(
    chains: Chains, chain: Chain, halves: Mapping[str, Floats], points: Points
) -> Iterator[tuple[float, float, float]]:
    """Of each joint in a word: its turn, radians, and shift, mm, in a cell, and how far off the parts are."""
    (word, pose, setting), motions = chain, chains.motions
    for letter, sense in word:
        step = chains.local(letter, setting)
        base = pose if sense > 0 else pose @ step.inverse()
        if letter[0] == "joint" and letter[1] in halves:
            name = letter[1]
            wide, far = motions.widths(name, halves[name], setting[name][1])
            yield wide, far, farthest(points, base.apply(motions.centre(name)))
        pose = base @ step if sense > 0 else base
