"""A bar for what takes longer than a moment: only on a terminal, on stderr, and gone when the work is done."""

from __future__ import annotations

import contextlib
import sys
import threading
from collections.abc import Callable, Iterator
from typing import Any, Final

__all__ = ["steps", "working"]

PATIENCE: Final = 1.0
"""s. Work that is done sooner has no bar."""


@contextlib.contextmanager
def steps(what: str, *, quietly: bool = False) -> Iterator[Callable[[int, int], None]]:
    """Something to tell `done, total` to while working; a bar shows it once a second has passed.

    Where stdout or stderr is not a terminal nothing is ever drawn, and the library that draws is not loaded; nor is
    anything with `quietly`.
    """
    if quietly or not _on_terminal():
        yield _silence
        return
    bar = _Bar(what)
    timer = threading.Timer(PATIENCE, bar.show)
    timer.daemon = True
    timer.start()
    try:
        yield bar.tell
    finally:
        timer.cancel()
        bar.close()


@contextlib.contextmanager
def working(what: str, *, quietly: bool = False) -> Iterator[None]:
    """The same for work that cannot say how far it is; `quietly` draws nothing."""
    with steps(what, quietly=quietly):
        yield


def _on_terminal() -> bool:
    return sys.stderr.isatty() and sys.stdout.isatty()


def _silence(done: int, total: int) -> None:
    """Nothing is drawn."""


class _Bar:
    """A bar that is drawn from another thread once its time has come, unless the work was done before."""

    def __init__(self, what: str) -> None:
        self._what, self._done, self._total = what, 0, 0
        self._progress: Any = None
        self._task: Any = None
        self._closed = False
        self._lock = threading.Lock()

    def show(self) -> None:
        from rich.console import Console
        from rich.progress import BarColumn, Progress, TextColumn

        with self._lock:
            if not self._closed:
                blue = "dodger_blue1"
                bar = BarColumn(complete_style=blue, finished_style=blue, pulse_style=blue)
                columns = TextColumn("{task.description}"), bar
                self._progress = Progress(*columns, console=Console(stderr=True), transient=True)
                self._task = self._progress.add_task(self._what, completed=self._done, total=self._total or None)
                self._progress.start()

    def tell(self, done: int, total: int) -> None:
        with self._lock:
            self._done, self._total = done, total
            if self._progress is not None:
                self._progress.update(self._task, completed=done, total=total)

    def close(self) -> None:
        with self._lock:
            self._closed = True
            if self._progress is not None:
                self._progress.stop()
