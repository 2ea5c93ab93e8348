"""How many threads numbers are crunched on: one.

The arrays here are small. On more threads they wait for each other, and on a busy machine a survey of half a second
takes twenty. A command sets that for its own process before numpy is loaded. Used as a library, the settings are
those of the host: they are changed only while our own calls run, and put back.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable, Iterator, MutableMapping
from functools import wraps
from typing import Final, ParamSpec, TypeVar

__all__ = ["SETTINGS", "on_one_thread", "one_thread", "pin_process"]

SETTINGS: Final = (
    "OMP_NUM_THREADS",
    "OPENBLAS_NUM_THREADS",
    "MKL_NUM_THREADS",
    "BLIS_NUM_THREADS",
    "VECLIB_MAXIMUM_THREADS",
)
"""What linear algebra libraries read when they are loaded."""

_P = ParamSpec("_P")
_T = TypeVar("_T")


def pin_process(environment: MutableMapping[str, str] = os.environ) -> None:
    """Have this process, and those it starts, use one thread; to be called before numpy is loaded.

    What the user has set is left as it is.
    """
    for name in SETTINGS:
        environment.setdefault(name, "1")


@contextlib.contextmanager
def one_thread() -> Iterator[None]:
    """One thread within, and afterwards as many as before."""
    if all(os.environ.get(name) == "1" for name in SETTINGS):
        yield  # the process is pinned, or its host wants it so
        return
    from threadpoolctl import threadpool_limits

    with threadpool_limits(limits=1):
        yield


def on_one_thread(call: Callable[_P, _T]) -> Callable[_P, _T]:
    """`call`, on one thread."""

    @wraps(call)
    def single(*args: _P.args, **kwargs: _P.kwargs) -> _T:
        with one_thread():
            return call(*args, **kwargs)

    return single
