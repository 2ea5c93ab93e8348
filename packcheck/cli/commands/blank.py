"""`packcheck blank`: an empty sheet to measure with."""

from __future__ import annotations

from importlib.resources import files
from typing import Final

import click

from packcheck.cli.output import emit
from packcheck.cli.targets import NEW, Target, spared

__all__ = ["command"]

LINES: Final = 24
"""Empty lines for parts: what fits on a page beside the sketch."""


@click.command("blank", short_help="Print an empty measuring sheet for parts.")
@click.option("-o", "--output", type=NEW, metavar="FILE", help="Write it there; nothing is written over.")
def command(*, output: Target | None) -> None:
    """Print an empty measuring sheet: a table for a spreadsheet, or for paper, with a sketch of what to measure.

    Filled in and named under `parts_from` in a scene file, each of its lines is a part.
    """
    text = sheet()
    (place,) = spared((), output)
    if place is None:
        emit(text)
        return
    place.write(text)
    emit(f"wrote {place.path}; name it in your scene: parts_from: {place.path.name}\n")


def sheet() -> str:
    """The sheet as comma-separated text."""
    head = (files("packcheck.data") / "blank.csv").read_text(encoding="utf-8")
    columns = head.splitlines()[-1].count(",")
    return head + ("," * columns + "\n") * LINES
