"""The tests' own reader and the package read the same of a scene: where all is exact, the same gaps."""

from __future__ import annotations

import pytest

from tests.worlds.asked import bounds_of, report_of
from tests.worlds.evaluate import gap_in
from tests.worlds.scene import read
from tests.worlds.sources import World

HEAD = """
packcheck: 1
clearances: {use: none, default: 10 m}
list_within: 20 m
"""

SCENES = {
    "copies": """
frames:
  floor: {at: [0, 12, 0], turn: [0, 4, 10], centreline: true}
  head: {in: floor, at: [300 aft, 0, 90 up], turn: [10, 0, 0]}
parts:
  p_clip: {template: true, box: [12, 20, 12], turn: [0, 10, 20]}
  clip_front: {like: p_clip, at: [220 aft, 0, 300 up]}
  clip_rear: {like: clip_front, at: [480 aft, 0, 300 up], box: [30, 20, 14]}
  rail_l: {at: [400 aft, 300 left, 100 up], box: [80, 40, 40], turn: [0, 4, 7]}
  rail_r: {mirror_of: rail_l}
  cap:
    in: head
    at: [30, 20, 10]
    solids: [{cylinder: {diameter: 40, length: 20}}, {box: [20, 60, 8], at: [5, 3, 14]}]
  other_cap: {mirror_of: {part: cap, across: head}}
  runner:
    in: head
    at: [0, 90 right, 0]
    turn: [40, 0, 0]
    cylinder: {diameter: 42, length: 120}
    repeat: {count: 3, step: [95 aft, 0, 0]}
  stub: {in: runner, at: [0, 0, 90 up], cylinder: {diameter: 50, length: 20}}
""",
    "inches": """
units: in
axes: {x: fore, y: left, z: up}
parts:
  coil: {at: [10, 4 right, 30 mm], anchor: [min, mid, max], box: [3, 2, 4.25], wrap: 0.25}
  rail: {at: [10, 60 mm, -12], turn: [0, 30, 0], cylinder: {diameter: 0.75, length: 14, along: x}}
  sleeve:
    faces: {rear: 9 aft, top: 20 up, left: 5 left}
    turn: [0, 35, 10]
    capsule: {diameter: 1, length: 3, along: x}
  ring: {at: [-20, 0, 0], tube: {outer: 6, inner: 5, length: 2, along: y}}
  pin: {at: [-20, 1, 1], sphere: {diameter: 1.5}}
""",
    "rests": """
frames:
  tilted: {at: [20, -10, 5], turn: [8, -5, 12]}
parts:
  rail: {in: tilted, at: [400 aft, 300 left, 100 up], box: [800, 40, 40], turn: [0, 3, 0]}
  tube: {in: tilted, at: [300 aft, 250 left, 100 up], turn: [0, 90, 5], cylinder: {diameter: 60, length: 700}}
  pump: {in: tilted, box: [140, 78, 90], faces: {front: 160 aft, left: 310 left, bottom: {above: rail, by: 18}}}
  clip:
    in: tilted
    box: [12, 12, 12]
    wrap: 2
    faces: {front: 190 aft, left: 300 left, bottom: {above: [pump, rail]}}
  relay: {in: tilted, sphere: {diameter: 40}, faces: {bottom: 62 up, left: 315 left, front: {behind: rail}}}
  under:
    in: tilted
    box: [30, 30, 30]
    turn: [20, 30, 0]
    faces: {front: 330 aft, left: 260 left, top: {below: tube}}
  aside:
    in: tilted
    box: [30, 30, 30]
    turn: [20, 0, 30]
    faces: {front: 330 aft, bottom: 90 up, right: {left_of: [rail, tube]}}
""",
}


@pytest.mark.parametrize("name", SCENES)
def test_both_read_the_same(name: str) -> None:
    """Oracle: the tests' own reading, from the manual alone, with contacts and gaps by other engines."""
    text = HEAD + SCENES[name]
    scene = read(text)
    said = bounds_of(scene, report_of(text))
    assert len(said) == len(scene.parts) * (len(scene.parts) - 1) // 2
    for bound in said:
        truth = gap_in(scene, World(), bound.a, bound.b, {})
        assert bound.low is not None and bound.high is not None
        assert bound.low - 0.02 - truth.error <= truth.value, (bound.a, bound.b)
        assert truth.value <= bound.high + 0.02 + truth.error or not truth.exact, (bound.a, bound.b)


@pytest.mark.parametrize("key", ["mesh: {file: a.stl}", "needs: {top: 5}", "lining: {face: top}", "box: [1, 2"])
def test_what_is_not_read_is_refused(key: str) -> None:
    """Oracle: the reader's own list. Nothing that bears on a shape is passed over in silence."""
    with pytest.raises(Exception, match=r"not read|shape|expected"):
        read(f"packcheck: 1\nparts:\n  a: {{sphere: {{diameter: 4}}, {key}}}\n")
