"""Small networks, for tests."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from packcheck.arrays import Floats, frozen
from packcheck.survey.network import CAR, Network, Reading, Row, Spot

__all__ = ["Maker", "ranged"]


class Maker:
    """Collects points and readings by name."""

    def __init__(self) -> None:
        self.spots: list[Spot] = []
        self.readings: list[Reading] = []
        self.bodies: list[str] = []

    def fixed(self, **points: Sequence[float]) -> Maker:
        self.spots += [Spot(name, CAR, frozen(at)) for name, at in points.items()]
        return self

    def on(self, body: str, **points: Sequence[float]) -> Maker:
        self.bodies = list(dict.fromkeys([*self.bodies, body]))
        self.spots += [Spot(name, body, frozen(at)) for name, at in points.items()]
        return self

    def free(self, *names: str) -> Maker:
        self.spots += [Spot(name) for name in names]
        return self

    def number(self, name: str) -> int:
        return [spot.name for spot in self.spots].index(name)

    def read(self, kind: str, names: str, value: float, standard: float, label: str = "") -> Maker:
        row = Row(kind, tuple(self.number(name) for name in names.split()), value, standard)  # type: ignore[arg-type]
        self.readings.append(Reading(label or f"{kind} {names}", (row,)))
        return self

    def made(self) -> Network:
        return Network(tuple(self.spots), tuple(self.bodies), tuple(self.readings))


def ranged(
    anchors: Mapping[str, Sequence[float]] | Floats, ranges: Sequence[float] | Floats, standard: float
) -> Network:
    """One point `p` at stated distances from anchors."""
    named = anchors if isinstance(anchors, Mapping) else {f"a{k}": at for k, at in enumerate(np.asarray(anchors))}
    maker = Maker().fixed(**named).free("p")
    for name, distance in zip(named, ranges, strict=True):
        maker.read("distance", f"{name} p", float(distance), standard)
    return maker.made()
