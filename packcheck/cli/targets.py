"""The one gate out: every file that a command writes.

A `Target` is a place that was named on the command line, looked at before any work. Only what `spared` lets through
can be written: an `Output`, which is none of the files that the command was made from.
"""

from __future__ import annotations

import os
import re
import stat
import sys
import unicodedata
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path, PureWindowsPath
from typing import Final, TypeAlias

import click

from packcheck.replacing import new_files, replace_files

__all__ = ["NEW", "OUTPUT", "Output", "Target", "TargetType", "spared", "unfit_on_windows"]

SCENE_ENDINGS: Final = (".yaml", ".yml")
"""No result is such a file, so one that is there was written by hand."""

SCENE_START: Final = re.compile(rb"^packcheck[ \t]*:", re.MULTILINE)
HEAD: Final = 4096
"""Bytes that are looked at to know a scene file under another name."""

Data: TypeAlias = str | bytes


@dataclass(frozen=True, slots=True)
class Target:
    """A place to write to. `replace`: what lies there may be replaced."""

    path: Path
    replace: bool = True


@dataclass(frozen=True, slots=True)
class Output:
    """A target that is none of `sources`."""

    path: Path
    sources: tuple[Path, ...] = ()
    replace: bool = True

    def write(self, data: Data) -> None:
        """Write the file whole or not at all, text in UTF-8; a stream is written to as it is.

        Raises click.ClickException when it cannot be written.
        """
        if _is_stream(self.path):
            _written(self.path, lambda: _into_stream(self.path, _bytes(data)))
        else:
            self._place({self.path: _bytes(data)})

    def write_beside(self, named: Mapping[str, Data]) -> None:
        """Write files beside this one, by what is put into its name before the ending: all of them, or none."""
        stem, suffix = self.path.stem, self.path.suffix
        self._place(self._beside({f"{stem}{name}{suffix}": data for name, data in named.items()}))

    def write_with(self, data: Data, others: Mapping[str, Data]) -> None:
        """Write this file, and others in the same folder by their names: all of them, or none."""
        self._place({self.path: _bytes(data)} | self._beside(others))

    def _beside(self, named: Mapping[str, Data]) -> dict[Path, bytes]:
        """Files in the same folder, by their names, each found fit to be written."""
        found = {self.path.with_name(name): _bytes(data) for name, data in named.items()}
        for path in found:
            _refuse_unfit(path, replace=self.replace)
            _refuse_source(path, self.sources)
        return found

    def _place(self, contents: Mapping[Path, bytes]) -> None:
        act = replace_files if self.replace else new_files
        _written(self.path, lambda: act(contents))


class TargetType(click.ParamType):  # type: ignore[type-arg]  # generic only since click 8.2
    """An argument or option that names a file to be written."""

    name = "file"

    def __init__(self, *, replace: bool = True) -> None:
        self.replace = replace

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> Target:  # noqa: ARG002
        if isinstance(value, Target):
            return value
        path = Path(os.fspath(value))  # type: ignore[call-overload]
        _refuse_unfit(path, replace=self.replace)
        return Target(path, self.replace)


OUTPUT: Final = TargetType()
NEW: Final = TargetType(replace=False)


def spared(sources: Iterable[Path], *targets: Target | None) -> tuple[Output | None, ...]:
    """The targets that may be written to, in their order; None stays None.

    Raises click.ClickException where one is among `sources`, by whatever name, or two are one file.
    """
    sources = tuple(sources)
    taken: dict[str, Path] = {}
    for target in targets:
        if target is None or _is_stream(target.path):
            continue
        _refuse_source(target.path, sources)
        first = taken.setdefault(_folded(target.path), target.path)
        if first is not target.path:
            raise click.ClickException(f"{target.path} and {first} are one file: give each result its own")
    return tuple(None if target is None else Output(target.path, sources, target.replace) for target in targets)


def _folded(path: Path) -> str:
    """The same text for names that are one file on some system, whichever this is."""
    return unicodedata.normalize("NFC", os.path.realpath(path)).casefold()


