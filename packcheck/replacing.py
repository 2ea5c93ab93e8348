"""Files that are replaced whole, in one step: a reader sees the old content or the new one, never a part.

And how to tell that somebody else replaced one.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import TypeAlias

__all__ = ["Stamp", "replace_files", "stamp"]

Stamp: TypeAlias = tuple[int, int, int] | None
"""What changes when a file is written: time, size, place on the disk. None: there is no such file."""


def stamp(path: Path) -> Stamp:
    """The stamp of a file or folder as it is now."""
    try:
        status = path.stat()
    except (OSError, ValueError):
        return None
    return status.st_mtime_ns, status.st_size, status.st_ino


def replace_files(contents: Mapping[Path, bytes]) -> None:
    """Write each file beside its target, then let all take their places; until then nothing has changed.

    Links keep pointing where they did, permissions stay. Raises OSError; then what was not yet in place is gone.
    """
    ready: dict[Path, Path] = {}
    try:
        for path, content in contents.items():
            target = path.resolve()
            handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.")
            ready[target] = Path(name)
            with os.fdopen(handle, "wb") as file:
                file.write(content)
            ready[target].chmod(_mode(target))
        for target, beside in ready.items():
            beside.replace(target)
    finally:
        for beside in ready.values():
            beside.unlink(missing_ok=True)


def _mode(target: Path) -> int:
    """Permissions of the file that is replaced, or those of a new file."""
    if target.exists():
        return target.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask
