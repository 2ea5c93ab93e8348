"""What there is in a scene that is not known: each source with its set, or its covariance, and where it acts.

    place    a number t, of a frame or a part: any rigid move that takes no point of what it bears farther than t
    shape    the same number of a part: its surface is within t of where the file has it; with its place never more
    shift    three numbers: a shift within a box along the axes of what the node stands in
    likely   `uncertainty`, or a survey: shift and turn about the node's own zero, with a covariance
    rest     how far a part may come to stand off the shift of what it rests on, along the way it comes

`between`, `simplify`, a scan's scale and facets are in the error of a solid, and no source here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np

from packcheck.arrays import Floats, frozen
from packcheck.scene.model.scene import Frame, Part, Scene
from packcheck.tolerances import ABOUT_TOLERANCE

__all__ = ["Likely", "Measured", "Sources", "ball_of", "box_of"]


class Measured(Protocol):
    """Frames and parts that a survey has set in place on the car."""

    @property
    def bodies(self) -> Sequence[str]: ...

    def covariance(self) -> Floats:
        """Of shift, mm, and turn, radians, of each about its own zero: (6 n, 6 n), car frame."""
        ...


def ball_of(node: Frame | Part) -> float:
    """The distance, mm, within which a node is anywhere; 0 where three numbers or nothing are stated."""
    if isinstance(node, Part) and node.fit == "about" and not any(node.tolerance):
        return ABOUT_TOLERANCE
    return node.tolerance[0] if node.tolerance_is_ball else 0.0


def box_of(node: Frame | Part) -> Floats | None:
    """How far (3,) mm a node may be shifted along each axis of what it stands in, where three numbers say so."""
    return None if node.tolerance_is_ball or not any(node.tolerance) else np.array(node.tolerance)


@dataclass(frozen=True, slots=True, eq=False)
class Likely:
    """All that is only likely: shift, mm, and turn, radians, of each of `names`, with one covariance (6 n, 6 n).

    Along the axes of what each stands in; of what a survey has placed, along those of the car.
    """

    names: tuple[str, ...]
    covariance: Floats
    columns: Mapping[str, int]

    @staticmethod
    def of(scene: Scene, measured: Measured | None) -> Likely:
        nodes: dict[str, Frame | Part] = {**scene.frames, **scene.parts}
        bodies = tuple(measured.bodies) if measured else ()
        stated = [name for name, node in nodes.items() if node.uncertainty is not None and name not in bodies]
        names = (*bodies, *stated)
        covariance = np.zeros((6 * len(names), 6 * len(names)))
        if measured and bodies:
            covariance[: 6 * len(bodies), : 6 * len(bodies)] = measured.covariance()
        for place, name in enumerate(stated, start=len(bodies)):
            uncertainty = nodes[name].uncertainty
            assert uncertainty is not None
            own = [*uncertainty.shift, *np.radians(uncertainty.turn)]
            covariance[6 * place : 6 * place + 6, 6 * place : 6 * place + 6] = np.diag(np.square(own))
        return Likely(names, frozen(covariance), {name: 6 * place for place, name in enumerate(names)})

    def only(self, name: str) -> Likely:
        """The same with all but one of `names` surely known."""
        if name not in self.columns:
            return Likely((), np.zeros((0, 0)), {})
        return Likely((name,), self.own(name), {name: 0})

    def own(self, name: str) -> Floats:
        """The covariance (6, 6) of one of `names`."""
        at = self.columns[name]
        return self.covariance[at : at + 6, at : at + 6]


@dataclass(slots=True, eq=False)
class Sources:
    """The sources of a scene by node."""

    scene: Scene
    likely: Likely
    known: Mapping[str, float] = field(default_factory=dict)  # what better readings would leave, mm, by node
    _balls: dict[str, float] = field(default_factory=dict)
    _boxes: dict[str, Floats | None] = field(default_factory=dict)

    def __post_init__(self) -> None:
        nodes: dict[str, Frame | Part] = {**self.scene.frames, **self.scene.parts}
        for name, node in nodes.items():
            self._balls[name] = self.known.get(name, ball_of(node))
            self._boxes[name] = None if name in self.known else box_of(node)

    def ball(self, node: str) -> float:
        """The ball of a node's place (and, of a part, of its surface), mm."""
        return self._balls[node]

    def box(self, node: str) -> Floats | None:
        """Half edges (3,) mm of the box of shifts of a node's place."""
        return self._boxes[node]

    def at(self, node: str) -> bool:
        """Whether anything is not known of a node's place."""
        return self._balls[node] > 0 or self._boxes[node] is not None or node in self.likely.columns

    def only(self, node: str) -> Sources:
        """The same with nothing unknown but of one node."""
        known = {name: 0.0 for name in self._balls if name != node}
        likely = self.likely.only(node)
        return Sources(self.scene, likely, {**self.known, **known})

    def known_to(self, better: Mapping[str, float]) -> Sources:
        """The same, were some nodes known to within so many mm."""
        return Sources(self.scene, self.likely, {**self.known, **better})
