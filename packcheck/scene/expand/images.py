"""Mirror images: across what, and what of them is stated in the file."""

from __future__ import annotations

from collections.abc import Iterator

from packcheck.errors import Fault
from packcheck.scene.document.document import Copy, RawScene
from packcheck.scene.grammar import grammar
from packcheck.scene.model import scene as model
from packcheck.scene.model.directions import Ways, axis_of
from packcheck.scene.solids.shapes import SHAPES, ends_of
from packcheck.scene.text.nodes import ScalarNode
from packcheck.scene.text.written import maps_of

__all__ = ["centreline_faults", "mirror_of"]


def mirror_of(part: grammar.Part, copy: Copy, ways: Ways, raw: RawScene) -> model.Mirror | None:
    """Of what the part is the mirror image, if it is one."""
    if part.mirror_of is None:
        return None
    own = copy.own
    shaped = own.isdisjoint((*SHAPES, "solids"))
    ends = not shaped and ends_of(part) is not None
    return model.Mirror(
        part.mirror_of.part,
        part.mirror_of.across or _centreline(raw),
        axis_of(ways, "left").axis,
        placed=own.isdisjoint(("at", "faces")) and not ends,
        turned="turn" not in own and not ends,
        shaped=shaped,
        known=own.isdisjoint(("tolerance", "known")),
        needs="needs" in own,
        lined="lining" in own,
        default=part.mirror_of.across is None,
    )


def _centreline(raw: RawScene) -> str:
    """The frame that says it stands on the centreline, or the car."""
    return next(_declared(raw), model.CAR)


def _declared(raw: RawScene) -> Iterator[str]:
    for name, frame in maps_of(raw.tree.get("frames")).items():
        said = frame.get("centreline")
        if isinstance(said, ScalarNode) and said.value is True:
            yield name


def centreline_faults(raw: RawScene) -> Iterator[Fault]:
    """Every frame but the first that says it stands on the centreline."""
    frames = maps_of(raw.tree.get("frames"))
    first, *others = [*_declared(raw), ""]
    for name in filter(None, others):
        what = f"frame {name!r}: centreline stands here and with frame {first!r}, needs one place"
        why = "mirror images are taken across it"
        yield Fault(frames[name].entries["centreline"].mark, what, why, "keep one of them")
