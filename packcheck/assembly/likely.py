"""Which pairs that fall short look like joints that the file does not state, and by what evidence?

Contact comes first: an overlap no deeper than the seat, or a gap no wider than paint or a gasket, as drawn.
Something else must point to a joint as well: a name made to be bolted on, a word in both names, one part placed in
the other; or, weaker, a small part against a big one, or a kind that things are fastened to. Where the two only
touch within their tolerances, the weaker signs do not count; where they touch as drawn, but tolerances leave that
open, that one of them is structure does not. Where a rule asks for so much air that it must be
heat, fire or movement, nothing is taken for a joint. All of them stay shortfalls until the user says otherwise.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

import numpy as np

from packcheck.assembly.assembly import Assembly
from packcheck.data import KINDS, RESERVED
from packcheck.datums import length_words
from packcheck.findings import Finding, Verdict
from packcheck.tolerances import JOINT_GAP

__all__ = ["bulk", "looks_joined"]

SMALL: Final = 8.0
"""How many times the box of the big part holds that of the small one."""

MOST_ASKED: Final = 20.0
"""mm. Rules that ask for more keep heat, fire and movement away: no contact there looks intended."""

_ANYTHING: Final = "is of kind structure"
"""The weakest sign: it says nothing where tolerances leave open whether the two touch."""

FASTENERS: Final = {
    *("bracket", "mount", "mounting", "bolt", "stud", "nut", "washer", "spacer", "gasket", "flange", "clip"),
    *("clamp", "strap", "stay", "tray", "plate", "boss", "lug", "tab", "foot", "hanger", "hinge", "adapter"),
    *("adaptor", "cap", "cover", "lid", "pulley", "tensioner", "sender", "sensor", "union", "elbow", "cleat"),
    *("gusset", "crossmember"),
}
"""Words in the names of what is made to be fastened to something."""

FRAMEWORK: Final = ("structure", "body", "engine", "hose", "loom")
"""Kinds that other things are fastened to, and those that end on something."""

NEVER: Final = frozenset({"hand", "wheel", "restraint", *RESERVED})
"""Kinds that nothing is proposed to be bolted to: room for a hand, what turns on the road, belts and cages."""

_TOO_COMMON: Final = {
    *KINDS,
    *("left", "right", "front", "rear", "upper", "lower", "top", "bottom", "inner", "outer", "main", "old", "new"),
}


def looks_joined(assembly: Assembly, finding: Finding) -> str:
    """The evidence that the two parts of a finding are joined on purpose, in words; empty when there is none."""
    if finding.verdict not in (Verdict.FAIL, Verdict.UNSURE) or finding.value is None:
        return ""
    a, b = finding.subjects
    parts = assembly.scene.parts
    asked = finding.limit.must or 0.0
    if assembly.rules.joint(a, b) or asked > MOST_ASKED or NEVER & {*parts[a].kinds, *parts[b].kinds}:
        return ""
    contact = _contact(assembly, finding, 0.0)
    strong, slack = list(_strong_hints(assembly, a, b)), assembly.doubt(a, b).hard.most
    hints = [*strong, *_weak_hints(assembly, a, b)]
    if slack > JOINT_GAP and not strong and len(hints) == 1 and hints[0].endswith(_ANYTHING):
        return ""  # things stand on a frame as often as they are bolted to it
    if not contact:  # as drawn they stand apart, or too deep: only within their tolerances do they touch
        contact = _contact(assembly, finding, slack)
        hints = hints if strong else []
    return "; ".join([contact, *hints]) if contact and hints else ""


def bulk(assembly: Assembly, name: str) -> float:
    """Volume of the box round a part, mm3."""
    low, high = assembly.box(name)
    return float(np.prod(high - low))


def _contact(assembly: Assembly, finding: Finding, slack: float) -> str:
    value, seat = finding.value, assembly.scene.clearances.seat
    assert value is not None
    if not -seat - slack <= value <= JOINT_GAP + slack:
        return ""
    units = assembly.scene.units
    beyond = f", and tolerances of {length_words(slack, units)}" if slack else ""
    if value < 0:
        return f"overlap {length_words(-value, units)}, within a seat of {length_words(seat, units)}{beyond}"
    return f"gap {length_words(value, units)}, within {length_words(JOINT_GAP, units)}{beyond}"


def _strong_hints(assembly: Assembly, a: str, b: str) -> Iterator[str]:
    parts = assembly.scene.parts
    for name in (a, b):
        if named := next((word for word in _words(name) if word in FASTENERS), ""):
            yield f"{named} in the name {name}"
    if common := next((word for word in _words(a) if word in _words(b) and word not in _TOO_COMMON), ""):
        yield f"{common} in both names"
    for inner, outer in ((a, b), (b, a)):
        if parts[inner].parent == outer:
            yield f"{inner} is placed in {outer}"


def _weak_hints(assembly: Assembly, a: str, b: str) -> Iterator[str]:
    small, big = sorted((a, b), key=lambda name: bulk(assembly, name))
    ratio = bulk(assembly, big) / max(bulk(assembly, small), 1.0)
    if ratio >= SMALL:
        yield f"{small} is small beside {big} (1 to {ratio:.0f})"
    for name in (small, big):
        if kind := next((kind for kind in assembly.scene.parts[name].kinds if kind in FRAMEWORK), ""):
            yield f"{name} is of kind {kind}"
    if shared := [kind for kind in assembly.scene.parts[a].kinds if kind in assembly.scene.parts[b].kinds]:
        yield f"both are of kind {shared[0]}"


def _words(name: str) -> list[str]:
    """The words of a name, without a plural s."""
    words = re.findall(r"[^\W\d_]{3,}", name.lower())
    return [word.removesuffix("s") if not word.endswith("ss") else word for word in words]
