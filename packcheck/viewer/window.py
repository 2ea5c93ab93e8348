"""The window: keys, clicks and a timer around a picture and a panel; and pictures taken without one."""

from __future__ import annotations

import os
import sys
import threading
import time
from pathlib import Path
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from packcheck.errors import SceneError
from packcheck.viewer.board import GROUND, Board, shares
from packcheck.viewer.controls import After, Controls
from packcheck.viewer.desk import Desk
from packcheck.viewer.panel import PANEL, Item, item_at, panel, rows_for, share_at
from packcheck.viewer.picture import Picture
from packcheck.viewer.sight import title

__all__ = ["Window", "no_display", "shoot"]

SIZE: Final = (1360, 860)
SLIP: Final = 4  # px a click may move
BEAT: Final = 40  # ms between looks at what runs
LOOKS: Final = 10  # beats between looks at the files
CALMED: Final = 0.15  # s without a key after which what was left open is measured
PATIENCE: Final = 0.35  # s that a picture may take


class Window:
    """A desk in a window. `off_screen` draws without one; without `beside` the picture has all of it."""

    def __init__(
        self, desk: Desk, *, off_screen: bool = False, beside: bool = True, size: tuple[int, int] = SIZE
    ) -> None:
        self.desk = desk
        self.controls = Controls(desk)
        self.plotter = _plotter(off_screen, size)
        self.picture = Picture(self.controls, self.plotter)
        self.board = Board(_beside(self.plotter)) if beside else None
        self.items: list[Item] = []
        self.first = 0
        self._pressed: tuple[int, int] | None = None
        self._slider: Item | None = None
        self._beats = 0
        self._then = self._keyed = time.monotonic()
        self._search: threading.Thread | None = None
        self._found: list[Any] = []
        self.again(render=False)
        self.picture.look()
        self.again(render=False)

    def open(self) -> None:
        """Show the window until it is closed."""
        interactor = self.plotter.iren.interactor
        interactor.RemoveObservers("CharEvent")  # the library's own keys
        interactor.AddObserver("KeyPressEvent", self._on_key)
        self._listen("LeftButtonPressEvent", self._on_press)
        self._listen("LeftButtonReleaseEvent", self._on_release)
        self._listen("MouseMoveEvent", self._on_slide)
        self._listen("MouseWheelForwardEvent", lambda x, _: self._on_wheel(x, -1))
        self._listen("MouseWheelBackwardEvent", lambda x, _: self._on_wheel(x, 1))
        interactor.AddObserver("ConfigureEvent", lambda *_: self.again())
        interactor.AddObserver("TimerEvent", self._on_beat)
        style = interactor.GetInteractorStyle()
        style.AddObserver("StartInteractionEvent", lambda *_: self.picture.forget_outline())
        style.AddObserver("EndInteractionEvent", lambda *_: self._settled())
        self.plotter.show(auto_close=False, interactive_update=True)
        interactor.CreateRepeatingTimer(BEAT)
        interactor.Start()
        self.plotter.close()

    def _listen(self, event: str, then: Any) -> None:
        """Hear of an event before the library does, and keep it from the library where `then` says so."""
        interactor = self.plotter.iren.interactor

        def heard(*_: Any) -> None:
            interactor.GetCommand(tag).SetAbortFlag(int(bool(then(*interactor.GetEventPosition()))))

        tag = interactor.AddObserver(event, heard, 1.0)

    def lay_out(self) -> None:
        """Share the window between panel and picture."""
        width = self.plotter.window_size[0]
        part = min(PANEL / width, 0.6) if self.board is not None else 0.0
        self.plotter.renderer.SetViewport(part, 0, 1, 1)
        if self.board is not None:
            self.board.renderer.SetViewport(0, 0, part, 1)

    def _on_key(self, interactor: Any, _: str) -> None:
        self.key(interactor.GetKeySym(), shift=bool(interactor.GetShiftKey()))

    def key(self, name: str, *, shift: bool = False) -> None:
        """What a key does: `packcheck view --help` lists them."""
        self._after(self.controls.key(name, shift=shift))
        self._keyed = time.monotonic()

    def _after(self, after: After) -> None:
        if after is After.CLOSE:
            self.plotter.iren.interactor.TerminateApp()
        elif after is not After.NOTHING:
            if after is After.LOOK:
                self._bring_row()
                self.picture.look()
            self.again()

    def _bring_row(self) -> None:
        """Scroll the list so that the finding looked at is in it."""
        at, rows = self.desk.at, rows_for(self.controls, self.plotter.window_size[1])
        if at is not None and not self.first <= at < self.first + rows:
            self.scroll(at - rows // 2 - self.first)

    def scroll(self, by: int) -> None:
        """Move the list of findings by so many rows."""
        rows = rows_for(self.controls, self.plotter.window_size[1])
        self.first = min(max(self.first + by, 0), max(len(self.desk.findings) - rows, 0))

    def again(self, *, render: bool = True) -> None:
        """Draw what the desk has now."""
        self.lay_out()
        self.picture.show()
        self._show_panel()
        if render:
            self._render()

    def _render(self) -> None:
        """Draw; on a machine that is slow at it, the next picture is a simpler one."""
        begun = time.monotonic()
        self.plotter.render()
        if time.monotonic() - begun > PATIENCE and not self.picture.hasty:
            self.picture.hasty = True
            self.plotter.renderer.SetMaximumNumberOfPeels(3)
            self.plotter.renderer.SetUseFXAA(False)

    def _show_panel(self) -> None:
        if self.board is not None:
            self.scroll(0)
            self.items = panel(self.controls, self.plotter.window_size[1], self.first)
            self.board.show(self.items)

    def _settled(self) -> None:
        self.picture.outline()
        self._render()

    def _beside(self, x: int) -> bool:
        return bool(x < self.plotter.renderer.GetOrigin()[0])

    def _on_press(self, x: int, y: int) -> bool:
        self._pressed = (x, y)
        if not self._beside(x):
            return False
        item = item_at(self.items, x, self.plotter.window_size[1] - y)
        if item is not None:
            self._slider = item if item.sort == "slider" else None
            self._after(self.controls.do(item.act, share_at(item, x)))
        return True

    def _on_slide(self, x: int, _: int) -> bool:
        if self._slider is not None:
            self._after(self.controls.do(self._slider.act, share_at(self._slider, x)))
        return self._slider is not None

    def _on_release(self, x: int, y: int) -> bool:
        pressed, self._pressed = self._pressed, None
        slid, self._slider = self._slider is not None, None
        if pressed is None or slid or self._beside(pressed[0]):
            return slid
        if np.hypot(x - pressed[0], y - pressed[1]) < SLIP:
            self.click(x, y)
        return False

    def _on_wheel(self, x: int, by: int) -> bool:
        if self._beside(x):
            self.scroll(2 * by)
            self.again()
        return self._beside(x)

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
        now = time.monotonic()
        passed, self._then = now - self._then, now
        self._beats += 1
        if self.desk.advance(min(passed, 0.2)):
            self.again()
        if self.desk.open and now - self._keyed > CALMED:
            self.desk.finish()
            self.again()
        elif self.desk.searching:
            self._search_on()
        elif self._beats % LOOKS == 0 and self.desk.changed():
            self.desk.refresh()
            self.again()

    def _search_on(self) -> None:
        """Search what moves, beside the window; take what was found once it is there."""
        if self._search is None:
            self._found = []
            self._search = threading.Thread(target=lambda: self._found.append(self.desk.search()), daemon=True)
            self._search.start()
        elif not self._search.is_alive():
            self._search = None
            if self._found:
                self.desk.found(self._found[0])
            else:
                self.desk.give_up()
            self.again()

    def screenshot(self, target: Path | None = None) -> npt.NDArray[np.uint8]:
        """The picture (height, width, 3), sRGB; kept as a PNG in `target`."""
        self.plotter.render()
        return np.array(
            self.plotter.screenshot(None if target is None else str(target), return_img=True), dtype=np.uint8
        )


def _plotter(off_screen: bool, size: tuple[int, int]) -> Any:
    import pyvista as pv

    plotter: Any = pv.Plotter(off_screen=off_screen, window_size=list(size), title="packcheck")
    plotter.set_background("white")
    plotter.render_window.SetMultiSamples(0)  # parts seen through each other come out in order only so
    plotter.render_window.SetAlphaBitPlanes(1)
    plotter.enable_depth_peeling(8, occlusion_ratio=0.0)
    plotter.renderer.SetUseFXAA(True)
    return plotter


def _beside(plotter: Any) -> Any:
    """A renderer for the panel, beside that of the picture."""
    from vtkmodules.vtkRenderingCore import vtkRenderer

    renderer = vtkRenderer()
    renderer.SetBackground(*shares(GROUND))
    renderer.InteractiveOff()
    plotter.render_window.AddRenderer(renderer)
    return renderer


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
    Window(desk, off_screen=True, beside=False).screenshot(Path(target))
    told.send((title(desk), desk.bay.sources))
