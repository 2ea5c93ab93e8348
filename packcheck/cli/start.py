"""Where a command begins: signals and streams are seen to before anything else is imported.

Being stopped is told in a word at any time, imports included; what was begun (helpers, temporary folders) is
cleared away; a stream that is closed, full or read no more is no error of ours.
"""

from __future__ import annotations

import os
import signal
import sys
from pathlib import Path
from types import FrameType
from typing import IO, Any, Final, NoReturn, cast

__all__ = ["Deaf", "main"]

INTERRUPTED: Final = 130  # what shells use for ctrl-C
ENDING: Final = ("SIGTERM", "SIGHUP", "SIGBREAK")
"""Signals that ask a process to end; not every system has all."""


def main() -> NoReturn:
    """Run the command line and leave with its exit code."""
    heed_signals()
    mend_streams()
    try:
        from packcheck.cli.main import main as run

        run()
    except KeyboardInterrupt:
        sys.stderr.write("stopped\n")
        sys.exit(INTERRUPTED)
    finally:
        signal.signal(signal.SIGINT, _leave)
        # An interrupt that has passed through code made at run time is remembered by the interpreter until such
        # code runs again, and would end the process by the signal once more.
        exec("pass")


def heed_signals() -> None:
    """Ctrl-C raises KeyboardInterrupt once, and ends the process when it comes again; told to end, it leaves."""
    if signal.getsignal(signal.SIGINT) is not signal.SIG_IGN:  # as for what a shell runs in the background
        signal.signal(signal.SIGINT, _interrupted)
    for name in ENDING:
        number = getattr(signal, name, None)
        if number is not None and signal.getsignal(number) is not signal.SIG_IGN:  # as with nohup
            signal.signal(number, _ended)


def _interrupted(_number: int, _frame: FrameType | None) -> None:
    signal.signal(signal.SIGINT, _leave)
    raise KeyboardInterrupt


def _ended(number: int, _frame: FrameType | None) -> None:
    """Leave in an orderly way, so that everything that is to be cleared away is."""
    signal.signal(number, signal.SIG_IGN)
    raise SystemExit(128 + number)


def _leave(_number: int, _frame: FrameType | None) -> None:
    os._exit(INTERRUPTED)


def mend_streams() -> None:
    """Streams that can be written to: what is closed goes nowhere, and a character unknown there is escaped."""
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        if getattr(sys, name) is None:
            setattr(sys, name, Path(os.devnull).open(mode, encoding="utf-8"))  # noqa: SIM115
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    sys.stderr = cast("Any", Deaf(sys.stderr))


class Deaf:
    """A stream that nobody may be listening to: what cannot be written is let go."""

    def __init__(self, stream: IO[str]) -> None:
        self._stream = stream

    def write(self, text: str) -> int:
        try:
            return self._stream.write(text)
        except (OSError, ValueError):
            return len(text)

    def flush(self) -> None:
        try:
            self._stream.flush()
        except (OSError, ValueError):
            return

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)
