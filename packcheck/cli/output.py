"""Where results go: a terminal, a pipe, or a file that is written whole or not at all."""

from __future__ import annotations

import contextlib
import errno
import os
import sys
from collections.abc import Callable, Iterable, Iterator
from shutil import get_terminal_size
from typing import TYPE_CHECKING, Final

from packcheck.version import __version__

if TYPE_CHECKING:
    from packcheck.cli.targets import Output
    from packcheck.findings import Report
    from packcheck.report.text.lines import Line

__all__ = ["OutputError", "deliver", "deliver_tables", "emit", "emit_lines", "reader_may_leave"]


class OutputError(Exception):
    """What is to be printed cannot be: the disk behind it is full, or the stream is closed."""


FULL: Final = (errno.ENOSPC, errno.EIO, errno.EBADF, errno.EFBIG)
"""How a stream says that it takes no more."""

NARROWEST, WIDEST = 40, 120  # columns a report keeps to, however the terminal stands

# Orange and blue stay apart for every kind of colour vision, and neither claims that all is well.
LOOKS: Final = {"strong": "bold", "short": "bold dark_orange", "open": "bold dodger_blue1", "quiet": "dim"}
FEW_COLOURS: Final = {**LOOKS, "short": "bold underline", "open": "bold"}  # where orange would come out as red


def emit(text: str) -> None:
    """Print a result. A reader who went away (`| head`) is no error."""
    with reader_may_leave():
        sys.stdout.write(text)
        sys.stdout.flush()


def emit_lines(lines: Callable[[int], Iterable[Line]], piped_width: int) -> None:
    """Print styled lines, made by `lines` for a width: styled on a terminal, plain everywhere else."""
    if not sys.stdout.isatty():
        emit("".join(f"{line.text}\n" for line in lines(piped_width)))
        return
    from rich.console import Console
    from rich.text import Text

    width = max(NARROWEST, min(WIDEST, get_terminal_size().columns))
    console = Console(highlight=False, soft_wrap=True, width=width)
    looks = LOOKS if console.color_system in ("256", "truecolor") else FEW_COLOURS
    with reader_may_leave():
        for line in lines(width):
            console.print(Text(line.text, style=looks.get(line.style, "")))
        sys.stdout.flush()


@contextlib.contextmanager
def reader_may_leave() -> Iterator[None]:
    """What is printed within may go unread: a reader who went away is no error. Raises OutputError for the rest."""
    try:
        yield
    except BrokenPipeError:
        _to_nowhere()
    except OSError as error:
        if error.filename is not None or error.errno not in FULL:  # of another file
            raise
        _to_nowhere()
        raise OutputError(error.strerror) from error


def _to_nowhere() -> None:
    """Have nothing more written to a stream that takes nothing: also not what is still held back for it."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def deliver(text: str, output: Output | None) -> None:
    """Write a result to `output`, or print it."""
    if output is None:
        emit(text)
    else:
        output.write(text)


def deliver_tables(report: Report, output: Output | None, *, as_json: bool) -> None:
    """Write a report of tables alone to `output`, or print it, as text or JSON."""
    from packcheck.report.as_json import as_json as json_of
    from packcheck.report.table_report import table_report_lines, table_report_text
    from packcheck.report.text.as_text import PIPED_WIDTH

    written = json_of(report, version=__version__) if as_json else table_report_text(report)
    if output is not None:
        output.write(written)
    elif as_json:
        emit(written)
    else:
        emit_lines(lambda width: table_report_lines(report, width), PIPED_WIDTH)
