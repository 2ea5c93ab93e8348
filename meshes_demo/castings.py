"""Gearbox casing, cam cover and alternator: things poured into a mould, with ribs, bosses and fins."""

from __future__ import annotations

import numpy as np
from manifold3d import Manifold
from shaping import (
    Points,
    along_x,
    along_y,
    bar,
    drum,
    joined,
    loft,
    ring_across_x,
    rounded_box,
    rounded_ring,
    sweep,
    turned,
)

__all__ = ["alternator", "gearbox_casing", "head_cover"]


def gearbox_casing() -> Manifold:
    """Bell housing, final drive and gear case in one. Zero: middle of the engine face, on the crank; aft is x."""
    case = [_case(), _bell_flange(), *_bell_ribs(), *_case_ribs(), _final_drive(), _tail_cover()]
    details = [_turret(), _slave_boss(), _starter_pocket(), _drain_plug(), _breather()]
    return joined([*case, *details])


def _case() -> Manifold:
    """From the round bell to the gear case: width, height and how square, station by station."""
    stations = [
        (0, 284, 284, 2.0), (22, 282, 282, 2.0), (60, 256, 260, 2.1), (100, 224, 236, 2.5), (135, 206, 222, 3.2),
        (165, 204, 222, 3.8), (230, 196, 216, 4.2), (262, 176, 202, 4.2), (300, 166, 190, 4.2),
        (356, 160, 182, 4.2), (364, 150, 172, 4.0),
    ]  # fmt: skip
    return loft([_station(*station) for station in stations])


def _station(x: float, width: float, height: float, power: float) -> Points:
    """One section; the gear case hangs lower than the crank line the farther aft it goes."""
    ring = rounded_ring(width, height, power, 72)
    return ring_across_x(ring, x, 0, -18.0 * min(1.0, x / 160))


def _bell_flange() -> Manifold:
    rim = along_x(drum(148, 0, 14, edge=2.0, sides=96))
    angles = np.radians(np.arange(15, 375, 36))
    bosses = [along_x(drum(12, 0, 26, sides=16)).translate((0, 147 * np.cos(a), 147 * np.sin(a))) for a in angles]
    heads = [
        along_x(drum(8, 24, 34, sides=6)).translate((0, 147 * np.cos(a), 147 * np.sin(a)))
        for a in angles
    ]  # fmt: skip
    return joined([rim, *bosses, *heads])


def _bell_ribs() -> list[Manifold]:
    """Webs that run from the bell flange to the gear case."""
    ribs = []
    for degrees in (33, 69, 111, 147, 213, 249, 291, 327):
        out = np.array([np.cos(np.radians(degrees)), np.sin(np.radians(degrees))])
        start, end = out * 136, out * 92 + (0, -16)
        ribs.append(bar((10, *start), (150, *end), 9.0, 12))
    return ribs


def _case_ribs() -> list[Manifold]:
    """Fins across the gear case and a long rib down each side."""
    fins = [_fin(x, width, height) for x, width, height in ((205, 208, 228), (240, 200, 220), (285, 180, 202))]
    fins += [_fin(x, 172, 195) for x in (312, 338)]
    long_ribs = [bar((150, side * 101, z), (352, side * 79, z), 10.0, 12) for side in (-1, 1) for z in (-62, 18)]
    spine = [bar((140, y, 88), (352, y, 70), 9.0, 12) for y in (-46, 46)]
    return [*fins, *long_ribs, *spine]


def _fin(x: float, width: float, height: float) -> Manifold:
    ring = rounded_ring(width, height, 4.2, 72)
    return loft([ring_across_x(ring, at, 0, -18) for at in (x - 3, x + 3)])


