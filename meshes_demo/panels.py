"""Rear deck and seat bulkhead: open skins, one face of the sheet each."""

from __future__ import annotations

import numpy as np
from shaping import Faces, Points, grid_faces

__all__ = ["rear_deck", "seat_bulkhead"]


def rear_deck() -> tuple[Points, Faces]:
    """The outer face of the hinged deck. Zero: front edge, centreline, where the crown would be flat; aft is x."""
    along, across = np.meshgrid(_stations(0, 1, 84), _stations(-1, 1, 92), indexing="ij")
    x = 1100 * along - 70 * along**3 * across**2
    half = 470 - 40 * along**2 - 55 * along**6
    y = half * across
    return _skin(x, y, _crown(along, across) + _bulge(x, y) + _louvres(x, y))


def _stations(low: float, high: float, count: int) -> Points:
    return np.linspace(low, high, count)


def _crown(along: Points, across: Points) -> Points:
    """Domed across, falling towards the tail, with turned-down edges and a small lip at the tail."""
    dome = -70 * np.abs(across) ** 2.4
    tail = -165 * np.clip(along - 0.28, 0, 1) ** 1.7
    edge = -46 * np.clip((np.abs(across) - 0.9) / 0.1, 0, 1) ** 1.5
    lip = 26 * np.clip((along - 0.94) / 0.06, 0, 1) ** 2
    front = -10 * np.clip((0.03 - along) / 0.03, 0, 1) ** 2
    return dome + tail + edge + lip + front


def _bulge(x: Points, y: Points) -> Points:
    """The teardrop blister over the plenum, right of the middle."""
    lengthwise = np.where(x < 320, np.exp(-(((x - 320) / 175) ** 2)), np.exp(-(((x - 320) / 320) ** 2)))
    blister: Points = 46 * lengthwise * np.exp(-(np.abs((y - 262) / 128) ** 3))
    return blister


def _louvres(x: Points, y: Points) -> Points:
    """Eight pressed louvres over the exhaust, each rising slowly and dropping sharply."""
    step = np.mod(x - 300, 44) / 44
    ramp = np.where(step < 0.72, step / 0.72, (1 - step) / 0.28)
    inside = _window(x, 300, 652) * _window(-y, 120, 330)
    return 9 * ramp * inside


def _window(values: Points, low: float, high: float) -> Points:
    rise = np.clip((values - low) / 16, 0, 1) * np.clip((high - values) / 16, 0, 1)
    return rise * rise * (3 - 2 * rise)


def seat_bulkhead() -> tuple[Points, Faces]:
    """The bay side of the bulkhead. Zero: foot, centreline; its flat lies in x = 0 and faces aft."""
    across, up = np.meshgrid(_stations(-1, 1, 104), _stations(0, 1, 94), indexing="ij")
    half = 350 - 60 * np.clip((up - 0.55) / 0.45, 0, 1) ** 2
    y, z = half * across, 25 + 575 * up
    return _skin(_beads(y, z) + _flange(up), y, z)


def _flange(up: Points) -> Points:
    """Foot and head are joggled towards the seats."""
    to_edge = 575 * np.minimum(up, 1 - up)
    flange: Points = -14 * np.clip((14 - to_edge) / 14, 0, 1) ** 1.6
    return flange


def _beads(y: Points, z: Points) -> Points:
    """Swaged beads, raised 7 mm into the bay: two uprights, a cross in the lower field, a ring above."""
    uprights = [_bead(np.abs(y - at), 18) * _window(z, 110, 540) for at in (-215.0, 215.0)]
    crossed = _window(z, 110, 330) * _window(y, -180, 180)
    diagonal = [_bead(np.abs((z - 220) - slope * y) / np.hypot(1, slope), 18) * crossed for slope in (-0.62, 0.62)]
    ring = _bead(np.abs(np.hypot(y, z - 440) - 66), 18)
    raised: Points = 7 * np.maximum.reduce([*uprights, *diagonal, ring])
    return raised


def _bead(off: Points, half_width: float) -> Points:
    inside: Points = 0.5 + 0.5 * np.cos(np.pi * np.clip(off / half_width, 0, 1))
    return inside


def _skin(x: Points, y: Points, z: Points) -> tuple[Points, Faces]:
    rows, columns = x.shape
    points = np.round(np.stack([x, y, z], axis=2).reshape(-1, 3), 2)
    return points, grid_faces(rows, columns)
