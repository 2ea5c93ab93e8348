"""`packcheck schema`: the grammar of scene files, for editors."""

from __future__ import annotations

import json
from pathlib import Path

import click

from packcheck.cli.output import OUTPUT, emit, write_whole

__all__ = ["command", "schema_text"]


@click.command("schema", short_help="Print the JSON Schema of scene files, for editors.")
@click.option("-o", "--output", type=OUTPUT, metavar="FILE", help="Write the schema there, whole or not at all.")
def command(*, output: Path | None) -> None:
    """Print the JSON Schema of scene files, so that an editor completes and checks them while you type."""
    if output is None:
        emit(schema_text())
    else:
        write_whole(output, schema_text())


def schema_text() -> str:
    """The schema as JSON text in ASCII."""
    from packcheck.scene import scene_schema

    return json.dumps(scene_schema(), indent=2) + "\n"
