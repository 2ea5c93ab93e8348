"""A bar for what takes longer than a moment: only on a terminal, on stderr, and gone when the work is done."""

from __future__ import annotations

import contextlib
import sys
import time
from collections.abc import Callable, Iterator
from typing import Any, Final

__all__ = ["steps"]

PATIENCE: Final = 1.0
"""s. Work that is done sooner has no bar."""


@contextlib.contextmanager
def steps(what: str) -> Iterator[Callable[[int, int], None]]:
    """Something to tell `done, total` to while working; it draws a bar once a second has passed.

    Where stdout or stderr is not a terminal nothing is ever drawn, and the library that draws is not loaded.
    """
    if not (sys.stderr.isatty() and sys.stdout.isatty()):
        yield _silence
        return
    bar = _Bar(what)
    try:
        yield bar.tell
    finally:
        bar.close()


def _silence(done: int, total: int) -> None:
    """Nothing is drawn."""


class _Bar:
    def __init__(self, what: str) -> None:
        self._what, self._begun = what, time.monotonic()
        self._progress: Any = None
        self._task: Any = None

    def tell(self, done: int, total: int) -> None:
        if self._progress is None and time.monotonic() - self._begun < PATIENCE:
            return
        if self._progress is None:
            from rich.console import Console
            from rich.progress import Progress

            self._progress = Progress(console=Console(stderr=True), transient=True)
            self._task = self._progress.add_task(self._what, total=total)
            self._progress.start()
        self._progress.update(self._task, completed=done, total=total)

    def close(self) -> None:
        if self._progress is not None:
            self._progress.stop()
