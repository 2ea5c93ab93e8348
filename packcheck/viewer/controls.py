"""What keys, clicks in the panel and sliders do: the window without its graphics."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from enum import Enum
from typing import Final

from packcheck.viewer.desk import Desk
from packcheck.viewer.shown import Shown
from packcheck.viewer.sight import extent

__all__ = ["After", "Controls"]

NUDGES: Final = {"Up": "fore", "Down": "aft", "Left": "left", "Right": "right", "Prior": "up", "Next": "down"}
CUTS: Final = {"bracketleft": -1.0, "bracketright": 1.0, "braceleft": -5.0, "braceright": 5.0}
SLIDES: Final = {"comma": -0.02, "period": 0.02}


class After(Enum):
    """What a window does after something was done: nothing, draw anew, take the camera there as well, close."""

    NOTHING = "nothing"
    AGAIN = "again"
    LOOK = "look"
    CLOSE = "close"


@dataclass(slots=True)
class Controls:
    """The desk, what of it is shown, and everything that can be done to both."""

    desk: Desk
    shown: Shown = field(default_factory=Shown)

    def key(self, name: str, *, shift: bool = False) -> After:
        """What a key does: `packcheck view --help` lists them."""
        low = name.lower()
        if name in NUDGES:
            self.desk.shift(NUDGES[name], 5.0 if shift else 1.0)
        elif low in ("x", "y", "z"):
            axes = self.desk.model.axes
            self.desk.turn(axes["xyz".index(low)], -1.0 if shift else 1.0)
        elif name in CUTS:
            self._shift_cut(CUTS[name] * (5.0 if shift and "bracket" in name else 1.0))
        elif name in SLIDES:
            self._slide_on(SLIDES[name])
        elif low == "q":
            return After.CLOSE
        elif low in self._moves():
            self._moves()[low]()
            return After.LOOK
        elif low in self._switches(shift=shift):
            self._switches(shift=shift)[low]()
        else:
            return After.NOTHING
        return After.AGAIN

    def _moves(self) -> dict[str, Callable[[], None]]:
        """Keys after which the camera goes elsewhere."""
        return {"n": lambda: self.step(1), "p": lambda: self.step(-1), "home": self.whole}

    def _switches(self, *, shift: bool) -> dict[str, Callable[[], None]]:
        return {
            "c": lambda: self.shown.flip("cutting"),
            "b": lambda: self.shown.flip("skins"),
            "l": lambda: self.shown.flip("names"),
            "d": lambda: self.shown.flip("datums"),
            "e": lambda: self.shown.flip("ends"),
            "h": self._hide,
            "a": self.shown.hidden.clear,
            "m": lambda: self.desk.play_next() if shift else self.desk.play(),
            "return": self.desk.enter,
            "kp_enter": self.desk.enter,
            "escape": self.desk.undo,
        }

    def step(self, by: int) -> None:
        self.shown.cut = 0.0
        self.desk.step(by)

    def whole(self) -> None:
        self.shown.cut = 0.0
        self.desk.whole()

    def _hide(self) -> None:
        if self.desk.nudge is not None:
            kinds = self.desk.bay.assembly.scene.parts[self.desk.nudge.part].kinds
            self.shown.hidden |= set(kinds or ("no kind",))

    def _shift_cut(self, by: float) -> None:
        self.shown.cutting = True
        self.shown.cut += by

    def _slide_on(self, by: float) -> None:
        player = self.desk.player
        if player is not None:
            player.slide(min(max(player.share + by, 0.0), 1.0), snap=False)

    def do(self, act: tuple[str, ...], share: float = 0.0) -> After:
        """What a click on something of the panel does; `share` is where along a slider, 0 to 1."""
        match act:
            case ("finding", number):
                self.shown.cut = 0.0
                self.desk.go_to(int(number))
                return After.LOOK
            case ("whole",):
                self.whole()
                return After.LOOK
            case ("switch", what):
                self.shown.flip(what)
            case ("kind", kind):
                self.shown.flip_kinds({kind})
            case ("play", motion):
                self.desk.play(motion)
            case ("slide", motion):
                self.desk.slide(motion, share)
            case ("cut",):
                self.shown.cutting = True
                self.shown.cut = (2 * share - 1) * self.cut_reach
            case _:
                return After.NOTHING
        return After.AGAIN

    @property
    def cut_reach(self) -> float:
        """How far the section can be slid from the spot, mm, both ways."""
        return extent(self.desk)[1]