def _refuse_source(path: Path, sources: Iterable[Path]) -> None:
    for source in sources:
        try:
            same = path.exists() and source.exists() and path.samefile(source)
        except OSError:
            same = False
        if same:
            raise click.ClickException(f"{path} is part of the scene, and is left as it is")


def _refuse_unfit(path: Path, *, replace: bool) -> None:
    """Refuse, before any work, what could not be written to or would be missed."""
    if sys.platform == "win32" and (why := unfit_on_windows(path.name)):
        raise _cannot(path, why)
    try:
        there: os.stat_result | None = path.stat()
    except FileNotFoundError:
        there = None
    except (OSError, ValueError) as error:
        raise _cannot(path, _reason(error)) from error
    if there is not None and not replace:
        raise _exists(path)
    if there is None:
        _refuse_folder(path)
    else:
        _refuse_there(path, there)


def _refuse_folder(path: Path) -> None:
    folder = path.absolute().parent
    if not folder.is_dir():
        raise _cannot(path, f"there is no folder {path.parent}")
    if path.is_symlink():
        _refuse_folder(path.resolve()) if path.resolve() != path.absolute() else None
    if not os.access(folder, os.W_OK):
        raise _cannot(path, f"nothing can be written in the folder {path.parent}")


def _refuse_there(path: Path, there: os.stat_result) -> None:
    """Refuse what lies at a target and is no file that a result may replace."""
    mode = there.st_mode
    if stat.S_ISDIR(mode):
        raise _cannot(path, "it is a folder")
    if not _is_stream(path) and not stat.S_ISREG(mode):
        raise _cannot(path, "it is no plain file; print the result there with >")
    if not os.access(path, os.W_OK):
        raise _cannot(path, "it is write-protected")
    if stat.S_ISREG(mode) and _is_scene(path):
        raise click.ClickException(f"{path} is a scene file, and is left as it is")


def _is_scene(path: Path) -> bool:
    if path.suffix.lower() in SCENE_ENDINGS:
        return True
    try:
        with path.open("rb") as file:
            head = file.read(HEAD)
    except OSError:
        return False
    return not head.lstrip().startswith((b"<", b"{")) and bool(SCENE_START.search(head))


def _is_stream(path: Path) -> bool:
    """Whether this is an open stream or a device such as /dev/stdout or /dev/null, which is never replaced."""
    try:
        mode = path.stat().st_mode
    except (OSError, ValueError):
        return False
    if stat.S_ISREG(mode) or stat.S_ISDIR(mode) or stat.S_ISBLK(mode) or stat.S_ISSOCK(mode):
        return False
    return stat.S_ISCHR(mode) or os.path.realpath(path).startswith(("/dev/fd/", "/proc/"))


def unfit_on_windows(name: str) -> str:
    """Why a name can be no file there; empty when it can."""
    if any(sign in name for sign in '<>:"|?*') or any(ord(sign) < 32 for sign in name):
        return 'a name on Windows holds none of < > : " | ? *'
    if name != name.rstrip(". "):
        return "a name on Windows ends neither in a dot nor in a blank"
    return "the name is that of a device on Windows" if PureWindowsPath(name).is_reserved() else ""


def _into_stream(path: Path, data: bytes) -> None:
    with path.open("wb") as stream:
        stream.write(data)


def _written(path: Path, write: Callable[[], None]) -> None:
    try:
        write()
    except BrokenPipeError:
        return  # a reader who went away is no error
    except FileExistsError as error:
        raise _exists(path) from error
    except OSError as error:
        raise _cannot(path, _reason(error)) from error


def _bytes(data: Data) -> bytes:
    """Text as UTF-8; what is no character (from a name of bytes that are no UTF-8) as its escape."""
    return data.encode(errors="backslashreplace") if isinstance(data, str) else data


def _reason(error: OSError | ValueError) -> str:
    return getattr(error, "strerror", None) or "it cannot be the name of a file"


def _exists(path: Path) -> click.ClickException:
    return click.ClickException(f"{path} exists already, and is left as it is")


def _cannot(path: Path, why: str) -> click.ClickException:
    return click.ClickException(f"cannot write {path}: {why}")
