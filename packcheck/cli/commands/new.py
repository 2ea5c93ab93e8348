"""`packcheck new`: a scene to start from."""

from __future__ import annotations

from importlib.resources import files
from typing import Final

import click

from packcheck.cli.commands.schema import schema_text
from packcheck.cli.output import emit
from packcheck.cli.targets import NEW, Target, spared

__all__ = ["command"]

SCHEMA_FILE: Final = "packcheck.schema.json"
"""Name that the starter scene's first line gives to editors."""


@click.command("new", short_help="Write a commented scene to start from.")
@click.argument("file", type=NEW, default="scene.yaml")
def command(*, file: Target) -> None:
    """Write a commented scene to start from, and the schema that lets editors check it.

    FILE is where it goes (default: scene.yaml). Nothing that exists is written over.
    """
    starter = (files("packcheck.data") / "starter.yaml").read_text(encoding="utf-8")
    (place,) = spared((), file)
    assert place is not None
    schema = place.path.with_name(SCHEMA_FILE)
    if schema.exists():
        place.write(starter)
        emit(f"wrote {place.path}; {schema} was there already\n")
    else:
        place.write_with(starter, {SCHEMA_FILE: schema_text()})
        emit(f"wrote {place.path}, and {schema} for your editor\n")
    emit(f"next: packcheck check {place.path}\n")
