"""Where a chain ends in one world: everything likely off by one draw, put into the steps of the chain."""

from __future__ import annotations

import numpy as np

from packcheck.arrays import Floats, frozen
from packcheck.frames import IDENTITY, Pose, rotation_of
from packcheck.notknown.chains import Chains, Letter, Word, inverse, reduced
from packcheck.notknown.field import Contacts, rests_of
from packcheck.notknown.sources import Likely

__all__ = ["displaced_pose"]


def displaced_pose(chains: Chains, likely: Likely, contacts: Contacts, word: Word, draw: Floats) -> Pose:
    """Where a chain ends, at rest, with shifts, mm, and turns, radians, of everything likely as drawn (n,)."""
    pose = IDENTITY
    for letter, sense in word:
        step = _step(chains, likely, contacts, letter, draw)
        pose = pose @ (step if sense > 0 else step.inverse())
    return pose


def _step(chains: Chains, likely: Likely, contacts: Contacts, letter: Letter, draw: Floats) -> Pose:
    kind, name = letter
    if kind == "node" and name in likely.columns:
        at = likely.columns[name]
        place = chains.place(name)
        shift = place.shift.shifted(draw[at : at + 3])
        return shift @ Pose(frozen(rotation_of(draw[at + 3 : at + 6])), IDENTITY.translation) @ place.turn
    if kind.startswith("mixed"):
        turn, zero = (displaced_pose(chains, likely, contacts, word, draw) for word in chains.parents(letter))
        return Pose(turn.rotation, zero.translation)
    if kind == "rest":
        return _rest(chains, likely, contacts, name, draw)
    return chains.local(letter, {})


def _rest(chains: Chains, likely: Likely, contacts: Contacts, name: str, draw: Floats) -> Pose:
    """The shift along the way a part came down, by what it rests on being off where the two touch."""
    found = rests_of(chains, name)
    assert found is not None
    part, rest = found
    word = reduced([*inverse(chains.base(part.parent)), *chains.base(rest.on[0])])
    there = displaced_pose(chains, likely, contacts, word, draw) @ chains.pose(word, {}).inverse()
    point = contacts(part.name).point
    shift = np.zeros(3)
    shift[rest.axis] = (there.apply(point) - point)[rest.axis]
    return Pose(IDENTITY.rotation, frozen(shift))
