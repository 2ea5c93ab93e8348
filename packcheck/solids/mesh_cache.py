"""Meshes once understood, kept on disk by what they were made from, so that they are read only once.

An entry is believed only as far as it can be checked; one that cannot be read is as good as none.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import tempfile
import time
import zipfile
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from typing import Any, Final

import numpy as np
import numpy.typing as npt

import packcheck
from packcheck.scene.model import Mesh
from packcheck.solids.mesh_account import LoadedMesh
from packcheck.solids.mesh_packing import BROKEN, packed, unpacked

__all__ = ["folder", "key_of", "load", "store"]

_FORMAT: Final = 5
"""Raised whenever the same file would come out differently, or be stored differently."""

_MOST: Final = 1 << 30
"""Bytes kept; beyond that go those used longest ago."""

_ABANDONED: Final = 3600.0
"""Seconds after which a half-written entry is nobody's any more."""

_SETTING: Final = "PACKCHECK_CACHE"
_BROKEN: Final = (*BROKEN, OSError, EOFError, zipfile.BadZipFile)


def folder() -> Path | None:
    """Where entries are kept; None when the environment switches the cache off (PACKCHECK_CACHE empty or "off")."""
    setting = os.environ.get(_SETTING)
    if setting is None:
        from platformdirs import user_cache_dir

        return Path(user_cache_dir("packcheck")) / "meshes"
    return None if setting.strip().lower() in ("", "off") else Path(setting)


def key_of(data: bytes, spec: Mesh) -> str:
    """A name that changes with the bytes, the format, everything the scene says of the file, and this package."""
    said = [value for name, value in asdict(spec).items() if name != "file"]
    about = json.dumps([_FORMAT, packcheck.__version__, spec.file.suffix.lower(), said])
    return hashlib.sha256(hashlib.sha256(data).digest() + about.encode()).hexdigest()


def load(key: str) -> LoadedMesh | None:
    """What was stored under `key`, when it is there and whole."""
    where = folder()
    if where is None:
        return None
    try:
        with np.load(where / f"{key}.npz", allow_pickle=False) as entry:
            loaded = unpacked({name: entry[name] for name in entry.files})
    except _BROKEN:
        return None
    with contextlib.suppress(OSError):
        os.utime(where / f"{key}.npz")  # what is used stays; what is not goes first
    return loaded


def store(key: str, loaded: LoadedMesh) -> None:
    """Keep `loaded` under `key`; a folder that cannot be written to is no fault worth a word."""
    where = folder()
    if where is None:
        return
    with contextlib.suppress(OSError):
        where.mkdir(parents=True, exist_ok=True)
        _write(where, f"{key}.npz", packed(loaded))
        _prune(where)


def _write(where: Path, name: str, arrays: dict[str, npt.NDArray[Any]]) -> None:
    """Whole or not at all, also when two commands write at once."""
    handle, temporary = tempfile.mkstemp(dir=where, suffix=".tmp")
    try:
        with os.fdopen(handle, "wb") as stream:
            np.savez(stream, **arrays)  # type: ignore[arg-type]
        Path(temporary).replace(where / name)
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
    for path in where.glob("*.npz"):
        with contextlib.suppress(OSError):
            status = path.stat()
            yield status.st_mtime, status.st_size, path
