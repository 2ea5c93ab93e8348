"""Files that are replaced whole, in one step: a reader sees the old content or the new one, never a part.

And how to tell that somebody else replaced one.
"""

from __future__ import annotations

import contextlib
import os
import secrets
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Final, TypeAlias

__all__ = ["Stamp", "new_files", "replace_files", "stamp"]

Stamp: TypeAlias = tuple[int, int, int] | None
"""What changes when a file is written: time, size, place on the disk. None: there is no such file."""

PREFIX: Final = ".packcheck-"
"""How names of files begin that are not in their place yet; short, so that no name becomes too long by it."""


def stamp(path: Path) -> Stamp:
    """The stamp of a file or folder as it is now."""
    try:
        status = path.stat()
    except (OSError, ValueError):
        return None
    return status.st_mtime_ns, status.st_size, status.st_ino


def replace_files(contents: Mapping[Path, bytes]) -> None:
    """Write each file beside its target, then let all take their places; until then nothing has changed.

    Links keep pointing where they did; owner, permissions and further names of a file (hard links) stay. Raises
    OSError; then every file holds again what it held, and what was not there is not there.
    """
    with _beside(contents) as ready:
        _all_or_none(ready, _replace)


def new_files(contents: Mapping[Path, bytes]) -> None:
    """Write files that must not be there yet: all of them, or none.

    Raises FileExistsError when one is there, also when it came to be meanwhile; other OSErrors as `replace_files`.
    """
    with _beside(contents) as ready:
        _all_or_none(ready, _settle_new)


@contextlib.contextmanager
def _beside(contents: Mapping[Path, bytes]) -> Iterator[dict[Path, Path]]:
    """Where each content lies, safe on the disk, by the true path of its target; gone afterwards."""
    ready: dict[Path, Path] = {}
    try:
        for path, content in contents.items():
            target = path.resolve()
            handle, ready[target] = _opened(target.parent)
            with os.fdopen(handle, "wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
        yield ready
    finally:
        for beside in ready.values():
            with contextlib.suppress(OSError):
                beside.unlink(missing_ok=True)
        for folder in {target.parent for target in ready}:
            _settle_folder(folder)


def _opened(folder: Path) -> tuple[int, Path]:
    """A new empty file, with the permissions that new files get here."""
    while True:
        beside = folder / f"{PREFIX}{secrets.token_hex(6)}"
        flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
        with contextlib.suppress(FileExistsError):
            return os.open(beside, flags, 0o666), beside


def _all_or_none(ready: Mapping[Path, Path], settle: Callable[[Path, Path], None]) -> None:
    before: dict[Path, bytes | None] = {}
    try:
        for target, beside in ready.items():
            had = target.read_bytes() if len(ready) > 1 and target.exists() else None
            settle(beside, target)
            before[target] = had
    except BaseException:
        for target, content in before.items():
            with contextlib.suppress(OSError):
                target.unlink() if content is None else replace_files({target: content})
        raise


def _replace(beside: Path, target: Path) -> None:
    if not target.exists() or _alike(beside, target):
        beside.replace(target)
    else:
        _overwrite(beside.read_bytes(), target)


def _alike(beside: Path, target: Path) -> bool:
    """Give a new file the owner, permissions and attributes of its target; whether that can be, and is enough."""
    there = target.stat()
    if there.st_nlink > 1:
        return False
    try:
        if hasattr(os, "chown") and (there.st_uid, there.st_gid) != (beside.stat().st_uid, beside.stat().st_gid):
            os.chown(beside, there.st_uid, there.st_gid)
        beside.chmod(there.st_mode & 0o7777)
    except OSError:
        return False
    for name in os.listxattr(target) if hasattr(os, "listxattr") else ():
        with contextlib.suppress(OSError):
            os.setxattr(beside, name, os.getxattr(target, name))
    return True


def _overwrite(content: bytes, target: Path) -> None:
    """Write into a file that cannot be replaced without loss; what it held is put back when that fails."""
    before = target.read_bytes()
    try:
        _write_into(target, content)
    except OSError:
        _write_into(target, before)
        raise


def _write_into(target: Path, content: bytes) -> None:
    with target.open("r+b") as file:
        file.write(content)
        file.truncate()
        file.flush()
        os.fsync(file.fileno())


def _settle_new(beside: Path, target: Path) -> None:
    try:
        os.link(beside, target)
    except FileExistsError:
        raise
    except OSError:  # a file system without links
        if target.exists() or os.path.lexists(target):
            raise FileExistsError(f"{target} exists") from None
        beside.rename(target)


def _settle_folder(folder: Path) -> None:
    """Have the names in a folder on the disk, where the system lets a folder be opened."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
