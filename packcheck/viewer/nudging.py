"""A part put elsewhere by hand: where it stands then, what its gaps become, how the scene says so."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from packcheck.arrays import Matrix3, Vector, frozen
from packcheck.assembly.assembly import Assembly, displaced
from packcheck.assembly.restraint import refuse_restrained
from packcheck.errors import Fault, QueryError, SceneError
from packcheck.findings import Finding
from packcheck.frames import Pose, turn_degrees, turn_matrix
from packcheck.proximity import Placed, Separation, Session
from packcheck.scene.editing import Change, Mm, Plan, Put, planned, written_parts
from packcheck.scene.model.scene import Triple
from packcheck.studies import gaps
from packcheck.tolerances import CONTACT_BAND

__all__ = ["Glance", "Nudge", "carried_along", "gaps_of", "nudged", "planned_nudge"]

OPEN: Final = "they overlap; how deep is being worked out"
ROUNDED: Final = 6  # decimals of mm and degrees written


@dataclass(frozen=True, slots=True, eq=False)
class Nudge:
    """How far `part` was shifted (3,) mm and turned (3, 3) about its own zero, along the car's axes."""

    part: str
    shift: Vector = field(default_factory=lambda: frozen(np.zeros(3)))
    turn: Matrix3 = field(default_factory=lambda: frozen(np.eye(3)))

    def shifted(self, by: Vector) -> Nudge:
        return replace(self, shift=frozen(self.shift + by))

    def turned(self, degrees: Vector) -> Nudge:
        """Turned further by `degrees` (3,) about the car's x, then y, then z."""
        return replace(self, turn=frozen(turn_matrix(degrees) @ self.turn))

    @property
    def still(self) -> bool:
        return not self.shift.any() and bool(np.allclose(self.turn, np.eye(3), atol=1e-12))

    @property
    def only_shifts(self) -> bool:
        return bool(np.allclose(self.turn, np.eye(3), atol=1e-12))


def carried_along(assembly: Assembly, nudge: Nudge) -> dict[str, Pose]:
    """Where the part and all that hangs on it go: the pose of each, car frame, from where it stands."""
    here = assembly.poses[nudge.part].translation
    carried = Pose(nudge.turn, frozen(here + nudge.shift - nudge.turn @ here))
    return dict.fromkeys((nudge.part, *assembly.carried_by(nudge.part)), carried)


def nudged(assembly: Assembly, nudge: Nudge) -> Assembly:
    """The assembly with the part, and all that hangs on it, moved along; everything else is the same."""
    moved = carried_along(assembly, nudge)
    there = displaced(assembly, moved, moved[nudge.part])
    boxes = assembly.boxes.copy()
    for k, name in enumerate(assembly.parts):
        if name in moved:
            boxes[k] = there.parts[name].box()
    return replace(there, boxes=boxes)


@dataclass(slots=True)
class Glance(Session):
    """A session that leaves open how deep shapes overlap that are not convex: that alone takes long.

    It asks `whole`, which remembers. `left_open` tells that something was.
    """

    whole: Session = field(default_factory=Session)
    left_open: bool = False

    def gap_within(self, a: Placed, b: Placed, reach: float, enough: float = CONTACT_BAND / 2) -> Separation | None:
        """As of a session; raises QueryError where a depth is left open."""
        (low_a, high_a), (low_b, high_b) = a.box(), b.box()
        meet = bool((np.maximum(low_a, low_b) <= np.minimum(high_a, high_b)).all())
        if meet and not (a.convex and b.convex) and self.whole.bounds(a, b, reach).low == -np.inf:
            self.left_open = True
            raise QueryError([Fault(None, OPEN)])
        return self.whole.gap_within(a, b, reach, enough)


def gaps_of(assembly: Assembly, session: Session, nudge: Nudge) -> tuple[Finding, ...]:
    """The gaps of the nudged part and all that hangs on it, worst first."""
    members = (nudge.part, *assembly.carried_by(nudge.part))
    findings = gaps.run(nudged(assembly, nudge), session, members).findings
    return tuple(sorted(findings, key=lambda finding: finding.sort_key))


def planned_nudge(assembly: Assembly, nudge: Nudge) -> Plan:
    """The change of the scene's files that puts the part where it was nudged. Nothing is written yet.

    Raises
    ------
    SceneError
        When the place of the part is not written as `at` and `turn`, the change cannot be made, or the part is a
        restraint.
    """
    refuse_restrained(assembly, nudge.part)
    at, turn = _written_place(assembly, nudge)
    changes: list[Change] = [Put(("parts", nudge.part, "at"), [Mm(length) for length in at])]
    if not nudge.only_shifts:
        changes.append(Put(("parts", nudge.part, "turn"), list(turn)))
    return planned(assembly.scene, changes)


def _written_place(assembly: Assembly, nudge: Nudge) -> tuple[Triple, Triple]:
    """`at` and `turn` of the nudged part in its parent: mm and degrees."""
    part = assembly.scene.parts[nudge.part]
    if nudge.part not in written_parts(assembly.scene):
        raise _not_ours(nudge.part, "it is made from another part")
    if part.solids and not part.placed:
        raise _not_ours(nudge.part, "it has no `at`: the numbers of its shape place it")
    car_from_parent = assembly.carrier(nudge.part)
    as_written = car_from_parent @ Pose.of(part.at, part.turn)
    if not _same(as_written, assembly.poses[nudge.part]):
        raise _not_ours(nudge.part, "it is mirrored, moved or rested from where `at` puts it")
    parent_from_car = car_from_parent.rotation.T
    at = np.asarray(part.at) + parent_from_car @ nudge.shift
    turned = parent_from_car @ nudge.turn @ as_written.rotation
    return _triple(at), _triple(np.array(turn_degrees(turned)))


def _same(a: Pose, b: Pose) -> bool:
    alike = np.allclose(a.rotation, b.rotation, atol=1e-9) and np.allclose(a.translation, b.translation, atol=1e-6)
    return bool(alike)


def _triple(values: Vector) -> Triple:
    x, y, z = (round(float(value), ROUNDED) + 0.0 for value in values)
    return x, y, z


def _not_ours(part: str, why: str) -> SceneError:
    return SceneError(
        [Fault(None, f"part '{part}' cannot be put elsewhere from here", why, "change it in the file")]
    )
