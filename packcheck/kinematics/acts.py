"""What acts together, and the parameters that drive it."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

from packcheck.scene.model.motion import FullTurn, Held, Hinge, Motion, Rock, State, Travel
from packcheck.scene.model.motion import Path as MotionPath
from packcheck.scene.model.scene import Part

__all__ = ["Act", "Drive", "alone", "drives_of", "used"]


@dataclass(frozen=True, slots=True)
class Drive:
    """One parameter of a motion. `word` tells those of a rock apart ("turn x"); `unit` is deg, mm or stop."""

    motion: str
    word: str
    unit: str
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Act:
    """Motions that act at the same time, in the order of the file.

    Of `held` each stands in its range meanwhile. Then the act is that of one motion, or of the use of one room:
    `of` is its name, and nothing else is asked.
    """

    state: State
    motions: tuple[str, ...]
    held: tuple[Held, ...] = ()
    of: str = ""

    def drive(self, drive: Drive) -> Drive:
        """The drive, as far as it goes in this act."""
        ranges = [held.range for held in self.held if held.motion == drive.motion]
        return replace(drive, low=ranges[0][0], high=ranges[0][1]) if ranges else drive

    def asks(self, a: str, b: str, motions: Collection[str]) -> bool:
        """Whether the act asks of two parts that `motions` move against each other."""
        return not self.of or self.of in motions or self.of in (a, b)


def alone(motion: Motion) -> Act:
    """The act of one motion, and of what it holds at a setting meanwhile."""
    held = tuple(one.motion for one in motion.held)
    return Act(motion.during, (motion.name, *held), motion.held, motion.name if held else "")


def used(room: Part) -> Act:
    """The use of a room, and of what is held at a setting for it."""
    return Act("service", tuple(one.motion for one in room.held), room.held, room.name)


def drives_of(motion: Motion) -> tuple[Drive, ...]:
    """The parameters of a motion, all along its way."""
    match motion.movement:
        case Hinge(range=(low, high)):
            return (Drive(motion.name, "", "deg", low, high),)
        case FullTurn():
            return (Drive(motion.name, "", "deg", 0.0, 360.0),)
        case Travel(range=(low, high)):
            return (Drive(motion.name, "", "mm", low, high),)
        case MotionPath(stops=stops):
            return (Drive(motion.name, "", "stop", 1.0, float(len(stops))),)
        case Rock(turn=turn, shift=shift):
            named = [("turn", "deg", turn), ("shift", "mm", shift)]
            return tuple(
                Drive(motion.name, f"{word} {axis}", unit, *ends)
                for word, unit, ranges in named
                for axis, ends in zip("xyz", ranges, strict=True)
                if ends is not None
            )
