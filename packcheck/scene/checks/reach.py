"""What may each key of a scene file name? The one table that all checks of names are made from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import product
from typing import Final

from packcheck.scene.quantities.resting import REST_WORDS

__all__ = ["KEYS", "REACH", "Reach", "reach_at"]

CAR: Final = "the car"
FRAME: Final = "frame"
PART: Final = "part"
ROW: Final = "repeated part"
TEMPLATE: Final = "template"
KIND: Final = "kind"
ANY: Final = "any part"
POINT: Final = "point"
TOOL: Final = "instrument"
LAYOUT: Final = "layout"


@dataclass(frozen=True, slots=True)
class Reach:
    """The sorts of names that a key takes, and the words for them.

    `faces`: a part's face may stand behind the name (``pump.top``). `aside`: sorts that are not allowed either,
    which another check tells of in words of its own. `own`: everything about this key is told by another check.
    `rows`: a repeated part stands for its members, which are written out before names are asked after.
    """

    sorts: frozenset[str]
    needed: str
    faces: bool = False
    aside: frozenset[str] = field(default=frozenset())
    own: bool = False
    rows: bool = False


def _reach(*sorts: str, needed: str, aside: tuple[str, ...] = (), own: bool = False, rows: bool = False) -> Reach:
    return Reach(frozenset(sorts), needed, aside=frozenset(aside), own=own, rows=rows)


_PLACE: Final = _reach(CAR, FRAME, PART, needed="a frame or a part")
_STANDS_IN: Final = _reach(CAR, FRAME, PART, needed="a frame or a part", aside=(ROW,))
_SPOT: Final = replace(_PLACE, faces=True)
_PART: Final = _reach(PART, needed="a part")
_PARTS: Final = _reach(PART, needed="a part", rows=True)
_POINT: Final = _reach(POINT, CAR, FRAME, PART, needed="a point of the survey")

_POINT_KEYS: Final = ("tape", "offset", "from", "level", "angle", "plumb", "lies_on", "plane", "line")
_FACES: Final = ("front", "rear", "left", "right", "top", "bottom")

REACH: Final[Mapping[str, Mapping[str, Reach]]] = {
    "frames": {"in": _STANDS_IN},
    "parts": {
        "in": replace(_STANDS_IN, rows=True),
        "kind": _reach(KIND, needed="a kind", own=True),
        "like": _reach(PART, TEMPLATE, ROW, needed="a part or a template", own=True),
        "mirror_of": _reach(PART, ROW, needed="a part", own=True),
        "mirror_of.part": _reach(PART, ROW, needed="a part", own=True),
        "mirror_of.across": _reach(CAR, FRAME, needed="a frame"),
        "bolted_to": _PARTS,
        "goes_into": _PARTS,
        **{f"faces.{face}.{word}": _PARTS for face, word in product(_FACES, REST_WORDS)},
    },
    "motions": {
        "in": _PLACE,
        "carries": _reach(FRAME, PART, KIND, needed="a part, a kind or a frame", aside=(CAR,)),
    },
    "rules": {"between": _reach(PART, KIND, ANY, needed="a part, a kind or *", rows=True)},
    "measures": {
        **{f"{sort}.{end}": _SPOT for sort in ("distance", "slope", "restraint") for end in ("from", "to")},
        **{f"{sort}.{end}.in": _PLACE for sort in ("distance", "slope", "restraint") for end in ("from", "to")},
        **{f"{sort}.point": _SPOT for sort in ("to_line", "to_plane")},
        **{f"{sort}.point.in": _PLACE for sort in ("to_line", "to_plane")},
        **{f"{line}.to": _SPOT for line in ("to_line.line", "incline")},
        **{f"{line}.to.in": _PLACE for line in ("to_line.line", "incline")},
        **{f"{one}.in": _PLACE for one in ("to_line.line", "to_plane.plane", "incline")},
        **{f"{sort}.{one}.in": _PLACE for sort in ("between_lines", "angle", "pulleys") for one in "ab"},
        **{f"{sort}.{one}.to": _SPOT for sort in ("between_lines", "angle", "pulleys") for one in "ab"},
        **{f"{sort}.{one}.to.in": _PLACE for sort in ("between_lines", "angle", "pulleys") for one in "ab"},
        **{f"between_planes.{one}.in": _PLACE for one in "ab"},
        **{f"height.{end}": _SPOT for end in ("of", "above")},
        **{f"height.{end}.in": _PLACE for end in ("of", "above")},
    },
    "points": {"in": _PLACE},
    "observations": {
        **dict.fromkeys(_POINT_KEYS, _POINT),
        "gap": _PART,
        "of": _PART,
        "axes": _PLACE,
        "with": _reach(TOOL, needed="an instrument of the survey"),
    },
    "place": dict.fromkeys(("origin", "toward.*", "side.*", "plane", "axis", "matched.*", "hinge"), _POINT),
    "rocks": {"axis": _POINT, "point": _POINT},
    "checks": {"between": _PART, "with": _reach(TOOL, needed="an instrument of the survey", own=True)},
    "layouts": {"from": _reach(LAYOUT, needed="a layout", own=True)},
}
"""By section, and by the way to the key in one of its things; `*` is a word of the user's own."""

KEYS: Final[Mapping[str, Reach]] = {
    "place": _reach(FRAME, PART, needed="a frame or a part", own=True),
    "place.matched": _reach(POINT, needed="a point of the survey", own=True),
}
"""Maps whose keys are themselves such names."""


def reach_at(section: str, way: tuple[str, ...]) -> Reach | None:
    """What may be named at a place in one thing of a section; None where names do not belong."""
    table = REACH[section]
    return table.get(".".join(way)) or (table.get(".".join((*way[:-1], "*"))) if len(way) > 1 else None)
