"""Work that may crash, hang or eat all memory, done aside in a process of its own.

A file from elsewhere may end the process that reads it without a word, above all inside libraries written in C. So
it is read by a helper process, whose end, bad or good, is seen here. One helper does one piece of work after
another, so that many files do not pay for many starts; one that has ended badly is replaced.

      this process                                helper
      ------------                                ------
      pickled question  -> its standard input  -> limits, then `run(question)` of a module
      head and arrays   <- its standard output <- the answer, a refusal, or what went wrong

The question is ours, so it may be pickled; what comes back is JSON and plain arrays, never objects. Time is limited
everywhere, by ending the helper from here. Memory is limited where the system knows such a limit (Linux; macOS in
part); on Windows only time is.
"""

from __future__ import annotations

import atexit
import contextlib
import json
import os
import pickle
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator, Mapping
from importlib import import_module
from io import BytesIO
from pathlib import Path
from typing import Any, BinaryIO, Final, TypeAlias, cast
from zipfile import BadZipFile

import numpy as np
import numpy.typing as npt

from packcheck import threads
from packcheck.solids.formats.gate import RefusedError

__all__ = ["MEMORY", "SECONDS", "Arrays", "Helper", "aside"]

Arrays: TypeAlias = Mapping[str, npt.NDArray[Any]]

SECONDS: Final = 180.0
"""Longest one piece of work may take."""

MEMORY: Final = 6 << 30
"""Bytes a helper may ask for, shared libraries included."""

_SMALLER: Final = "export it again, simpler or in parts"
_FOLDERS: Final = ("TMPDIR", "TEMP", "TMP")
_PROGRAM: Final = "from packcheck.solids.formats.aside import serve; serve()"
_ORPHAN: Final = 60
"""Seconds of work over its time after which a helper ends by itself, should nobody be left to end it."""


class Helper:
    """A process for work that may end it. Started when first asked, and again when it has ended."""

    def __init__(self, memory: int = MEMORY) -> None:
        self._memory = memory
        self._process: subprocess.Popen[bytes] | None = None
        self._folder: tempfile.TemporaryDirectory[str] | None = None

    def ask(self, module: str, question: object, *, seconds: float = SECONDS) -> dict[str, npt.NDArray[Any]]:
        """What `run(question)` of `module` (its full name) returns: arrays by name.

        Raises
        ------
        RefusedError
            As `run` raises it; and when the process crashes, takes too long or too much.
        """
        process = self._running()
        late = threading.Event()
        timer = threading.Timer(seconds, _end, (process, late))
        timer.start()
        try:
            head, answer = _exchange(process, (module, question, seconds))
        except BaseException:
            self.close()
            raise
        finally:
            timer.cancel()
        if head is None:
            code = process.wait()
            self.close()
            raise RefusedError(_took(seconds) if late.is_set() else _ending(code), mend=_SMALLER)
        if "refused" in head:
            raise RefusedError(**head["refused"])
        if "failed" in head:
            self.close()
            raise RefusedError(head["failed"], mend=_SMALLER)
        return _arrays(answer)

    def _running(self) -> subprocess.Popen[bytes]:
        if self._process is None or self._process.poll() is not None:
            self.close()
            self._folder = tempfile.TemporaryDirectory(prefix="packcheck", ignore_cleanup_errors=True)
            self._process = subprocess.Popen(
                [sys.executable, "-P", "-c", _PROGRAM, str(self._memory)],
                env=_surroundings(self._folder.name),
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
            )
        return self._process

    def close(self) -> None:
        """End the process, and clear away what it left."""
        if self._process is not None:
            self._process.kill()
            for pipe in (self._process.stdin, self._process.stdout):
                with contextlib.suppress(OSError):
                    cast(BinaryIO, pipe).close()
            self._process.wait()
        if self._folder is not None:
            self._folder.cleanup()
        self._process = self._folder = None


_idle: Final[list[Helper]] = []
"""Helpers that have nothing to do. Taking and giving back are single steps, so threads may share them."""


def aside(module: str, question: object, *, seconds: float = SECONDS) -> dict[str, npt.NDArray[Any]]:
    """`Helper.ask`, of a helper that is idle, or else of a new one, which is kept for what comes next."""
    try:
        helper = _idle.pop()
    except IndexError:
        helper = Helper()
        atexit.register(helper.close)
    try:
        return helper.ask(module, question, seconds=seconds)
    finally:
        _idle.append(helper)


