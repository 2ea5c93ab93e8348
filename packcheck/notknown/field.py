r"""How far what is not known takes one part relative to another: each source as often as it stands in their chain.

Seen from B, part A is moved by a rigid D; the gap is that of D A and B, exactly. D is a product of what each
occurrence of a source does, Q its axes and c its zero as drawn, s its sense (-1 where the chain runs backwards):

    v(x) = s [ Q e + det(Q) (Q w) x (x - c) ]          shift e, turn w, to first order

An image makes det(Q) = -1. Behind a mixed letter only the turn counts (about its zero), or only the shift (of its
zero); behind a rest only what it does along the way the part came down, at the point where it touches.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np

from packcheck.arrays import Floats, Matrix3, Point
from packcheck.frames import Pose, cross_matrix
from packcheck.notknown.chains import Chains, Setting, Word, inverse, reduced
from packcheck.scene.model.scene import Part, Rest

__all__ = ["Contact", "Linear", "Occurrence", "by_node", "occurrences", "rests_of"]


@dataclass(frozen=True, slots=True, eq=False)
class Contact:
    """Where a part rests: `point` (3,) mm in what it hangs on, and how far off, mm, sideways shifts can put it.

    `lost` says why that cannot be told.
    """

    point: Point
    residual: float
    lost: str = ""


Contacts: TypeAlias = Callable[[str], Contact]
"""The contact of a part that rests, by its name."""


@dataclass(frozen=True, slots=True, eq=False)
class Linear:
    """What a shift e and a turn w (3,) of a source do to a point x: `shift` e + `lever` w + (`turn` w) x x.

    All (3, 3); to first order.
    """

    shift: Matrix3
    lever: Matrix3
    turn: Matrix3

    def __add__(self, other: Linear) -> Linear:
        return Linear(self.shift + other.shift, self.lever + other.lever, self.turn + other.turn)

    def at(self, point: Point) -> Floats:
        """The map (3, 6) from shift and turn to what they do to a point."""
        return np.hstack([self.shift, self.lever - cross_matrix(point) @ self.turn])

    @property
    def twist(self) -> Floats:
        """The map (6, 6) to the shift of the car's zero, and the turn."""
        return np.block([[self.shift, self.lever], [np.zeros((3, 3)), self.turn]])


@dataclass(frozen=True, slots=True, eq=False)
class Occurrence:
    """One place in a word where what is not known of `node` acts.

    `kind`: place, or rest (how far a part comes to stand off). `pose` are axes and zero of the source as drawn,
    `place` the number of the step. `shown` (3, 3) is what of it passes a rest, at the point `pinned` (3,); `spun`
    (3,) the zero about which alone it turns.
    """

    node: str
    sense: int
    pose: Pose
    place: int
    kind: str = "place"
    shown: Matrix3 | None = None
    pinned: Point | None = None
    spun: Point | None = None

    @property
    def axes(self) -> Matrix3:
        """What of a shift along the axes of the source is seen, (3, 3)."""
        turned = self.sense * self.pose.rotation
        return turned if self.shown is None else self.shown @ turned

    @property
    def linear(self) -> Linear:
        q, c = self.pose.rotation, self.pose.translation
        turn = self.sense * _hand(q) * q
        whole = Linear(self.sense * q, cross_matrix(c) @ turn, turn)
        if self.spun is not None:
            whole = Linear(np.zeros((3, 3)), cross_matrix(self.spun) @ turn, turn)
        if self.pinned is None:
            return whole
        there, shown = whole.at(self.pinned), np.eye(3) if self.shown is None else self.shown
        return Linear(shown @ there[:, :3], shown @ there[:, 3:], np.zeros((3, 3)))


def _hand(q: Matrix3) -> float:
    """1, or -1 behind an odd number of mirrors: there a turn goes the other way."""
    return float(np.sign(np.linalg.det(q)))


def rests_of(chains: Chains, node: str) -> tuple[Part, Rest] | None:
    """The part whose rest a rest letter stands for (of an image, its source's), and how it rests."""
    part = chains.nodes[node]
    while isinstance(part, Part):
        if part.rest is not None:
            return part, part.rest
        if part.mirror is None or not part.mirror.of:
            return None
        part = chains.nodes[part.mirror.of]
    return None


def occurrences(
    chains: Chains, word: Word, start: Pose, setting: Setting, contacts: Contacts
) -> Iterator[Occurrence]:
    """Every occurrence of a node's place in a word that starts at `start`, the pose of what it is seen from."""
    pose = start
    for place, (letter, sense) in enumerate(word):
        kind, name = letter
        step = chains.local(letter, setting)
        base = pose if sense > 0 else pose @ step.inverse()
        if kind == "node":
            yield Occurrence(name, sense, _own_axes(chains, name, base @ chains.place(name).shift), place)
        elif kind == "rest":
            yield from _resting(chains, name, sense, base, place, contacts)
        elif kind in ("mixed", "mixed path"):
            yield from _mixed(chains, letter, sense, base, place, contacts)
        pose = base @ step if sense > 0 else base


def _own_axes(chains: Chains, name: str, pose: Pose) -> Pose:
    """The pose with the axes along which an image states what is not known of it, where it states that itself."""
    part = chains.nodes[name]
    mirror = part.mirror if isinstance(part, Part) else None
    if mirror is None or mirror.known or not mirror.of:
        return pose
    return Pose(chains.drawn[part.parent].rotation, pose.translation)


def _resting(
    chains: Chains, name: str, sense: int, base: Pose, place: int, contacts: Contacts
) -> Iterator[Occurrence]:
    """What reaches a part from that on which it rests, seen from what the part hangs on; and the residual."""
    found = rests_of(chains, name)
    assert found is not None
    part, rest = found
    contact = contacts(part.name)
    along = base.rotation[:, rest.axis]
    shown, point = np.outer(along, along), base.apply(contact.point)
    yield Occurrence(name, sense, base, place, "rest", shown, point)
    word = reduced([*inverse(chains.base(part.parent)), *chains.base(rest.on[0])])
    for one in occurrences(chains, word, base, {}, contacts):
        seen = shown if one.shown is None else shown @ one.shown
        at = point if one.pinned is None else one.pinned
        yield replace(one, sense=sense * one.sense, place=place, shown=seen, pinned=at)


def _mixed(
    chains: Chains, letter: tuple[str, str], sense: int, base: Pose, place: int, contacts: Contacts
) -> Iterator[Occurrence]:
    """The turn of each step of one chain, and the shift at the zero of each step of the other."""
    zero = (base @ chains.local(letter, {})).translation
    turning, standing = chains.parents(letter)
    for one in occurrences(chains, turning, base, {}, contacts):
        if one.pinned is None:
            yield replace(one, sense=sense * one.sense, place=place, spun=zero)
    for one in occurrences(chains, standing, base, {}, contacts):
        at = zero if one.pinned is None else one.pinned
        yield replace(one, sense=sense * one.sense, place=place, pinned=at)


def by_node(found: Iterator[Occurrence] | list[Occurrence]) -> Mapping[str, list[Occurrence]]:
    """Occurrences by the node whose place they are of."""
    sorted_out: dict[str, list[Occurrence]] = {}
    for one in found:
        sorted_out.setdefault(one.node, []).append(one)
    return sorted_out