def _final_drive() -> Manifold:
    """The swelling round the crown wheel, with an output flange face each side at y = -128 and +128."""
    swelling = turned([(-112, 62), (-108, 74), (-60, 92), (60, 92), (108, 74), (112, 62)], 56)
    bearing = turned([(-128, 52), (-126, 54), (126, 54), (128, 52)], 48)
    webs = [_drive_webs(side) for side in (-1, 1)]
    return joined([along_y(joined([swelling, bearing])), *webs]).translate((160, 0, -20))


def _drive_webs(side: int) -> Manifold:
    angles = np.radians(np.arange(0, 360, 45) + 22.5)
    return joined(
        bar(
            (50 * np.cos(a), side * 122, 50 * np.sin(a)),
            (86 * np.cos(a), side * 70, 86 * np.sin(a)),
            7.0,
        )
        for a in angles
    )


def _tail_cover() -> Manifold:
    plate = loft([_station(x, 176, 198, 4.2) for x in (352, 366)])
    dome = along_x(turned([(360, 62), (392, 58), (402, 46), (404, 30)], 48)).translate((0, 0, -30))
    bolts = [along_x(drum(7, 364, 375, sides=6)).translate((0, y, z - 18)) for y, z in _COVER_BOLTS]
    ribs = [bar((366, y, z), (398, y * 0.66, -30 + (z + 30) * 0.66), 8.0) for y, z in _COVER_RIBS]
    return joined([plate, dome, *bolts, *ribs])


_COVER_BOLTS = [(y, z) for y in (-66, 0, 66) for z in (-86, 86)] + [(y, z) for y in (-76, 76) for z in (-28, 28)]
_COVER_RIBS = [(-70, -30), (70, -30), (0, 52), (0, -102), (-52, 26), (52, 26), (-52, -86), (52, -86)]


def _turret() -> Manifold:
    """Where the gears are selected, on top and to the right."""
    tower = turned([(60, 34), (100, 28), (112, 28), (114, 34), (122, 34), (124, 31)], 40).translate((300, 34, 0))
    screws = [drum(4.5, 120, 128, sides=6).translate((300 + x, 34 + y, 0)) for x in (-24, 24) for y in (-12, 12)]
    return joined([tower, *screws])


def _slave_boss() -> Manifold:
    """The flat on the upper right that carries the clutch slave cylinder."""
    return rounded_box((60, 44, 96), (122, 96, 128), 5.0)


def _starter_pocket() -> Manifold:
    return along_x(turned([(0, 46), (30, 46), (62, 38), (74, 20)], 40)).translate((0, 134, -48))


def _drain_plug() -> Manifold:
    return turned([(-142, 9), (-140, 11), (-128, 11), (-127, 16), (-110, 16)], 6).translate((225, 0, 0))


def _breather() -> Manifold:
    spout = turned([(80, 8), (106, 8), (107, 5), (118, 5), (120, 6.5), (124, 6.5), (126, 4.5)], 20)
    return spout.translate((200, 0, 0))


def head_cover() -> Manifold:
    """Twin-cam cover. Zero: middle of the gasket face; 400 long (x), 180 wide (y), 72 high."""
    return joined([_rail_round_the_edge(), _humps(), *_cover_ribs(), *_cover_screws(), _oil_cap(), _cover_spout()])


def _rail_round_the_edge() -> Manifold:
    ring = rounded_ring(400, 180, 9.0, 96)
    levels = [(0, 1.0), (9, 1.0), (11, 0.985)]
    return loft([np.column_stack([ring * size, np.full(len(ring), z)]) for z, size in levels])


def _humps() -> Manifold:
    """Two cam tunnels with a valley for the coils between them, rounded off at both ends."""
    stations = [(-190, 0.45), (-186, 0.68), (-178, 0.86), (-166, 0.97), (-150, 1.0)]
    rows = [*stations, *[(x, 1.0) for x in range(-120, 121, 30)], *[(-x, size) for x, size in reversed(stations)]]
    return loft([_hump_section(float(x), size) for x, size in rows])


