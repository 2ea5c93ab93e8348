"""`packcheck rules`: which limit applies between which parts."""

from __future__ import annotations

from pathlib import Path

import click

from packcheck import __version__
from packcheck.cli.output import OUTPUT, emit, emit_lines, refuse_sources, write_whole
from packcheck.cli.progress import working

__all__ = ["command"]


@click.command("rules", short_help="Which limit applies between which parts, and why?")
@click.argument("scene", type=click.Path())
@click.option("--part", "parts", multiple=True, metavar="NAME", help="Only pairs with this part; may be repeated.")
@click.option("--json", "as_json", is_flag=True, help="Print every pair as JSON.")
@click.option("-o", "--output", type=OUTPUT, metavar="FILE", help="Write the table there, whole or not at all.")
def command(*, scene: str, parts: tuple[str, ...], as_json: bool, output: Path | None) -> None:
    """Which limit applies between which parts of SCENE, and why?

    `packcheck explain rules` tells how limits are chosen.
    """
    import packcheck
    from packcheck.report.as_json import table_as_json
    from packcheck.report.as_text import PIPED_WIDTH
    from packcheck.report.rules_text import rules_lines, rules_text

    with working("reading", quietly=as_json):
        bay = packcheck.load(scene)
    refuse_sources(output, bay.sources)
    table, units = bay.rules(parts), bay.assembly.scene.units
    written = table_as_json(table, version=__version__) if as_json else rules_text(table, units)
    if output is not None:
        write_whole(output, written)
    elif as_json:
        emit(written)
    else:
        emit_lines(lambda width: rules_lines(table, units, width), PIPED_WIDTH)