def _end(process: subprocess.Popen[bytes], late: threading.Event) -> None:
    late.set()
    process.kill()


def _exchange(process: subprocess.Popen[bytes], asked: object) -> tuple[dict[str, Any] | None, bytes]:
    """The head of the answer and the bytes that follow it; no head when the process has ended."""
    to, fro = cast(BinaryIO, process.stdin), cast(BinaryIO, process.stdout)
    try:
        pickle.dump(asked, to, protocol=5)
        to.flush()
        head = json.loads(fro.readline())
        answer = fro.read(head["bytes"])
    except (OSError, ValueError, LookupError):
        return None, b""
    return (head, answer) if len(answer) == head["bytes"] else (None, b"")


def _arrays(answer: bytes) -> dict[str, npt.NDArray[Any]]:
    try:
        with np.load(BytesIO(answer), allow_pickle=False) as entry:
            return {name: entry[name] for name in entry.files}
    except (OSError, ValueError, LookupError, EOFError, BadZipFile) as error:
        raise RefusedError("cannot be worked out: the answer is no plain arrays", mend=_SMALLER) from error


def _took(seconds: float) -> str:
    return f"takes over {seconds:g} s to work out, and was stopped"


def _ending(code: int) -> str:
    if code == -9:
        return "cannot be worked out: the system ended what read it, most likely for want of memory"
    how = f"crashed (signal {-code})" if code < 0 else f"ended with {code}"
    return f"cannot be worked out: what read it {how}"


def _surroundings(folder: str) -> dict[str, str]:
    """The environment of a helper: the same package, one thread (stacks count as memory), a folder to litter."""
    home = str(Path(__file__).parents[3])
    path = os.pathsep.join([home, *filter(None, [os.environ.get("PYTHONPATH")])])
    set_anew = {"PYTHONPATH": path, **dict.fromkeys(threads.SETTINGS, "1"), **dict.fromkeys(_FOLDERS, folder)}
    return {**os.environ, **set_anew}


def serve() -> None:
    """What a helper does until nobody asks any more."""
    _limit_memory(int(sys.argv[1]))
    asked, told = _channels()
    while True:
        try:
            module, question, seconds = pickle.load(asked)
        except EOFError:
            return
        _limit_work(seconds)
        head, answer = _answered(module, question)
        told.write(json.dumps({**head, "bytes": len(answer)}).encode() + b"\n" + answer)
        told.flush()
        if "failed" in head:
            return


def _channels() -> tuple[BinaryIO, BinaryIO]:
    """Where questions come in and answers go out; whatever else is printed goes nowhere."""
    told = os.fdopen(os.dup(1), "wb")
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    return sys.stdin.buffer, told


def _answered(module: str, question: object) -> tuple[dict[str, Any], bytes]:
    try:
        held = BytesIO()
        np.savez(held, **import_module(module).run(question))
        return {}, held.getvalue()
    except RefusedError as error:
        return {"refused": {"what": error.what, "why": error.why, "mend": error.mend}}, b""
    except MemoryError:
        return {"failed": "takes more memory than it may"}, b""
    except Exception as error:  # whatever the reading trips over, the file is named and the next one is read
        said = (str(error).splitlines() or [""])[0][:120]
        return {"failed": f"cannot be worked out ({type(error).__name__}: {said})"}, b""


def _limits() -> Iterator[Any]:
    """The module that sets limits, where there is one: not on Windows."""
    with contextlib.suppress(ImportError):
        import resource

        yield resource


def _limit_memory(most: int) -> None:
    for resource in _limits():
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        hard = resource.getrlimit(resource.RLIMIT_AS)[1]
        most = most if hard == resource.RLIM_INFINITY else min(most, hard)
        with contextlib.suppress(ValueError, OSError):  # a system that names the limit and does not keep it
            resource.setrlimit(resource.RLIMIT_AS, (most, hard))


def _limit_work(seconds: float) -> None:
    """A limit of work beside that of time, which nobody keeps once the process that asked is gone."""
    for resource in _limits():
        used = sum(resource.getrusage(resource.RUSAGE_SELF)[:2])
        hard = resource.getrlimit(resource.RLIMIT_CPU)[1]
        with contextlib.suppress(ValueError, OSError):
            resource.setrlimit(resource.RLIMIT_CPU, (int(used + seconds) + _ORPHAN, hard))
