"""Which keys go together: a thing is placed one way, and sized one way. Checked on what is written, all at once."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from packcheck.errors import Fault
from packcheck.scene.solids.ended import ROUND
from packcheck.scene.solids.shapes import ENDED
from packcheck.scene.text.nodes import Entry, ListNode, MapNode

__all__ = ["form_faults"]

CONTRARY: Final = (("nose_up", "nose_down"), ("lean_left", "lean_right"), ("swing_left", "swing_right"))
"""Words of a turn of which one may be given."""


def form_faults(tree: MapNode) -> Iterator[Fault]:
    """Every thing that is placed, turned or sized twice, or half."""
    for name, frame in _named(tree, "frames"):
        yield from _contrary(frame, f"frame {name!r}: ")
    for name, part in _named(tree, "parts"):
        yield from _solid(part, f"part {name!r}: ")
        yield from _placed_by_faces(part, f"part {name!r}: ")
        solids = part.get("solids")
        for place, solid in enumerate(solids.items if isinstance(solids, ListNode) else (), start=1):
            if isinstance(solid, MapNode):
                yield from _solid(solid, f"part {name!r}: solids item {place}.")


def _named(tree: MapNode, section: str) -> Iterator[tuple[str, MapNode]]:
    node = tree.get(section)
    for name, entry in node.entries.items() if isinstance(node, MapNode) else ():
        if isinstance(entry.node, MapNode):
            yield name, entry.node


def _contrary(thing: MapNode, subject: str) -> Iterator[Fault]:
    """Turns both ways about one axis."""
    turn = thing.get("turn")
    for pair in CONTRARY:
        if isinstance(turn, MapNode) and all(word in turn.entries for word in pair):
            second = max(turn.entries[word].mark for word in pair)
            yield Fault(second, f"{subject}turn has {pair[0]} and {pair[1]}, needs one of them")


def _solid(solid: MapNode, subject: str) -> Iterator[Fault]:
    yield from _contrary(solid, subject)
    for key in ENDED:
        entry = solid.entries.get(key)
        if entry and isinstance(entry.node, MapNode):
            yield from _ends(key, entry, entry.node, subject)
            yield from _placed_by_ends(key, entry.node, solid, subject)


def _ends(key: str, entry: Entry, shape: MapNode, subject: str) -> Iterator[Fault]:
    """A length, or both ends."""
    if key not in ROUND:
        return
    given = [end for end in ("from", "to") if end in shape.entries]
    if not given and "length" not in shape.entries:
        yield Fault(entry.mark, f"{subject}{key} needs length", mend="write length:, or from: and to:")
    if len(given) == 1:
        (missing,) = {"from", "to"} - set(given)
        what = f"{subject}{key}.{given[0]} stands without {missing}, needs both"
        yield Fault(shape.entries[given[0]].mark, what)
    for other in ("length", "along"):
        if given and other in shape.entries:
            what = f"{subject}{key}.{other} stands beside {' and '.join(given)}"
            yield Fault(shape.entries[other].mark, what, "the two ends say it already", f"leave out {other}")


def _placed_by_ends(key: str, shape: MapNode, solid: MapNode, subject: str) -> Iterator[Fault]:
    if "from" in shape.entries or "to" in shape.entries:
        yield from _beside(solid, ("at", "turn", "anchor", "faces"), f"the ends of {key}", subject)


def _placed_by_faces(part: MapNode, subject: str) -> Iterator[Fault]:
    if "faces" in part.entries:
        yield from _beside(part, ("at", "anchor"), "faces", subject)


def _beside(thing: MapNode, keys: tuple[str, ...], what: str, subject: str) -> Iterator[Fault]:
    for key in keys:
        if key in thing.entries:
            why = f"{what} say already how it stands"
            yield Fault(thing.entries[key].mark, f"{subject}{key} stands beside {what}", why, f"leave out {key}")
