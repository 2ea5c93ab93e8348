"""How fast parts, gaps and measures change while a param of the scene changes by 1 mm: bounds, not estimates."""

from __future__ import annotations

from collections.abc import Iterator
from math import hypot

import numpy as np

from packcheck.assembly.assembly import Assembly
from packcheck.scene.model.features import ANGLES
from packcheck.scene.model.scene import Box, Capsule, Cone, Cylinder, Extrude, Part, Shape, Sphere, Tube
from packcheck.studies.measures import measure_finding

__all__ = ["growth", "measure_rates", "pair_rate", "slack_rate", "speed_of"]


def speed_of(here: Assembly, there: Assembly, name: str) -> float | None:
    """How fast points of a part can move with the param, as it changes by 1 mm; None when it turns or is remade."""
    if name not in there.parts:
        return None
    turned = here.poses[name].rotation - there.poses[name].rotation
    grown = growth(here.scene.parts[name], there.scene.parts[name])
    if np.abs(turned).max() > 1e-12 or grown is None:
        return None
    return float(np.linalg.norm(here.poses[name].translation - there.poses[name].translation)) + grown


def growth(here: Part, there: Part) -> float | None:
    """The most that the surface of a part moves in its own frame."""
    if len(here.solids) != len(there.solids):
        return None
    rates = [abs(here.wrap - there.wrap)]
    for one, other in zip(here.solids, there.solids, strict=True):
        grown = _shape_growth(one.shape, other.shape)
        if grown is None or one.turn != other.turn or one.anchor != other.anchor or one.lining != other.lining:
            return None
        rates.append(2 * grown + float(np.linalg.norm(np.subtract(one.at, other.at))))  # twice: its anchor shifts
    return rates[0] + max(rates[1:])


def _shape_growth(one: Shape, other: Shape) -> float | None:
    """The most that the surface of a shape moves about its middle; None when that has no plain bound."""
    if one == other:
        return 0.0
    match one, other:
        case Box(), Box():
            return float(np.linalg.norm(np.subtract(one.size, other.size))) / 2
        case ((Cylinder() | Capsule()), (Cylinder() | Capsule())) if type(one) is type(other):
            return hypot(one.diameter - other.diameter, one.length - other.length) / 2
        case Sphere(), Sphere():
            return abs(one.diameter - other.diameter) / 2
        case Cone(), Cone():
            wider = max(abs(one.bottom - other.bottom), abs(one.top - other.top))
            return hypot(wider, one.length - other.length) / 2
        case Tube(), Tube():
            wider = max(abs(one.outer - other.outer), abs(one.inner - other.inner))
            return hypot(wider, one.length - other.length) / 2
        case Extrude(), Extrude() if len(one.outline) == len(other.outline):
            moved = np.linalg.norm(np.subtract(one.outline, other.outline), axis=1).max()
            return hypot(float(moved), one.thickness - other.thickness)
        case _:
            return None


def pair_rate(here: Assembly, there: Assembly, pair: tuple[str, str], speeds: dict[str, float | None]) -> float:
    """How fast the gap of two parts can change; parts that only shift alike keep it."""
    shifts = []
    for name in pair:
        if speeds[name] is None:
            return 1.0  # not proven, but not still either
        grown = growth(here.scene.parts[name], there.scene.parts[name]) or 0.0
        shifts.append((there.poses[name].translation - here.poses[name].translation, grown))
    (first, a), (second, b) = shifts
    apart = float(np.linalg.norm(first - second))
    return (apart if apart > 1e-9 else 0.0) + a + b


def slack_rate(here: Assembly, there: Assembly, pair: tuple[str, str]) -> float:
    """How fast what is not known of two parts can grow: what may be turned a little gets a longer arm."""
    rate = 0.0
    for part, other in (pair, pair[::-1]):
        turning, _ = here.account.leverage(part, other, ())
        if turning > 0:
            grown = np.abs(np.subtract(there.parts[part].box(), here.parts[part].box())).max(axis=0)
            rate += turning * (float(np.linalg.norm(grown)) + _zeros_shift(here, there))
    return rate


def _zeros_shift(here: Assembly, there: Assembly) -> float:
    """The farthest that the zero shifts of anything that is likely to be turned, mm."""
    zeros = [name for name in here.account.sources.likely.names if name in there.poses]
    shifts = (np.linalg.norm(there.poses[n].translation - here.poses[n].translation) for n in zeros)
    return float(max(shifts, default=0.0))


def measure_rates(here: Assembly, there: Assembly) -> Iterator[float]:
    """How fast each measure can change; angles between what only shifts do not."""
    for one, other in zip(here.scene.measures, there.scene.measures, strict=True):
        found = [measure_finding(assembly, measure) for assembly, measure in ((here, one), (there, other))]
        values = [finding.value or 0.0 for finding in found]
        points = [finding.points for finding in found]
        if one.sort == "restraint" or points[0] is None or points[1] is None:
            yield 0.0
            continue
        moved = float(np.linalg.norm(points[0] - points[1], axis=1).max())
        still = abs(values[0] - values[1]) < 1e-9 and (one.sort in ANGLES or moved < 1e-9)
        yield 0.0 if still else max(2 * moved, 2 * abs(values[0] - values[1]), 1e-3)
