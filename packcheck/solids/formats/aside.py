"""Work that may crash, hang or eat all memory, done aside in a process of its own.

Libraries written in C can end a process without a word. What they are used for is done in a child, whose end, bad
or good, is seen here. The child has a limit of time everywhere, kept by the parent, and one of memory where the
system knows such limits (Linux, macOS in part); elsewhere only time is limited.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Mapping
from importlib import import_module
from pathlib import Path
from typing import Any, Final, TypeAlias

import numpy as np
import numpy.typing as npt

from packcheck.solids.formats.gate import RefusedError

__all__ = ["MEMORY", "SECONDS", "Arrays", "aside"]

Arrays: TypeAlias = Mapping[str, npt.NDArray[Any]]

SECONDS: Final = 600.0
"""Longest a child may take."""

MEMORY: Final = 6 << 30
"""Bytes a child may ask for, shared libraries included."""

_REFUSED: Final = "refused"
_ONE_THREAD: Final = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")


def aside(
    module: str, given: Arrays, *, seconds: float = SECONDS, memory: int = MEMORY
) -> dict[str, npt.NDArray[Any]]:
    """What `run(given)` of `module` returns, worked out in a process of its own.

    Parameters
    ----------
    module : str
        Full name; its `run` takes and returns arrays by name.
    given : mapping
        Plain arrays.

    Raises
    ------
    RefusedError
        As `run` raises it; and when the process crashes, takes too long or too much.
    """
    with tempfile.TemporaryDirectory(prefix="packcheck") as folder:
        question, answer = Path(folder) / "question.npz", Path(folder) / "answer.npz"
        np.savez(question, **given)  # type: ignore[arg-type]
        command = [sys.executable, "-c", _PROGRAM, module, str(question), str(answer), str(memory)]
        try:
            done = subprocess.run(
                command,
                check=False,
                timeout=seconds,
                env=_surroundings(),
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.PIPE,
            )
        except subprocess.TimeoutExpired:
            raise RefusedError(f"takes over {seconds:g} s to work out, and was stopped", mend=_SMALLER) from None
        if done.returncode or not answer.exists():
            raise RefusedError(f"cannot be worked out: the library {_ending(done)}", mend=_SMALLER)
        with np.load(answer, allow_pickle=False) as entry:
            found = {name: entry[name] for name in entry.files}
    if _REFUSED in found:
        raise RefusedError(**json.loads(found[_REFUSED].tobytes()))
    return found


_SMALLER: Final = "export it again, simpler or in parts"

_PROGRAM: Final = "from packcheck.solids.formats.aside import child; child()"


def _surroundings() -> dict[str, str]:
    """The environment of a child: the same package, and one thread, whose stacks count as memory."""
    home = str(Path(__file__).parents[3])
    path = os.pathsep.join([home, *filter(None, [os.environ.get("PYTHONPATH")])])
    return {**os.environ, **dict.fromkeys(_ONE_THREAD, "1"), "PYTHONPATH": path}


def _ending(done: subprocess.CompletedProcess[bytes]) -> str:
    if done.returncode < 0:
        return f"crashed (signal {-done.returncode})"
    said = done.stderr.decode(errors="replace").strip().splitlines()
    if said and "MemoryError" in said[-1]:
        return "took more memory than it may"
    return f"failed ({said[-1][:120]})" if said else f"ended with {done.returncode}"


def child() -> None:
    """What runs in the child: limits first, then the work."""
    module, question, answer, memory = sys.argv[1:]
    _limit(int(memory))
    with np.load(question, allow_pickle=False) as entry:
        given = {name: entry[name] for name in entry.files}
    try:
        found = import_module(module).run(given)
    except RefusedError as error:
        refusal = {"what": error.what, "why": error.why, "mend": error.mend}
        found = {_REFUSED: np.frombuffer(json.dumps(refusal).encode(), dtype=np.uint8)}
    np.savez(answer, **found)


def _limit(memory: int) -> None:
    try:
        import resource
    except ImportError:  # not on Windows: there only the parent's limit of time holds
        return
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    hard = resource.getrlimit(resource.RLIMIT_AS)[1]
    most = memory if hard == resource.RLIM_INFINITY else min(memory, hard)
    try:
        resource.setrlimit(resource.RLIMIT_AS, (most, hard))
    except (ValueError, OSError):  # a system that names the limit and does not keep it
        return
