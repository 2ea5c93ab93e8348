"""Meshes once understood, kept on disk by what they were made from, so that they are read only once.

An entry is believed only when this user wrote it, under this very key, and nothing in it has changed since; any
other is as good as none.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import logging
import os
import stat
import tempfile
import time
import zipfile
from collections.abc import Iterator
from dataclasses import asdict
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from packcheck.scene.model.scene import Mesh
from packcheck.solids.meshes.account import LoadedMesh
from packcheck.solids.meshes.packing import packed, unpacked
from packcheck.version import __version__

__all__ = ["folder", "key_of", "load", "store"]

_FORMAT: Final = 5
"""Raised whenever the same file would come out differently, or be stored differently."""

_MOST: Final = 1 << 30
"""Bytes kept; beyond that go those used longest ago."""

_ABANDONED: Final = 3600.0
"""Seconds after which a half-written entry is nobody's any more."""

_SETTING: Final = "PACKCHECK_CACHE"
_SUFFIX: Final = ".mesh"
_DIGITS: Final = 64
"""Hexadecimal digits of a SHA-256 digest."""

_LOG: Final = logging.getLogger("packcheck")


def folder() -> Path | None:
    """Where entries are kept; None when there is no such place.

    The environment may switch the cache off (PACKCHECK_CACHE empty or "off") or name another folder, by its full
    path: one that depends on where a command is run would litter.
    """
    setting = os.environ.get(_SETTING)
    if setting is not None and setting.strip().lower() in ("", "off"):
        return None
    where = _users_folder() if setting is None else Path(setting)
    if where is None or not where.is_absolute():
        _say_once(f"meshes are not kept: {where or 'the folder for it'} is not a full path; set {_SETTING} to one")
        return None
    return where


def _users_folder() -> Path | None:
    """The user's own folder for such things; None for a user without a home."""
    from platformdirs import user_cache_dir

    try:
        return Path(user_cache_dir("packcheck")) / "meshes"
    except (OSError, RuntimeError, KeyError):
        return None


@cache
def _say_once(what: str) -> None:
    _LOG.info(what)


def key_of(data: bytes, spec: Mesh) -> str:
    """A name that changes with the bytes, the format, everything the scene says of the file, and this package."""
    said = [value for name, value in asdict(spec).items() if name != "file"]
    about = json.dumps([_FORMAT, __version__, spec.file.suffix.lower(), said])
    return hashlib.sha256(hashlib.sha256(data).digest() + about.encode()).hexdigest()


def load(key: str) -> LoadedMesh | None:
    """What was stored under `key`, when it is there, whole, and written by this user."""
    where = folder()
    if where is None:
        return None
    try:
        path = where / f"{key}{_SUFFIX}"
        loaded = unpacked(_arrays(_content(path, key)))
    except Exception:  # an entry that is rotten in whatever way is as good as none
        return None
    with contextlib.suppress(OSError):
        os.utime(path)  # what is used stays; what is not goes first
    return loaded


def _content(path: Path, key: str) -> bytes:
    """The packed arrays of an entry. Raises OSError or ValueError when it is not to be believed."""
    with path.open("rb") as stream:
        status = os.fstat(stream.fileno())
        if status.st_size > _MOST or not _ours(status):
            raise ValueError("it is too large, or was written by somebody else")
        said, data = stream.readline(2 * _DIGITS + 2), stream.read()
    if said != _head(key, data):
        raise ValueError("it is not what was stored under this key")
    return data


def _ours(status: os.stat_result) -> bool:
    """Whether nobody else can have written a file: in a shared folder anybody may leave one under any name."""
    if not hasattr(os, "geteuid"):
        return True
    return status.st_uid == os.geteuid() and not status.st_mode & (stat.S_IWGRP | stat.S_IWOTH)


def _head(key: str, data: bytes) -> bytes:
    """The first line of an entry: its key, and what its content comes to."""
    return f"{key} {hashlib.sha256(data).hexdigest()}\n".encode()


def _arrays(data: bytes) -> dict[str, npt.NDArray[Any]]:
    with zipfile.ZipFile(BytesIO(data)) as packed_arrays:
        if sum(member.file_size for member in packed_arrays.infolist()) > _MOST:
            raise ValueError("it unpacks to more than is ever stored")
    with np.load(BytesIO(data), allow_pickle=False) as entry:
        return {name: entry[name] for name in entry.files}


def store(key: str, loaded: LoadedMesh) -> None:
    """Keep `loaded` under `key`; a folder that cannot be written to is told under --verbose only."""
    where = folder()
    if where is None:
        return
    try:
        where.mkdir(parents=True, exist_ok=True)
        _write(where, key, packed(loaded))
        _prune(where)
    except (OSError, ValueError) as error:
        _say_once(f"meshes are not kept: {where} cannot be written to ({getattr(error, 'strerror', error)})")


def _write(where: Path, key: str, arrays: dict[str, npt.NDArray[Any]]) -> None:
    """Whole or not at all, also when two commands write at once."""
    held = BytesIO()
    np.savez(held, **arrays)  # type: ignore[arg-type]
    data = held.getvalue()
    handle, temporary = tempfile.mkstemp(dir=where, suffix=".tmp")
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(_head(key, data))
            stream.write(data)
        Path(temporary).replace(where / f"{key}{_SUFFIX}")
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise


def _prune(where: Path) -> None:
    """Drop what was used longest ago beyond the cap, and what a run that was cut off left half written."""
    for left in where.glob("*.tmp"):
        with contextlib.suppress(OSError):
            if time.time() - left.stat().st_mtime > _ABANDONED:
                left.unlink()
    entries = sorted(_sizes(where), key=lambda entry: -entry[0])
    total = 0
    for _, size, path in entries:
        total += size
        if total > _MOST:
            with contextlib.suppress(OSError):
                path.unlink()


def _sizes(where: Path) -> Iterator[tuple[float, int, Path]]:
    """When it was last used, bytes and path of every entry; one that another run takes away meanwhile is passed."""
    for path in where.glob(f"*{_SUFFIX}"):
        with contextlib.suppress(OSError):
            status = path.stat()
            yield status.st_mtime, status.st_size, path
