"""How parts hang together. Oracle throughout: the definitions in the scene grammar, applied by hand."""

from __future__ import annotations

import pytest

from packcheck.placing.carriers import Relation, carrier, relation
from packcheck.scene.model.scene import Scene
from tests.assembly.scenes import part, scene

HOUSE: Scene = scene(
    part("block", on="engine_frame"),
    part("pump", on="block"),
    part("cap", on="pump"),
    part("rail", on="bulkhead"),
    part("tank", on="bulkhead"),
    part("deck"),
    part("lamp"),
    part("coil", on="cam_cover"),
    frames={"bulkhead": "car", "engine_frame": "bulkhead", "cam_cover": "block"},
)


@pytest.mark.parametrize(
    ("a", "b", "expected"),
    [
        pytest.param("block", "pump", Relation.ONE_PART, id="placed in one another"),
        pytest.param("block", "cap", Relation.ONE_PART, id="placed in a part of a part"),
        pytest.param("block", "coil", Relation.ONE_PART, id="on a frame of the part"),
        pytest.param("cap", "coil", Relation.ONE_PART, id="both on the same part"),
        pytest.param("rail", "tank", Relation.ONE_FRAME, id="on the same frame"),
        pytest.param("block", "rail", Relation.APART, id="on a frame and on the frame it stands in"),
        pytest.param("cap", "tank", Relation.APART, id="on a part of one frame, and on another frame"),
        pytest.param("deck", "lamp", Relation.APART, id="both on the car itself"),
    ],
)
def test_two_parts_hang_together_as_closely_as_their_parents_say(a: str, b: str, expected: Relation) -> None:
    carriers = carrier(HOUSE, a), carrier(HOUSE, b)
    assert relation(*carriers) == relation(*carriers[::-1]) == expected


def test_the_carrier_of_a_part_in_a_part_is_the_outermost_part_and_its_frame() -> None:
    found = carrier(HOUSE, "cap")
    assert (found.part, found.frame) == ("block", "engine_frame")
