"""The window: keys, clicks and a timer around a picture; and pictures taken without one."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from packcheck.errors import SceneError
from packcheck.viewer.desk import Desk
from packcheck.viewer.picture import Picture

__all__ = ["Window", "no_display", "shoot"]

SIZE: Final = (1280, 860)
SLIP: Final = 4  # px a click may move
BEAT: Final = 400  # ms between looks at the files

NUDGES: Final = {"Up": "fore", "Down": "aft", "Left": "left", "Right": "right", "Prior": "up", "Next": "down"}


class Window:
    """A desk in a window. `off_screen` draws without one."""

    def __init__(self, desk: Desk, *, off_screen: bool = False, size: tuple[int, int] = SIZE) -> None:
        self.desk = desk
        self.plotter = _plotter(off_screen, size)
        self.plotter.set_background("white")
        self.plotter.render_window.SetMultiSamples(0)  # parts seen through each other come out in order only so
        self.plotter.render_window.SetAlphaBitPlanes(1)
        self.plotter.enable_depth_peeling(8, occlusion_ratio=0.0)
        self.picture = Picture(desk, self.plotter)
        self._pressed: tuple[int, int] | None = None
        self.picture.show()
        self.picture.look()

    def open(self) -> None:
        """Show the window until it is closed."""
        interactor = self.plotter.iren.interactor
        interactor.RemoveObservers("CharEvent")  # the library's own keys
        interactor.AddObserver("KeyPressEvent", self._on_key)
        interactor.AddObserver("LeftButtonPressEvent", self._on_press, 1.0)
        interactor.AddObserver("LeftButtonReleaseEvent", self._on_release, 1.0)
        interactor.AddObserver("TimerEvent", self._on_beat)
        self.plotter.show(auto_close=False, interactive_update=True)
        interactor.CreateRepeatingTimer(BEAT)
        interactor.Start()
        self.plotter.close()

    def _on_key(self, interactor: Any, _: str) -> None:
        self.key(interactor.GetKeySym(), shift=bool(interactor.GetShiftKey()))

    def key(self, name: str, *, shift: bool = False) -> None:
        """What a key does: `packcheck view --help` lists them."""
        if name in NUDGES:
            self.desk.shift(NUDGES[name], 5.0 if shift else 1.0)
        elif name.lower() in ("x", "y", "z"):
            axes = self.desk.model.axes
            self.desk.turn(axes["xyz".index(name.lower())], -1.0 if shift else 1.0)
        elif name.lower() == "q":
            self.plotter.iren.interactor.TerminateApp()
            return
        elif name.lower() in self._moves():
            self._moves()[name.lower()]()
            self.picture.look()
        else:
            self._switches().get(name.lower(), _nothing)()
        self.again()

    def _moves(self) -> dict[str, Callable[[], None]]:
        """Keys after which the camera goes elsewhere."""
        return {"n": lambda: self.desk.step(1), "p": lambda: self.desk.step(-1), "home": self.desk.whole}

    def _switches(self) -> dict[str, Callable[[], None]]:
        return {
            "c": lambda: self._flip("cutting"),
            "b": lambda: self._flip("skins"),
            "l": lambda: self._flip("labels"),
            "d": lambda: self._flip("datums"),
            "h": self._hide,
            "a": self.picture.hidden.clear,
            "return": self.desk.enter,
            "kp_enter": self.desk.enter,
            "escape": self.desk.undo,
        }

    def _flip(self, what: str) -> None:
        setattr(self.picture, what, not getattr(self.picture, what))

    def _hide(self) -> None:
        if self.desk.nudge is not None:
            self.picture.hidden |= set(self.desk.bay.assembly.scene.parts[self.desk.nudge.part].kinds)

    def again(self) -> None:
        """Draw what the desk has now."""
        self.picture.show()
        self.plotter.render()

    def _on_press(self, interactor: Any, _: str) -> None:
        self._pressed = interactor.GetEventPosition()

    def _on_release(self, interactor: Any, _: str) -> None:
        here = interactor.GetEventPosition()
        if self._pressed is not None and np.hypot(*np.subtract(here, self._pressed)) < SLIP:
            self.click(*here)
        self._pressed = None

    def click(self, x: int, y: int) -> None:
        """A click at px from the left and from the bottom: the point and the part there, if any."""
        from vtkmodules.vtkRenderingCore import vtkCellPicker

        picker = vtkCellPicker()
        picker.SetTolerance(0.0005)
        if picker.Pick(x, y, 0, self.plotter.renderer):
            name = self.picture.names.get(picker.GetActor())
            if name is not None:
                self.desk.pick(np.array(picker.GetPickPosition()), name)
                self.again()

    def _on_beat(self, _: Any, __: str) -> None:
        if self.desk.changed():
            self.desk.refresh()
            self.again()

    def screenshot(self, target: Path | None = None) -> npt.NDArray[np.uint8]:
        """The picture (height, width, 3), sRGB; kept as a PNG in `target`."""
        self.plotter.render()
        return np.array(
            self.plotter.screenshot(None if target is None else str(target), return_img=True), dtype=np.uint8
        )


def _plotter(off_screen: bool, size: tuple[int, int]) -> Any:
    import pyvista as pv

    return pv.Plotter(off_screen=off_screen, window_size=list(size), title="packcheck")


def _nothing() -> None:
    """A key that means nothing."""


def no_display() -> bool:
    """Whether there is nothing to show a window on."""
    return sys.platform.startswith("linux") and not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def shoot(path: str, layout: str | None, number: int | None, target: str, told: Any) -> None:
    """Draw a scene, or one of its findings, into the PNG file `target`, without a window.

    Meant for a process of its own: a graphics driver that is not there can end the process it is asked in. What it
    comes to goes through the pipe `told`: the title and the files that were read, or the faults.
    """
    if no_display():
        os.environ.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")
    try:
        desk = Desk(Path(path), layout)
        if number is not None:
            desk.go_to(number)
    except SceneError as error:
        told.send(error.faults)
        return
    Window(desk, off_screen=True).screenshot(Path(target))
    told.send((desk.title(), desk.bay.sources))
