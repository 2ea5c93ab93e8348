"""`packcheck new`: a scene to start from."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path
from typing import Final

import click

from packcheck.cli.output import OUTPUT, emit, write_whole
from packcheck.cli.schema import schema_text

__all__ = ["command"]

SCHEMA_FILE: Final = "packcheck.schema.json"
"""Name that the starter scene's first line gives to editors."""


@click.command("new", short_help="Write a commented scene to start from.")
@click.argument("file", type=OUTPUT, default=Path("scene.yaml"))
def command(*, file: Path) -> None:
    """Write a commented scene to start from, and the schema that lets editors check it.

    FILE is where it goes (default: scene.yaml). Nothing that exists is written over.
    """
    starter = (files("packcheck.data") / "starter.yaml").read_text(encoding="utf-8")
    schema, text = file.with_name(SCHEMA_FILE), schema_text()
    write_whole(file, starter, replace=False)
    if schema.exists():
        emit(f"wrote {file}; {schema} was there already\n")
    else:
        write_whole(schema, text, replace=False)
        emit(f"wrote {file}, and {schema} for your editor\n")
    emit(f"next: packcheck check {file}\n")
