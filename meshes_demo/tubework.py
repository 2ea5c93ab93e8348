"""Exhaust manifold, intake plenum and air filter: things bent, rolled and welded from tube and sheet."""

from __future__ import annotations

import numpy as np
from manifold3d import Manifold
from shaping import (
    Points,
    along_x,
    along_y,
    drum,
    joined,
    loft,
    ring_across_x,
    ring_across_y,
    rounded_box,
    rounded_ring,
    smooth_path,
    sweep,
    turned,
)

__all__ = ["air_filter", "exhaust_manifold", "intake_plenum"]

PORTS = (-150.0, -50.0, 50.0, 150.0)  # along the head, from its middle


def exhaust_manifold() -> Manifold:
    """Four runners into one collector. Zero: middle of the head face; runners leave along -y and turn aft.

    Drawn for the right side of an engine, and reflected to the left.
    """
    flanges = [_port_flange(x) for x in PORTS]
    straps = [rounded_box((x, 0, -5), (x + 100, 8, 5), 1.0) for x in PORTS[:3]]
    outside = joined([*flanges, *straps, *_runners(), _collector()])
    return (outside - _outlet_bore()).mirror((0.0, 1.0, 0.0))


def _port_flange(x: float) -> Manifold:
    ring = rounded_ring(88, 62, 3.2)
    plate = loft([ring_across_y(ring, x, y) for y in (0, 10)])
    nuts = [along_y(drum(8.5, 8, 17, sides=6)).translate((x + side * 33, 0, side * 12)) for side in (-1, 1)]
    bead = along_y(turned([(8, 20), (8, 25), (14, 22), (14, 20)], 32)).translate((x, 0, 0))
    return joined([plate, *nuts, bead])


def _runners() -> list[Manifold]:
    """The foremost runner drops first and goes lowest; each later one comes down on top of the one before."""
    middles = [
        [(-148, 70, -8), (-118, 97, -88), (-40, 96, -146), (60, 95, -150), (150, 95, -150)],
        [(-48, 80, -6), (-26, 134, -52), (20, 150, -118), (90, 144, -150), (160, 141, -150)],
        [(53, 68, -4), (82, 98, -46), (128, 98, -92), (180, 95, -104)],
        [(152, 76, -4), (166, 128, -28), (186, 150, -82), (212, 143, -103)],
    ]
    ends = [(95, -150), (141, -150), (95, -104), (141, -104)]
    runners = []
    for x, middle, (y, z) in zip(PORTS, middles, ends, strict=True):
        path = smooth_path([(x, 4, 0), (x, 38, 0), *middle, (238, y, z), (262, y, z)], 46)
        runners.append(sweep(path, 21.0, 28))
    return runners


def _collector() -> Manifold:
    """Four tubes gathered in a cone; a welded outlet and its clamp flange."""
    cone = loft([_collector_ring(*station) for station in _COLLECTOR_STATIONS])
    bead = loft([_collector_ring(x, size, 4.3) for x, size in ((247, 94), (250, 97), (255, 97), (258, 94))])
    clamp = along_x(drum(40, 372, 386, edge=3.0, sides=48)).translate((0, 118, -127))
    return joined([cone, bead, clamp])


_COLLECTOR_STATIONS = (
    (248, 92, 4.3), (262, 92, 4.2), (276, 90, 3.7), (290, 85, 3.1), (304, 78, 2.6), (318, 70, 2.25),
    (332, 64, 2.05), (344, 62, 2.0), (384, 62, 2.0),
)  # fmt: skip


def _collector_ring(x: float, size: float, power: float) -> Points:
    """Square with round corners where it takes the bundle of four, a circle where it leaves as one."""
    return ring_across_x(rounded_ring(size, size, power), x, 118, -127)


def _outlet_bore() -> Manifold:
    return along_x(turned([(345, 26), (390, 27.5)], 40)).translate((0, 118, -127))


def intake_plenum() -> Manifold:
    """A cast log on four curved trumpets. Zero: middle of the head face; the log lies along +y and up.

    Drawn for the left side of an engine, and reflected to the right.
    """
    flanges = [_intake_flange(x) for x in PORTS]
    log = [_log(), _lid(), *_log_ribs(), _throttle_flange(), *_nipples()]
    return joined([*flanges, *map(_trumpet, PORTS), *log]).mirror((0.0, 1.0, 0.0))


def _intake_flange(x: float) -> Manifold:
    ring = rounded_ring(84, 56, 3.0)
    bosses = [along_y(drum(9, -15, -2, sides=20)).translate((x + side * 31, 0, side * 10)) for side in (-1, 1)]
    return joined([loft([ring_across_y(ring, x, y) for y in (0, -10)]), *bosses])


def _trumpet(x: float) -> Manifold:
    knots = [(x, -2, 0), (x, -32, 2), (x * 0.98, -78, 18), (x * 0.95, -122, 56), (x * 0.94, -140, 96)]
    widening = np.concatenate([np.full(16, 21.0), np.linspace(21.0, 29.0, 14)])
    return sweep(smooth_path(knots, 30), widening, 28)


def _log() -> Manifold:
    """The plenum itself, 150 mm high, tapering away from the throttle."""
    return loft([_log_ring(*station) for station in _LOG_STATIONS])


_LOG_STATIONS = (
    (-196, 0.62, 0.66), (-192, 0.74, 0.77), (-184, 0.82, 0.85), (-168, 0.88, 0.90), (-100, 0.92, 0.94),
    (60, 0.96, 0.97), (150, 0.97, 0.98), (176, 0.95, 0.95), (190, 0.88, 0.87), (197, 0.78, 0.77), (200, 0.70, 0.70),
)  # fmt: skip


def _log_ring(x: float, wide: float, high: float, proud: float = 0.0) -> Points:
    ring = rounded_ring(140 * wide + 2 * proud, 150 * high + 2 * proud, 4.0)
    return ring_across_x(ring, x, -172, 121)


def _lid() -> Manifold:
    """The bolted joint that runs round the log: a slice of it, a little larger."""
    larger = _log().translate((0, 172, 0)).scale((1.03, 1.12, 1.0)).translate((0, -172, 0))
    seam = larger.trim_by_plane((0, 0, 1), 114).trim_by_plane((0, 0, -1), -126)
    rows = [(x, -172 + side * (70 + x / 60)) for x in range(-150, 151, 60) for side in (-1, 1)]
    bolts = [drum(6.5, 110, 132, sides=6).translate((x, y, 0)) for x, y in rows]
    return joined([seam, *bolts])


def _log_ribs() -> list[Manifold]:
    """Cast hoops round the log, 3 mm proud."""
    return [_log_rib(float(x)) for x in range(-140, 161, 50)]


def _log_rib(x: float) -> Manifold:
    stations, *sizes = np.array(_LOG_STATIONS).T
    wide, high = (float(np.interp(x, stations, size)) for size in sizes)
    return loft([_log_ring(x + step, wide, high, proud) for step, proud in ((-5, 0), (-3, 3), (3, 3), (5, 0))])


def _throttle_flange() -> Manifold:
    plate = along_x(drum(48, 196, 212, edge=2.0, sides=48))
    ears = [along_x(drum(9, 198, 212, sides=16)).translate((0, y, z)) for y in (-38, 38) for z in (-38, 38)]
    return joined([plate, *ears]).translate((0, -172, 121))


def _nipples() -> list[Manifold]:
    spout = turned([(0, 9), (12, 9), (13, 6), (26, 6), (28, 7.2), (31, 7.2), (34, 5.6)], 24)
    return [
        spout.rotate((90, 0, 0)).translate((-120, -232, 80)),
        spout.rotate((90, 0, 0)).translate((20, -238, 80)),
    ]


def air_filter() -> Manifold:
    """A pleated cone hanging from its neck. Zero: middle of the neck's upper face; down is -z, 140 long."""
    return joined([_pleats(), _foot(), _neck(), _band(), _band_screw()])


_FOLDS, _FOLD = 41, 4.5  # how many, and how deep, mm


def _pleats() -> Manifold:
    """Wire and gauze in folds, wider towards the foot."""
    return loft([_pleat_ring(float(z)) for z in np.linspace(-126, -26, 33)])


def _pleat_ring(z: float) -> Points:
    angle = np.linspace(0.0, 2 * np.pi, 4 * _FOLDS, endpoint=False)
    fold = np.tile([0.0, 0.75, 1.0, 0.75], _FOLDS)
    radius = 46.0 - 0.22 * (z + 26) + _FOLD * (fold - 1.0)
    return np.column_stack([radius * np.cos(angle), radius * np.sin(angle), np.full(4 * _FOLDS, z)])


def _foot() -> Manifold:
    profile = [(-140, 58), (-138, 66), (-134, 73), (-130, 75), (-124, 75), (-121, 72), (-120, 64)]
    dimple = turned([(-141, 34), (-137, 30), (-136, 20)], 48)
    return turned(profile, 84) - dimple


def _neck() -> Manifold:
    return turned([(-34, 44), (-32, 49), (-27, 50), (-20, 50), (-18, 46), (0, 46)], 72)


def _band() -> Manifold:
    """The clamp round the neck."""
    return turned([(-15, 45.5), (-14.5, 47.2), (-6, 47.2), (-5.5, 45.5)], 72)


def _band_screw() -> Manifold:
    return along_y(drum(4.2, -10, 12, edge=0.8, sides=14)).translate((49, 0, -10.3))
