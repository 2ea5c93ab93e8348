"""`packcheck schema`: the grammar of scene files, for editors."""

from __future__ import annotations

import json

import click

from packcheck.cli.output import deliver
from packcheck.cli.targets import OUTPUT, Target, spared

__all__ = ["command", "schema_text"]


@click.command("schema", short_help="Print the JSON Schema of scene files, for editors.")
@click.option("-o", "--output", type=OUTPUT, metavar="FILE", help="Write the schema there, whole or not at all.")
def command(*, output: Target | None) -> None:
    """Print the JSON Schema of scene files, so that an editor completes and checks them while you type."""
    (place,) = spared((), output)
    deliver(schema_text(), place)


def schema_text() -> str:
    """The schema as JSON text in ASCII."""
    from packcheck.scene import scene_schema

    return json.dumps(scene_schema(), indent=2) + "\n"
