"""Small scenes whose truth is known by closed form: each is a place where doubt can be put together wrongly."""

from __future__ import annotations

from typing import Any, TypeAlias

__all__ = [
    "bore",
    "boxes_of_errors_turned_back",
    "carrier_and_hinge",
    "child_of_a_turned_part",
    "mirror_in_a_likely_frame",
    "path_about_a_carried_zero",
    "plates",
    "rail_and_pump",
    "shelf_and_rail",
    "stepped_rail",
    "unsure_hinge_drawn_open",
]

Tree: TypeAlias = dict[str, Any]


def _scene(parts: Tree, frames: Tree | None = None, motions: Tree | None = None) -> Tree:
    """A scene of which every pair is told, with nothing passed over as far apart."""
    found: Tree = {"packcheck": 1, "clearances": {"use": "none", "default": "10 m"}, "list_within": "20 m"}
    return found | {k: v for k, v in (("frames", frames), ("parts", parts), ("motions", motions)) if v}


def carrier_and_hinge(**doubt: Any) -> Tree:
    """A frame carries both parts; the line about which one turns stands in the car."""
    return _scene(
        {
            "a": {"in": "f", "at": [100, 0, 0], "box": [20, 20, 20]},
            "b": {"in": "f", "at": [-130, 0, 0], "box": [20, 20, 20]},
        },
        {"f": {"at": [0, 0, 0], **(doubt or {"tolerance": 5})}},
        {"m": {"carries": ["a"], "hinge": {"through": [0, 0, 0], "axis": "z", "from": 0, "to": 180}}},
    )


def rail_and_pump(**doubt: Any) -> Tree:
    """A pump rests on a rail, under a lid."""
    return _scene(
        {
            "rail": {"at": [0, 0, 0], "box": [200, 40, 40], **(doubt or {"tolerance": "4 mm"})},
            "pump": {
                "box": [50, 50, 50],
                "faces": {"front": 0, "bottom": {"above": "rail"}},
                "bolted_to": ["rail"],
            },
            "lid": {"box": [300, 300, 2], "faces": {"bottom": "76 up"}},
        }
    )


def boxes_of_errors_turned_back(**doubt: Any) -> Tree:
    """A lid that was drawn open by 90 degrees, with three numbers along the axes of the car."""
    return _scene(
        {
            "lid": {"at": [0, 0, 100], "box": [4, 100, 200], **(doubt or {"tolerance": [5, 0, 0]})},
            "b": {"at": [100, 0, -12], "box": [20, 20, 10]},
        },
        motions={"m": {"carries": ["lid"], "during": "service", "hinge": _lid_hinge()}},
    )


def _lid_hinge() -> Tree:
    return {"through": [0, 0, 0], "axis": "y", "from": -90, "to": 0, "placed_at": -90}


def unsure_hinge_drawn_open(**doubt: Any) -> Tree:
    """The same lid, exact, its line in a frame that is not."""
    return _scene(
        {
            "lid": {"at": [0, 0, 100], "box": [4, 100, 200]},
            "b": {"at": [100, 0, -12], "box": [20, 20, 10]},
        },
        {"h": {"at": [0, 0, 0], **(doubt or {"tolerance": 1.2})}},
        {"m": {"carries": ["lid"], "in": "h", "during": "service", "hinge": _lid_hinge()}},
    )


def mirror_in_a_likely_frame(**doubt: Any) -> Tree:
    """A part in a frame, and its image across the car."""
    return _scene(
        {"a": {"in": "f", "at": [0, 15, 0], "box": [20, 20, 20]}, "b": {"mirror_of": "a"}},
        {"f": {"at": [0, 0, 0], **(doubt or {"uncertainty": {"standard": "2 mm"}})}},
    )


def child_of_a_turned_part(degrees: float) -> Tree:
    """A part turned by so much, and one that hangs on it with three numbers, beside a wall."""
    return _scene(
        {
            "p": {"at": [0, 0, 0], "turn": [0, 0, degrees], "cylinder": {"diameter": 20, "length": 10}},
            "c": {"in": "p", "at": [0, 60, 0], "box": [10, 100, 10], "tolerance": [0, 8, 0]},
            "wall": {"at": [-121, 0, 0], "box": [2, 400, 400]},
        }
    )


def shelf_and_rail(height: float) -> Tree:
    """A pump rests on a rail or on a shelf beside it, whichever it meets first; a lid above."""
    shelf = {"at": [45, 0, height], "anchor": ["mid", "mid", "max"], "box": [30, 40, 10]}
    return _scene(
        {
            "rail": {"at": [0, 0, 0], "box": [40, 40, 40]},
            "shelf": shelf,
            "pump": {"box": [100, 30, 30], "faces": {"front": "50 fore", "bottom": {"above": ["rail", "shelf"]}}},
            "lid": {"at": [-35, 0, 90], "box": [20, 400, 4]},
        }
    )


def stepped_rail(along: float) -> Tree:
    """A pump rests on a rail with a step, which comes nearer."""
    rail = [{"box": [100, 40, 40]}, {"box": [40, 40, 80], "at": [-80, 0, 0]}]
    return _scene(
        {
            "rail": {"at": [along, 0, 0], "solids": rail},
            "pump": {"box": [30, 30, 30], "faces": {"front": "15 fore", "bottom": {"above": "rail"}}},
            "lid": {"at": [0, 0, 72], "box": [20, 20, 4]},
        }
    )


def path_about_a_carried_zero(place: tuple[float, float, float]) -> Tree:
    """A path without `about` turns about the zero of what it carries first; that hangs on a part put at `place`."""
    stops = [{"at": [0, 0, 0]}, {"at": [0, 0, 0], "turn": [0, 0, 90]}]
    return _scene(
        {
            "p": {"at": list(place), "box": [20, 20, 20]},
            "a": {"in": "p", "at": [0, -100, 0], "sphere": {"diameter": 4}},
            "b": {"at": [100, 0, 0], "sphere": {"diameter": 10}},
        },
        motions={"m": {"carries": ["a", "b"], "path": stops}},
    )


def bore() -> Tree:
    """A long shaft in a short bore."""
    return _scene(
        {
            "shaft": {
                "at": [0, 0, 0],
                "cylinder": {"diameter": 40, "length": 400, "along": "x"},
                "uncertainty": {"standard": "2 mm"},
            },
            "bore": {"at": [0, 0, 0], "tube": {"outer": 80, "inner": 60, "length": 60, "along": "x"}},
        }
    )


def plates() -> Tree:
    """A large lid over a large box, whose tilt is not known."""
    doubt = {"standard": "0.01 mm", "turn_standard": [0.4, 0.4, 0]}
    return _scene(
        {
            "lid": {"at": [0, 0, 25], "box": [600, 600, 10], "uncertainty": doubt},
            "box": {"at": [0, 0, 0], "box": [600, 600, 20]},
        }
    )