def _hump_section(x: float, size: float) -> Points:
    across = np.linspace(-84, 84, 57)
    top = np.column_stack([np.full(57, x), across, 4 + size * _hump_height(across)])
    floor = np.column_stack([np.full(28, x), np.linspace(80, -80, 28), np.full(28, 1.0)])
    return np.vstack([top, floor])


def _hump_height(across: Points) -> Points:
    side = np.clip((84 - np.abs(across)) / 26, 0, 1)
    wall = np.sin(side * np.pi / 2) ** 0.6
    crown: Points = 62 - 22 * np.exp(-((across / 20) ** 4)) - 0.004 * (np.abs(across) - 44) ** 2
    return wall * crown


def _cover_ribs() -> list[Manifold]:
    """Cast ribs over both humps, leaving the valley free."""
    across = np.linspace(24, 83, 18)
    ribs = []
    for x in range(-140, 141, 28):
        for side in (-1, 1):
            path = np.column_stack([np.full(18, x), side * across, 4.5 + _hump_height(across)])
            ribs.append(sweep(path, 3.0, 10))
    return ribs


def _cover_screws() -> list[Manifold]:
    places = [(x, side * 84) for x in (-165, -82, 0, 82, 165) for side in (-1, 1)]
    bosses = [drum(10, 1, 16, sides=20).translate((x, y, 0)) for x, y in places]
    heads = [drum(6.5, 14, 23, sides=6).translate((x, y, 0)) for x, y in places]
    return [*bosses, *heads]


def _oil_cap() -> Manifold:
    cap = turned([(50, 27), (68, 27), (69, 31), (82, 31), (85, 28)], 48)
    bar_grip = rounded_box((-26, -6, 80), (26, 6, 95), 3.0)
    return joined([cap, bar_grip]).translate((-110, -46, 0))


def _cover_spout() -> Manifold:
    """The breather, at the front of the right hump, pointing forward."""
    spout = turned([(0, 14), (12, 14), (13, 11), (30, 11), (32, 12.5), (36, 12.5), (40, 10)], 28)
    return along_x(spout).rotate((0, 0, 180)).translate((-178, 44, 42))


def alternator() -> Manifold:
    """Zero: middle of the drive end, on the shaft; the body runs aft along x."""
    body = turned(
        [(0, 26), (4, 30), (6, 50), (14, 60), (20, 63), (40, 63), (41, 60), (72, 60), (73, 63), (96, 63), (106, 58),
         (114, 46), (116, 30)],
        72,
    )  # fmt: skip
    fins = [_fin_of_alternator(angle) for angle in range(0, 360, 15)]
    hub = drum(16, -10, 4, sides=32)
    terminal = turned([(110, 8), (126, 8), (127, 4), (138, 4)], 16).translate((24, 20, 0))
    plug = rounded_box((-40, -14, 104), (-12, 14, 126), 3.0)
    slots = joined(_cooling_slot(angle + 7.5) for angle in range(0, 360, 15))
    housing = joined([body, *fins]) - slots
    return along_x(joined([housing, hub, terminal, plug, *_mounting_ears()]))


def _fin_of_alternator(degrees: float) -> Manifold:
    rib = rounded_box((56, -2.2, 8), (65.5, 2.2, 104), 1.8, 8)
    return rib.rotate((0, 0, degrees))


def _cooling_slot(degrees: float) -> Manifold:
    return rounded_box((36, -3.0, 100), (52, 3.0, 125), 2.4, 8).rotate((0, 0, degrees))


def _mounting_ears() -> list[Manifold]:
    """One lug below for the pivot bolt, one above for the tension strap."""
    lug = drum(14, 8, 40, sides=28).translate((0, 78, 0))
    web = rounded_box((-11, 48, 10), (11, 80, 38), 3.0)
    pivot = joined(
        [drum(15, 6, 98, sides=28).translate((0, -80, 0)), rounded_box((-13, -82, 8), (13, -46, 96), 3.0)]
    )
    return [lug, web, pivot]
