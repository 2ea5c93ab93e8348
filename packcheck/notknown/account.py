"""The account of a scene: what is not known between any two parts, at rest, in motion, or with one put elsewhere.

No study knows what a frame, a mirror, a rest or a hinge line is: it asks for the `Doubt` of a pair.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import count
from typing import TypeAlias

import numpy as np

from packcheck.arrays import Floats, Point, Points
from packcheck.frames import IDENTITY, Pose
from packcheck.kinematics.motions import Motions
from packcheck.notknown.cells import all_over, farthest
from packcheck.notknown.chains import Chains, Letter, Setting, Word, reduced
from packcheck.notknown.contacts import contact_of
from packcheck.notknown.doubt import NOTHING, Doubt
from packcheck.notknown.draws import displaced_pose
from packcheck.notknown.field import Contact, Occurrence, occurrences, rests_of
from packcheck.notknown.pairing import between_of, doubt_of, sizes_of
from packcheck.notknown.reach import bears, radius_of
from packcheck.notknown.sources import Likely, Measured, Sources
from packcheck.proximity.hulls import hull_of
from packcheck.proximity.separation import Placed
from packcheck.scene.model.scene import CAR, Scene

__all__ = ["Account"]

SidesOf: TypeAlias = Callable[[], tuple[Points, Points]]
"""Points (n, 3) that hold either of two parts, mm, car frame."""


@dataclass(slots=True, eq=False)
class Account:
    """What is not known in an assembly. `parts` stand at rest; `chains` are as drawn."""

    chains: Chains
    sources: Sources
    parts: Mapping[str, Placed]
    token: int = field(default_factory=count().__next__)  # tells accounts apart, where answers are remembered
    _contacts: dict[str, Contact] = field(default_factory=dict)
    _radii: dict[str, float] = field(default_factory=dict)
    _pairs: dict[tuple[str, str], Doubt] = field(default_factory=dict)
    _totals: dict[str, float] = field(default_factory=dict)

    @staticmethod
    def of(
        scene: Scene,
        motions: Motions,
        drawn: Mapping[str, Pose],
        parts: Mapping[str, Placed],
        measured: Measured | None = None,
    ) -> Account:
        """The account of a settled scene: `drawn` poses as the file has them, `parts` at rest."""
        return Account(Chains(scene, motions, drawn), Sources(scene, Likely.of(scene, measured)), parts)

    def known_to(self, better: Mapping[str, float]) -> Account:
        """The same, were some parts and frames known to within so many mm, in any direction."""
        return Account(self.chains, self.sources.known_to(better), self.parts, _radii=self._radii)

    def only(self, node: str) -> Account:
        """The same with nothing unknown but what one frame or part brings."""
        return Account(self.chains, self.sources.only(node), self.parts, _radii=self._radii)

    def sources_between(self, a: str, b: str, acting: Sequence[str] = ()) -> tuple[str, ...]:
        """The frames and parts that bring something unknown between two parts, in their chains' order."""
        nodes = [*self._surfaces(a, b), *sorted(self._nodes(self.chains.relative(a, b, acting)))]
        return tuple(name for name in dict.fromkeys(nodes) if self.sources.at(name))

    def put(self, part: str, local: Pose, parts: Mapping[str, Placed]) -> Account:
        """The same with one part elsewhere in what it hangs on; `parts` then stand so."""
        chains = self.chains.put(part, local)
        return Account(chains, self.sources, parts, _contacts=self._contacts, _radii=self._radii)

    def between(self, a: str, b: str) -> Doubt:
        """What is not known between two parts at rest."""
        if (a, b) not in self._pairs:
            self._pairs[a, b] = self.at(a, b, {})
        return self._pairs[a, b]

    def alike(self, a: str, b: str, acting: Sequence[str]) -> Doubt | None:
        """The doubt of two parts where no setting of the motions `acting` changes it, else None."""
        word = self.chains.relative(a, b, acting)
        shapes = self._surfaces(a, b)
        if not shapes and not any(self._uncertain(word)):
            return NOTHING
        return Doubt(sum(self._singly(word, shapes))) if self._simple(word) else None

    def at(self, a: str, b: str, setting: Setting, halves: Mapping[str, Floats] | None = None) -> Doubt:
        """The same at a setting of motions; with `halves` all over so much to each side of their parameters (k,).

        The axes are those of the car with everything that carries both at rest.
        """
        if (alike := self.alike(a, b, tuple(setting))) is not None:
            return alike
        return self._found((a, b), setting, halves, _Sides(self, (a, b), setting))

    def points(self, a: str, at: Point, b: str, other: Point) -> Doubt:
        """What is not known between a point (3,) mm on node `a` and one on node `b`, car frame, at rest.

        Two points of one part may each be off by its own tolerance: its surface need not be the shape in the file.
        """
        if a == b:
            return Doubt(2 * sum(self._surfaces(a).values()))
        if (alike := self.alike(a, b, ())) is not None:
            return alike
        return self._found((a, b), {}, None, lambda: (at[None], other[None]))

    def _found(
        self, pair: tuple[str, str], setting: Setting, halves: Mapping[str, Floats] | None, sides: SidesOf
    ) -> Doubt:
        a, b = pair
        shapes = self._surfaces(a, b)
        word = self._moving(self.chains.relative(a, b, tuple(setting)), setting, halves)
        start = self.chains.pose(self.chains.word(b, tuple(setting)), setting)
        found = [one for one in occurrences(self.chains, word, start, setting, self.contact) if self._counts(one)]
        between = between_of(word, lambda name: self._strides(name, setting, halves or {}))
        doubt = doubt_of(found, self.sources, self.contact, self.radius, between, shapes, sides)
        if not halves:
            return doubt
        sizes = [(one, *self._linear_sizes(one)) for one in found]
        return all_over(doubt, sizes, self.chains, (word, start, setting), halves, np.vstack(sides()))

    def _linear_sizes(self, one: Occurrence) -> tuple[float, float]:
        """The greatest shift, mm, and turn, radians, of what is linear in an occurrence."""
        if one.kind == "rest":
            return self.contact(one.node).residual, 0.0
        sizes = sizes_of(one.node, self.sources)
        return sizes.shift, sizes.turn

    def _moving(self, word: Word, setting: Setting, halves: Mapping[str, Floats] | None) -> Word:
        """A word without joints that do nothing at a setting, nor anywhere about it."""
        return reduced([step for step in word if not self._idle(step[0], setting, halves or {})])

    def _idle(self, letter: Letter, setting: Setting, halves: Mapping[str, Floats]) -> bool:
        kind, name = letter
        if kind != "joint" or (name in halves and halves[name].any()):
            return False
        pose = self.chains.local(letter, setting)
        return np.array_equal(pose.rotation, np.eye(3)) and not pose.translation.any()

    def _strides(self, name: str, setting: Setting, halves: Mapping[str, Floats]) -> tuple[float, float]:
        """Chords and shifts of a motion at a setting, and all over `halves` to each side."""
        motions, count = self.chains.motions, len(self.chains.motions.drives[name])
        values, piece = setting.get(name, (np.zeros(count), 0))
        placed_at = self.chains.scene.motions[name].placed_at
        return motions.strides(name, values - placed_at, halves.get(name, np.zeros(count)), piece)

    def _surfaces(self, *names: str) -> dict[str, float]:
        """How far the surfaces of parts may be from where the file has them, mm; those that are not known alone."""
        return {name: ball for name in names if name in self.parts and (ball := self.sources.ball(name)) > 0}

    def _uncertain(self, word: Word) -> Iterator[bool]:
        return (
            kind.startswith(("rest", "mixed")) or (kind == "node" and self.sources.at(n)) for (kind, n), _ in word
        )

    def _simple(self, word: Word) -> bool:
        """Whether nothing but balls counts, each once."""
        nodes = [name for (kind, name), _ in word if kind == "node" and self.sources.at(name)]
        if len(set(nodes)) < len(nodes) or any(kind.startswith(("rest", "mixed")) for (kind, _), _ in word):
            return False
        return all(self.sources.box(n) is None and n not in self.sources.likely.columns for n in nodes)

    def _singly(self, word: Word, shapes: Mapping[str, float]) -> Iterator[float]:
        nodes = {name for (kind, name), _ in word if kind == "node"}
        return (self.sources.ball(name) for name in sorted(nodes | shapes.keys()))

    def _counts(self, one: Occurrence) -> bool:
        return one.kind == "rest" or self.sources.at(one.node)

    def contact(self, part: str) -> Contact:
        """Where a part rests, and how far off sideways shifts may put it."""
        if part not in self._contacts:
            self._contacts[part] = contact_of(self, part)
        return self._contacts[part]

    def radius(self, node: str) -> float:
        """How far the reach of a place extends across any axis, mm: what limits its turn."""
        if node not in self._radii:
            self._radii[node] = radius_of(self.chains, {name: self.drawn(name) for name in self.parts}, node)
        return self._radii[node]

    def drawn(self, part: str) -> Points:
        """Points (n, 3) whose hull holds the core of a part, as drawn, car frame, mm."""
        return self.chains.drawn[part].apply(hull_of(self.parts[part].solids).points)

    def tilting(self, node: str, besides: Collection[str] = ()) -> float:
        """How far each point of a node may be off in its own direction, mm, and so turn what stands on it.

        Three numbers shift a thing and turn nothing. What also carries one of `besides` turns both alike.
        """
        shared = {name for other in besides for name in self._nodes(self.chains.base(other))}
        return sum(self._tilted(name) for name in sorted(self._nodes(self.chains.base(node)) - shared))

    def _tilted(self, name: str) -> float:
        sizes, box = sizes_of(name, self.sources), self.sources.box(name)
        shift = sizes.shift - (0.0 if box is None else float(np.linalg.norm(box)))
        return self.sources.ball(name) + shift + (sizes.turn * self._arm(name) if sizes.turn else 0.0)

    def _arm(self, node: str) -> float:
        """How far from the zero of a node what it bears reaches, mm."""
        zero = self.chains.drawn[node].translation
        borne = (name for name in self.parts if bears(self.chains, node, name))
        return max((farthest(self.drawn(name), zero) for name in borne), default=0.0)

    def _nodes(self, word: Word) -> set[str]:
        """The nodes in a word, and in the chains that its mixed letters and rests follow."""
        found = set()
        for letter, _ in word:
            if letter[0] == "node":
                found.add(letter[1])
            elif letter[0].startswith("mixed"):
                found |= {name for follows in self.chains.parents(letter) for name in self._nodes(follows)}
            elif letter[0] == "rest" and (resting := rests_of(self.chains, letter[1])) is not None:
                found |= self._nodes(self.chains.base(resting[1].on[0]))
        return found

    def counting(self, a: str, b: str) -> list[tuple[str, float]]:
        """What has a tolerance that counts between two parts at rest, and how much, mm: frames and parts."""
        shapes = self._surfaces(a, b)
        nodes = dict.fromkeys((*shapes, *self._nodes(self.chains.relative(a, b))))
        each = ((name, self._hard(name)) for name in nodes)
        return [(name, most) for name, most in each if most > 0]

    def _hard(self, node: str) -> float:
        box = self.sources.box(node)
        return self.sources.ball(node) + (0.0 if box is None else float(np.linalg.norm(box)))

    def leverage(self, part: str, other: str, led: Collection[str]) -> tuple[float, float]:
        """How fast what is not known between two parts can grow as one is led off, with the nodes `led`.

        For each mm it is shifted by what turns it and stays behind, for each radian it is turned by what shifts it.
        """
        shifted = turned = 0.0
        for (kind, name), _ in self.chains.relative(part, other):
            if kind in ("mixed", "rest"):
                turned += self.total(part)
                shifted += self._turn_in(part)
            if kind == "node":
                sizes = sizes_of(name, self.sources)
                turned += sizes.shift
                shifted += 0.0 if name in led else sizes.turn
        return shifted, turned

    def _turn_in(self, part: str) -> float:
        """All that likely errors may turn a part by, radians."""
        found = occurrences(self.chains, self.chains.word(part), IDENTITY, {}, self.contact)
        return sum(sizes_of(one.node, self.sources).turn for one in found if one.kind == "place")

    def pose_drawn(self, part: str, draw: Floats) -> Pose:
        """Where a part stands at rest, in the car, when everything likely is off by `draw` (n,)."""
        return displaced_pose(self.chains, self.sources.likely, self.contact, self.chains.word(part), draw)

    def gradient(self, a: str, b: str, points: Points, direction: Floats) -> Floats:
        """How a gap at rest changes with everything likely (n,), from its points (2, 3) and direction (3,)."""
        likely, word = self.sources.likely, self.chains.relative(a, b)
        gradient = np.zeros(len(likely.covariance))
        start = self.chains.pose(self.chains.word(b), {})
        for one in occurrences(self.chains, word, start, {}, self.contact):
            if one.kind == "place" and one.node in likely.columns:
                at = likely.columns[one.node]
                gradient[at : at + 6] += direction @ one.linear.at(points[0])
        return gradient

    def shares(self, gradient: Floats) -> dict[str, float]:
        """What each uncertain thing alone would make the standard uncertainty of a gap, mm."""
        likely = self.sources.likely
        alone = {name: gradient[at : at + 6] for name, at in likely.columns.items()}
        shares = {name: float(own @ likely.own(name) @ own) ** 0.5 for name, own in alone.items() if own.any()}
        return {name: share for name, share in shares.items() if share > 0}

    def numbers(self, a: str, b: str, acting: Sequence[str]) -> int:
        """How many independent numbers the likely errors between two parts have."""
        likely, word = self.sources.likely, self.chains.relative(a, b, acting)
        nodes = {one.node for one in occurrences(self.chains, word, IDENTITY, {}, self.contact)}
        columns = [at + k for name, at in likely.columns.items() if name in nodes for k in range(6)]
        return int(np.linalg.matrix_rank(likely.covariance[np.ix_(columns, columns)])) if columns else 0

    def total(self, name: str) -> float:
        """The most that a part can stand off its place in the car, or its surface from there, mm."""
        if name not in self._totals:
            self._totals[name] = self._total(name)
        return self._totals[name]

    def _total(self, name: str) -> float:
        return self.at(name, CAR, {}).most if name in self.parts else 0.0


@dataclass(slots=True, eq=False)
class _Sides:
    """Points of both parts where a setting takes them, worked out when asked for."""

    account: Account
    pair: tuple[str, str]
    setting: Setting
    _found: tuple[Points, Points] | None = None

    def __call__(self) -> tuple[Points, Points]:
        if self._found is None:
            first, second = (self._points(name) for name in self.pair)
            self._found = (first if len(first) else second), (second if len(second) else first)
        return self._found

    def _points(self, name: str) -> Points:
        parts, chains = self.account.parts, self.account.chains
        if name not in parts:
            return np.empty((0, 3))
        pose = chains.pose(chains.word(name, tuple(self.setting)), self.setting)
        return pose.apply(hull_of(parts[name].solids).points)
